"""The gain of opposed drive by a simulation of the rails, of a supply as it is described or as it is rated."""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from attrs import evolve

from rigspec.figures.opposed import SIMULATED_POINTS, OpposedGain, OpposedModel
from rigspec.solve.rails import Mains, fitted, peak_volt
from rigspec.solve.supply import SupplyDraw, power_w

_RATED_AT = 4.13  # times the mains frequency
_DIODE_VOLT = 0.9
_TRIES = 3


def described(made: OpposedModel) -> bool:
    """Is the supply described in full, so that the simulation knows it without its ratings?"""
    supply = made.together.supply
    return supply.ohm is not None and supply.rail is not None and supply.farad is not None


def simulated(made: OpposedModel, found: Sequence[OpposedGain], tones: Sequence[float]) -> list[OpposedGain]:
    """Every tone with the gain by the simulation too; where the supply is described in full, the simulation counts."""
    if described(made):
        closed = {each.hz: each.gain for each in found}
        return [_counted(made, hz, closed.get(hz)) for hz in tones]
    mains = _like_its_ratings(made)
    return [each if mains is None else evolve(each, other=_gain(mains, made.draw, each.hz)[0]) for each in found]


def _counted(made: OpposedModel, hz: float, closed: float | None) -> OpposedGain:
    """A tone by the simulation, with the closed form beside it; the range is that of the reservoir's tolerance."""
    supply = made.together.supply
    assert supply.farad is not None
    load = made.channel_ohm
    gain, in_phase, opposed = _gain(_as_described(made, supply.farad.value), made.draw, hz)
    ends = {supply.farad.low, supply.farad.high} - {supply.farad.value}
    gains = [gain, *(_gain(_as_described(made, farad), made.draw, hz)[0] for farad in sorted(ends))]
    return OpposedGain(
        hz,
        power_w(in_phase, load),
        power_w(opposed, load),
        gain,
        min(gains) - SIMULATED_POINTS,
        max(gains) + SIMULATED_POINTS,
        closed,
        simulation=True,
    )


def _gain(mains: Mains, draw: SupplyDraw, hz: float) -> tuple[float, float, float]:
    in_phase, opposed = peak_volt(mains, draw.in_phase, hz), peak_volt(mains, draw, hz)
    return (opposed / in_phase) ** 2 - 1, in_phase, opposed


def _as_described(made: OpposedModel, farad: float) -> Mains:
    """The supply with its rail and its resistance; what its stages lose of the rail is what its rating leaves.

    Without a rating here, what a stage loses is that of the family of supplies.
    """
    supply = made.together.supply
    assert supply.rail is not None
    assert supply.ohm is not None
    mains = Mains(supply.rail.value + _DIODE_VOLT, supply.ohm.value, farad, made.mains_hz, diode_volt=_DIODE_VOLT)
    if made.rated is None:
        return mains
    load_ohm, _, driven_w = made.rated
    target, draw = sqrt(2 * load_ohm * driven_w), SupplyDraw(made.together.supplied / load_ohm)
    for _ in range(_TRIES):
        over = peak_volt(mains, draw, _RATED_AT * made.mains_hz) - target
        lost = min(max(mains.lost_volt + 1.2 * over, 0.0), supply.rail.value / 2)
        mains = evolve(mains, lost_volt=lost)
    return mains


def _like_its_ratings(made: OpposedModel) -> Mains | None:
    farad = made.together.supply.farad
    if made.rated is None or farad is None:
        return None
    return fitted(*made.rated, farad.value, made.mains_hz, made.together.supplied)
