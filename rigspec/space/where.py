"""Where things of a rig stand: loudspeakers, places and areas, and what air lies between."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, isfinite, sqrt

from attrs import frozen

from rigspec.language.words import SettingWord
from rigspec.rig.model import Gear, Measure, Rig, entries, one
from rigspec.solve.air import Air
from rigspec.solve.conductor import ZERO_C_KELVIN
from rigspec.solve.sound import Point
from rigspec.text.units import FigureKind, show
from rigspec.text.value import Value

EARS_M = 1.7
USUAL = Air()
MOST_M = 1e6
"""What is said to lie farther out is a slip."""
CELLS = 12
"""An area is looked at in so many rows and columns at most."""
LEAST_STEP_M = 0.5


@frozen(eq=False, repr=False)
class Spot(Value):
    """A place or an area: the points at which ears are; one for a place. ``assumes`` is what that rests on."""

    gear: Gear
    points: tuple[Point, ...]
    corners: tuple[tuple[float, float], ...] = ()
    assumes: tuple[str, ...] = ()

    @property
    def name(self) -> str:
        return self.gear.full


def air_of(rig: Rig) -> tuple[Air, tuple[str, ...]]:
    """The rig's air, and what had to be taken for it."""
    warm, damp = one(rig.facts, "air", "temperature"), one(rig.facts, "air", "ratio")
    air = Air(
        USUAL.air_c if warm is None else warm.value - ZERO_C_KELVIN,
        USUAL.humidity_percent if damp is None else min(max(100 * damp.value, 1.0), 100.0),
    )
    lacking = [f"{air.air_c:g} degC"] if warm is None else []
    lacking += [f"{air.humidity_percent:g} % humidity"] if damp is None else []
    return air, ((f"air of {' and '.join(lacking)}",) if lacking else ())


def measures(gear: Gear, word: SettingWord, kind: FigureKind) -> list[Measure]:
    """The figures of all items of a setting."""
    return [found for each in entries(gear.facts, word) if (found := each.get(kind)) is not None]


def at_of(gear: Gear) -> Point | None:
    """Where a thing stands; None where it does not say so. What gives no height stands at 0."""
    said = [each.value for each in measures(gear, "at", "length")]
    if len(said) not in (2, 3) or not all(isfinite(each) and abs(each) < MOST_M for each in said):
        return None
    return (said[0], said[1], said[2] if len(said) == 3 else 0.0)


def spots_of(rig: Rig) -> tuple[Spot, ...]:
    """The places and areas that say where they are."""
    found = (area_of(gear) if gear.says("corner") else place_of(gear) for gear in rig.gear.values() if _listens(gear))
    return tuple(spot for spot in found if spot is not None)


def _listens(gear: Gear) -> bool:
    return gear.word in ("place", "area") and not gear.doubt


def place_of(gear: Gear) -> Spot | None:
    """A place: one point, at the height of the ears."""
    at = at_of(gear)
    if at is None:
        return None
    height, assumes = _ears(gear, len(measures(gear, "at", "length")) == 3)
    return Spot(gear, ((at[0], at[1], at[2] + height),), assumes=assumes)


def _ears(gear: Gear, up_said: bool) -> tuple[float, tuple[str, ...]]:
    height = gear.measure("height", "length")
    if height is not None:
        return height.value, ()
    return (0.0, ()) if up_said else (EARS_M, (f"ears at {show(EARS_M, 'length')}",))


def area_of(gear: Gear) -> Spot | None:
    """An area: two corners are those of a rectangle, three or more go round it."""
    said = [each.value for each in measures(gear, "corner", "length")]
    corners = list(zip(said[::2], said[1::2], strict=False))  # across and along in turn
    if len(corners) < 2 or any(not isfinite(each) or abs(each) > MOST_M for each in said):
        return None
    if len(corners) == 2:
        (left, near), (right, far) = corners
        corners = [(left, near), (right, near), (right, far), (left, far)]
    height, assumes = _ears(gear, up_said=False)
    points = tuple((x, y, height) for x, y in grid(corners))
    return Spot(gear, points, tuple(corners), assumes)


def grid(corners: Sequence[tuple[float, float]], cells: int = CELLS) -> list[tuple[float, float]]:
    """Points over a polygon in even steps from edge to edge, and its corners."""
    xs, ys = [x for x, _ in corners], [y for _, y in corners]
    wide, deep = max(xs) - min(xs), max(ys) - min(ys)
    step = max(LEAST_STEP_M, sqrt(max(wide * deep, 1e-9)) / cells, max(wide, deep) / (3 * cells))
    columns, rows = max(1, ceil(wide / step - 1e-9)), max(1, ceil(deep / step - 1e-9))
    found = [
        (min(xs) + _share(column, columns) * wide, min(ys) + _share(row, rows) * deep)
        for row in range(rows + 1)
        for column in range(columns + 1)
    ]
    inside = [point for point in found if within(point, corners)]
    return inside + [each for each in corners if all(max(abs(each[0] - x), abs(each[1] - y)) > 1e-3 for x, y in inside)]


def _share(step: int, steps: int) -> float:
    """A part of the way, a hair inside of its ends, so that edges count as inside."""
    return min(max(step / steps, 1e-7), 1 - 1e-7)


def within(point: tuple[float, float], corners: Sequence[tuple[float, float]]) -> bool:
    """Does a polygon hold a point? An odd number of its sides cross the line from there to house right."""
    x, y = point
    inside = False
    for (x1, y1), (x2, y2) in zip(corners, [*corners[1:], corners[0]], strict=True):
        if (y1 > y) != (y2 > y) and x < (x2 - x1) * (y - y1) / (y2 - y1) + x1:
            inside = not inside
    return inside
