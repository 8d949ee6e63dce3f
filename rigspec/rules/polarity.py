"""Rules about polarity: which boxes push the same way, and what turns them."""

from __future__ import annotations

from collections.abc import Container, Iterable, Sequence

from rigspec.figures import BoxFigures, Figures
from rigspec.figures.crossovers import crossover_of
from rigspec.figures.powered import players
from rigspec.rig.model import Roster, one
from rigspec.rules.halves import half_opposed
from rigspec.rules.places import switches
from rigspec.rules.pushing import (
    Pushing,
    all_ways,
    by_name,
    cure_by_edit,
    cures,
    gradient,
    meant_against,
    odd_ones,
    of_roster,
    pushing,
    sole_turn,
)
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity, few
from rigspec.text.value import once

OCTAVE = 2.0  # two boxes whose bands share an octave or more add up there (common practice, no source)

_CANCEL = "circuit theory; equal sources of opposite polarity cancel on the line between them; IEC 60268-5, from memory"


def _clash(
    figures: Figures, rule: str, bundle: list[Pushing], others: list[Pushing], where: str, intent: Label | None = None
) -> Finding:
    """One finding for boxes that push against others: the first of each side stands for its side."""
    first, other, cause = bundle[0], others[0], sole_turn(figures, bundle, others)
    related = [intent] if intent else []
    if cause is not None:
        related.append(Label(first.span, f"{first.key} pushes against {other.key}"))
    for member in (first, other):
        related += [Label(turn.span, f"on the way to {member.key}: {turn.text}") for turn in member.turns]
        related += switches(figures, member.box.channel, member.key)
    related.append(Label(other.span, f"{other.key} pushes the other way: {_turns(other)} on its way"))
    return Finding(
        rule,
        cause.span if cause else first.span,
        f"{_names(bundle)} {'pushes' if len(bundle) == 1 else 'push'} against {other.key}{where}",
        label=cause.text
        if cause
        else f"{'inverted' if first.inverted else 'not inverted'}: {_turns(first)} on the way",
        related=tuple(dict.fromkeys(related)),
        computed=f"{_turns(first)} on the way to {first.key}, {_turns(other)} on the way to {other.key}",
        allowed=_agreeing(first, other),
        help=cures(figures, bundle, others),
        choices=cure_by_edit(bundle, others),
        subject=first.key.partition(".")[0] if "[" not in first.key else first.key,
        also=tuple(member.key for member in bundle),
    )


def _agreeing(first: Pushing, other: Pushing) -> str:
    if first.against == other.against:
        return "an odd number of inversions for both, or an even number for both"
    meant = first if first.against else other
    return (
        f"an odd number of inversions for one and an even number for the other, since {meant.key} is"
        f" `against` the group"
    )


def _names(bundle: Sequence[Pushing]) -> str:
    return few([member.key for member in bundle])


def _turns(member: Pushing) -> str:
    count = len(member.turns)
    return f"{count or 'no'} inversion{'' if count == 1 else 's'}"


class _Groups:
    """Which boxes stand together in a group, which then says how they are to push."""

    def __init__(self, figures: Figures) -> None:
        self._of: dict[str, set[str]] = {}
        for roster in figures.rig.rosters_of("group"):
            for part in roster.parts:
                self._of.setdefault(part.name, set()).add(roster.name)

    def share(self, a: Pushing, b: Pushing) -> bool:
        nothing: set[str] = set()
        return bool(self._of.get(a.box.box.gear.full, nothing) & self._of.get(b.box.box.gear.full, nothing))


Disagreement = tuple[Roster, list[Pushing], list[Pushing], str]  # the list, who pushes wrongly, against whom, said why


@once
def _in_groups(figures: Figures) -> list[Disagreement]:
    found = []
    for roster in figures.rig.rosters_of("group"):
        if gradient(roster):
            continue  # some of its boxes are to be inverted: `array-weak` and its like say which
        members = of_roster(figures, roster)
        if figures.bands.crossovers:
            held = {member.key for member in members}
            members = [member for member in members if not _judged_by_crossover(figures, member, held)]
        for bundle in odd_ones(members):
            others = [member for member in members if member.wrong_way != bundle[0].wrong_way]
            found.append((roster, bundle, others, f"the group {roster.name} says that they push together"))
    return found


def _judged_by_crossover(figures: Figures, member: Pushing, held: Container[str]) -> bool:
    """Do the filters say how this box has to push against what plays below it in the same group (``held``)?

    Where two bands meet, the alignments of their filters decide whether both are to push alike: 12 dB/octave
    Linkwitz-Riley wants one of them turned. `crossover-null` judges that, and the group what plays lowest alone.
    """
    found = crossover_of(figures.bands.crossovers, figures.bands.boxes, member.key)
    if found is None or found.wired is None:
        return False
    return found.lower.gear is found.upper.gear or found.lower.key in held


@once
def _in_pairs(figures: Figures) -> list[Disagreement]:
    return [found for roster in figures.rig.rosters_of("stereo") for found in _in_pair(figures, roster)]


def _in_pair(figures: Figures, roster: Roster) -> Iterable[Disagreement]:
    feeds = [part.name for part in roster.parts]
    ways: dict[object, set[bool]] = {}
    for feed, kind, way, inverted in all_ways(figures):
        if feed in feeds:
            ways.setdefault((kind, way), set()).add(inverted)
    both = {each for each, inverted in ways.items() if len(inverted) > 1}
    if not both:
        return
    groups = _Groups(figures)
    kinds: dict[object, list[tuple[str, Pushing]]] = {}
    for box in by_name(players(figures)):
        if (box.box.gear.kind, box.box.way) in both:
            for feed in feeds:
                member = pushing(box, feed)
                if member and len({part.feed for part in box.parts} & set(feeds)) == 1:
                    kinds.setdefault((box.box.gear.kind, box.box.way), []).append((feed, member))
    for members in kinds.values():
        side = {member.key: feed for feed, member in members}
        for bundle in odd_ones([member for _, member in members]):
            first = bundle[0]
            others = [
                other
                for feed, other in members
                if other.inverted != first.inverted and feed != side[first.key] and not groups.share(first, other)
            ]
            if others:
                why = f"{side[first.key]} and {side[others[0].key]} are a stereo pair"
                yield roster, bundle, others, why


@once
def clashing(figures: Figures) -> frozenset[str]:
    """The boxes of which a group or a stereo pair says already that they push the wrong way."""
    return frozenset(member.key for _, bundle, _, _ in (*_in_groups(figures), *_in_pairs(figures)) for member in bundle)


def _by_cause(figures: Figures, found: Iterable[Disagreement]) -> Iterable[Disagreement]:
    """The boxes of one list that one turn makes push wrongly are told together, on whichever channels they hang."""
    causes: dict[object, Disagreement] = {}
    for roster, bundle, others, why in found:
        turn = sole_turn(figures, bundle, others)
        cause = (id(roster), turn.span) if turn else id(bundle)
        told = causes.get(cause)
        causes[cause] = (roster, [*(told[1] if told else ()), *bundle], told[2] if told else others, why)
    return causes.values()


def polarity_clash(figures: Figures) -> Iterable[Finding]:
    """Boxes of one group do not push the way that the group says."""
    for roster, bundle, others, why in _by_cause(figures, _in_groups(figures)):
        where = f" in the group {roster.name}"
        yield _clash(figures, "polarity-clash", bundle, others, where, Label(roster.span, why))


def polarity_stereo(figures: Figures) -> Iterable[Finding]:
    """Boxes of one kind, one on the left and one on the right feed of a stereo pair, push different ways."""
    for roster, bundle, others, why in _by_cause(figures, _in_pairs(figures)):
        where = f" in the stereo pair {roster.name}"
        yield _clash(figures, "polarity-stereo", bundle, others, where, Label(roster.span, why))


def _band(box: BoxFigures, feed: str) -> tuple[float, float] | None:
    """The band in which a box plays a feed: what reaches it, within its own band; None where neither is known."""
    part = next(part for part in box.parts if part.feed == feed)
    facts = box.box.gear.way(box.box.way)
    own = one(facts, "band", "frequency")
    low = max((hz for hz in (part.low_hz, own.low if own else None) if hz), default=None)
    high = min((hz for hz in (part.high_hz, own.high if own else None) if hz), default=None)
    if low is None and high is None:
        return None
    return low or 20.0, high or 20_000.0


def _share_a_band(a: BoxFigures, b: BoxFigures, feed: str) -> bool:
    if a.box.gear.kind is b.box.gear.kind and a.box.way == b.box.way:
        return True
    one, two = _band(a, feed), _band(b, feed)
    if one is None or two is None:
        return False
    return min(one[1], two[1]) >= OCTAVE * max(one[0], two[0])


def polarity_shared(figures: Figures) -> Iterable[Finding]:
    """Boxes that share a feed and at least an octave push different ways, and no group says that they should."""
    ways: dict[str, set[bool]] = {}
    for feed, _, _, inverted in all_ways(figures):
        ways.setdefault(feed, set()).add(inverted)
    both = {feed for feed, inverted in ways.items() if len(inverted) > 1}
    if not both:
        return
    groups = _Groups(figures)
    # What a group or a stereo pair says of a box already, be it a finding or an intent, is not said again here.
    told = clashing(figures)
    told |= {box.key for _, crossed, _ in half_opposed(figures, told) for m in crossed for box in m.channel.boxes}
    meant = meant_against(figures)
    playing: dict[str, list[BoxFigures]] = {}
    for box in by_name(players(figures)):
        if box.key not in told and box.box.gear.full not in meant:
            for feed in {part.feed: None for part in box.parts if part.feed in both}:
                playing.setdefault(feed, []).append(box)
    said: set[str] = set()
    for feed, boxes in sorted(playing.items()):
        members = [member for box in boxes if (member := pushing(box, feed))]
        for whole in odd_ones(members):
            bundle = [member for member in whole if member.key not in said]
            others = _opposing(bundle[0], members, feed, groups) if bundle else []
            # Two boxes that clash on one feed clash on all that they share: they are told once.
            if others and others[0].key not in said:
                said |= {member.key for member in bundle}
                where = f", and both play {feed} in the same band"
                yield _clash(figures, "polarity-shared", bundle, others, where)


def _opposing(first: Pushing, members: Sequence[Pushing], feed: str, groups: _Groups) -> list[Pushing]:
    """Who pushes the other way than a box, in its band, without a group that says how the two are to push."""
    return [
        other
        for other in members
        if other.inverted != first.inverted
        and other.box.box.gear is not first.box.box.gear
        and not groups.share(first, other)
        and _share_a_band(first.box, other.box, feed)
    ]


RULES = (
    Rule(
        name="polarity-clash",
        severity=Severity.ERROR,
        summary="boxes of one group push different ways",
        reason="they cancel where the group is meant to add up; bass vanishes in the middle of the audience",
        limit="every box of a group pushes outward at the same instant, those `against` it inward",
        authority=_CANCEL,
        cure="take out one inversion, or add one; any single change that the finding lists cures it",
        bad="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1]\n"
        "a.2 -> lead 2.5 mm2 9 m -> invert -> s[2]\ngroup subs: s[*]\n",
        good="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1]\n"
        "a.2 -> lead 2.5 mm2 9 m -> invert -> s[2]\ngroup subs: s[1], against s[2]\n",
        check=polarity_clash,
    ),
    Rule(
        name="polarity-stereo",
        severity=Severity.ERROR,
        summary="left and right push different ways",
        reason="what is meant for the middle cancels there, and the bass with it",
        limit="boxes of one kind on both feeds of a stereo pair have the same polarity",
        authority=_CANCEL,
        cure="take out one inversion, or add one; any single change that the finding lists cures it",
        bad="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\nspeaker b[1..2] is box\n"
        "l -> a.1 -> lead 2.5 mm2 9 m -> b[1]\nr -> invert -> a.2 -> lead 2.5 mm2 9 m -> b[2]\n",
        good="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\n"
        "speaker b[1..2] is box\n"
        "l -> a.1 -> lead 2.5 mm2 9 m -> b[1]\nr -> a.2 -> lead 2.5 mm2 9 m -> b[2]\n",
        check=polarity_stereo,
    ),
    Rule(
        name="polarity-shared",
        severity=Severity.WARNING,
        summary="boxes that play the same signal in the same band push different ways",
        reason="they cancel wherever both are heard about equally loud",
        limit="boxes that share a feed and an octave agree, unless a group says `against`",
        authority=_CANCEL,
        cure="take out one inversion, or say in a group what is meant",
        bad="feed f { level 0 dBu }\namp a is twin\nspeaker s[1..2] is sub\nf -> a.1 -> lead 2.5 mm2 9 m -> s[1]\n"
        "f -> a.2 -> lead 2.5 mm2 9 m -> invert -> s[2]\n",
        good="feed f { level 0 dBu }\namp a is twin\nspeaker s[1..2] is sub\nf -> a.1 -> lead 2.5 mm2 9 m -> s[1]\n"
        "f -> invert -> a.2 -> lead 2.5 mm2 9 m -> invert -> s[2]\n",
        check=polarity_shared,
    ),
)
