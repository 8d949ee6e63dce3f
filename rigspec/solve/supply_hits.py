"""What opposed drive is worth to what does not last: one hit of a drum from rested rails, and a burst of a few cycles.

The first half wave of a sharp hit is over before the mains has refilled: in phase one rail gives all of it, opposed
each gives half. The second half wave takes some of that back, since in phase the other rail has rested. What counts is
what stays clean whenever the hit comes, so at the worst position against the mains.

Figures are in volts (peak), hertz and seconds.
"""

from __future__ import annotations

from functools import lru_cache
from math import ceil, exp, pi, sin

from attrs import frozen

from rigspec.solve.rails import STEPS, Circuit, Mains, Signal, found_peak, rested, sampled
from rigspec.solve.supply import SupplyDraw
from rigspec.text.value import Content

STARTS = 16
"""The positions of a hit against half a mains cycle that are tried."""
_HALF_WAVES = 6  # of a hit: no later one was found to touch a rail first
_REST_HALF_WAVES = 1  # behind a burst


@frozen(eq=False, repr=False)
class Hit(Content):
    """A decaying sine: after ``decay_s`` it is down to 1/e. Its start is sharp, or softened by ``rise_s``.

    ``every_s``: it comes again, for so many ``times`` in all; the time between has to be a whole number of cycles.
    """

    hz: float
    decay_s: float
    rise_s: float = 0.0
    every_s: float = 0.0
    times: int = 1

    @property
    def lasts_s(self) -> float:
        return self.every_s * self.times if self.every_s else _HALF_WAVES / 2 / self.hz

    def at(self, second: float) -> float:
        since = second % self.every_s if self.every_s else second
        soft = 1 - exp(-since / self.rise_s) if self.rise_s else 1.0
        return sin(2 * pi * self.hz * second) * exp(-since / self.decay_s) * soft


@frozen(eq=False, repr=False)
class Burst(Content):
    """So many whole cycles of a sine, then nothing."""

    hz: float
    cycles: int

    @property
    def lasts_s(self) -> float:
        return (self.cycles + _REST_HALF_WAVES / 2) / self.hz

    def at(self, second: float) -> float:
        return sin(2 * pi * self.hz * second) if second * self.hz < self.cycles else 0.0


def hit_peak_volt(mains: Mains, draw: SupplyDraw, hit: Hit | Burst, like: float | None = None) -> float:
    """The highest peak of such a hit that these channels give together, whenever it comes; ``like`` as of a tone."""
    steps = STEPS * ceil(12 * hit.hz / mains.mains_hz / STEPS)
    circuit = Circuit(mains, draw, steps)
    signal = _signal(hit, circuit.step_s)
    starts = rested(mains, STARTS, steps)

    def margin(peak: float) -> float:
        return min(circuit.follow(state, phase, signal, peak)[0] for phase, state in starts)

    return found_peak(mains, draw, margin, like)


@lru_cache(maxsize=64)
def _signal(hit: Hit | Burst, step_s: float) -> Signal:
    """The hit in steps, with a peak of one volt."""
    middles, ends = sampled(hit.at, step_s, ceil(hit.lasts_s / step_s))
    highest = max(max(ends), -min(ends))
    return [each / highest for each in middles], [each / highest for each in ends]
