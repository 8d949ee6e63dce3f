"""The geometry of drawings: upright boxes that meet or hold each other, and the heads of arrows."""

from __future__ import annotations

from collections.abc import Iterable
from math import hypot

from attrs import frozen

from rigspec.draw.marks import Point, Stroke
from rigspec.text.value import Content


@frozen(eq=False, repr=False)
class Area(Content):
    """An upright box, from its left upper corner to its right lower one."""

    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: Area) -> bool:
        """Whether the two have more than an edge in common."""
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )

    def grown(self, by: float) -> Area:
        return Area(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def gap(self, other: Area) -> float:
        """How far apart the two are."""
        return hypot(
            max(other.left - self.right, self.left - other.right, 0.0),
            max(other.top - self.bottom, self.top - other.bottom, 0.0),
        )

    def holds(self, other: Area) -> bool:
        return (
            self.left <= other.left
            and self.top <= other.top
            and other.right <= self.right
            and other.bottom <= self.bottom
        )

    def crossed_by(self, a: Point, b: Point) -> bool:
        """Whether the line from a to b runs through the inside, or ends there (Liang and Barsky's clipping)."""
        dx, dy = b[0] - a[0], b[1] - a[1]
        enter, leave = 0.0, 1.0
        for step, room in (
            (-dx, a[0] - self.left),
            (dx, self.right - a[0]),
            (-dy, a[1] - self.top),
            (dy, self.bottom - a[1]),
        ):
            if step == 0:
                if room <= 0:
                    return False
                continue
            at = room / step
            if step < 0:
                enter = max(enter, at)
            else:
                leave = min(leave, at)
        return enter < leave


def bounds(points: Iterable[Point]) -> Area:
    """The least upright box that holds all points."""
    xs, ys = zip(*points, strict=True)
    return Area(min(xs), min(ys), max(xs), max(ys))


def head(stroke: Stroke) -> tuple[Point, ...]:
    """The corners of the arrow's head on the end of a line; nothing where it has none."""
    points = [point for at, point in enumerate(stroke.points) if not at or point != stroke.points[at - 1]]
    if not stroke.head or len(points) < 2:
        return ()
    (ax, ay), (bx, by) = points[-2:]
    long = hypot(bx - ax, by - ay)
    ux, uy = (bx - ax) / long, (by - ay) / long
    size = 4 + 2 * stroke.width
    back = bx - size * ux, by - size * uy
    half = size * 0.4
    return (bx, by), (back[0] - half * uy, back[1] + half * ux), (back[0] + half * uy, back[1] - half * ux)
