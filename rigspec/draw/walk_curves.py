"""The walk test as a plot: metres across along, dB against the loudest spot as planned up; a line for each state."""

from __future__ import annotations

from collections.abc import Iterable
from math import ceil

from rigspec.draw.letters import shortened
from rigspec.draw.marks import Drawing, Mark, Outline, Point, Stroke, Words
from rigspec.draw.plan_scale import step, ticks
from rigspec.space.scene import TOLERANCE_DB
from rigspec.space.walk import FLOOR_DB, Walk, WalkCase

WIDE, TALL, EDGE, SIZE = 860.0, 430.0, 20.0, 12.0
LEFT, TOP = 60.0, 70.0
RIGHT, BOTTOM = WIDE - EDGE, TALL - 90.0
MOST_LINES = 4
DASHES: tuple[tuple[float, ...], ...] = ((), (7.0, 4.0), (2.0, 3.0), (10.0, 3.0, 2.0, 3.0), (14.0, 6.0))


def walk_curves(title: str, found: Walk | None) -> Drawing:
    """The plan, each side crossed, and single boxes as far as lines can be told apart in black and white."""
    if found is None:
        note = "No bass box can be walked in this rig."
        heads: tuple[Mark, ...] = (Words(EDGE, 26, shortened(title, 16, WIDE - 2 * EDGE), 16), Words(EDGE, 50, note))
        return Drawing(WIDE, 70.0, f"{title}: walk test", note, heads)
    shown = [case for case in found.cases if not case.silent][:MOST_LINES]
    said = (
        f"{found.tone_hz:g} Hz, {found.at_m:g} m in front, ears at 1.7 m; dB against the loudest spot as planned, "
        f"+-{TOLERANCE_DB:g} dB, in the open; a room adds its own"
    )
    marks: list[Mark] = [
        Words(EDGE, 26, shortened(f"{title}: walk test", 16, WIDE - 2 * EDGE), 16),
        Words(EDGE, 48, shortened(said, SIZE, WIDE - 2 * EDGE), SIZE),
        *_frame(found, shown),
    ]
    for case, dash in zip(shown, DASHES, strict=False):
        points = tuple(_at(found, shown, x, level) for x, level in zip(found.across_m, case.levels_db, strict=True))
        marks.append(Stroke(points, 2, dash))
    return Drawing(WIDE, TALL, f"{title}: walk test", said, (*marks, *_key(shown)))


def _top_db(shown: list[WalkCase]) -> float:
    return 5.0 * ceil(max(max(case.levels_db) for case in shown) / 5 + 1e-9)


def _at(found: Walk, shown: list[WalkCase], x: float, level: float) -> Point:
    low, high = found.across_m[0], found.across_m[-1]
    top = _top_db(shown)
    share = (max(level, FLOOR_DB) - FLOOR_DB) / (top - FLOOR_DB)
    return LEFT + (x - low) / (high - low) * (RIGHT - LEFT), BOTTOM - share * (BOTTOM - TOP)


def _frame(found: Walk, shown: list[WalkCase]) -> Iterable[Mark]:
    yield Outline(LEFT, TOP, RIGHT - LEFT, BOTTOM - TOP)
    low, high = found.across_m[0], found.across_m[-1]
    for x in ticks(low, high, step((high - low) / 12)):
        place, _ = _at(found, shown, x, FLOOR_DB)
        yield Stroke(((place, BOTTOM), (place, BOTTOM + 5)))
        yield Words(place, BOTTOM + 18, f"{x:g}", SIZE, "middle")
    yield Words(RIGHT, BOTTOM + 34, "m across, house right is +", SIZE, "end")
    level = FLOOR_DB
    while level <= _top_db(shown):
        _, y = _at(found, shown, low, level)
        yield Stroke(((LEFT, y), (RIGHT, y)), 0.5, (), level="quiet")
        yield Words(LEFT - 8, y + 4, f"{level:g}" if level > FLOOR_DB else f"< {level:g}", SIZE, "end")
        level += 5


def _key(shown: list[WalkCase]) -> Iterable[Mark]:
    for number, (case, dash) in enumerate(zip(shown, DASHES, strict=False)):
        x, y = LEFT + number % 2 * (RIGHT - LEFT) / 2, BOTTOM + 56 + number // 2 * 20
        yield Stroke(((x, y - 4), (x + 40, y - 4)), 2, dash)
        yield Words(x + 48, y, shortened(case.name, SIZE, (RIGHT - LEFT) / 2 - 60), SIZE)
