"""How large a plan is drawn: its ratio, what part of the ground it shows where on the paper, and its steps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, floor, log10

from attrs import frozen

from rigspec.draw.marks import PX_PER_MM, Point
from rigspec.draw.shapes import Area
from rigspec.text.value import Content

TENS = (1, 10, 100, 1000, 10_000, 100_000, 1_000_000)
# The scales of ISO 5455, and those between them that rulers for plans have (common practice, no source). Larger than
# 1:20 nobody needs to find a box.
RATIOS: tuple[int, ...] = (20, 25, 50, 75, *(step * tens for tens in TENS for step in (100, 125, 200, 250, 500, 750)))
ROOM_X, ROOM_Y = 60.0, 46.0  # px beside the outermost things, for what is written at them


@frozen(eq=False, repr=False)
class Frame(Content):
    """A window on the ground: ``area`` of the paper, 1:``ratio``, around a middle in metres across and along."""

    area: Area
    ratio: int
    across_m: float
    along_m: float

    @property
    def px_per_m(self) -> float:
        return 1000 * PX_PER_MM / self.ratio

    def at(self, across_m: float, along_m: float) -> Point:
        """Where on the paper a point of the ground is: across to the right, along down, as it is seen from the desk."""
        x = (self.area.left + self.area.right) / 2 + (across_m - self.across_m) * self.px_per_m
        return x, (self.area.top + self.area.bottom) / 2 + (along_m - self.along_m) * self.px_per_m

    def ground(self, x: float, y: float) -> Point:
        """The point of the ground, in metres across and along, that is at a point of the paper."""
        across = self.across_m + (x - (self.area.left + self.area.right) / 2) / self.px_per_m
        return across, self.along_m + (y - (self.area.top + self.area.bottom) / 2) / self.px_per_m


def ratio_for(points: Sequence[Point], width: float, height: float) -> int:
    """The largest scale, as the smallest ratio, that brings all points into so many px with room around them."""
    long_x, long_y = _spread(points)
    for ratio in RATIOS:
        px_per_m = 1000 * PX_PER_MM / ratio
        if long_x * px_per_m <= width - 2 * ROOM_X and long_y * px_per_m <= height - 2 * ROOM_Y:
            return ratio
    return RATIOS[-1]


def framed(points: Sequence[Point], area: Area, ratio: int) -> Frame:
    """The window of this ratio whose middle is that of the points."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Frame(area, ratio, (min(xs) + max(xs)) / 2, (min(ys) + max(ys)) / 2)


def needed(points: Sequence[Point], ratio: int) -> Point:
    """The width and height in px that a window of this ratio needs for the points."""
    px_per_m = 1000 * PX_PER_MM / ratio
    long_x, long_y = _spread(points)
    return long_x * px_per_m + 2 * ROOM_X, long_y * px_per_m + 2 * ROOM_Y


def _spread(points: Sequence[Point]) -> Point:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return max(xs) - min(xs), max(ys) - min(ys)


def step(least: float) -> float:
    """The least of 1, 2 and 5 with powers of ten that is not below."""
    tens = 10.0 ** floor(log10(least))
    return next(round(tens * each, 9) for each in (1, 2, 5, 10) if tens * each >= least * (1 - 1e-9))


def ticks(low: float, high: float, apart: float) -> Iterable[float]:
    """The multiples of a step from low to high."""
    for number in range(ceil(low / apart - 1e-9), floor(high / apart + 1e-9) + 1):
        yield round(number * apart, 9) + 0.0
