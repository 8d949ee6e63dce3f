"""What on a drawing cannot be read: words on words, lines through words, words that are covered or off the paper."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import cos, pi, sin

from rigspec.draw.letters import ASCENT, DESCENT, width
from rigspec.draw.marks import Drawing, Group, Mark, Outline, Point, Round, Shape, Stroke, Words
from rigspec.draw.shapes import Area, bounds, head

SLACK = 0.01  # px: rounding is no overlap


def overlaps(drawing: Drawing) -> list[str]:
    """Each fault in words; nothing where every text can be read. Texts take their greatest width in any font."""
    marks = list(flat(drawing.marks))
    texts = [(at, mark, area_of(mark).grown(-SLACK)) for at, mark in enumerate(marks) if isinstance(mark, Words)]
    lines = [(at, mark) for at, mark in enumerate(marks) if not isinstance(mark, Words)]
    paper = Area(0, 0, drawing.width, drawing.height)
    found = [f"{words.text!r} leaves the paper" for _, words, area in texts if not paper.holds(area)]
    found += _words_on_words(texts)
    sides = [(at, mark, edges(mark)) for at, mark in lines]
    boxes = [
        bounds([point for side in found for point in side]).grown(
            mark.thick if not isinstance(mark, Stroke) else mark.width
        )
        for _, mark, found in sides
        if found
    ]
    sides = [each for each in sides if each[2]]
    for at, words, area in texts:
        for (order, mark, lines_of), box in zip(sides, boxes, strict=True):
            if area.meets(box):
                found += [f"{words.text!r} {fault}" for fault in _faults(area, mark, lines_of, order > at)]
    return found


def _words_on_words(texts: list[tuple[int, Words, Area]]) -> Iterator[str]:
    ordered = sorted(texts, key=lambda each: each[2].left)
    for at, (_, words, area) in enumerate(ordered):
        for _, other, beside in ordered[at + 1 :]:
            if beside.left >= area.right:
                break
            if area.meets(beside):
                yield f"{words.text!r} lies on {other.text!r}"


def _faults(
    area: Area, mark: Stroke | Outline | Shape | Round, sides: list[tuple[Point, Point]], later: bool
) -> Iterator[str]:
    what = {"Stroke": "a stroke", "Outline": "an outline", "Shape": "a shape", "Round": "a circle"}[type(mark).__name__]
    thick = mark.width if isinstance(mark, Stroke) else mark.thick
    if thick and any(area.grown(thick / 2 - SLACK).crossed_by(a, b) for a, b in sides):
        yield f"is crossed by {what} {'of ' + str(mark.points) if isinstance(mark, Stroke) else ''}".rstrip()
    elif not isinstance(mark, Stroke) and mark.fill != "none":
        touched = _lies_in(area, mark) or any(area.crossed_by(a, b) for a, b in sides)
        if touched and later:
            yield f"is covered by {what}"
        elif touched and mark.fill == "ink":
            yield f"stands on ink, in {what}"


def _lies_in(area: Area, mark: Outline | Shape | Round) -> bool:
    """Whether the middle of a text that no side crosses lies in an area."""
    middle = (area.left + area.right) / 2, (area.top + area.bottom) / 2
    match mark:
        case Outline():
            return inside(middle, corners(mark))
        case Shape():
            return inside(middle, mark.points)
        case Round():
            return (middle[0] - mark.x) ** 2 + (middle[1] - mark.y) ** 2 < mark.radius**2


def area_of(words: Words) -> Area:
    """The box that a line of text takes at most."""
    wide = width(words.text, words.size, words.strong)
    left = {"start": words.x, "middle": words.x - wide / 2, "end": words.x - wide}[words.anchor]
    return Area(left, words.y - ASCENT * words.size, left + wide, words.y + DESCENT * words.size)


def flat(marks: Iterable[Mark]) -> Iterator[Words | Stroke | Outline | Shape | Round]:
    """All marks in the order in which they are drawn, those in groups too."""
    for mark in marks:
        if isinstance(mark, Group):
            yield from flat(mark.marks)
        else:
            yield mark


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
