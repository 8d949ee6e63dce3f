"""Working of what opposed drive is worth to channels on one supply, and of how far the rails of half bridges climb."""

from __future__ import annotations

from collections.abc import Iterable
from math import pi
from typing import TYPE_CHECKING

from rigspec.figures import Figures
from rigspec.figures.supply import SharedSupply, SupplyFacts, half_bridge
from rigspec.rig.model import Gear, entries
from rigspec.text.units import FigureKind, show
from rigspec.text.value import once
from rigspec.why.channels import load
from rigspec.why.derived import Derived
from rigspec.why.working import Step, given, numbered, taken

if TYPE_CHECKING:
    from rigspec.figures.opposed import OpposedModel
    from rigspec.figures.pumped import Pump

SHARED_OHM = "circuit theory: in phase both currents meet in one rail's resistance, opposed each has a rail to itself"
SIMULATED = "a simulation of the rails in time, held against circuit simulations and no real amplifier"
RETURNED = "circuit theory: what a half bridge returns to the resting rail in half a wave, over its reservoir"
PARALLEL = "circuit theory"


def opposed_gain(figures: Figures, key: str) -> Step | None:
    """What opposed drive gives the channels that share a supply with this one, at the deepest tone of their bass."""
    together = next((each for each in figures.together if _has(each, key)), None)
    if together is None:
        return None
    from rigspec.figures.opposed import prospect, tones, worth

    made = prospect(figures, together)
    found = next((worth(made, hz) for hz in tones(together)), None)
    if found is None:
        return None
    name = f"gain of {together.key} when opposed"
    if made.supply is None:
        ohm = together.supply.ohm
        assert ohm is not None  # the gain is that of this resistance
        parts = (_pair_ohm(figures, together), given("resistance in series with each rail", ohm, "r"))
        return Step(name, found.gain, "ratio", "g", "((R + 2 * r) / (R + r))^2 - 1", "", SHARED_OHM, rests_on=parts)
    assert found.in_phase_w is not None
    assert found.opposed_w is not None
    rests = (*_supply(made), _pair_ohm(figures, together), _tone(together, found.hz))
    powers = tuple(
        Step(f"power of each channel {state}", watt, "power", symbol, "", _swings(state), SIMULATED, rests_on=rests)
        for state, watt, symbol in (("in phase", found.in_phase_w, "P_in"), ("opposed", found.opposed_w, "P_opp"))
    )
    ends = f"from {show(found.low, 'ratio')} to {show(found.high, 'ratio')} with what is left open"
    assumed = "; ".join(made.assumes)
    return Step(name, found.gain, "ratio", "g", "P_opp / P_in - 1", ends, PARALLEL, assumed=assumed, rests_on=powers)


def _swings(state: str) -> str:
    return f"the highest peak of a lasting tone, {state}, that touches no rail at any phase of the mains"


def _has(together: SharedSupply, key: str) -> bool:
    return any(member.channel.key == key for member in together.members)


def _pair_ohm(figures: Figures, together: SharedSupply) -> Step:
    """The load on each of two channels that draw as much as all of these."""
    loads = [step for member in together.members if (step := load(figures, member.channel.key)) is not None]
    parts = numbered(loads, "R")
    formula = f"2 / ({' + '.join(f'1 / {part.symbol}' for part in parts)})"
    value = 2 / sum(member.siemens for member in together.members)
    name = "load on each of two such channels"
    return Step(name, value, "resistance", "R", formula, "", PARALLEL, rests_on=parts)


def _tone(together: SharedSupply, hz: float) -> Step:
    feeds = " and ".join(together.feeds)
    why = "; ".join(together.assumes)
    return Step("deepest tone of their bass", hz, "frequency", "f", "", "", f"where {feeds} begins here", assumed=why)


def _supply(made: OpposedModel) -> Iterable[Step]:
    """The supply that is simulated: as said, or found so that it gives its ratings."""
    supply, model = made.together.supply, made.supply
    assert model is not None
    assert supply.farad is not None
    farad = given("reservoir of each rail", supply.farad, "C")
    yield farad
    yield _mains(made)
    common = model.mains.common_share
    if supply.common is not None:
        yield given("share of the source that both rails have in common", supply.common, "k")
    else:
        yield taken("share of the source that both rails have in common", common, "ratio", "half of it is taken", "k")
    if not model.from_rating:
        yield from _as_said(supply)
        return
    rating = made.rating
    assert rating is not None
    ratings = tuple(
        _rated(made.together.gear, name, watt, rating.load_ohm, alone)
        for name, watt, alone in (
            ("rated power of one channel alone", rating.alone_watt, True),
            ("rated power with all driven", rating.driven_watt, False),
        )
    )
    how = f"found so that the supply gives both ratings at {show(rating.hz, 'frequency')}"
    figures: tuple[tuple[str, float, FigureKind], ...] = (
        ("resistance of its source", model.mains.ohm, "resistance"),
        ("peak voltage of its transformer", model.mains.emf_volt, "voltage"),
    )
    for name, value, kind in figures:
        yield Step(name, value, kind, "", "", how, SIMULATED, rests_on=(*ratings, farad))


def _as_said(supply: SupplyFacts) -> Iterable[Step]:
    assert supply.ohm is not None
    assert supply.rail is not None
    yield given("resistance of its source", supply.ohm, "r")
    yield given("rail at idle", supply.rail, "V")


def _mains(made: OpposedModel) -> Step:
    name = "mains frequency"
    if made.mains_said is None:
        return taken(name, made.mains_hz, "frequency", "no mains frequency is given", "f_mains")
    return given(name, made.mains_said, "f_mains")


def _rated(gear: Gear, name: str, watt: float, load_ohm: float, alone: bool) -> Step:
    """A rating with its place; one that class B gives from another load has none."""
    for each in entries(gear.facts, "rated"):
        power, ohm = each.get("power"), each.get("resistance")
        if power is None or ohm is None or ("alone" in each.words) != alone or "bridge" in each.words:
            continue
        if abs(power.value - watt) < 1e-9 * watt and abs(ohm.value - load_ohm) < 1e-3:
            return given(f"{name} at {show(load_ohm, 'resistance')}", power, "P_1" if alone else "P_all")
    return taken(name, watt, "power", "an ideal class-B stage gives it from its rating at a higher load", "P_1")


# ---- how far rails climb --------------------------------------------------------------------------------------------


def climb(figures: Figures, key: str) -> Step | None:
    """How far a resting rail of half-bridge stages climbs at the deepest tone."""
    channel = figures.channels.get(key)
    if channel is None or not half_bridge(channel.gear):
        return None
    pump = next((each for each in _pumps(figures) if channel in each.channels), None)
    if pump is None:
        return None
    loads = [step for each in pump.channels if (step := load(figures, each.key)) is not None]
    parts = numbered(loads, "R")
    low = Step(
        "deepest tone of their bass", pump.hz, "frequency", "f", authority="where the bass of these channels begins"
    )
    swing = Step("peak over rail", pump.swing, "ratio", "M", authority=_swing_of(pump))
    rests = (given("its rail", pump.rail, "V"), given("its reservoir", pump.farad, "C"), low, swing, *parts)
    name, assumed = f"climb of a resting rail of {pump.key}", "; ".join(pump.assumes)
    if pump.together is not None and pump.together.opposed:
        method = "what one side returns and the other does not draw, summed up over half a wave"
        return Step(name, pump.rise_volt, "voltage", "dV", "", method, RETURNED, assumed=assumed, rests_on=rests)
    siemens = " + ".join(f"1 / {part.symbol}" for part in parts)
    formula = f"V * (2 * M - {pi / 2!r} * M^2) * ({siemens}) / ({4 * pi!r} * f * C)"
    return Step(name, pump.rise_volt, "voltage", "dV", formula, "", RETURNED, assumed=assumed, rests_on=rests)


def _swing_of(pump: Pump) -> str:
    worst = "where a resting rail climbs most (circuit theory)"
    return worst if pump.swing > 0.63 else "the highest peak that arrives"


@once
def _pumps(figures: Figures) -> list[Pump]:
    from rigspec.figures.pumped import pumps

    return pumps(figures, figures.together)


SHARES = "a channel that shares its supply"
DERIVED = (
    Derived("opposed-gain", SHARES, "what opposed drive gives at the deepest tone of its bass", opposed_gain),
    Derived("climb", "a channel of half-bridge stages", "how far a resting rail climbs at its deepest tone", climb),
)
