"""Distances on a plan: between neighbours that stand side by side, and over the whole row."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from rigspec.draw.letters import ASCENT, DESCENT, width
from rigspec.draw.marks import Mark, Stroke, Words
from rigspec.draw.plan_labels import CLEAR, PlanPaper
from rigspec.draw.plan_scale import Frame
from rigspec.draw.plan_things import FOOT_M, PlanThing
from rigspec.draw.shapes import Area, bounds
from rigspec.text.units import show

SIZE = 9.0
AWAY = (20.0, 34.0, -20.0, 48.0, -34.0, 62.0, -48.0, 76.0, -62.0, 90.0)  # px below the row, or above it
SAME_ROW_M = 0.05


def rows(things: Sequence[PlanThing]) -> list[list[float]]:
    """Where the loudspeakers of each row are, in metres across, with the row's place along in front."""
    found: list[list[float]] = []
    for thing in sorted(things, key=lambda each: (each.along_m, each.across_m)):
        if found and abs(thing.along_m - found[-1][0]) <= SAME_ROW_M:
            found[-1].append(thing.across_m)
        else:
            found.append([thing.along_m, thing.across_m])
    return [[each[0], *sorted(set(each[1:]))] for each in found if len(set(each[1:])) > 1]


def spacings(frame: Frame, things: Sequence[PlanThing], feet: bool, sheet: PlanPaper) -> tuple[list[Mark], list[str]]:
    """Dimension lines between neighbours in a row and over all of it; in words what found no room."""
    marks: list[Mark] = []
    unshown: list[str] = []
    for along, *across in rows(things):
        pairs = list(pairwise(across))
        whole = [(across[0], across[-1])] if len(across) > 2 else []
        for chain in (pairs, whole):
            if not chain:
                continue
            drawn = _chain(frame, along, chain, feet, sheet)
            marks += drawn
            if not drawn:
                told = ", ".join(measured(right - left, feet) for left, right in chain)
                unshown.append(f"at {measured(along, feet)} along from {measured(chain[0][0], feet)} across: {told}")
    return marks, unshown


def _chain(
    frame: Frame, along: float, chain: Sequence[tuple[float, float]], feet: bool, sheet: PlanPaper
) -> list[Mark]:
    """Dimension lines in one line beside the row, at the first distance where all have room; else nothing."""
    ends = [(frame.at(left, along)[0], frame.at(right, along)[0]) for left, right in chain]
    texts = [measured(right - left, feet) for left, right in chain]
    if any(b - a < width(text, SIZE) + 2 * CLEAR + 8 for (a, b), text in zip(ends, texts, strict=True)):
        return []
    _, row_y = frame.at(chain[0][0], along)
    for away in AWAY:
        y = row_y + away
        line = Area(ends[0][0] - 4, y - 4, ends[-1][1] + 4, y + 4)
        areas = [
            Area(x - width(text, SIZE) / 2, y - 3 - (ASCENT + DESCENT) * SIZE, x + width(text, SIZE) / 2, y - 3)
            for (a, b), text in zip(ends, texts, strict=True)
            for x in [(a + b) / 2]
        ]
        if not all(map(sheet.free, (line, *areas))):
            continue
        marks = list(_drawn(ends, texts, y, row_y))
        if any(mark_meets(sheet, mark) for mark in marks):
            continue
        for area in areas:
            sheet.take(area)
        for mark in marks:
            if isinstance(mark, Stroke):
                sheet.draw((mark.points[0], mark.points[-1]))
        return marks
    return []


def mark_meets(sheet: PlanPaper, mark: Mark) -> bool:
    """Whether a line runs through words that are already there."""
    if not isinstance(mark, Stroke):
        return False
    line = mark.points[0], mark.points[-1]
    return any(words.grown(CLEAR).crossed_by(*line) for words in sheet.words.near(bounds(line).grown(CLEAR)))


def _drawn(ends: Sequence[tuple[float, float]], texts: Sequence[str], y: float, row_y: float) -> Iterable[Mark]:
    over = 4.0 if y > row_y else -4.0
    start = 12.0 if y > row_y else -12.0
    for x in dict.fromkeys(x for pair in ends for x in pair):
        yield Stroke(((x, row_y + start), (x, y + over)), 0.5, level="quiet")
    for (a, b), text in zip(ends, texts, strict=True):
        middle = (a + b) / 2
        yield Stroke(((middle, y), (a, y)), 0.8, head=True)
        yield Stroke(((middle, y), (b, y)), 0.8, head=True)
        yield Words(middle, y - 3 - DESCENT * SIZE, text, SIZE, "middle")


def measured(value_m: float, feet: bool) -> str:
    """A distance in the author's unit."""
    return f"{value_m / FOOT_M:.4g} ft" if feet else show(value_m, "length")
