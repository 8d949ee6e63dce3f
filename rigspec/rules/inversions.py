"""A rule about inversions that undo each other."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from attrs import evolve

from rigspec.figures import BoxFigures, ChannelFigures, Figures
from rigspec.figures.signal import Contribution
from rigspec.figures.trace import Turn
from rigspec.rules.pushing import without_hop
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Fix, Label, Severity
from rigspec.text.source import Span
from rigspec.text.value import gathered


def inversions_cancel(figures: Figures) -> Iterable[Finding]:
    """Two crossings on one way that undo each other, where no opposed channel is the reason."""
    seen: set[tuple[Span, ...]] = set()
    turned = [(key, arrival) for key, arrival in figures.trace.arrivals.items() if len(arrival.turns) > 1]
    for _, arrival in sorted(turned):
        if arrival.output.carries == "mains":
            continue  # told by `mains-crossed`
        written = [turn for turn in arrival.turns if turn.span.text == "invert"]
        if len(written) == len(arrival.turns) and (written[0].span, written[1].span) not in seen:
            seen.add((written[0].span, written[1].span))
            yield _cancelling(written[:2], arrival.sink.key, arrival.sink.key, "")
    alike = {part.name: roster.name for roster in figures.rig.rosters_of("stereo") for part in roster.parts}
    siblings = gathered(figures.channels.values(), lambda channel: channel.gear.full)
    in_doubt = {run.output.gear.full for run in figures.trace.runs.values() if run.doubt}  # by a fault on the way
    for _, box in sorted((key, box) for key, box in figures.boxes.items() if box.own_turns):
        own = figures.channels[box.channel]
        for part in box.parts:
            hops = _two(part, box)
            if hops is None or own.gear.full in in_doubt or _opposed(siblings[own.gear.full], own, part.feed, alike):
                continue
            places = hops[0].span, hops[1].span
            if places not in seen:
                seen.add(places)
                why = "; no other channel of this amplifier carries the same signal the other way up"
                finding = _cancelling(hops, box.key, box.box.gear.full, why)
                if finding.fix and _another_turned(siblings[own.gear.full], own):
                    finding = evolve(finding, fix=None, choices=(finding.fix,))
                yield finding


def _two(part: Contribution, box: BoxFigures) -> tuple[Turn, Turn] | None:
    """The two turns of a feed on its way to a box, where both are crossings in paths: one before, one behind."""
    if len(part.turns) != 1 or len(box.own_turns) != 1:
        return None
    before, after = part.turns[0], box.own_turns[0]
    return (before, after) if before.span.text == after.span.text == "invert" else None


def _opposed(siblings: Sequence[ChannelFigures], own: ChannelFigures, feed: str, alike: Mapping[str, str]) -> bool:
    """Does another channel of the amplifier carry the same bass the other way up, so that the two draw in turn?

    The two feeds of a stereo pair count as one: their bass is mostly alike (common practice, no source).
    """
    mine = next(part.inverted for part in own.parts if part.feed == feed)
    same = alike.get(feed, feed)
    return any(
        alike.get(part.feed, part.feed) == same and part.inverted != mine
        for other in siblings
        if other.key != own.key
        for part in other.parts
    )


def _another_turned(siblings: Sequence[ChannelFigures], own: ChannelFigures) -> bool:
    """Is another channel of the amplifier turned as well? Then opposed drive may be meant, and the slip be there."""
    return any(part.turns for other in siblings if other.key != own.key for part in other.parts)


def _cancelling(turns: Sequence[Turn], key: str, subject: str, why: str) -> Finding:
    edits = [without_hop(turn.span) for turn in turns]
    fix = None
    if all(edits):
        fix = Fix("take out both", tuple(edit for edit in edits if edit))
    return Finding(
        "inversions-cancel",
        turns[1].span,
        f"two inversions on the way to {key} undo each other{why}",
        label="undoes the first",
        related=(Label(turns[0].span, "the first inversion"),),
        computed="2 inversions, net polarity unchanged",
        allowed="none, or two for a reason: opposed channels of one amplifier, gear that is inverted inside",
        help="take both out: fewer crossed leads, fewer mistakes when the rig is built",
        fix=fix,
        subject=subject,
    )


RULES = (
    Rule(
        name="inversions-cancel",
        severity=Severity.ADVICE,
        summary="two inversions undo each other for no purpose",
        reason="each crossed lead is a chance to build the rig wrong",
        limit="no two crossings on one way, but for opposed channels of one amplifier and for gear that is inverted"
        " inside",
        authority="circuit theory",
        cure="take both out",
        bad="amp a is twin\nspeaker s is sub\na.1 -> invert -> lead 2.5 mm2 9 m -> invert -> s\n",
        good="amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\n",
        check=inversions_cancel,
    ),
)
