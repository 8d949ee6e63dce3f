"""How a plan is laid out: one window, or two where most things stand in a small part of the ground."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import hypot

from attrs import frozen

from rigspec.draw.marks import Point
from rigspec.draw.plan_scale import RATIOS, Frame, framed, needed, ratio_for
from rigspec.draw.plan_things import PlanThing
from rigspec.draw.plan_window import Inset
from rigspec.draw.shapes import Area
from rigspec.text.value import Content

LEAST_WIDTH = 200.0  # px of a window
GAP = 44.0  # px between two windows, for the second one's ruler
TOUCHING = (80.0, 60.0, 44.0, 30.0, 20.0)  # px: things nearer than that share a crowd; several are tried
TIGHT = 45.0  # px: things nearer than that have hardly room for a name


@frozen(eq=False, repr=False)
class Layout(Content):
    """One window, or that of the whole and the inset's."""

    frames: tuple[Frame, ...]
    inset: Inset | None = None


def layouts(things: Sequence[PlanThing], area: Area, also: Iterable[Point] = ()) -> tuple[Layout, ...]:
    """The ways to fill an area of the paper: one window, and one with the best inset if there is any.

    ``also`` are points on the ground that have to be in it, in metres across and along.
    """
    points = sorted({*((each.across_m, each.along_m) for each in things), *also})
    wide, high = area.right - area.left, area.bottom - area.top
    ratio = ratio_for(points, wide, high)
    with_origin = ratio_for([*points, (0.0, 0.0)], wide, high)
    if with_origin <= 2.5 * ratio:
        points, ratio = [*points, (0.0, 0.0)], with_origin
    whole = framed(points, area, ratio)
    spots = [(each.across_m, each.along_m) for each in things]
    crowds = [_crowd(sorted(set(spots)), whole.px_per_m, touching) for touching in TOUCHING]
    found = [made for crowd in crowds if crowd and (made := _beside(points, crowd, area, ratio))]
    found.sort(key=lambda each: each.frames[1].ratio)
    return Layout((whole,)), *found[:1]


def _crowd(points: Sequence[Point], px_per_m: float, touching: float) -> list[Point]:
    """The largest crowd: things that are near each other, from one to the next, and some too near to be written at."""
    left = list(points)
    best: list[Point] = []
    while left:
        crowd, at = [left.pop()], 0
        while at < len(crowd):
            near = [point for point in left if _apart(point, crowd[at]) * px_per_m < touching]
            left = [point for point in left if point not in near]
            crowd += near
            at += 1
        if len(crowd) > len(best):
            best = crowd
    tight = any(_apart(a, b) * px_per_m < TIGHT for k, a in enumerate(best) for b in best[k + 1 :])
    return best if len(best) > 3 and tight else []


def _apart(a: Point, b: Point) -> float:
    return hypot(a[0] - b[0], a[1] - b[1])


def _beside(points: Sequence[Point], crowd: Sequence[Point], area: Area, ratio: int) -> Layout | None:
    """The whole on the left, the crowd on the right and nearly twice as large or more; None where that is not so."""
    best: tuple[int, int, float] | None = None
    for first in [each for each in RATIOS if ratio <= each <= 2.5 * ratio]:
        wide, high = needed(points, first)
        if high > area.bottom - area.top + 1:
            continue
        wide = max(wide, LEAST_WIDTH)
        left = area.right - area.left - wide - GAP
        if left < LEAST_WIDTH:
            continue
        second = ratio_for(crowd, left, area.bottom - area.top)
        if 1.8 * second <= ratio and (best is None or (second, first) < best[:2]):
            best = second, first, wide
    if best is None:
        return None
    second, first, wide = best
    whole = framed(points, Area(area.left, area.top, area.left + wide, area.bottom), first)
    part = framed(crowd, Area(area.left + wide + GAP, area.top, area.right, area.bottom), second)
    return Layout((whole, part), _inset(crowd, whole, part))


def _inset(crowd: Sequence[Point], whole: Frame, part: Frame) -> Inset:
    """What the second window shows of the first: the crowd with a border, as far as that window reaches."""
    border = 16 / whole.px_per_m
    low = part.ground(part.area.left + 40, part.area.top + 24)
    high = part.ground(part.area.right - 40, part.area.bottom - 24)
    xs, ys = [x for x, _ in crowd], [y for _, y in crowd]
    return Inset(
        (max(low[0], min(xs) - border), max(low[1], min(ys) - border)),
        (min(high[0], max(xs) + border), min(high[1], max(ys) + border)),
        "A",
    )
