"""Areas of the audience on a plan: their outline, cut at the window, and their name."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import pairwise

from rigspec.draw.letters import width
from rigspec.draw.marks import Mark, Outline, Point, Stroke, Words
from rigspec.draw.plan_scale import Frame
from rigspec.draw.shapes import Area
from rigspec.space.where import Spot

SIZE = 9.0
DASH = (9.0, 3.0, 1.5, 3.0)


def outlines(frame: Frame, spots: Iterable[Spot], taken: Sequence[Area]) -> Iterable[Mark]:
    """The outlines of areas in a window, each with its name on it where nothing else is written."""
    for spot in spots:
        points = [frame.at(x, y) for x, y in (*spot.corners, *spot.corners[:1])]
        pieces = [piece for a, b in pairwise(points) if (piece := cut(a, b, frame.area)) is not None]
        yield from (Stroke(piece, 0.9, DASH) for piece in pieces)
        if pieces:
            yield from _name(spot.name, pieces, frame.area, taken)


def _name(name: str, pieces: Iterable[tuple[Point, Point]], area: Area, taken: Sequence[Area]) -> Iterable[Mark]:
    half, room = width(name, SIZE) / 2 + 2, area.grown(-14)
    for (ax, ay), (bx, by) in pieces:
        for share in (0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8, 0.1, 0.9):
            x, y = ax + share * (bx - ax), ay + share * (by - ay)
            own = Area(x - half, y - SIZE / 2 - 2, x + half, y + SIZE / 2 + 1)
            if room.holds(own) and not any(own.meets(other) for other in taken):
                yield Outline(own.left, own.top, own.right - own.left, own.bottom - own.top, fill="paper", thick=0)
                yield Words(x, y + SIZE / 2 - 1.5, name, SIZE, "middle")
                return


def cut(a: Point, b: Point, area: Area) -> tuple[Point, Point] | None:
    """The part of a line that lies in an area (Liang and Barsky, 1984); None where none does."""
    dx, dy = b[0] - a[0], b[1] - a[1]
    first, last = 0.0, 1.0
    for run, room in (
        (-dx, a[0] - area.left),
        (dx, area.right - a[0]),
        (-dy, a[1] - area.top),
        (dy, area.bottom - a[1]),
    ):
        if run == 0:
            if room < 0:
                return None
        elif run < 0:
            first = max(first, room / run)
        else:
            last = min(last, room / run)
    if first > last:
        return None
    return (a[0] + first * dx, a[1] + first * dy), (a[0] + last * dx, a[1] + last * dy)
