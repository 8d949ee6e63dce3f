"""Which way round a plan lies: house left and right, the stage and its edge, and where the audience is."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.draw.letters import width
from rigspec.draw.marks import Mark, Stroke, Words
from rigspec.draw.plan_labels import PlanPaper
from rigspec.draw.plan_scale import Frame
from rigspec.draw.shapes import Area

SIZE, SMALL = 10.0, 9.0
SIDES = 13.0  # px below a window's ruler for the audience
DASH, GAP = 8.0, 4.0  # px of the stage's edge


def sides(frame: Frame, feet: bool, name: str) -> Iterable[Mark]:
    """What lies at each side of a window, as it is seen from the desk, and the window's own name if it has one."""
    area = frame.area
    middle, above, below = (area.left + area.right) / 2, area.top - 5, area.bottom + SIDES + 11
    if name:
        yield Words(area.left, above, name, 12.0, strong=True)
    yield Words(area.left + (14 if name else 0), above, "house left", SIZE, strong=True)
    yield Words(middle, above, "stage", SIZE, "middle", True)
    yield Words(area.right, above, "house right", SIZE, "end", True)
    yield Words(middle, below, "audience", SIZE, "middle", True)
    x = middle - width("audience", SIZE, True) / 2 - 4
    yield Stroke(((x, below - 8), (x, below + 2)), 1.0, head=True)
    unit = "ft" if feet else "m"
    yield Words(area.right, below, f"across, along ({unit})", SMALL, "end")
    _, edge = frame.at(0.0, 0.0)
    if area.top + 4 < edge < area.bottom - 4:
        yield Words(area.left - 4, edge - SMALL, "stage", SMALL, "end", True)


def stage_edge(frame: Frame, sheet: PlanPaper) -> Iterable[Stroke]:
    """The front of the stage, where along is 0: dashes, wherever nothing else stands."""
    _, y = frame.at(0.0, 0.0)
    x = sheet.room.left
    while x + DASH <= sheet.room.right:
        if sheet.free(Area(x, y - 1, x + DASH, y + 1)):
            dash = (x, y), (x + DASH, y)
            sheet.draw(dash)
            yield Stroke(dash, 0.8)
        x += DASH + GAP
