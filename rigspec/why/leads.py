"""Working of what a lead is and carries."""

from __future__ import annotations

from rigspec.figures import Figures, LeadFigures
from rigspec.figures.channel import HOTTEST_C, HOTTEST_GAUGE_C
from rigspec.solve.conductor import ZERO_C_KELVIN
from rigspec.why.derived import Derived
from rigspec.why.network import Reckoning
from rigspec.why.working import Step, taken


def _found(figures: Figures, key: str) -> tuple[LeadFigures, Reckoning] | None:
    """A lead with a name of its own, and its channel."""
    for channel in figures.channels.values():
        for lead in channel.leads:
            if lead.piece.name == key:
                return lead, Reckoning(figures, channel)
    return None


def resistance(figures: Figures, key: str) -> Step | None:
    found = _found(figures, key)
    return None if found is None else found[1].lead(found[0].piece)


def loss(figures: Figures, key: str) -> Step | None:
    found = _found(figures, key)
    if found is None:
        return None
    lead, reckoning = found
    behind = reckoning.behind(lead.piece.b)
    if behind is None:
        return None
    parts = (reckoning.lead(lead.piece), behind.called("Z"))
    authority = "the voltage divider, as 20 log (ITU-R V.574)"
    return Step(f"loss of {key}", lead.loss_db, "gain", "L_dB", "20 * log10(1 + R / Z)", "", authority, rests_on=parts)


def current(figures: Figures, key: str) -> Step | None:
    found = _found(figures, key)
    if found is None or found[0].ampere is None:
        return None
    return current_step(found[0], found[1])


def current_step(lead: LeadFigures, reckoning: Reckoning) -> Step:
    """The current in a lead with the amplifier at its rated output."""
    from rigspec.why.channels import voltage_step

    assert lead.ampere is not None
    volt = voltage_step(reckoning.figures, reckoning.channel, reckoning)
    method = "network of leads and boxes solved node by node at the rated output voltage (Kirchhoff)"
    name = f"current in {lead.piece.name or 'the lead'} of line {lead.piece.span.line}"
    return Step(name, lead.ampere, "current", "I", "", method, "circuit theory", rests_on=(volt, reckoning.load))


def temperature(figures: Figures, key: str) -> Step | None:
    found = _found(figures, key)
    if found is None:
        return None
    lead, reckoning = found
    if lead.copper_c is None or lead.capacity_ampere is None:
        return None
    assert lead.piece.spec is not None
    hottest_c = HOTTEST_C if lead.piece.spec.area_mm2 else HOTTEST_GAUGE_C
    air = taken(
        "temperature of the air", figures.case.copper_c + ZERO_C_KELVIN, "temperature", "", "T_air", "the rig's `air`"
    )
    hottest = taken(
        "temperature that its rating is for", hottest_c + ZERO_C_KELVIN, "temperature", "", "T_max", "the table"
    )
    table = "IEC 60364-5-52 or NEC 310.16, see its size"
    carries = taken("current it carries for ever in this air", lead.capacity_ampere, "current", "", "I_z", table)
    formula = "T_air + (T_max - T_air) * (I / I_z)^2"
    authority = "heat goes with the square of the current; IEC 60364-5-52"
    parts = (air, hottest, current_step(lead, reckoning), carries)
    name = f"temperature of the copper of {key} at full output for ever"
    return Step(name, lead.copper_c + ZERO_C_KELVIN, "temperature", "T", formula, "", authority, rests_on=parts)


LEAD = "a lead with a name"
DERIVED = (
    Derived("resistance", LEAD, "its resistance there and back", resistance),
    Derived("loss", LEAD, "what it alone costs", loss),
    Derived("current", LEAD, "what it carries with the amplifier at its rated output", current),
    Derived("temperature", LEAD, "what its copper reaches with that current flowing for ever", temperature),
)
