"""How loud, how even and when a rig is heard at its places and over its areas."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite

from attrs import frozen

from rigspec.solve.sound import BANDS_HZ, Field, Point, level_db
from rigspec.solve.timing import PRECEDENCE_S
from rigspec.space.scene import Scene
from rigspec.space.voices import DRIVES, Drive, Voice, noise
from rigspec.space.where import Spot
from rigspec.text.value import Value, gathered


@frozen(eq=False, repr=False)
class Range(Value):
    """A level over the points of a place or an area: its softest and its loudest, and the mean of the energy."""

    softest: Point
    least_db: float
    loudest: Point
    most_db: float
    mean_db: float

    @property
    def evenness_db(self) -> float:
        return self.most_db - self.least_db if isfinite(self.most_db) else 0.0


@frozen(eq=False, repr=False)
class Arrival(Value):
    """Loudspeakers that go by one name at a point: when the first of them is there, and how loud all are there.

    ``level_db`` is at the drive that is known, the nominal level or else the most; None where neither is.
    """

    name: str
    voices: tuple[Voice, ...]
    first: Voice
    arrival_s: float
    level_db: float | None


@frozen(eq=False, repr=False)
class PlaceReach(Value):
    """What a place or an area hears of what it is meant to hear; levels None where they are not known.

    ``arrivals`` are in order of time, at the place or the middle of the area. ``aweighted_db`` is the nominal level as
    the ear weighs it.
    """

    spot: Spot
    middle: Point
    nominal: Range | None
    peaks: Range | None
    most: Range | None
    aweighted_db: float | None
    arrivals: tuple[Arrival, ...]

    @property
    def voices(self) -> list[Voice]:
        """All loudspeakers that it hears."""
        return [voice for each in self.arrivals for voice in each.voices]

    @property
    def loudest(self) -> Arrival | None:
        """Who is loudest, of those that play more than bass, if any does."""
        known = [each for each in self.arrivals if each.level_db is not None]
        known = [each for each in known if not all(voice.bass for voice in each.voices)] or known
        return max(known, key=lambda each: (round(each.level_db or 0.0, 6), each.name), default=None)


def middle_of(spot: Spot) -> Point:
    """The point of an area that is nearest to the middle of all."""
    count = len(spot.points)
    x, y = (sum(point[at] for point in spot.points) / count for at in (0, 1))
    return min(spot.points, key=lambda point: ((point[0] - x) ** 2 + (point[1] - y) ** 2, point))


def reach_at(scene: Scene, spot: Spot, progress: Callable[[], None] | None = None) -> PlaceReach:
    """All that is to say of one place; ``progress`` is called behind each point."""
    meant, middle = scene.meant_for(spot), middle_of(spot)
    nominal, peaks, most = (level_range(scene, spot, drive, progress) for drive in DRIVES)
    return PlaceReach(
        spot, middle, nominal, peaks, most, _aweighted(scene, meant, middle), arrivals_at(scene, meant, middle)
    )


def level_range(scene: Scene, spot: Spot, drive: Drive, progress: Callable[[], None] | None = None) -> Range | None:
    """The level over a place or an area; None where that of a loudspeaker that it hears is not known."""
    meant = scene.meant_for(spot)
    sources = noise(meant, drive)
    if not sources or any(voice.level_db(drive) is None for voice in meant):
        return None
    field = Field(sources, BANDS_HZ, scene.air)
    found: list[tuple[float, Point]] = []
    for point in spot.points:
        found.append((field.level_db(point), point))
        if progress is not None:
            progress()
    low, high = min(found), max(found)
    mean = level_db(sum(10 ** (level / 10) for level, _ in found) / len(found))
    return Range(low[1], low[0], high[1], high[0], mean)


def a_weight_db(hz: float) -> float:
    """The A-weighting of a tone (IEC 61672-1, its formula with poles at 20.6, 107.7, 737.9 and 12194 Hz)."""
    square = hz * hz
    top = 12194.0**2 * square * square
    bottom = (square + 20.6**2) * (square + 12194.0**2) * ((square + 107.7**2) * (square + 737.9**2)) ** 0.5
    return level_db((top / bottom) ** 2) + 2.0


def _aweighted(scene: Scene, meant: Sequence[Voice], point: Point) -> float | None:
    sources = noise(meant, "nominal")
    if not sources or any(voice.level_db("nominal") is None for voice in meant):
        return None
    powers = Field(sources, BANDS_HZ, scene.air).powers(point)
    weighed = sum(power * 10 ** (a_weight_db(hz) / 10) for hz, power in zip(BANDS_HZ, powers, strict=True))
    found = level_db(weighed)
    return found if isfinite(found) else None


USED: tuple[Drive, ...] = ("nominal", "most")


def arrivals_at(scene: Scene, voices: Sequence[Voice], point: Point) -> tuple[Arrival, ...]:
    """Loudspeakers at a point, by what they are called, the first to arrive first."""
    found = []
    for name, named in gathered(voices, scene.called).items():
        first = min(named, key=lambda voice: (round(scene.arrival_s(voice, point), 9), voice.key))
        known = (drive for drive in USED if all(voice.level_db(drive) is not None for voice in named))
        drive = next(known, None)
        level = None
        if drive is not None:
            sources = noise(named, drive)
            level = Field(sources, BANDS_HZ, scene.air).level_db(point) if sources else None
            level = level if level is not None and isfinite(level) else None
        found.append(Arrival(name, tuple(named), first, scene.arrival_s(first, point), level))
    return tuple(sorted(found, key=lambda each: (round(each.arrival_s, 9), each.name)))


def to_set_s(early_s: float) -> tuple[float, float]:
    """How much more delay brings a box that is so far before the other into 5 to 15 ms after it; less than 0: less."""
    return early_s + PRECEDENCE_S[0], early_s + PRECEDENCE_S[1]
