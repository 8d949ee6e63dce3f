"""The geometry of marks: where their words and lines lie, and whether these meet."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import cos, hypot, pi, sin

from attrs import frozen

from rigspec.draw.letters import ASCENT, DESCENT, width
from rigspec.draw.marks import Group, Mark, Outline, Point, Round, Shape, Stroke, Words
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


def area_of(words: Words) -> Area:
    """The box that a line of text takes at most."""
    wide = width(words.text, words.size, words.strong)
    left = {"start": words.x, "middle": words.x - wide / 2, "end": words.x - wide}[words.anchor]
    return Area(left, words.y - ASCENT * words.size, left + wide, words.y + DESCENT * words.size)


def bounds(points: Iterable[Point]) -> Area:
    """The least upright box that holds all points."""
    xs, ys = zip(*points, strict=True)
    return Area(min(xs), min(ys), max(xs), max(ys))


def flat(marks: Iterable[Mark]) -> Iterator[Words | Stroke | Outline | Shape | Round]:
    """All marks in the order in which they are drawn, those in groups too."""
    for mark in marks:
        if isinstance(mark, Group):
            yield from flat(mark.marks)
        else:
            yield mark


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


def edges(mark: Stroke | Outline | Shape | Round) -> list[tuple[Point, Point]]:
    """The lines of a mark, each from point to point; a circle as a polygon of 24 sides around it."""
    match mark:
        case Stroke():
            return [*zip(mark.points, mark.points[1:], strict=False), *ring(head(mark))]
        case Outline():
            return ring(corners(mark))
        case Shape():
            return ring(mark.points)
        case Round():
            out = mark.radius / cos(pi / 24)
            return ring(tuple((mark.x + out * cos(k * pi / 12), mark.y + out * sin(k * pi / 12)) for k in range(24)))


def corners(box: Outline) -> tuple[Point, ...]:
    right, bottom = box.x + box.width, box.y + box.height
    return (box.x, box.y), (right, box.y), (right, bottom), (box.x, bottom)


def ring(points: tuple[Point, ...]) -> list[tuple[Point, Point]]:
    """The sides of a closed polygon."""
    return list(zip(points, (*points[1:], *points[:1]), strict=True))


def inside(point: Point, corners: tuple[Point, ...]) -> bool:
    """Whether a point lies in a polygon: a ray to the right crosses its sides an odd number of times."""
    x, y = point
    odd = False
    for (ax, ay), (bx, by) in ring(corners):
        if (ay > y) != (by > y) and x < ax + (y - ay) * (bx - ax) / (by - ay):
            odd = not odd
    return odd
