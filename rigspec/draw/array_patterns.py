"""How loud arrays are in each direction, drawn from above: the front is up, rings are 6 dB apart, a line for a tone."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, radians, sin

from rigspec.draw.letters import shortened
from rigspec.draw.marks import Drawing, Mark, Point, Round, Shape, Stroke, Words
from rigspec.space.arrays import ROUND_DEG, ArrayFigures

WIDE, EDGE, SIZE = 860.0, 20.0, 12.0
RADIUS, TALL = 150.0, 410.0
FLOOR_DB, RING_DB = -24.0, 6.0
SHOWN = ((31.6, ()), (50.1, (7.0, 4.0)), (63.1, (2.0, 3.0)), (79.4, (10.0, 3.0, 2.0, 3.0)))


def array_patterns(title: str, found: Sequence[ArrayFigures]) -> Drawing:
    """A circle for each array, side by side in twos."""
    known = [each for each in found if each.patterns]
    note = "dB against the front, far away in the open; the front is up, rings every 6 dB. Computed, not measured."
    marks: list[Mark] = [
        Words(EDGE, 26, shortened(f"{title}: arrays", 16, WIDE - 2 * EDGE), 16),
        Words(EDGE, 46, note if known else "No group of this rig says what array it is meant to be.", SIZE),
    ]
    for number, each in enumerate(known):
        middle = (WIDE * (0.25 + 0.5 * (number % 2)), 70 + RADIUS + 30 + number // 2 * TALL)
        marks += _circle(middle, each)
    rows = (len(known) + 1) // 2
    return Drawing(WIDE, 70.0 + rows * TALL, f"{title}: arrays", note, tuple(marks))


def _circle(middle: Point, each: ArrayFigures) -> Iterable[Mark]:
    x, y = middle
    yield Words(x, y - RADIUS - 24, each.called, SIZE, "middle", strong=True)
    for ring in range(1, round(-FLOOR_DB / RING_DB) + 1):
        yield Round(x, y, RADIUS * ring * RING_DB / -FLOOR_DB, thick=0.5, level="quiet")
        level = FLOOR_DB + ring * RING_DB
        yield Words(x + 3, y - RADIUS * ring * RING_DB / -FLOOR_DB - 2, f"{level:g}", 9, level="quiet")
    yield Words(x, y + RADIUS + 16, "rear", SIZE, "middle")
    for number, (hz, dash) in enumerate(SHOWN):
        tone = min(each.patterns, key=lambda one: abs(one.hz - hz))
        points = tuple(_at(middle, angle, level) for angle, level in zip(ROUND_DEG, tone.round_db, strict=True))
        yield Shape(points, thick=1.6, dash=dash)
        left, line = x - RADIUS + number % 2 * RADIUS, y + RADIUS + 38 + number // 2 * 18
        yield Stroke(((left, line - 4), (left + 34, line - 4)), 1.6, dash)
        yield Words(left + 40, line, f"{tone.name} Hz", SIZE)


def _at(middle: Point, angle: float, level: float) -> Point:
    """A direction on the circle: the front is up, and house right of it on the right."""
    share = (min(max(level, FLOOR_DB), 6.0) - FLOOR_DB) / -FLOOR_DB
    return middle[0] + RADIUS * share * sin(radians(angle)), middle[1] - RADIUS * share * cos(radians(angle))
