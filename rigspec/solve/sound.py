"""Sound in the open: what loudspeakers, taken as points, add up to at a place.

Sound falls by 6 dB for each doubling of the distance, and by what air takes. A box with coverage angles is 6 dB down
at half of each, by the square of the angle and 20 dB at most, above 100 Hz; all else radiates alike in all directions
(common practice, no source). Up to 100 Hz the sound of one programme adds as waves do, with the time it takes; above,
and between programmes, it adds by energy. Walls, ground, obstacles and people are left out.
"""

from __future__ import annotations

from cmath import exp as wave
from collections.abc import Iterable, Sequence
from math import atan2, degrees, exp, hypot, inf, log, log10, pi, sqrt
from typing import TypeAlias

from attrs import frozen

from rigspec.solve.air import Air, loss_db_per_m, sound_m_per_s
from rigspec.text.value import Content, gathered

Point: TypeAlias = "tuple[float, float, float]"
"""Metres across to house right, along from the stage into the house, and up."""

COHERENT_HZ = 100.0
"""Up to here waves are added; above, where a step to the side changes everything, energy."""
DOWN_AT_EDGE_DB = 6.0
MOST_DOWN_DB = 20.0
NEAREST_M = 0.25  # the front of a box; what is nearer hears no more
THIRDS_HZ = tuple(10 ** (step / 10) for step in range(15, 21))
"""The exact middles of the third-octaves from 31.5 to 100 Hz."""
OCTAVES_HZ = tuple(1000 * 10 ** (0.3 * step) for step in range(-3, 4))
"""The exact middles of the octaves from 125 Hz to 8 kHz."""
BANDS_HZ = (*THIRDS_HZ, *OCTAVES_HZ)
_LN_PER_DB = log(10) / 20


@frozen(eq=False, repr=False)
class Source(Content):
    """One loudspeaker's share of one programme: where it is, where it points, and what it gives at each frequency.

    ``waves`` are the amplitudes that it would have at 1 m on its axis, 20 uPa being 1, with the phase of all that lies
    before it: polarity, delay, filters. ``coverage_deg`` is None for what radiates alike all round.
    """

    at: Point
    waves: tuple[complex, ...]
    coverage_deg: tuple[float, float] | None = None
    right_deg: float = 0.0
    up_deg: float = 0.0
    programme: str = ""


def distance_m(one: Point, other: Point) -> float:
    """How far two points are apart."""
    return sqrt((other[0] - one[0]) ** 2 + (other[1] - one[1]) ** 2 + (other[2] - one[2]) ** 2)


def off_aim_deg(at: Point, right_deg: float, up_deg: float, place: Point) -> tuple[float, float]:
    """How far beside and above its aim a loudspeaker has a place: to the right, and up."""
    across, along, up = (there - here for there, here in zip(place, at, strict=True))
    beside = degrees(atan2(across, along)) - right_deg
    return (beside + 180) % 360 - 180, degrees(atan2(up, hypot(across, along))) - up_deg


def beside_aim_db(off_deg: tuple[float, float], coverage_deg: tuple[float, float] | None) -> float:
    """How much less a loudspeaker gives off its aim than on it, above 100 Hz."""
    if coverage_deg is None:
        return 0.0
    beside = 4 * DOWN_AT_EDGE_DB * ((off_deg[0] / coverage_deg[0]) ** 2 + (off_deg[1] / coverage_deg[1]) ** 2)
    return min(MOST_DOWN_DB, beside)


def wave_at_1_m(level_db: float, hz: float = 0.0, late_s: float = 0.0, inverted: bool = False) -> complex:
    """The amplitude of a tone of this level at 1 m, with its delay and its polarity."""
    size = 10 ** (level_db / 20)
    return (-size if inverted else size) * wave(-2j * pi * hz * late_s)


def level_db(power: float) -> float:
    """The level of a squared amplitude."""
    return 10 * log10(power) if power > 0 else -inf


class Field:
    """The sound of some sources, to be asked for at many points: what depends on the frequency alone is made once."""

    def __init__(self, sources: Iterable[Source], hertz: Sequence[float], air: Air) -> None:
        gathering = gathered(sources, lambda source: source.programme)
        self.sources = [source for programme in gathering.values() for source in programme]
        self.hertz = tuple(hertz)
        self._spans: list[tuple[int, int]] = []
        for programme in gathering.values():
            begin = self._spans[-1][1] if self._spans else 0
            self._spans.append((begin, begin + len(programme)))
        metre = sound_m_per_s(air.air_c)
        self._waves = [[source.waves[at] for source in self.sources] for at in range(len(self.hertz))]
        self._powers = [[abs(each) ** 2 for each in waves] for waves in self._waves]
        self._per_m = [
            -_LN_PER_DB * loss_db_per_m(air, hz) - (2j * pi * hz / metre if hz <= COHERENT_HZ else 0) for hz in hertz
        ]

    def powers(self, place: Point) -> list[float]:
        """The squared amplitude at a point, for each frequency."""
        ranges = [max(distance_m(source.at, place), NEAREST_M) for source in self.sources]
        near = [1 / metres for metres in ranges]
        beams: list[float] = []
        found = []
        for number, hz in enumerate(self.hertz):
            per_m = self._per_m[number]
            if hz <= COHERENT_HZ:
                parts = self._parts(number, near, ranges)
                found.append(sum(abs(sum(parts[begin:end])) ** 2 for begin, end in self._spans))
            else:
                beams = beams or self._beams(place, near)
                loss = 2 * per_m.real
                powers = zip(self._powers[number], beams, ranges, strict=True)
                found.append(sum(p * g * exp(loss * r) for p, g, r in powers))
        return found

    def alone(self, place: Point) -> list[float]:
        """The squared amplitude of each source by itself, of all frequencies together, in the order of `sources`."""
        ranges = [max(distance_m(source.at, place), NEAREST_M) for source in self.sources]
        near = [1 / metres for metres in ranges]
        beams = self._beams(place, near)
        found = [0.0] * len(self.sources)
        for number, hz in enumerate(self.hertz):
            loss, shares = 2 * self._per_m[number].real, beams if hz > COHERENT_HZ else [each * each for each in near]
            powers = zip(found, self._powers[number], shares, ranges, strict=True)
            found = [so_far + p * g * exp(loss * r) if p else so_far for so_far, p, g, r in powers]
        return found

    def waves(self, place: Point, number: int = 0) -> list[complex]:
        """What each source is at a point with a tone of 100 Hz or less, for those who add them otherwise."""
        ranges = [max(distance_m(source.at, place), NEAREST_M) for source in self.sources]
        return self._parts(number, [1 / metres for metres in ranges], ranges)

    def _parts(self, number: int, near: Sequence[float], ranges: Sequence[float]) -> list[complex]:
        per_m = self._per_m[number]
        return [a * g * wave(per_m * r) for a, g, r in zip(self._waves[number], near, ranges, strict=True)]

    def _beams(self, place: Point, near: Sequence[float]) -> list[float]:
        """What distance and direction leave of each source's power."""
        beams = []
        for source, share in zip(self.sources, near, strict=True):
            off = off_aim_deg(source.at, source.right_deg, source.up_deg, place) if source.coverage_deg else (0.0, 0.0)
            beams.append(share * share * 10 ** (-beside_aim_db(off, source.coverage_deg) / 10))
        return beams

    def levels_db(self, place: Point) -> list[float]:
        """The level at a point, for each frequency."""
        return [level_db(power) for power in self.powers(place)]

    def level_db(self, place: Point) -> float:
        """The level at a point of all frequencies together, as noise."""
        return level_db(sum(self.powers(place)))
