"""Rules about leads beside their loss: the heat of their copper, and how well a loudspeaker is damped through them."""

from __future__ import annotations

from collections.abc import Iterable
from math import sqrt

from rigspec.figures import BoxFigures, ChannelFigures, Figures, LeadFigures
from rigspec.figures.channel import copper_note
from rigspec.figures.load import NetworkFigures
from rigspec.rig.model import Measure, Piece, one
from rigspec.rules.leads import said
from rigspec.rules.lengths import alike, lot_ohm, thicker_or_shorter
from rigspec.rules.loads import suited
from rigspec.rules.places import declared
from rigspec.rules.rule import Rule
from rigspec.solve.ampacity import least_size
from rigspec.solve.mains import EIGHTH
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair

FULL_OUTPUT = (
    "the amplifier at its rated output for ever; music has a part of that in the mean, so this errs on the safe side"
)
EIGHTH_OF_IT = "an eighth of the rated power in the mean: a convention for programme at the edge of clipping"


def lead_overheats(figures: Figures) -> Iterable[Finding]:
    """A loudspeaker lead carries more than its copper stands; of one way the lead that is worst off speaks for all."""
    for channel in suited(figures):
        over = [lead for lead in channel.leads if (excess := _excess(lead)) is not None and excess > 1.0001]
        if over:
            yield _hot(figures, channel, max(over, key=lambda lead: _excess(lead) or 0.0))


def _excess(lead: LeadFigures) -> float | None:
    return None if lead.ampere is None or not lead.capacity_ampere else lead.ampere / lead.capacity_ampere


def _hot(figures: Figures, channel: ChannelFigures, lead: LeadFigures) -> Finding:
    assert lead.ampere is not None
    assert lead.capacity_ampere is not None
    spec, piece = lead.piece.spec, lead.piece
    assert spec is not None
    share, said_at = programme(figures, channel)
    mean = lead.ampere * sqrt(share)  # heat goes with power
    burns = mean > lead.capacity_ampere * 1.0001
    computed, allowed = show_pair(mean if burns else lead.ampere, lead.capacity_ampere, "current")
    part = f"at {said_at.text} of full output" if said_at else "at 1/8 of full output"
    when = part if burns else "at full output for ever"
    at_rest = f"; {show(mean, 'current')} {part}" if not burns else ""
    size = spec.area_mm2 or spec.awg
    pairs = piece.gear.count("pairs", 1) if piece.gear is not None else 1
    thicker = least_size(
        lead.ampere,
        area_mm2=spec.area_mm2.low if spec.area_mm2 else None,
        awg=spec.awg.high if spec.awg and not spec.area_mm2 else None,
        air_c=figures.case.copper_c,
        bunched=pairs,
    )
    use = f"use {show(thicker, 'area' if spec.area_mm2 else 'gauge')}" if thicker is not None else "use a thicker lead"
    warm = (
        f", which would bring its copper to {lead.copper_c:.0f} degC"
        if lead.copper_c and lead.copper_c < 400 and not burns
        else ""
    )
    where = (Label(piece.gear.span, f"{piece.gear.full} is declared here{said(piece)}"),) if piece.gear else ()
    bundle = (f"all {pairs} pairs of it carry as much",) if pairs > 1 else ()
    return Finding(
        "lead-overheats",
        piece.span,
        f"{piece.name or 'this lead'} carries {computed} {when}, more than the {allowed} that"
        f" {size.text if size else 'it'} stands",
        label=f"{computed} here",
        related=(
            *where,
            *([Label(said_at.span, f"the programme: {said_at.text} of full power")] if said_at else []),
            Label(channel.output.span, f"from {channel.key}"),
            *declared(channel.boxes, 2),
        ),
        computed=computed + warm + at_rest,
        allowed=f"at most {allowed}",
        assumes=((() if said_at else (EIGHTH_OF_IT,)) if burns else (FULL_OUTPUT,)) + bundle,
        help=f"{use}, or share the boxes between two leads",
        subject=piece.gear.full if piece.gear else channel.key,
        at_most=None if burns else Severity.ADVICE,
    )


def programme(figures: Figures, channel: ChannelFigures) -> tuple[float, Measure | None]:
    """The part of full power that flows in the mean, and where it is said: of several feeds the most; or an eighth."""
    rig = figures.rig
    feeds = [gear for part in channel.parts if (gear := rig.gear.get(part.feed)) is not None]
    said = [measure for feed in feeds if (measure := feed.measure("programme", "number")) is not None]
    most = max(said, key=lambda measure: measure.value, default=None) or one(rig.facts, "programme", "number")
    return (EIGHTH, None) if most is None else (most.value, most)


def damping_low(figures: Figures) -> Iterable[Finding]:
    """The damping factor at a loudspeaker falls below what the rig wants; one finding for each channel."""
    own = figures.rig.limit("damping", "number")
    if own is None or own.value <= 0:
        return
    for channel in suited(figures):
        low = [box for box in channel.boxes if box.damping is not None and box.damping < own.value * 0.9999]
        if low:
            yield _limp(figures, channel, min(low, key=lambda box: box.damping or 0.0), len(low) - 1, own)


def _limp(figures: Figures, channel: ChannelFigures, box: BoxFigures, more: int, own: Measure) -> Finding:
    assert box.damping is not None
    run = figures.trace.runs[channel.key]
    leads = run.leads_to(box.box.arrival.sink.joint)
    computed, allowed = show_pair(box.damping, own.value, "number")
    also = f"; {more} more box{'es' if more > 1 else ''} on {channel.key} likewise" if more else ""
    source = channel.source_ohm or 0.0
    lots = alike(leads)
    lot = max(lots, key=lambda each: lot_ohm(each, figures.case)) if lots else []
    costly = lot[0] if lot else None
    return Finding(
        "damping-low",
        costly.span if costly else box.box.arrival.sink.span,
        f"the damping factor at {box.key} is {computed}, less than the {allowed} that this rig wants{also}",
        label=f"{show(lot_ohm(lot, figures.case), 'resistance')} there and back" if costly else "here",
        related=(
            Label(own.span, f"this rig's own limit: {own.text}"),
            Label(box.box.arrival.sink.span, f"{box.key} hangs here"),
            *declared((box,)),
        ),
        computed=f"{computed}: {show(box.box.impedance_ohm or 0.0, 'resistance')} over the leads and"
        f" {show(source, 'resistance')} of {channel.key} itself",
        allowed=f"at least {allowed}",
        assumes=(copper_note(figures.case.copper_c, "air" in figures.rig.facts),),
        help=_stiffer(figures, channel, box, lot, own.value),
        subject=box.key,
        authority="this rig's own `limits`; the definition of the damping factor, IEC 60268-3, from memory",
    )


def _stiffer(figures: Figures, channel: ChannelFigures, box: BoxFigures, lot: list[Piece], wanted: float) -> str:
    """The longest length and the next size that keep the limit."""
    run, source_ohm = figures.trace.runs[channel.key], channel.source_ohm or 0.0
    load_ohm = box.box.impedance_ohm or 0.0
    if not lot or load_ohm / wanted <= source_ohm:
        return f"no lead cures this: {box.channel} alone has too high an output impedance"
    joints = {piece.b for piece in run.leads_to(box.box.arrival.sink.joint)}

    def keeps(network: NetworkFigures) -> bool:
        before = source_ohm + sum(ohm for piece, ohm in network.lead_ohm.items() if piece.b in joints)
        return before * wanted <= load_ohm

    order = thicker_or_shorter(figures, channel, lot, keeps)
    return f"{order}; or move the amplifier nearer" if order else "use thicker or shorter leads all along the way"


RULES = (
    Rule(
        name="lead-overheats",
        severity=Severity.ERROR,
        summary="a loudspeaker lead carries more current than its copper stands",
        reason="its insulation softens and shorts where it is coiled or covered",
        limit="the current that a copper cable of its size carries for ever in this air: an error at 1/8 of the"
        " amplifier's rated power, or at the `programme` of the rig or the feed; advice up to the full output for ever",
        authority="IEC 60364-5-52 tables B.52.2 and B.52.14; IEC 60335-1 table 11 for thin cords; NEC table 310.16 for"
        " gauges",
        cure="use a thicker lead",
        bad="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 0.5 mm2 3 m -> s[1..2] linked 2.5 mm2 2 m\n",
        good="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 1.5 mm2 3 m -> s[1..2] linked 2.5 mm2 2 m\n",
        check=lead_overheats,
    ),
    Rule(
        name="damping-low",
        severity=Severity.WARNING,
        summary="the damping factor at a loudspeaker is lower than the rig wants",
        reason="the amplifier's hold on the cone goes into the copper; bass is a little looser than it could be",
        limit="the rig's own `limits { damping ... }`; without it nothing is judged, for above about 20 it hardly"
        " matters",
        authority="common practice, no source; the definition of the damping factor, IEC 60268-3, from memory",
        cure="use thicker or shorter leads",
        bad='rig "x" { limits { damping 20 } }\namp a is twin { damping 400 at 8 ohm }\nspeaker s is sub\n'
        "a.1 -> lead 2.5 mm2 25 m -> s\n",
        good='rig "x" { limits { damping 20 } }\namp a is twin { damping 400 at 8 ohm }\nspeaker s is sub\n'
        "a.1 -> lead 2.5 mm2 20 m -> s\n",
        check=damping_low,
    ),
)
