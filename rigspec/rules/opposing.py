"""Words, places and edits for opposed drive: where a channel is turned, and how to turn its input or cross its lead."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigspec.figures import Figures
from rigspec.figures.supply import SharedSupply, SupplyMember
from rigspec.figures.trace import Turn
from rigspec.rules.pushing import without_hop
from rigspec.text.finding import Edit, Label
from rigspec.text.source import Span

RESISTANCES = "loads are taken as resistances"
UNMEASURED = "nothing of this was measured on a real amplifier"
WAYS = (
    "pins 2 and 3 crossed in one leg of a Y lead, a polarity switch, a processor output, or the amplifier's `bridge`"
    " switch with a load on each channel, which inverts the second channel inside and takes no other"
    " inversion beside it"
)


def before_turns(member: SupplyMember) -> tuple[Turn, ...]:
    """The turns up to the channel's output."""
    return member.channel.parts[0].turns if member.channel.parts else ()


def behind_turns(member: SupplyMember) -> tuple[Turn, ...]:
    """The turns between the output and the first of its boxes."""
    return member.channel.boxes[0].own_turns if member.channel.boxes else ()


def by_switch(member: SupplyMember) -> bool:
    """Is it the bridge switch that turns this channel?"""
    return any(turn.text.startswith("the bridge switch") for turn in before_turns(member))


def turned_members(together: SharedSupply) -> list[SupplyMember]:
    """The channels that opposed drive turns: those with more turns on their way in, of which there may be none."""
    sides = [[m for m in together.members if m.turned is side] for side in (False, True)]
    if not sides[1]:
        return []
    return max(sides, key=lambda side: sum(len(before_turns(member)) for member in side) / len(side))


def places(together: SharedSupply) -> list[Label]:
    """Where the supply is said to be as it is, and every turn on the way to and from these channels."""
    supply = together.supply
    labels = [
        Label(supply.place[word], f"its supply: {word}")
        for word in (supply.sort, supply.sharing, "regulated" if supply.regulated else "")
        if word in supply.place
    ]
    if supply.farad is not None:
        labels.append(Label(supply.farad.span, f"its reservoir: {supply.farad.text}"))
    for member in together.members:
        turns = (*before_turns(member), *behind_turns(member))
        labels += [Label(turn.span, f"on the way through {member.channel.key}: {turn.text}") for turn in turns]
    return list(dict.fromkeys(labels))


# ---- edits ----------------------------------------------------------------------------------------------------------


def input_edit(figures: Figures, member: SupplyMember) -> Edit | None:
    """Insert `invert ->` before the channel's input, where that hop is written for it alone and comes from a path."""
    key = member.channel.key
    ways = figures.rig.wiring.arrivals.get(key, ())
    arrival = figures.trace.arrivals.get(key)
    if arrival is None or len(ways) != 1 or not _alone(figures, arrival.sink.span, [key]):
        return None
    return _before(arrival.sink.span)


def lead_edits(figures: Figures, member: SupplyMember) -> list[Edit] | None:
    """Insert `invert ->` before the first boxes of the channel, one in each branch; None where a hop serves others."""
    run = figures.trace.runs[member.channel.key]
    if run.splits:
        return None
    boxes = {box.box.arrival.sink.joint: box.box.arrival.sink for box in member.channel.boxes}
    spans: dict[Span, list[str]] = {}
    for sink in boxes.values():
        spans.setdefault(sink.span, []).append(sink.key)
    firsts: dict[Span, None] = {}
    for sink in boxes.values():
        joint = sink.joint
        while joint in run.parent and run.parent[joint].a not in boxes:
            joint = run.parent[joint].a
        if joint not in run.parent:
            firsts[sink.span] = None
    own = [box.key for box in member.channel.boxes]
    edits = [_before(span) for span in firsts if _alone(figures, span, own)]
    made = [edit for edit in edits if edit is not None]
    return made if made and len(made) == len(firsts) else None


def _before(span: Span) -> Edit | None:
    """Insert a crossing before a hop that stands behind an arrow."""
    text = span.source.text
    if not text[: span.start].rstrip().endswith("->"):
        return None
    return Edit(Span(span.source, span.start, span.start), "invert -> ")


def _alone(figures: Figures, span: Span, own: Sequence[str]) -> bool:
    """Does this hop stand for these things only?"""
    return all(sink.key in own for sink in figures.rig.wiring.sinks.values() if sink.span == span)


def without_turns(members: Iterable[SupplyMember]) -> list[Edit] | None:
    """Take out the one crossing before and the one behind each of these channels, where both are hops of a path."""
    edits: dict[Edit, None] = {}
    for member in members:
        for turns in (before_turns(member), behind_turns(member)):
            hops = [turn for turn in turns if turn.span.text == "invert"]
            edit = without_hop(hops[0].span) if len(turns) == len(hops) == 1 else None
            if edit is None:
                return None
            edits[edit] = None
    return list(edits)
