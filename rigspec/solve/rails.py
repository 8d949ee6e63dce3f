"""The rails of a mains-fed supply in time: what opposed drive is worth, step by step through the mains cycle.

A centre-tapped transformer with a common (primary) and a separate (secondary) impedance, four diodes, a reservoir on
each rail, and class-B channels that draw their signal's half waves. Fixed steps by the trapezoidal rule, diodes with a
constant drop and a resistance. Mains and signal are not locked: a run lasts until their phases have met in all
positions, and what counts is the lowest margin between swing and rail in all of it. It was held against circuit
simulations, not against a real amplifier.

Figures are in volts (peak), amperes, ohms, farads, hertz and seconds.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Sequence
from functools import lru_cache
from math import ceil, floor, pi, sin, sqrt
from typing import TypeAlias

from attrs import frozen

from rigspec.solve.supply import SupplyDraw
from rigspec.text.value import Content

STEPS = 32  # in half a mains cycle
_SETTLE = 12  # half cycles of the mains before anything is judged, and again after a new amplitude
_MOST_SETTLE = 240
_RESETTLE = 8
_IDLE = 30  # half cycles of the mains after which the rails of an idling amplifier have come to rest
_MOST = 120  # half cycles of the mains that a run lasts at most
_GAP = 0.1  # the widest gap between the phases that a run has seen, as a share of a half wave
_HALF_BRIDGE_GAP = 0.05  # the same with half bridges, whose rails are lowest for a shorter time
_NEAR = 0.005  # of the transformer's voltage: from there on a straight line finds the peak
_KEPT = 64  # signals and rested rails: the same ones are asked for again and again
_NEARLY = 0.03  # the same where an end of a range is looked for
_TRIES = 6
_COLLAPSED = 0.01  # of the transformer's voltage: no amplifier is made so, and no peak is looked for
_SOUNDS = 0.4  # of the highest peak: what swings less is not what touches a rail first
_STEADY = 10  # a tone of so many times the mains frequency draws as a steady current does

State: TypeAlias = tuple[float, float, float, float]
"""The plus and the minus rail, and the current that charges each."""
Signal: TypeAlias = tuple[Sequence[float], Sequence[float]]
"""For one volt: what a signal is in the middle and at the end of each step."""


@frozen(eq=False, repr=False)
class Mains(Content):
    """A transformer supply in full. ``emf_volt`` is the peak of each half winding's voltage with no load.

    ``ohm`` is the resistance that a rail sees while both rails are charged, ``common_share`` the part of it that both
    share; ``reactance`` is the leakage reactance over the resistance. ``idle_ampere`` flows from every rail always;
    ``lost_volt`` is what an output stage cannot use of its rail. ``half_bridge``: the stages are half bridges, which
    give the resting rail a part of what they take from the other.
    """

    emf_volt: float
    ohm: float
    farad: float
    mains_hz: float
    common_share: float = 0.5
    reactance: float = 0.3
    diode_volt: float = 0.8
    diode_ohm: float = 0.007
    idle_ampere: float = 0.1
    lost_volt: float = 3.0
    half_bridge: bool = False


def peak_volt(mains: Mains, draw: SupplyDraw, hz: float, like: float | None = None) -> float:
    """The highest peak that these channels give together at a tone before one of them touches a rail, ever.

    ``like`` is that of a supply which is not far from this one: then a first step from there is enough.
    """
    return found_peak(mains, draw, margin_at_tone(mains, draw, hz), like)


def gain(mains: Mains, draw: SupplyDraw, hz: float) -> float:
    """What these channels gain in power by their opposition, against all in phase: 0.1 is ten percent."""
    return (peak_volt(mains, draw, hz) / peak_volt(mains, draw.in_phase, hz)) ** 2 - 1


def found_peak(mains: Mains, draw: SupplyDraw, margin: Callable[[float], float], like: float | None) -> float:
    """The peak at which the margin is nothing.

    Rails sag about as the peak grows, so that the line through this point and the rails at rest is close to the true
    one.
    """
    peak = mains.emf_volt * 0.85 / (1 + mains.ohm * draw.total_siemens) if like is None else like
    near = mains.emf_volt * (_NEAR if like is None else _NEARLY)
    rest = mains.emf_volt - mains.diode_volt - mains.lost_volt
    for _ in range(_TRIES):
        left = margin(peak)
        peak += left * peak / max(rest - left, peak)
        if abs(left) < near or peak <= _COLLAPSED * mains.emf_volt:
            break
    return peak


def margin_at_tone(mains: Mains, draw: SupplyDraw, hz: float) -> Callable[[float], float]:
    """The least distance between what the rails allow and a peak of this tone, in volts, once it has lasted.

    The rails go on from where an earlier peak left them.
    """
    if hz >= _STEADY * mains.mains_hz:
        return _margin_when_steady(mains, draw)
    steps = max(STEPS, floor(12 * hz / mains.mains_hz))
    circuit = Circuit(mains, draw, steps)
    gap = _HALF_BRIDGE_GAP if mains.half_bridge else _GAP
    first, again, judged = _tone(mains.mains_hz, hz, steps, gap, _settling(mains))
    state: State | None = None

    def margin(peak: float) -> float:
        nonlocal state
        _, state = circuit.follow(state or circuit.charged, 0, again if state else first, peak)
        lowest, state = circuit.follow(state, 0, judged, peak)
        return lowest

    return margin


def _margin_when_steady(mains: Mains, draw: SupplyDraw) -> Callable[[float], float]:
    """The same for a high tone: each rail gives the average of its half waves, 1/pi of the peak's current.

    With half bridges it gives half of the power.
    """
    circuit = Circuit(mains, SupplyDraw(draw.total_siemens / 2, draw.total_siemens / 2), STEPS)
    middle = sqrt(0.5) if mains.half_bridge else 2 / pi
    before, judged = (([middle] * count, [1.0] * count) for count in (_settling(mains) * STEPS, STEPS))
    state = circuit.charged

    def margin(peak: float) -> float:
        nonlocal state
        _, state = circuit.follow(state, 0, before, peak)
        lowest, state = circuit.follow(state, 0, judged, peak)
        return lowest

    return margin


def _settling(mains: Mains) -> int:
    """Half cycles until a large reservoir behind a soft source has come to its new voltage: four time constants.

    It is charged for about a third of the time.
    """
    return min(max(_SETTLE, ceil(24 * mains.ohm * mains.farad * mains.mains_hz)), _MOST_SETTLE)


def sampled(wave: Callable[[float], float], turn: float, count: int) -> Signal:
    """A wave of an angle, or of a time, in steps."""
    return [wave(turn * (k + 0.5)) for k in range(count)], [wave(turn * (k + 1)) for k in range(count)]


@lru_cache(maxsize=_KEPT)
def _tone(mains_hz: float, hz: float, steps: int, gap: float, settling: int) -> tuple[Signal, Signal, Signal]:
    """A sine in steps: what is let pass before a first peak is judged, before a later one, and what is judged."""
    hz, half_cycles = _beat(mains_hz, hz, gap)
    settle, resettle = settling * steps, _RESETTLE * steps
    middles, ends = sampled(sin, pi * hz / mains_hz / steps, settle + half_cycles * steps)
    return (
        (middles[:settle], ends[:settle]),
        (middles[settle - resettle : settle], ends[settle - resettle : settle]),
        (middles[settle:], ends[settle:]),
    )


def _beat(mains_hz: float, hz: float, gap: float) -> tuple[float, int]:
    """The tone, a little off where it is locked to the mains, and how many half cycles show all phases.

    Locked tones are taken as all others: nobody can say at which phase of the mains the music comes.
    """
    ratio = hz / mains_hz
    for moved in (0.0, 1 / _MOST):
        seen = [0.0]
        for count in range(1, _MOST + 1):
            seen.append((count * (ratio + moved)) % 1.0)
            if count % 8 == 0 and _widest(seen) <= gap:
                return (ratio + moved) * mains_hz, count
    return (ratio + 1 / _MOST) * mains_hz, _MOST


def _widest(phases: Sequence[float]) -> float:
    ordered = sorted(phases)
    return max([b - a for a, b in itertools.pairwise(ordered)] + [ordered[0] + 1 - ordered[-1]])


@lru_cache(maxsize=_KEPT)
def rested(mains: Mains, starts: int = 1, steps: int = STEPS) -> list[tuple[int, State]]:
    """The rails of an amplifier that has idled for a while, at so many starts in half a mains cycle.

    With each goes how many steps of the half cycle are over by then.
    """
    circuit = Circuit(mains, SupplyDraw(0.0), steps)
    volt = mains.emf_volt - mains.diode_volt
    _, state = circuit.follow((volt, volt, 0.0, 0.0), 0, _quiet(_IDLE * steps), 0.0)
    found, each = [], steps // starts
    for number in range(starts):
        found.append((number * each, state))
        _, state = circuit.follow(state, number * each, _quiet(each), 0.0)
    return found


def _quiet(count: int) -> Signal:
    return [0.0] * count, [0.0] * count


class Circuit:
    """A supply and what draws on it, in steps of a fixed length.

    L di = h (emf - v - R i) for the mean of both ends of a step; v = v0 + h/C (mean of i - load). ``_own`` and
    ``_other`` are what a rail's own current and that of the other one make of it, after the step and before.
    """

    def __init__(self, mains: Mains, draw: SupplyDraw, steps: int) -> None:
        self.mains, self.draw, self.steps = mains, draw, steps
        h = self.step_s = 1 / (2 * mains.mains_hz * steps)
        common = mains.ohm * mains.common_share / 2
        ohm = mains.ohm * (1 - mains.common_share) + common
        second = mains.reactance / (2 * pi * mains.mains_hz)
        lossy, stiff = h * (ohm + mains.diode_ohm) / 2, h * h / (4 * mains.farad)
        self._own = second * ohm + lossy + stiff, second * ohm - lossy - stiff
        self._other = second * common + h * common / 2, second * common - h * common / 2
        ideal = [mains.emf_volt * sin(pi / steps * k) for k in range(steps + 1)]
        self._driven = [(a + b) / 2 - mains.diode_volt for a, b in itertools.pairwise(ideal)]
        rail = mains.emf_volt * 0.85
        self.charged: State = (rail, rail, 0.0, 0.0)

    def follow(self, state: State, phase: int, signal: Signal, peak: float) -> tuple[float, State]:
        """The least distance between swing and rail on the way, and where the rails are at its end.

        ``phase`` is how many steps of a half cycle of the mains are over at its beginning.
        """
        count = len(signal[0])
        driven = (self._driven * ceil((phase + count) / self.steps))[phase : phase + count]
        even = self.draw.normal_siemens == self.draw.turned_siemens and state[0] == state[1] and state[2] == state[3]
        lowest, ended = (self._even if even else self._uneven)(state, driven, signal, peak)
        return lowest - self.mains.lost_volt, ended

    def _even(self, state: State, driven: Sequence[float], signal: Signal, peak: float) -> tuple[float, State]:
        """Opposed on equal loads, both rails do the same. What a step draws is told as the volts that it costs."""
        h, rail, current = self.step_s, state[0], state[2]
        per_farad, half_charge = h / self.mains.farad, h / (2 * self.mains.farad)
        new, old = (own + other for own, other in zip(self._own, self._other, strict=True))
        push, keep = h / new, old / new
        idle, drawn = per_farad * self.mains.idle_ampere, per_farad * peak * self.draw.normal_siemens
        lowest, returns = self.mains.emf_volt, self.mains.half_bridge
        for emf, middle, end in zip(driven, *signal, strict=True):
            if returns:
                cost = idle + drawn * peak * middle * middle / rail
            else:
                cost = idle + drawn * middle if middle > 0 else idle - drawn * middle
            if current or emf > rail:
                after = push * (emf - rail + cost / 2) + keep * current
                if after < 0:
                    after = 0.0
                rail += half_charge * (current + after) - cost
                current = after
            else:
                rail -= cost
            if end > _SOUNDS:
                left = rail - peak * end
            elif end < -_SOUNDS:
                left = rail + peak * end
            else:
                continue
            if left < lowest:
                lowest = left
        return lowest, (rail, rail, current, current)

    def _uneven(self, state: State, driven: Sequence[float], signal: Signal, peak: float) -> tuple[float, State]:
        h = self.step_s
        (own_new, own_old), (other_new, other_old) = self._own, self._other
        per_farad, half_charge = h / self.mains.farad, h / (2 * self.mains.farad)
        whole = own_new * own_new - other_new * other_new
        own, other = own_new / whole, other_new / whole
        idle, drawn = per_farad * self.mains.idle_ampere, per_farad * peak
        normal, turned = drawn * self.draw.normal_siemens, drawn * self.draw.turned_siemens
        both, lowest, returns = bool(turned), self.mains.emf_volt, self.mains.half_bridge
        plus, minus, i_plus, i_minus = state
        for emf, middle, end in zip(driven, *signal, strict=True):
            if returns:  # a stage is on the plus rail for a share of the time, and its current goes both ways
                swing, span = peak * middle, plus + minus
                cost_plus = idle + middle * (normal * (minus + swing) - turned * (minus - swing)) / span
                cost_minus = idle - middle * (normal * (plus - swing) - turned * (plus + swing)) / span
            elif middle > 0:
                cost_plus, cost_minus = idle + normal * middle, idle + turned * middle
            else:
                cost_plus, cost_minus = idle - turned * middle, idle - normal * middle
            if emf <= plus and emf <= minus and not i_plus and not i_minus:
                plus -= cost_plus
                minus -= cost_minus
            else:
                push_plus = h * (emf - plus + cost_plus / 2) + own_old * i_plus + other_old * i_minus
                push_minus = h * (emf - minus + cost_minus / 2) + own_old * i_minus + other_old * i_plus
                new_plus, new_minus = own * push_plus - other * push_minus, own * push_minus - other * push_plus
                if new_plus < 0:
                    new_plus, new_minus = 0.0, max(push_minus / own_new, 0.0)
                elif new_minus < 0:
                    new_plus, new_minus = max(push_plus / own_new, 0.0), 0.0
                plus += half_charge * (i_plus + new_plus) - cost_plus
                minus += half_charge * (i_minus + new_minus) - cost_minus
                i_plus, i_minus = new_plus, new_minus
            if end > _SOUNDS:
                left = (minus if both and minus < plus else plus) - peak * end
            elif end < -_SOUNDS:
                left = (plus if both and plus < minus else minus) + peak * end
            else:
                continue
            if left < lowest:
                lowest = left
        return lowest, (plus, minus, i_plus, i_minus)
