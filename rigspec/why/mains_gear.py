"""Working of what gear takes from the mains: from its data and its loads to power, apparent power and current."""

from __future__ import annotations

from rigspec.figures import Figures
from rigspec.figures.inlets import AT_EIGHTH, Appliance
from rigspec.figures.mains import InletFigures
from rigspec.figures.mains_tree import Supply
from rigspec.rig.model import Measure
from rigspec.solve.mains import EIGHTH, LINEAR_EFFICIENCY, POWER_FACTOR, SWITCHING_EFFICIENCY, SWITCHING_STAGES
from rigspec.why.channels import rated_power
from rigspec.why.working import Step, given, numbered, taken

BALANCE = "energy balance"
DEFINITION = "IEC 60050-131 (definitions of apparent power and power factor), from memory"
EIGHTH_OF = "IEC 60065 and IEC 62368-1 annex E, from memory: a convention for programme at the edge of clipping"
PRACTICE = "common practice, no source"


def draw(figures: Figures, key: str) -> Step | None:
    """The power that gear takes from the mains at 1/8 of its rated output."""
    inlet = figures.mains.inlets.get(key)
    return None if inlet is None else draw_step(figures, inlet)


def draw_step(figures: Figures, inlet: InletFigures, *, deep: bool = True) -> Step | None:
    """What gear takes at 1/8; ``deep``: down to the loads of its channels, else down to their rated power."""
    drawn, each = inlet.draws[AT_EIGHTH], inlet.appliance
    if drawn is None:
        return None
    name = f"power that {inlet.key} takes from the mains at 1/8"
    if each.draw is not None:
        return _said(each.draw, f"power that {inlet.key} takes", drawn.power_w, each, _supply_step(figures, inlet), "P")
    idle = _idle(figures, inlet)
    output = _output(figures, each, drawn.output_w, deep=deep)
    if not drawn.output_w:
        return Step(name, drawn.power_w, "power", "P", "P_idle", "", BALANCE, rests_on=(idle,))
    parts = (idle, output, _efficiency(each, drawn.output_w / (drawn.power_w - float(idle.value))))
    return Step(name, drawn.power_w, "power", "P", "P_idle + P_out / eta", "", BALANCE, rests_on=parts)


def _said(measure: Measure, name: str, power_w: float, each: Appliance, volt: Step | None, symbol: str) -> Step:
    """Power from a draw said as power, apparent power or current."""
    factor = factor_step(each)
    if measure.kind == "power":
        return given(name, measure, symbol)
    if measure.kind == "apparent power":
        parts = (given("apparent power as said", measure, "S"), factor)
        return Step(name, power_w, "power", symbol, "S * PF", "", DEFINITION, rests_on=parts)
    assert volt is not None  # a draw in ampere is no power without a voltage
    flows = given("current as said", measure, "I")
    return Step(name, power_w, "power", symbol, "U * I * PF", "", DEFINITION, rests_on=(volt, flows, factor))


def _idle(figures: Figures, inlet: InletFigures) -> Step:
    each, drawn = inlet.appliance, inlet.draws[0]
    if each.idle is None or drawn is None:
        why = f"the idle draw of {inlet.key} is not given and left out"
        return taken("idle draw", 0.0, "power", why, "P_idle")
    return _said(each.idle, "idle draw", drawn.power_w, each, _supply_step(figures, inlet), "P_idle")


def _output(figures: Figures, each: Appliance, output_w: float, *, deep: bool) -> Step:
    """An eighth of what all loaded channels give at their rated output."""
    parts = []
    for key, watt in each.sources:
        step = rated_power(figures, key) if deep else _power_asked(figures, key, watt)
        why = f"the load of {key} is not known: its highest rating stands for it"
        parts.append(step or taken(f"rated power of {key}", watt, "power", why))
    total = Step(
        f"rated output of {each.gear.full} into its loads",
        each.rated_w,
        "power",
        "P_r",
        " + ".join(f"P{number}" for number in range(1, len(parts) + 1)),
        "",
        "all channels driven: energy balance",
        rests_on=numbered(parts, "P"),
    )
    share = taken("drive level", EIGHTH, "ratio", "", "f", EIGHTH_OF)
    return Step(
        f"output of {each.gear.full} at 1/8",
        output_w,
        "power",
        "P_out",
        "f * P_r",
        "",
        "the drive level is a share of rated output",
        rests_on=(share, total),
    )


def _power_asked(figures: Figures, key: str, watt: float) -> Step | None:
    """The rated power of a channel, whose own tree is to be had by its name."""
    channel = figures.channels.get(key)
    if channel is None:
        return None
    name, method = f"rated power of {key} into its load", f"ask for the power of {key}"
    return Step(name, watt, "power", method=method, span=channel.output.span)


def _efficiency(each: Appliance, ratio: float) -> Step:
    """Output over input power of the stages at 1/8."""
    switching = each.stage in SWITCHING_STAGES
    stands = SWITCHING_EFFICIENCY if switching else LINEAR_EFFICIENCY
    rated = (
        given("efficiency at rated output", each.efficiency, "eta_r")
        if each.efficiency
        else taken(
            "efficiency at rated output",
            stands,
            "ratio",
            "none is given: the low end of its sort",
            "eta_r",
            PRACTICE,
        )
    )
    name = f"efficiency of {each.gear.full} at 1/8"
    stage = each.gear.facts.get("stage")
    unsaid = "" if each.stage else "how its stage works is not said: class AB takes the most at low levels"
    of = Step("output stage", each.stage or "class-ab", "number", span=stage.span if stage else None, assumed=unsaid)
    if switching:
        why = "class D keeps its efficiency; what it loses at low levels is in its idle draw (common practice)"
        return Step(name, ratio, "ratio", "eta", "eta_r", "", PRACTICE, assumed=why, rests_on=(rated, of))
    share = taken("drive level", EIGHTH, "ratio", "", "f", EIGHTH_OF)
    law = "class B law: efficiency goes with the root of power (textbook; for class H less than it reaches)"
    return Step(name, ratio, "ratio", "eta", "eta_r * sqrt(f)", "", law, rests_on=(rated, share, of))


def factor_step(each: Appliance) -> Step:
    """The power factor of gear, or what stands in for it."""
    if each.factor is not None and each.factor.value <= 1:
        return given("power factor", each.factor, "PF")
    if each.factor is not None:
        return taken("power factor", 1.0, "number", "no more than 1 is possible", "PF", DEFINITION)
    why = f"no power factor of {each.gear.full} is given: a supply without correction"
    return taken("power factor", POWER_FACTOR, "number", why, "PF", PRACTICE)


def current(figures: Figures, key: str) -> Step | None:
    """The current of an inlet at 1/8."""
    inlet = figures.mains.inlets.get(key)
    return None if inlet is None else current_step(figures, inlet)


def current_step(figures: Figures, inlet: InletFigures, *, deep: bool = True) -> Step | None:
    drawn, ampere, each = inlet.draws[AT_EIGHTH], inlet.amperes[AT_EIGHTH], inlet.appliance
    volt = _supply_step(figures, inlet)
    if drawn is None or ampere is None or volt is None:
        return None
    name = f"current of {inlet.key} at 1/8"
    said = each.draw
    if said is not None and said.kind == "current":
        return Step(
            name, ampere, "current", "I", "I_said", "", DEFINITION, rests_on=(given("current as said", said, "I_said"),)
        )
    if said is not None and said.kind == "apparent power":
        apparent = given("apparent power as said", said, "S")
    else:
        power = draw_step(figures, inlet, deep=deep)
        assert power is not None  # it draws something, seen above
        parts = (power.called("P"), factor_step(each))
        apparent = Step(
            f"apparent power of {inlet.key}",
            drawn.apparent_va,
            "apparent power",
            "S",
            "P / PF",
            "",
            DEFINITION,
            rests_on=parts,
        )
    return Step(name, ampere, "current", "I", "S / U", "", DEFINITION, rests_on=(apparent, volt))


def heat(figures: Figures, key: str) -> Step | None:
    """What gear leaves as heat in its rack at 1/8."""
    inlet = figures.mains.inlets.get(key)
    drawn = inlet.draws[AT_EIGHTH] if inlet else None
    power = draw_step(figures, inlet) if inlet else None
    if inlet is None or drawn is None or power is None:
        return None
    name = f"heat of {key} at 1/8"
    if not drawn.output_w:
        return Step(name, drawn.heat_w, "power", "P_heat", "P", "", BALANCE, rests_on=(power.called("P"),))
    output = _output(figures, inlet.appliance, drawn.output_w, deep=True)
    return Step(name, drawn.heat_w, "power", "P_heat", "P - P_out", "", BALANCE, rests_on=(power.called("P"), output))


def _supply_step(figures: Figures, inlet: InletFigures) -> Step | None:
    mains = figures.mains
    if inlet.part:
        return supply_step(mains.plan.nodes[inlet.part].supply)
    return given("mains of the rig", mains.plan.mains, "U") if mains.plan.mains else None


def supply_step(supply: Supply) -> Step | None:
    """The voltage of each phase to neutral where the mains begins."""
    if supply.volt is None or supply.measure is None:
        return None
    if abs(supply.volt - supply.measure.value) < 1e-9:
        return given(f"supply of {supply.part}", supply.measure, "U")
    name = f"voltage to neutral of {supply.part}"
    between = given("supply as said", supply.measure, "U_between")
    formula = "U_between / sqrt(3)" if supply.phases == 3 else "U_between / 2"
    why = supply.assumes[0] if supply.assumes else ""
    return Step(
        name,
        supply.volt,
        "voltage",
        "U",
        formula,
        "",
        "three phases a third of a turn apart (IEC 60038)",
        assumed=why,
        rests_on=(between,),
    )


def inrush(figures: Figures, key: str) -> Step | None:
    inlet = figures.mains.inlets.get(key)
    said = inlet.appliance.inrush if inlet else None
    return None if said is None else given(f"inrush of {key}", said, "I")


def leakage(figures: Figures, key: str) -> Step | None:
    inlet = figures.mains.inlets.get(key)
    said = inlet.appliance.leakage if inlet else None
    return None if said is None else given(f"leakage of {key}", said, "I")
