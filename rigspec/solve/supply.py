"""What opposed drive of channels on one supply is worth: the closed form, from figures that a data sheet gives.

A mains transformer, a bridge and a reservoir feed a plus and a minus rail; class-B channels hang between them. Alike
bass in phase draws on one rail while the other rests; opposed, each rail feeds half the channels at every instant. The
total draw is the same, so the mains see no difference; what changes is the ripple on each rail, and with it how far
the output can swing. Nothing here was measured on a real amplifier: the form was fitted to circuit simulations of a
family of such supplies, and its uncertainty is how far it lay from them.

All figures are in volts (peak), watts, ohms, siemens, farads and hertz.
"""

from __future__ import annotations

from collections.abc import Callable
from math import acos, cos, pi, sin, sqrt

from attrs import frozen

from rigspec.solve.decibel import power_ratio_to_gain
from rigspec.text.value import Content

LEAST_X = 1.2
"""Below this mains frequency times load times capacitance the closed form gives no number."""
_POINTS = ((2.0, 0.06), (3.5, 0.04), (float("inf"), 0.025))
"""The uncertainty of the gain, by x; the last was tried up to x = 8, and the gain falls beyond."""
JUST_HEARD_DB = 1.0
"""The least step in level that is just heard (common practice, no source)."""
COSTS_ABOVE = 1.2
"""Above this multiple of the mains frequency opposed drive gives nothing or costs a little (circuit simulation)."""

_PEAK_STEPS = 72
_FORGOTTEN = 1e-4
_TURN = 2 * pi


@frozen(eq=False, repr=False)
class Rails(Content):
    """A supply as two equal rails: ``open_volt`` is the highest output peak that it would allow with no load.

    ``droop_ohm`` is how much lower that is for each ampere of average current from a rail, ``farad`` the reservoir of
    each rail.
    """

    open_volt: float
    droop_ohm: float
    farad: float
    mains_hz: float


@frozen(eq=False, repr=False)
class SupplyDraw(Content):
    """The channels that carry one alike signal: the conductances of their loads together, by electrical polarity."""

    normal_siemens: float
    turned_siemens: float = 0.0

    @property
    def total_siemens(self) -> float:
        return self.normal_siemens + self.turned_siemens

    @property
    def in_phase(self) -> SupplyDraw:
        return SupplyDraw(self.total_siemens)


def alone_w(driven_w_at_twice: float) -> float:
    """The power of one channel alone into R, from that of each of two channels into 2R: P1(R) = 2 P2(2R).

    Exact for two ideal class-B channels on one supply (circuit theory): both draw the same current from the same rail.
    """
    return 2 * driven_w_at_twice


def rails(
    load_ohm: float, alone_watt: float, driven_watt: float, farad: float, mains_hz: float, channels: int = 2
) -> Rails | None:
    """A supply from its ratings with one and with all of ``channels`` driven into a load; None where they contradict.

    In class B each channel takes A/(pi R) from a rail on average. Where the rating with all driven is the higher one,
    or so far below the other that the rails would collapse, no supply of this sort fits.
    """
    one, every = sqrt(2 * load_ohm * alone_watt), sqrt(2 * load_ohm * driven_watt)
    left = channels * every - one
    if every > one or left <= 0:
        return None
    droop = pi * load_ohm * (one - every) / left
    return Rails(every + channels * every * droop / (pi * load_ohm), droop, farad, mains_hz)


def reservoir_x(mains_hz: float, load_ohm: float, farad: float) -> float:
    """Mains frequency times load on each of two channels times capacitance of a rail: how stiff a reservoir is."""
    return mains_hz * load_ohm * farad


def pair_ohm(draw: SupplyDraw) -> float:
    """The load on each of two channels that draw as much as these together."""
    return 2 / draw.total_siemens


def uncertainty(x: float) -> float | None:
    """How far the gain may lie off, as a share of the power (0.04 is four points); None where no number is given."""
    return None if x < LEAST_X else next(points for least, points in _POINTS if x < least)


def peak_volt(supply: Rails, draw: SupplyDraw, hz: float) -> float:
    """The highest peak that these channels give together at a tone before the first of them touches a rail."""
    period = 1 / (2 * supply.mains_hz)
    swing = supply.open_volt / (1 + supply.droop_ohm * draw.total_siemens / pi)
    sag = min(1.0, 1 - swing / supply.open_volt)
    conducts = min(0.5, 1.2 * acos(1 - sag) / pi)
    reservoir = supply.droop_ohm * supply.farad + conducts * period
    refill = 1.0 if reservoir <= period else period / reservoir
    w = _TURN * hz
    first, step = w * period * (1 - conducts), w * period
    by_one = _strain(draw, w * supply.farad, first, step, refill)
    return supply.open_volt / _highest(by_one, bool(draw.normal_siemens), bool(draw.turned_siemens))


def _strain(
    draw: SupplyDraw, siemens: float, first: float, step: float, refill: float
) -> Callable[[float], tuple[float, float]]:
    """At an angle of the signal: its sine, and how far the plus rail lies down for one volt of peak.

    The reservoir loses what was drawn since its last refill; each refill makes good a share ``refill`` of the rest.
    """

    def drawn(angle: float) -> float:
        """The charge that was drawn up to an angle: each half wave of one volt gives two."""
        turns, rest = divmod(angle, _TURN)
        half = 1 - cos(rest)
        now = draw.normal_siemens * half if rest < pi else 2 * draw.normal_siemens + draw.turned_siemens * (2 - half)
        return 2 * draw.total_siemens * turns + now

    def strain(angle: float) -> tuple[float, float]:
        lost, share, upper, start = 0.0, 1.0, drawn(angle), angle - first
        while share > _FORGOTTEN:
            lower = drawn(start)
            lost += share * (upper - lower)
            upper, start, share = lower, start - step, share * (1 - refill)
        return sin(angle), lost / siemens

    return strain


def _highest(strain: Callable[[float], tuple[float, float]], normal: bool, turned: bool) -> float:
    """The most that swing and lost voltage come to at one instant, for one volt of peak."""

    def at(angle: float) -> float:
        swing, lost = strain(angle)
        return lost + max(swing if normal else -1.0, -swing if turned else -1.0)

    angles = [_TURN * number / _PEAK_STEPS for number in range(_PEAK_STEPS)]
    values = [at(angle) for angle in angles]
    best = max(range(_PEAK_STEPS), key=values.__getitem__)
    before, here, after = values[best - 1], values[best], values[(best + 1) % _PEAK_STEPS]
    bend = before - 2 * here + after
    if bend >= 0:
        return here
    return max(here, at(angles[best] + (before - after) / (2 * bend) * _TURN / _PEAK_STEPS))


def power_w(peak: float, load_ohm: float) -> float:
    """The power of a sine of this peak into a load."""
    return peak * peak / (2 * load_ohm)


def gain(supply: Rails, draw: SupplyDraw, hz: float) -> float:
    """What these channels gain in power by their opposition, against all in phase: 0.1 is ten percent."""
    return (peak_volt(supply, draw, hz) / peak_volt(supply, draw.in_phase, hz)) ** 2 - 1


def switch_mode_gain(load_ohm: float, rail_ohm: float) -> float:
    """The gain of opposed drive on a switch-mode supply: only a resistance in series with each rail counts.

    In phase both channels' currents meet in one rail's resistance, opposed each has a rail's to itself.
    """
    return ((load_ohm + 2 * rail_ohm) / (load_ohm + rail_ohm)) ** 2 - 1


def gain_db(share: float) -> float:
    """A gain in power in decibels: 0.1 (ten percent) is 0.41 dB."""
    return power_ratio_to_gain(1 + share)


# With the reservoir fed by the average current, what half-wave draws add to the ripple (circuit theory): the area above
# the average of one half sine, and of a full-wave sine, for one ampere of peak.
