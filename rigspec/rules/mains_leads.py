"""Rules about the leads of the mains: what they carry, and how much voltage they lose."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.inlets import MainsCorner
from rigspec.figures.mains import InletFigures, MainsFigures, MainsLead, Solved, solved
from rigspec.rig.model import LeadSpec, Measure
from rigspec.rules.lengths import rounded_down
from rigspec.rules.mains_words import LOCAL, air_note, at_most, code_note, decides, listed, natural, rests_on, size_for
from rigspec.rules.rule import Rule
from rigspec.solve.ampacity import ampacity_ampere
from rigspec.solve.breaker import CORD_GAUGE, DROP, RATINGS_AMPERE, allowed_ampere, cord_serves
from rigspec.solve.conductor import conductor_ohm_per_m, next_size_up
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair
from rigspec.text.value import Value

_KEEPS = 1.0001  # rounding does not break a limit


# ---- too thin -------------------------------------------------------------------------------------------------------


def mains_lead_thin(figures: Figures) -> Iterable[Finding]:
    """A lead of the mains carries less than its breaker lets through, or than it has to carry."""
    mains = figures.mains
    found: dict[tuple[str, int], list[tuple[MainsLead, float, bool]]] = {}
    for lead, mild in zip(mains.leads, mains.mild.leads, strict=True):
        limit = _must_carry(mains, lead)
        if limit is None:
            continue
        size = lead.spec.area_mm2 or lead.spec.awg
        assert size is not None  # no lead without a size gets here
        key = (size.span.path, size.span.start)
        found.setdefault(key, []).append((lead, limit, _must_carry(mains, mild) is None))
    for each in found.values():
        each.sort(key=lambda one: natural(one[0].serves[0]))
        lead, limit, possible = max(each, key=lambda one: one[1])
        yield _thin(mains, lead, limit, len({name for one, _, _ in each for name in one.serves}), possible=possible)


def _must_carry(mains: MainsFigures, lead: MainsLead) -> float | None:
    """The current that a lead would have to stand and does not; None where it does, or no table reaches."""
    if lead.capacity is None:
        return None
    guard = mains.plan.guards[lead.part]
    if _in_doubt(mains, lead.part, guard):
        return None
    breaker = mains.plan.nodes[guard].breaker if guard else None
    gauge = lead.spec.awg.high if lead.spec.awg and not lead.spec.area_mm2 else None
    if breaker is None:
        return lead.ampere if lead.ampere > lead.capacity.ampere * _KEEPS else None
    if breaker.value <= allowed_ampere(lead.capacity.ampere, mains.plan.code, gauge) * _KEEPS:
        return None
    if lead.piece is not None and len(lead.serves) == 1 and lead.third_ampere <= lead.capacity.ampere:
        area = lead.spec.area_mm2
        if area is not None and area.low < 1.5 * (1 - 1e-9):
            return None  # a cord to one piece of gear that cannot overload it (IEC 60364-4-43 433.3.1)
        if mains.plan.code == "nec" and gauge is not None and cord_serves(breaker.value, gauge):
            return None
    return breaker.value


def _in_doubt(mains: MainsFigures, part: str, guard: str) -> bool:
    """Has a part up to the one with the breaker a fault, so that it may well have a breaker of its own?"""
    nodes = mains.plan.nodes
    while part in nodes:
        if nodes[part].gear.doubt:
            return True
        part = "" if part == guard else nodes[part].parent
    return False


def _thin(mains: MainsFigures, lead: MainsLead, limit: float, count: int, *, possible: bool) -> Finding:
    spec, capacity = lead.spec, lead.capacity
    size = spec.area_mm2 or spec.awg
    assert size is not None
    assert capacity is not None
    guard = mains.plan.guards[lead.part]
    carried, needed = show_pair(capacity.ampere, limit, "current")
    what = f"the lead to {lead.serves[0]}" if lead.piece is not None else f"the feed of {lead.part}"
    more = f" ({count - 1} more like it)" if count > 1 and lead.piece is not None else ""
    breaker = mains.plan.nodes[guard].breaker if guard else None
    by = f"its breaker lets {needed} through" if breaker else f"it has to carry {needed}"
    smaller = max((each for each in RATINGS_AMPERE[mains.plan.code] if each <= capacity.ampere), default=None)
    lower = f", or a breaker of {show(smaller, 'current')}" if smaller and breaker else ""
    return Finding(
        "mains-lead-thin",
        size.span,
        f"{what}{more} {'may stand only' if possible else 'stands'} {carried}, and {by}",
        label=f"{size.text}: {carried}",
        related=(Label(breaker.span, f"the breaker of {guard}"),) if breaker else (),
        computed=carried,
        allowed=f"at least {needed}",
        assumes=(*capacity.assumes, air_note(mains), *code_note(mains)),
        help=f"use {_cord_for(mains, lead, limit) or size_for(mains, lead, limit)} or thicker{lower}",
        subject=lead.serves[0],
        authority=f"{capacity.source}; {_PROTECTS[mains.plan.code]}; {LOCAL}",
        at_most=None if breaker else at_most(mains, lead.part),
        possible=possible,
        decides=f"{size.text} (line {size.span.line}) decides" if possible else "",
    )


def _cord_for(mains: MainsFigures, lead: MainsLead, limit: float) -> str:
    """The thinnest cord that the NEC lets be plugged into such a circuit; empty where a lead is no cord by gauge."""
    if mains.plan.code != "nec" or lead.piece is None or len(lead.serves) != 1 or lead.spec.area_mm2:
        return ""
    gauge = next((each for least, each in CORD_GAUGE.items() if limit <= least), None)
    found = None if gauge is None else ampacity_ampere(awg=gauge, air_c=mains.plan.air_c)
    return show(gauge, "gauge") if gauge and found and found.ampere >= lead.third_ampere else ""


_PROTECTS = {"iec": "IEC 60364-4-43 (rating <= ampacity), from memory", "nec": "NEC 240.4 and 240.5"}


# ---- too much drop --------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class _Loss(Value):
    """A lead on the way to an inlet, and the share of the supply's voltage that it loses there."""

    lead: MainsLead
    share: float


def mains_drop_high(figures: Figures) -> Iterable[Finding]:
    """Too little of the mains voltage reaches gear; one finding for each lead that costs most on its way."""
    mains = figures.mains
    own = figures.rig.limit("drop", "ratio")
    limit = own.value if own else DROP
    found: dict[tuple[str, str], list[tuple[float, InletFigures, list[_Loss]]]] = {}
    # The drop is a share of the voltage that is there: that the mains itself may be low is no fault of the leads.
    worst = mains if mains.mild.parts is mains.parts else solved(mains.plan, MainsCorner(1, supply=False))
    for name, inlet in worst.inlets.items():
        drop = inlet.drop
        if drop is None or drop <= limit * _KEEPS:
            continue
        losses = _losses(worst, inlet)
        if losses:
            costly = _costliest(losses).lead
            found.setdefault((costly.part, "" if costly.piece is None else name), []).append((drop, inlet, losses))
    for each in found.values():
        yield _dropped(figures, mains, each, limit, own)


def _costliest(losses: list[_Loss]) -> _Loss:
    """The lead that loses most, of equals the one next to the supply."""
    return max(losses, key=lambda loss: round(loss.share, 9))


def _losses(mains: Solved, inlet: InletFigures) -> list[_Loss]:
    """What each lead loses on the way to an inlet, from the supply on."""
    losses = [_Loss(lead, 2 * lead.ohm * lead.ampere / inlet.volt) for lead in inlet.leads if inlet.volt]
    at = inlet.part
    while at:
        part = mains.parts[at]
        before = mains.parts.get(part.node.parent)
        if part.lead is not None and part.drop is not None:
            losses.append(_Loss(part.lead, max(part.drop - (before.drop or 0.0 if before else 0.0), 0.0)))
        at = part.node.parent
    return losses[::-1]


def _dropped(
    figures: Figures,
    mains: MainsFigures,
    found: list[tuple[float, InletFigures, list[_Loss]]],
    limit: float,
    own: Measure | None,
) -> Finding:
    found.sort(key=lambda each: natural(each[1].key))
    worst, inlet, losses = max(found, key=lambda each: round(each[0], 9))
    mild, typical = mains.mild.inlets[inlet.key].drop or 0.0, mains.inlets[inlet.key].drop or 0.0
    possible = mild <= limit * _KEEPS
    drop = worst if possible else typical
    computed, allowed = show_pair(drop, limit, "ratio")
    costly = _costliest(losses)
    size = costly.lead.spec.area_mm2 or costly.lead.spec.awg
    assert size is not None
    end_volt = mains.inlets[inlet.key].end_volt
    left = f", and {show(end_volt, 'voltage')} is left" if end_volt is not None and not possible else ""
    also = [each.key for _, each, _ in found if each.key != inlet.key]
    more = f" ({listed(also)} too)" if also else ""
    where = Label(inlet.plug.sink.span, f"{inlet.key} hangs here") if inlet.plug else None
    decided = decides(mains, lambda each: each.inlets[inlet.key].drop or 0.0) if possible else None
    message = f"on the way to {inlet.key} the mains {'may lose' if possible else 'loses'} {computed}{left}{more}"
    label = f"the costliest lead on the way: {show(costly.share * drop / worst, 'ratio')}"
    cure = _shorter(costly, worst, limit)
    if end_volt == 0 and not possible:  # no such current can flow there: a figure has a slip
        volt = show(inlet.volt or 0.0, "voltage")
        message = f"on the way to {inlet.key} more than all of the {volt} would be lost, which cannot be meant{more}"
        label = f"{show(costly.lead.ampere, 'current')} would flow here"
        cure = f"correct the {volt}, what {inlet.key} draws, or the sizes and lengths of the leads"
    return Finding(
        "mains-drop-high",
        size.span,
        message,
        label=label,
        related=(
            *([Label(own.span, f"this rig's own limit: {own.text}")] if own else []),
            *([where] if where else []),
            *(decided.labels if decided else ()),
        ),
        computed=computed,
        allowed=f"at most {allowed}",
        assumes=(
            *rests_on(mains, inlet.part),
            air_note(mains),
            "current in phase with the voltage, which loses most",
        ),
        help=cure,
        subject=inlet.key,
        authority=f"this rig's own `limits`; {LOCAL}" if own else "",
        possible=possible,
        decides=decided.text if decided else "",
    )


def _shorter(costly: _Loss, drop: float, limit: float) -> str:
    """The next size and the longest length of the costliest lead that keep the limit, all others as they are."""
    spec = costly.lead.spec
    factor = (limit - (drop - costly.share)) / costly.share
    if factor <= 0 or spec.length is None:
        return "use thicker or shorter leads all along the way"
    size = _size_within(spec, factor)
    thicker = f"use {size}, or keep this size and stay" if size else "stay"
    return f"{thicker} at {rounded_down(spec.length.high * factor, spec.length)} or less; or take the supply nearer"


def _size_within(spec: LeadSpec, factor: float) -> str:
    """The thinnest size whose resistance is no more than this part of a lead's own, cold as both are."""
    area = spec.area_mm2.low if spec.area_mm2 else None
    awg = spec.awg.high if spec.awg and not spec.area_mm2 else None

    def ohm(area_mm2: float | None, gauge: float | None) -> float:
        return conductor_ohm_per_m(area_mm2=area_mm2, awg=gauge, solid=spec.solid, tinned=spec.tinned).ohm_per_m

    least = ohm(area, awg) * factor
    while True:
        size = next_size_up(area_mm2=area, awg=awg)
        if size is None:
            return ""
        area, awg = (None, size) if awg is not None else (size, None)
        if ohm(area, awg) <= least:
            return show(size, "gauge" if awg is not None else "area")


_ALONE = (
    "stock speaker loud { powered; draw 2100 VA }\nspeaker a is loud\nfeed f { level 4 dBu }\nf -> a\n"
    "mains hall { supply 230 V; breaker 16 A C; residual 30 mA }\n"
)

RULES = (
    Rule(
        name="mains-lead-thin",
        severity=Severity.ERROR,
        summary="a lead of the mains carries less than its breaker lets through",
        reason="an overload that the breaker does not see heats the lead until its insulation gives way: this starts"
        " fires",
        limit="the lead's ampacity is not below the rating of the breaker before it; a thin cord to one piece of gear"
        " that takes less than the cord carries is left out",
        authority="IEC 60364-4-43 with the tables of IEC 60364-5-52 for leads that lie open, from memory; for gauges"
        f" NEC 310.16, 240.4 and 240.5; {LOCAL}",
        cure="use a thicker lead or a smaller breaker",
        bad="mains hall { supply 230 V; breaker 32 A C; residual 30 mA; lead 2.5 mm2 10 m }\n",
        good="mains hall { supply 230 V; breaker 32 A C; residual 30 mA; lead 6 mm2 10 m }\n",
        check=mains_lead_thin,
    ),
    Rule(
        name="mains-drop-high",
        severity=Severity.WARNING,
        summary="too much of the mains voltage is lost on the way to gear",
        reason="an amplifier without a regulated supply gives less power, and others draw more current to make up for"
        " it",
        limit="5 % from the supply to the gear, or the rig's own `limits { drop ... }`; with all gear at 1/8 of rated"
        " power",
        authority=f"IEC 60364-5-52 annex G, from memory (3 % for lighting); NEC 210.19(A) note, from memory; {LOCAL}",
        cure="use the size or the length that the finding names",
        bad=f"{_ALONE}hall -> lead 1.5 mm2 60 m -> a\n",
        good=f"{_ALONE}hall -> lead 4 mm2 60 m -> a\n",
        check=mains_drop_high,
    ),
)
