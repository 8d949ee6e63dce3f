"""Rules about groups: whether loudspeakers that belong together are driven alike."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigspec.figures import BoxFigures, Figures
from rigspec.figures.groups import Driven, alike, listed
from rigspec.rig.model import Measure, Roster
from rigspec.rules.bounds import at_least
from rigspec.rules.lengths import alike as alike_leads
from rigspec.rules.lengths import lot_ohm
from rigspec.rules.places import declared
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity, Told
from rigspec.text.source import Span
from rigspec.text.units import show, show_pair

SPREAD_DB = 3.0  # common practice, no source: a difference that everybody hears
NAMED_DB = 0.05  # half the power is 3.01 dB and is called 3 dB


def group_uneven(figures: Figures) -> Iterable[Finding]:
    """Loudspeakers of one kind in a group get levels that differ by more than they may."""
    own = figures.rig.limit("spread", "gain")
    limit_db = abs(own.value) if own else SPREAD_DB
    for roster in figures.rig.rosters_of("group"):
        for lot in alike(listed(figures, roster)):
            if lot[0].power_db - lot[-1].power_db > limit_db + NAMED_DB:
                yield _uneven(figures, roster, lot, limit_db, own)


def _uneven(figures: Figures, roster: Roster, lot: Sequence[Driven], limit_db: float, own: Measure | None) -> Finding:
    loud, soft = lot[0], lot[-1]
    spread_db = loud.power_db - soft.power_db
    computed, allowed = show_pair(spread_db, limit_db, "gain")
    in_leads = soft.box.loss_db - loud.box.loss_db
    others = sum(loud.power_db - each.power_db > limit_db + NAMED_DB for each in lot) - 1
    also = f"; {others} more of them likewise" if others else ""
    limit = (Label(own.span, f"this rig's own limit: {own.text}"),) if own else ()
    here, at = soft.box.box.arrival.sink.span, _set_at(figures, loud, soft, limit_db + NAMED_DB)
    return Finding(
        "group-uneven",
        at or here,
        f"{soft.box.key} gets {computed} less than {loud.box.key} in the group {roster.name}{also}",
        label=f"{computed} less than {loud.box.key}",
        related=(
            *([Label(here, f"{soft.box.key} gets the least")] if at else []),
            Label(loud.box.box.arrival.sink.span, f"{loud.box.key} gets the most"),
            Label(roster.span, f"the group {roster.name} says that they belong together"),
            *limit,
            *declared((soft.box, loud.box)),
        ),
        computed=f"{computed}, of which {show(in_leads, 'gain')} in the leads",
        allowed=f"at most {allowed}",
        help=_evened(loud.box, soft.box, spread_db - limit_db, in_leads),
        subject=soft.box.key,
        follows=(_causes(loud.box, soft.box, by_leads=spread_db - in_leads <= limit_db + NAMED_DB),),
        authority="this rig's own `limits`" if own else "",
    )


def _set_at(figures: Figures, loud: Driven, soft: Driven, limit_db: float) -> Span | None:
    """The one place that makes two loudspeakers unlike, if there is one: a control of either, or the lead to one."""
    from rigspec.rules.controls import unlike_control  # late: most groups are alike

    spread_db = loud.power_db - soft.power_db
    if spread_db - (soft.box.loss_db - loud.box.loss_db) <= limit_db:
        leads = figures.trace.runs[soft.box.channel].leads_to(soft.box.box.arrival.sink.joint)
        costly = max(alike_leads(leads), key=lambda each: lot_ohm(each, figures.case), default=None)
        return costly[0].span if costly else None
    if loud.box.channel == soft.box.channel:
        tap, other = soft.box.box.impedance, loud.box.box.impedance
        return tap.span if soft.box.box.tapped and tap and other and tap.span != other.span else None
    found = unlike_control(figures, loud.box.channel, soft.box.channel)
    return found[0] if found and spread_db - abs(found[1]) <= limit_db else None


def _causes(loud: BoxFigures, soft: BoxFigures, *, by_leads: bool) -> tuple[Told, ...]:
    """What else tells why two loudspeakers are driven unequally: ways that are exchanged, or a lead that loses it."""
    exchanged = tuple(("pairs-exchanged", box.box.gear.full) for box in (soft, loud) if box.box.way)
    return (*exchanged, ("lead-loss-high", soft.key)) if by_leads else exchanged


def _evened(loud: BoxFigures, soft: BoxFigures, over_db: float, in_leads: float) -> str:
    """The least change that brings a group back within its limit."""
    over = at_least(over_db, "gain")
    leads = f"; thicker or shorter leads to {soft.key} bring up to {show(in_leads, 'gain')}" if in_leads > 0.05 else ""
    if loud.channel != soft.channel:
        return f"turn {loud.channel} down by {over} or more, or {soft.channel} up{leads}"
    if loud.box.tapped:
        return f"set another tap on {soft.key} or {loud.key}{leads}"
    return f"they hang on one channel: let them hang alike on it{leads}"


RULES = (
    Rule(
        name="group-uneven",
        severity=Severity.WARNING,
        summary="loudspeakers of one kind in a group are driven unequally",
        reason="one part of the audience hears the group louder than another, and the loud ones reach their limit"
        " first",
        limit="3 dB between any two of one kind, or the rig's own `limits { spread ... }`",
        authority="common practice, no source",
        cure="make the gains, taps and leads of the group alike",
        bad="feed f { level -4 dBu; peak 4 dBu }\namp a is twin\na.2 { attenuator -6 dB }\nspeaker b[1..2] is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b[1]\nf -> a.2 -> lead 2.5 mm2 9 m -> b[2]\ngroup front: b[*]\n",
        good="feed f { level -4 dBu; peak 4 dBu }\namp a is twin\na.2 { attenuator -2 dB }\nspeaker b[1..2] is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b[1]\nf -> a.2 -> lead 2.5 mm2 9 m -> b[2]\ngroup front: b[*]\n",
        check=group_uneven,
    ),
)
