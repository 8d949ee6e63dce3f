"""The symbols of a plan: a loudspeaker, where it points, and a place. None of them is to scale."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, pi, radians, sin

from rigspec.draw.marks import Fill, Level, Mark, Point, Round, Shape, Stroke
from rigspec.draw.plan_things import PlanThing
from rigspec.draw.shapes import Area, bounds
from rigspec.text.finding import Severity

HALF = 6.0  # px from the middle of a loudspeaker to its sides
STAR = 8.0
RING = 12.0  # around what the check has an error or a warning about


def turned(middle: Point, aim_deg: float, points: Iterable[Point]) -> tuple[Point, ...]:
    """Points given as (to the right, forward) of a middle, turned to where it points: 0 is down, 90 to the right."""
    s, c = sin(radians(aim_deg)), cos(radians(aim_deg))
    return tuple((middle[0] + right * c + front * s, middle[1] - right * s + front * c) for right, front in points)


def box(middle: Point, aims: Sequence[float | None], inverted: bool, level: Severity | None) -> tuple[Mark, ...]:
    """A loudspeaker: a square with a wedge for each aim, black where it is inverted, ringed where something is wrong.

    A box whose aim is not known has no wedge.
    """
    known = [aim for aim in aims if aim is not None]
    square = ((-HALF, -HALF), (HALF, -HALF), (HALF, HALF), (-HALF, HALF))
    fill: Fill = "ink" if inverted else "paper"
    marks: list[Mark] = [*ring(middle, level)]
    wedge = ((-HALF, HALF), (HALF, HALF), (0.0, HALF + 8.0))
    marks += [Shape(turned(middle, aim, wedge), "ink", 0) for aim in known]
    marks.append(Shape(turned(middle, known[0] if known else 0.0, square), fill, 1.3))
    return tuple(marks)


def ring(middle: Point, level: Severity | None) -> Iterable[Mark]:
    """A whole circle for an error, a dashed one for a warning, nothing else."""
    if level is Severity.ERROR:
        yield Round(*middle, RING, "none", 2.0, level="error")
    elif level is Severity.WARNING:
        yield Round(*middle, RING, "none", 1.6, (3.0, 2.0), level="warning")


def place(middle: Point) -> tuple[Mark, ...]:
    """A place: a star of three lines."""
    ends = [(STAR * cos(k * pi / 3 + pi / 2), STAR * sin(k * pi / 3 + pi / 2)) for k in range(3)]
    return tuple(Stroke(((middle[0] - x, middle[1] - y), (middle[0] + x, middle[1] + y)), 1.4) for x, y in ends)


def taken(middle: Point, things: Sequence[PlanThing]) -> Area:
    """The area that the symbols at a spot take."""
    boxes = [each for each in things if not each.is_place]
    if not boxes:
        return Area(middle[0] - STAR, middle[1] - STAR, middle[0] + STAR, middle[1] + STAR)
    reach = RING + 1 if any(each.level for each in boxes) else HALF + 1
    points = [(middle[0] - reach, middle[1] - reach), (middle[0] + reach, middle[1] + reach)]
    for each in boxes:
        if each.aim_deg is not None:
            points += turned(middle, each.aim_deg, ((0.0, HALF + 8.5), (HALF, HALF), (-HALF, HALF)))
            points += turned(middle, each.aim_deg, ((-HALF, -HALF), (HALF, -HALF)))
    return bounds(points)


def line_of(level: Severity | None) -> Level:
    """How words about a finding are drawn."""
    return "error" if level is Severity.ERROR else "warning" if level is Severity.WARNING else ""
