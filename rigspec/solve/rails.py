"""The rails of a mains-fed supply in time: what opposed drive is worth, step by step through the mains cycle.

A centre-tapped transformer with a common (primary) and a separate (secondary) impedance, four diodes, a reservoir on
each rail, and class-B channels that draw their signal's half waves. Fixed steps by the trapezoidal rule, diodes with a
constant drop. Mains and signal are not locked: a run lasts until their phases have met in all positions, and what
counts is the lowest margin between swing and rail in all of it. An independent check of `solve/supply.py`, and better
where the supply is described in full; it was held against circuit simulations, not against a real amplifier.

Figures are in volts (peak), amperes, ohms, farads, hertz and seconds.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from math import floor, pi, sin, sqrt

from attrs import evolve, frozen

from rigspec.solve.supply import SupplyDraw, power_w, rails
from rigspec.text.value import Content

STEPS = 48  # in half a mains cycle
_SETTLE = 16  # half cycles of the mains before anything is judged, and again after a new amplitude
_RESETTLE = 8
_MOST = 120  # half cycles of the mains that a run lasts at most
_GAP = 0.1  # the widest gap between the phases that a run has seen, as a share of a half wave
_NEAR_VOLT = 0.02
_TRIES = 6
_FITS = 3
_RATING = 4.13  # times the mains frequency: the rail's ripple at the tone counts for little there
_LEAST_OHM = 0.005


@frozen(eq=False, repr=False)
class Mains(Content):
    """A transformer supply in full. ``emf_volt`` is the peak of each half winding's voltage with no load.

    ``ohm`` is the resistance that a rail sees while both rails are charged, ``common_share`` the part of it that both
    share; ``reactance`` is the leakage reactance over the resistance. ``idle_ampere`` flows from every rail always;
    ``lost_volt`` is what an output stage cannot use of its rail.
    """

    emf_volt: float
    ohm: float
    farad: float
    mains_hz: float
    common_share: float = 0.5
    reactance: float = 0.3
    diode_volt: float = 0.9
    idle_ampere: float = 0.1
    lost_volt: float = 3.0


def peak_volt(mains: Mains, draw: SupplyDraw, hz: float) -> float:
    """The highest peak that these channels give together at a tone before one of them touches a rail, ever."""
    hz, half_cycles, step_count = _beat(mains, hz)
    run = _Run(mains, draw, hz, half_cycles, step_count)
    low, high = 0.0, mains.emf_volt
    peak = 0.9 * high / (1 + mains.ohm * draw.total_siemens)
    last: tuple[float, float] | None = None
    for number in range(_TRIES):
        margin = run.margin(peak, _RESETTLE if number else _SETTLE)
        if margin >= 0:
            low = peak
        else:
            high = peak
        if abs(margin) < _NEAR_VOLT:
            break
        slope = -1.2 if last is None or last[0] == peak else (margin - last[1]) / (peak - last[0])
        last = (peak, margin)
        better = peak - margin / min(slope, -0.5)
        peak = better if low < better < high else (low + high) / 2
    return peak


def gain(mains: Mains, draw: SupplyDraw, hz: float) -> float:
    """What these channels gain in power by their opposition, against all in phase: 0.1 is ten percent."""
    return (peak_volt(mains, draw, hz) / peak_volt(mains, draw.in_phase, hz)) ** 2 - 1


def fitted(
    load_ohm: float, alone_watt: float, driven_watt: float, farad: float, mains_hz: float, channels: int = 2
) -> Mains | None:
    """A supply of this family that gives these ratings; None where no supply does, as in ``supply.rails``.

    Its voltage and its resistance are what is looked for; what else it has is that of the family.
    """
    wanted = rails(load_ohm, alone_watt, driven_watt, farad, mains_hz, channels)
    if wanted is None:
        return None
    made = Mains(wanted.open_volt + 4.0, max(wanted.droop_ohm / 3, _LEAST_OHM), farad, mains_hz)
    target = sqrt(2 * load_ohm * driven_watt)
    for _ in range(_FITS):
        one, every = (peak_volt(made, SupplyDraw(n / load_ohm), _RATING * mains_hz) for n in (1, channels))
        found = rails(load_ohm, power_w(one, load_ohm), power_w(every, load_ohm), farad, mains_hz, channels)
        softer = 1.0 if found is None or found.droop_ohm <= 0 else wanted.droop_ohm / found.droop_ohm
        more_volt = (min(max(softer, 0.5), 2.0) - 1) * (1 - every / made.emf_volt) / 2  # a softer supply needs more
        made = evolve(
            made,
            emf_volt=made.emf_volt * target / every * (1 + more_volt),
            ohm=max(made.ohm * min(max(softer, 0.3), 3.0), _LEAST_OHM),
        )
    every = peak_volt(made, SupplyDraw(channels / load_ohm), _RATING * mains_hz)
    return evolve(made, emf_volt=made.emf_volt * target / every)


def _beat(mains: Mains, hz: float) -> tuple[float, int, int]:
    """The tone, a little off where it is locked to the mains; how many half cycles show all phases; steps in each.

    Locked tones are taken as all others: nobody can say at which phase of the mains the music comes.
    """
    steps = max(STEPS, floor(12 * hz / mains.mains_hz))
    ratio = hz / mains.mains_hz
    for moved in (0.0, 1 / _MOST):
        seen = [0.0]
        for count in range(1, _MOST + 1):
            seen.append((count * (ratio + moved)) % 1.0)
            if count % 8 == 0 and _widest(seen) <= _GAP:
                return (ratio + moved) * mains.mains_hz, count, steps
    return (ratio + 1 / _MOST) * mains.mains_hz, _MOST, steps


def _widest(phases: Sequence[float]) -> float:
    ordered = sorted(phases)
    return max([b - a for a, b in itertools.pairwise(ordered)] + [ordered[0] + 1 - ordered[-1]])


class _Run:
    """One set of channels at one tone; the rails go on from where an earlier amplitude left them."""

    def __init__(self, mains: Mains, draw: SupplyDraw, hz: float, half_cycles: int, steps: int) -> None:
        self.mains, self.draw, self.half_cycles, self.steps = mains, draw, half_cycles, steps
        self.step_s = 1 / (2 * mains.mains_hz * steps)
        self.turn = 2 * pi * hz * self.step_s
        self.done = 0  # steps since the signal began
        rail = mains.emf_volt * 0.85
        self.state = (rail, rail, 0.0, 0.0)
        angle = pi / steps
        ideal = [mains.emf_volt * sin(angle * k) for k in range(steps + 1)]
        self.driven = [(a + b) / 2 - mains.diode_volt for a, b in itertools.pairwise(ideal)]

    def margin(self, peak: float, settle: int) -> float:
        """The least distance between what the rails allow and what the channels swing, in volts."""
        self._go(peak, settle)
        return self._go(peak, self.half_cycles)

    def _go(self, peak: float, half_cycles: int) -> float:
        mains, draw, h = self.mains, self.draw, self.step_s
        common = mains.ohm * mains.common_share / 2
        ohm = mains.ohm * (1 - mains.common_share) + common
        henry = mains.reactance / (2 * pi * mains.mains_hz)
        # L di = h (driven - v - R i) for the mean of both ends of a step; v = v0 + h/C (mean of i - load)
        stiff = h / (4 * mains.farad) * h
        own_new, own_old = henry * ohm + h * ohm / 2 + stiff, henry * ohm - h * ohm / 2 - stiff
        other_new, other_old = henry * common + h * common / 2, henry * common - h * common / 2
        per_farad, half_charge = h / mains.farad, h / (2 * mains.farad)
        whole = own_new * own_new - other_new * other_new
        normal, turned = peak * draw.normal_siemens, peak * draw.turned_siemens
        both, idle, driven = bool(turned), mains.idle_ampere, self.driven
        plus, minus, i_plus, i_minus = self.state
        angle, turn, lowest = self.done * self.turn, self.turn, mains.emf_volt
        before = angle - turn / 2
        for _ in range(half_cycles):
            for emf in driven:
                before += turn
                angle += turn
                swing = sin(before)
                if swing > 0:
                    load_plus, load_minus = idle + normal * swing, idle + turned * swing
                else:
                    load_plus, load_minus = idle - turned * swing, idle - normal * swing
                push_plus = h * (emf - plus + half_charge * load_plus) + own_old * i_plus + other_old * i_minus
                push_minus = h * (emf - minus + half_charge * load_minus) + own_old * i_minus + other_old * i_plus
                if push_plus <= 0 and push_minus <= 0:
                    new_plus = new_minus = 0.0
                else:
                    new_plus = (own_new * push_plus - other_new * push_minus) / whole
                    new_minus = (own_new * push_minus - other_new * push_plus) / whole
                    if new_plus < 0:
                        new_plus, new_minus = 0.0, max(push_minus / own_new, 0.0)
                    elif new_minus < 0:
                        new_plus, new_minus = max(push_plus / own_new, 0.0), 0.0
                plus += half_charge * (i_plus + new_plus) - per_farad * load_plus
                minus += half_charge * (i_minus + new_minus) - per_farad * load_minus
                i_plus, i_minus = new_plus, new_minus
                swing = peak * sin(angle)
                if swing > 0:
                    room = (minus if both and minus < plus else plus) - swing
                else:
                    room = (plus if both and plus < minus else minus) + swing
                if room < lowest:
                    lowest = room
        self.done += half_cycles * self.steps
        self.state = (plus, minus, i_plus, i_minus)
        return lowest - mains.lost_volt
