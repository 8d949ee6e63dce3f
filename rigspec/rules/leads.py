"""Rules about leads: what the copper costs."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve

from rigspec.figures import BoxFigures, ChannelFigures, Figures
from rigspec.figures.channel import copper_note
from rigspec.rig.model import Measure, Piece
from rigspec.rules.certainty import decides
from rigspec.rules.lengths import alike, lot_ohm, thicker_or_shorter
from rigspec.rules.loads import suited
from rigspec.rules.places import declared
from rigspec.rules.rule import Rule
from rigspec.solve.decibel import gain_to_ratio, ratio_to_gain
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair

LEAD_LOSS_DB = 1.0  # common practice, no source
_ALL_THE_WAY = "use thicker or shorter leads all along the way"


def lead_loss_high(figures: Figures) -> Iterable[Finding]:
    """The leads to a loudspeaker cost more level than they may; one finding for each longest way."""
    own = figures.rig.limit("lead-loss", "gain")
    limit_db = abs(own.value) if own else LEAD_LOSS_DB
    for channel in suited(figures):
        run = figures.trace.runs[channel.key]
        lossy: dict[Piece, list[tuple[BoxFigures, list[Piece]]]] = {}
        for box in channel.boxes:
            if box.loss_high_db <= limit_db * 1.0001:
                continue
            leads = run.leads_to(box.box.arrival.sink.joint)
            if leads:
                lossy.setdefault(leads[0], []).append((box, leads))
        for found in lossy.values():
            worst, leads = max(found, key=lambda each: each[0].loss_high_db)
            boxes = [box for box, _ in found]
            yield _lossy(figures, channel, worst, leads, boxes, limit_db, own, plain=not run.splits)


def _lossy(
    figures: Figures,
    channel: ChannelFigures,
    box: BoxFigures,
    leads: list[Piece],
    boxes: list[BoxFigures],
    limit_db: float,
    own: Measure | None,
    *,
    plain: bool,
) -> Finding:
    possible = box.loss_low_db <= limit_db * 1.0001
    computed, allowed = show_pair(box.loss_high_db, limit_db, "gain")
    case = evolve(figures.case, copper=1)
    lot = max(alike(leads), key=lambda each: lot_ohm(each, case))
    costly = lot[0]
    lost = 1 - gain_to_ratio(-box.loss_high_db) ** 2
    more = len(boxes) - 1
    also = f"; {more} more box{'' if more == 1 else 'es'} on this lead lose{'s' if more == 1 else ''} too much"
    related = [Label(own.span, f"this rig's own limit: {own.text}")] if own else []
    if costly.gear is not None:
        related.append(Label(costly.gear.span, f"{costly.gear.full} is declared here{said(costly)}"))
    related.append(Label(box.box.arrival.sink.span, f"{box.key} hangs here"))
    least = f", at least {show(box.loss_low_db, 'gain')}" if box.loss_low_db < box.loss_high_db * 0.9999 else ""
    costs = "may cost" if possible else "costs"
    dominant = decides(figures, channel, lambda network: ratio_to_gain(1 / network.box_volt[box.key]))
    return Finding(
        "lead-loss-high",
        costly.span,
        f"the lead to {box.key} {costs} {computed}, {lost:.0%} of its power{also if more else ''}",
        label=f"{computed} from {channel.key} to {box.key}",
        related=(*related, *declared([box]), *dominant.labels),
        computed=computed + least,
        allowed=f"at most {allowed}",
        assumes=(copper_note(figures.case.copper_c, "air" in figures.rig.facts),),
        help=_thicker(figures, channel, box, lot, limit_db) if plain else _ALL_THE_WAY,
        subject=box.key,
        also=tuple(each.key for each in boxes),
        authority="this rig's own `limits`" if own else "",
        possible=possible,
        decides=dominant.text,
    )


def said(piece: Piece) -> str:
    spec = piece.spec
    given = [m.text for m in (spec.area_mm2, spec.awg, spec.length) if m is not None] if spec else []
    return f": {', '.join(given)}" if given else ""


def _thicker(figures: Figures, channel: ChannelFigures, box: BoxFigures, lot: list[Piece], limit_db: float) -> str:
    """The next size that keeps the limit, and the longest length of this size that does."""
    least = gain_to_ratio(-limit_db)
    order = thicker_or_shorter(figures, channel, lot, lambda network: network.box_volt[box.key] >= least)
    return f"{order}; or move the amplifier nearer" if order else _ALL_THE_WAY


RULES = (
    Rule(
        name="lead-loss-high",
        severity=Severity.WARNING,
        summary="the leads to a loudspeaker cost too much level",
        reason="the power paid for heats copper, and boxes on long leads fall behind the others",
        limit="1 dB from amplifier to loudspeaker, or the rig's own `limits { lead-loss ... }`",
        authority="common practice, no source; copper by IEC 60228 class 5 or ASTM B258",
        cure="use the next size that the finding names, or a shorter lead",
        bad="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 1.5 mm2 30 m -> s[1..2] linked 2.5 mm2 2 m\n",
        good="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 4 mm2 30 m -> s[1..2] linked 2.5 mm2 2 m\n",
        check=lead_loss_high,
    ),
)
