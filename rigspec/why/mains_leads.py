"""Working of the voltage that the leads of the mains lose on the way."""

from __future__ import annotations

from rigspec.figures import Figures
from rigspec.figures.mains import InletFigures, MainsLead, PartFigures
from rigspec.solve.conductor import COPPER_PER_KELVIN, ZERO_C_KELVIN
from rigspec.why.mains_gear import supply_step
from rigspec.why.network import cold_step
from rigspec.why.working import Step, given, taken

OHM = "Ohm's and Kirchhoff's laws; the current counts as in phase, which loses most"
ALONG = "IEC 60364-5-52 annex G, from memory: the drop as a share of the voltage of the supply"


def resistance_step(figures: Figures, lead: MainsLead, ampere: Step) -> Step:
    """One conductor as warm as its current at 1/8 makes it."""
    what = _what(lead)
    parts = (_cold(lead, what), _warm(figures, lead, ampere, what))
    formula = f"R20 * (1 + {COPPER_PER_KELVIN} * (T - {ZERO_C_KELVIN + 20}))"
    return Step(
        f"resistance of one conductor of {what}",
        lead.ohm,
        "resistance",
        "R",
        formula,
        "",
        "IEC 60028: 0.393 % per kelvin",
        rests_on=parts,
    )


def _what(lead: MainsLead) -> str:
    return f"the feed of {lead.part}" if lead.piece is None else f"the lead of line {lead.piece.span.line}"


def _cold(lead: MainsLead, what: str) -> Step:
    spec = lead.spec
    assert spec.length is not None  # no lead without a length gets here
    return Step(
        f"one conductor of {what} at 20 degC",
        lead.cold_ohm,
        "resistance",
        "R20",
        "l * r20",
        "",
        "resistance goes with length",
        rests_on=(given("length, one way", spec.length, "l"), cold_step(spec)),
    )


def _warm(figures: Figures, lead: MainsLead, ampere: Step, what: str) -> Step:
    plan = figures.mains.plan
    air = plan.air_c + ZERO_C_KELVIN
    said = figures.rig.facts["air"].entries[0].get("temperature") if plan.air_said else None
    why = "the rig says nothing of its air: that for which ampacities are tabulated"
    around = taken("temperature of the air", air, "temperature", why, "T_air")
    if said is not None:
        around = given("temperature of the air", said, "T_air")
    name = f"temperature of {what}"
    capacity = lead.capacity
    if capacity is None:
        why = "no table says what it carries: as warm as the air"
        return Step(
            name, lead.warm_c + ZERO_C_KELVIN, "temperature", "T", "T_air", "", "none", assumed=why, rests_on=(around,)
        )
    hottest = taken(
        "the hottest it may be", capacity.hottest_c + ZERO_C_KELVIN, "temperature", "", "T_max", capacity.source
    )
    note = "; ".join(capacity.assumes)
    carries = taken("what it carries for ever", capacity.ampere, "current", note, "I_z", capacity.source)
    formula = "max(T_air, min(T_max, T_air + (T_max - T_air) * (I / I_z)^2))"
    parts = (around, hottest, ampere.called("I"), carries)
    return Step(
        name,
        lead.warm_c + ZERO_C_KELVIN,
        "temperature",
        "T",
        formula,
        "",
        "heat goes with the square of the current (heat balance)",
        rests_on=parts,
    )


def end_step(figures: Figures, part: PartFigures, ampere: Step) -> Step | None:
    """The voltage at a part's outlets, on its worst phase."""
    supply = supply_step(part.node.supply)
    if part.end_volts is None or supply is None:
        return None
    name, end = f"voltage at the outlets of {part.key}", min(part.end_volts)
    before = figures.mains.parts.get(part.node.parent)
    if part.node.supply.phases > 1:
        method = "phasors of all phases and their neutral along the tree, lead by lead"
        leads = (resistance_step(figures, part.lead, ampere),) if part.lead else ()
        return Step(name, end, "voltage", "U_end", "", method, OHM, rests_on=(supply, ampere.called("I"), *leads))
    above = supply
    if before is not None:
        found = end_step(figures, before, _flow(before))
        assert found is not None  # the same supply feeds both
        above = found
    if part.lead is None:
        return Step(name, end, "voltage", "U_end", "U", "", OHM, rests_on=(above.called("U"),))
    parts = (above.called("U"), ampere.called("I"), resistance_step(figures, part.lead, ampere))
    return Step(name, end, "voltage", "U_end", _left("U - 2 * I * R", end), "", OHM, rests_on=parts)


def _left(formula: str, end_volt: float) -> str:
    """The formula of a voltage of which nothing is left where more would be lost than there is."""
    return formula if end_volt else f"max(0, {formula})"


def _flow(part: PartFigures) -> Step:
    """The current of a part that lies on the way, whose own tree is to be had by its name."""
    method = f"the sum of what hangs on it: ask for the current of {part.key}"
    return Step(
        f"current of {part.key} at 1/8",
        part.ampere() or 0.0,
        "current",
        "I",
        "",
        method,
        "Kirchhoff's law",
        part.node.gear.span,
    )


def inlet_end_step(figures: Figures, inlet: InletFigures) -> Step | None:
    """The voltage at an inlet, behind the loose leads from its outlet."""
    part = figures.mains.parts.get(inlet.part)
    if part is None or inlet.end_volt is None:
        return None
    before = end_step(figures, part, _flow(part))
    if before is None:
        return None
    name = f"voltage at the inlet of {inlet.key}"
    if part.end_volts and len(part.end_volts) > 1:
        before = Step(before.name, part.end_volts[0], "voltage", "U", "", before.method, OHM, rests_on=before.rests_on)
    steps = [before.called("U")]
    terms = ["U"]
    for number, lead in enumerate(inlet.leads, 1):
        method = f"the sum of what hangs behind it: {', '.join(lead.serves)}"
        ampere = Step(
            f"current in {_what(lead)}",
            lead.ampere,
            "current",
            "I",
            "",
            method,
            "Kirchhoff's law",
            lead.piece.span if lead.piece else None,
        )
        steps += [ampere.called(f"I{number}"), resistance_step(figures, lead, ampere).called(f"R{number}")]
        terms.append(f"2 * I{number} * R{number}")
    left = _left(" - ".join(terms), inlet.end_volt)
    return Step(name, inlet.end_volt, "voltage", "U_end", left, "", OHM, rests_on=tuple(steps))


def inlet_drop(figures: Figures, key: str) -> Step | None:
    inlet = figures.mains.inlets.get(key)
    part = figures.mains.parts.get(inlet.part) if inlet else None
    if inlet is None or part is None or inlet.drop is None:
        return None
    end, supply = inlet_end_step(figures, inlet), supply_step(part.node.supply)
    if end is None or supply is None:
        return None
    parts = (end, supply)
    return Step(f"drop up to {key} at 1/8", inlet.drop, "ratio", "d", "1 - U_end / U", "", ALONG, rests_on=parts)
