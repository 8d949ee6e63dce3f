"""What opposed drive is worth to channels that share a supply, tone by tone, by a simulation of its rails.

A check comes here only where a rig has such channels, and then for one tone. Nothing here was measured on a real
amplifier.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve, frozen

from rigspec.figures.opposed_rails import SupplyModel, as_described, as_rated
from rigspec.figures.rated import rated_points
from rigspec.figures.supply import BASS_HZ, SharedSupply, SupplyFacts, mains_hz
from rigspec.figures.values import BaseFigures
from rigspec.rig.model import Measure, one
from rigspec.solve.supply import (
    LEAST_X,
    SupplyDraw,
    alone_w,
    pair_ohm,
    power_w,
    reservoir_x,
    switch_mode_gain,
)
from rigspec.solve.supply_fit import SHEET_HZ, Rating
from rigspec.text.units import show
from rigspec.text.value import Value

WALK_TEST_HZ = 55.0
"""The tone of 50 to 60 Hz with which a crew walks along the boxes (common practice, no source)."""
LOWEST_HZ = 30.0
SIMULATION, RESISTANCE = "simulation", "rail resistance"
_SAME_LOAD = 1.02
_AS_LINEAR_AT_FULL = {
    "half-bridge": "at full output a half-bridge stage takes its current from one rail, as a linear one does",
    "class-h": "at full output a class-H stage takes its current from the upper rails, whose source this is",
}
"""Stages whose peak meets the resistance of its rail as that of a linear stage does (circuit theory)."""
_NOMINAL = (10, 12.5, 16, 20, 25, 31.5, 40, 50, 63, 80, 100, 125)  # thirds of an octave, as ISO 266 names them


@frozen(eq=False, repr=False)
class OpposedGain(Value):
    """One tone: power per channel in phase and opposed, and the gain as a share, from ``low`` to ``high``."""

    hz: float
    in_phase_w: float | None
    opposed_w: float | None
    gain: float
    low: float
    high: float


@frozen(eq=False, repr=False)
class OpposedModel(Value):
    """What can be said of the gain of channels that share a supply.

    ``why`` is the reason where there is no number, ``direction`` says which way it goes all the same. ``none``: it is
    known that there is nothing to gain. ``method`` names the computation; ``limit`` says what the gain comes from.
    ``supply`` is what is simulated, fitted to the ``rating`` or as it is described.
    """

    together: SharedSupply
    mains_hz: float
    mains_said: Measure | None = None
    x: float | None = None
    supply: SupplyModel | None = None
    rating: Rating | None = None
    method: str = ""
    why: str = ""
    direction: str = ""
    none: bool = False
    limit: str = ""
    assumes: tuple[str, ...] = ()

    @property
    def draw(self) -> SupplyDraw:
        """The channels as they could be opposed: as they are if they are so, else in two halves of equal load."""
        if self.together.opposed:
            return SupplyDraw(self.together.normal_siemens, self.together.turned_siemens)
        return halves([member.siemens for member in self.together.members])

    @property
    def channel_ohm(self) -> float:
        """The load of each of these channels; of unlike ones the load that takes their mean power."""
        return len(self.together.members) / self.draw.total_siemens


def halves(siemens: Sequence[float]) -> SupplyDraw:
    """Loads in two sides that are as equal as a plain rule makes them: the largest first, each to the lighter side."""
    sides = [0.0, 0.0]
    for each in sorted(siemens, reverse=True):
        sides[sides[1] < sides[0]] += each
    return SupplyDraw(*sides)


def prospect(ground: BaseFigures, together: SharedSupply) -> OpposedModel:
    """Find out how the gain can be computed, or why it cannot."""
    hz, assumed = mains_hz(ground.rig.facts)
    said = one(ground.rig.facts, "mains", "frequency")
    made = OpposedModel(together, hz, said, assumes=tuple(text for text in (assumed, *together.assumes) if text))
    if together.stereo:
        made = evolve(made, assumes=(*made.assumes, "the bass of a stereo pair is taken as alike on both sides"))
    if not together.supply.stage:
        made = evolve(made, assumes=(*made.assumes, "its output stages are not given and are taken as class AB"))
    nothing, unknown = _stage_says(together.supply)
    if nothing:
        return evolve(made, why=nothing, none=True, direction="no gain")
    if unknown:
        return evolve(made, why=unknown, direction=_way(hz, together))
    if together.supply.sort == "switch-mode":
        return _switch_mode(made)
    if together.supply.sort != "transformer":
        return evolve(made, why="it is not said what sort of supply it has", direction=_way(hz, together))
    return _transformer(made)


def _stage_says(supply: SupplyFacts) -> tuple[str, str]:
    """Why there is certainly nothing to gain; or why nothing can be said."""
    if supply.sharing == "separate":
        return "each channel has its own supply, so none relieves the other", ""
    if supply.regulated:
        return "its supply is regulated, so its rails do not sag", ""
    if supply.stage == "full-bridge":
        return "a full-bridge stage draws the same from its supply for both halves of the wave", ""
    if supply.stage == "class-h" and supply.sort == "switch-mode" and supply.ohm is not None:
        return "", ""  # at the peak all of the current comes through this resistance
    if supply.stage == "class-h":
        return "", "a class-H stage draws on its upper rails near the peak alone, from where on is not given"
    return "", ""


def _way(hz: float, together: SharedSupply) -> str:
    """Which way the gain goes where it has no number."""
    low, high = together.low_hz, together.high_hz
    if low is not None and low >= 1.2 * hz:
        return f"above {1.2 * hz:.3g} Hz opposed drive gives nothing, or costs a little"
    if high is not None and high <= hz:
        return f"below {hz:.3g} Hz opposed drive gives more power, the more the deeper the tone"
    return f"opposed drive gives more power below {hz:.3g} Hz, and nothing or a little less above {1.2 * hz:.3g} Hz"


def _switch_mode(made: OpposedModel) -> OpposedModel:
    supply = made.together.supply
    if supply.ohm is None:
        climbs = supply.stage == "half-bridge"
        soft = "if anything a little more power, where the rails are soft"
        return evolve(
            made,
            why="in a switch-mode supply only the resistance in series with each rail counts, and it is not given",
            direction="opposed on equal loads, its rails do not climb" if climbs else soft,
        )
    linear = _AS_LINEAR_AT_FULL.get(supply.stage, "")
    assumes = (*made.assumes, linear) if linear else made.assumes
    return evolve(made, method=RESISTANCE, limit="the resistance in series with each rail", assumes=assumes)


def _transformer(made: OpposedModel) -> OpposedModel:
    supply, together = made.together.supply, made.together
    if supply.farad is None:
        return evolve(
            made,
            why="the capacitance of its rails is not given, and its ratings cannot tell ripple from resistance",
            direction=_way(made.mains_hz, together),
        )
    x = reservoir_x(made.mains_hz, pair_ohm(made.draw), supply.farad.value)
    rating, lacks, assumed = _rating(together)
    made = evolve(made, x=x, rating=rating, direction=_way(made.mains_hz, together))
    if supply.ohm is not None and supply.rail is not None:
        model = as_described(supply, rating, made.mains_hz)
    elif rating is None:
        return evolve(made, why=lacks)
    elif rating.contradicts:
        told = f"{rating.alone_watt:.4g} W alone and {rating.driven_watt:.4g} W with all driven"
        return evolve(made, why=f"{told} do not belong to one supply of this sort", assumes=made.assumes + assumed)
    elif x < LEAST_X:
        why = f"x = mains frequency x load x capacitance = {x:.2f}, and below {LEAST_X} ratings alone tell too little"
        return evolve(made, why=why, assumes=made.assumes + assumed)
    else:
        model = as_rated(supply, rating, made.mains_hz)
    assumes = (*made.assumes, *(assumed if model.from_rating else ()), *model.assumes)
    return evolve(made, supply=model, method=SIMULATION, assumes=assumes, limit=_limit(x), direction="")


def _limit(x: float) -> str:
    return f"ripple on the reservoirs: x = mains frequency x load x capacitance = {x:.2f}"


def _rating(together: SharedSupply) -> tuple[Rating | None, str, tuple[str, ...]]:
    """The power of one channel alone and of all of them, into one load; or why there is none; and what it assumes.

    The load is that nearest to what hangs on a channel. Where one channel alone has no rating, class B gives it exactly
    from all driven into a higher load.
    """
    gear, channels = together.gear, together.supplied
    load_ohm = len(together.members) / sum(member.siemens for member in together.members)
    tone = one(gear.facts, "rated-at", "frequency")
    hz = SHEET_HZ if tone is None else tone.value
    alone = {round(point.load_ohm, 4): point.power_w for point in rated_points(gear, "alone")}
    driven = {round(point.load_ohm, 4): point.power_w for point in rated_points(gear, "all")}
    taken = () if tone else (f"{gear.full} is taken as rated at {show(hz, 'frequency')}: no `rated-at` is given",)
    both = sorted((load for load in driven if load in alone), key=lambda load: abs(load / load_ohm - 1))
    if both:
        return Rating(both[0], alone[both[0]], driven[both[0]], channels, hz), "", taken
    for load in sorted(driven, key=lambda load: abs(load / load_ohm - 1)):
        higher = next((high for high in driven if 1 / _SAME_LOAD < high / load / channels < _SAME_LOAD), None)
        if higher is not None:
            text = (
                f"no rating of {gear.full} with one channel driven is given: an ideal class-B stage gives {channels} x"
                f" {driven[higher]:.4g} W there, {channels} times its rating at {higher:g} ohm with all driven"
            )
            one_w = alone_w(driven[higher]) * channels / 2
            return Rating(load, one_w, driven[load], channels, hz), "", (text, *taken)
    if not driven:
        return None, "no rating with all channels driven is given", ()
    need = "a rating of one channel alone, or with all driven"
    return None, f"{need} at {channels} times the load, is needed to know how soft the supply is", ()


# ---- tone by tone ---------------------------------------------------------------------------------------------------


def tones(together: SharedSupply) -> list[float]:
    """The lower edge of the band, thirds of an octave in it up to 120 Hz, and the walk-test tone."""
    low, high = bass_of(together)
    found = {hz for hz in (WALK_TEST_HZ, *(hz for hz in _NOMINAL if hz > low * 1.02)) if low <= hz <= high}
    return sorted(found | ({low} if low <= high else set()))


def bass_of(together: SharedSupply) -> tuple[float, float]:
    """The lowest and the highest tone that is looked at; nothing is where the first lies above the second."""
    return max(together.low_hz or LOWEST_HZ, 10.0), min(together.high_hz or BASS_HZ, BASS_HZ)


def worth(made: OpposedModel, hz: float) -> OpposedGain | None:
    """What opposed drive gives at one tone, with the range of all supplies that fit what is said."""
    if made.method == RESISTANCE:
        return _resistive(made, hz)
    if made.supply is None or made.x is None:
        return None
    found = made.supply.swings(made.draw, hz)
    if made.supply.collapses(found):
        return None
    in_phase, opposed = (power_w(peak, made.channel_ohm) for peak in (found.in_phase_volt, found.opposed_volt))
    points = made.supply.points(made.x)
    return OpposedGain(hz, in_phase, opposed, found.gain, found.low - points, found.high + points)


def _resistive(made: OpposedModel, hz: float) -> OpposedGain | None:
    ohm, load = made.together.supply.ohm, pair_ohm(made.draw)
    if ohm is None:
        return None
    value, low, high = (switch_mode_gain(load, each) for each in (ohm.value, ohm.low, ohm.high))
    rated = [member.channel.rated_w for member in made.together.members]
    in_phase = None if None in rated or not rated else min(watt for watt in rated if watt is not None)
    return OpposedGain(hz, in_phase, None if in_phase is None else in_phase * (1 + value), value, low, high)
