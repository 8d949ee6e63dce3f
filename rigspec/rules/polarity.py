"""Rules about polarity: which boxes push the same way, and what turns them."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence

from attrs import frozen

from rigspec.figures import BoxFigures, ChannelFigures, Figures
from rigspec.finding import Edit, Finding, Fix, Label, Severity
from rigspec.rig import Roster
from rigspec.rules.rule import Rule
from rigspec.source import Span
from rigspec.trace import Turn
from rigspec.value import Value

OCTAVE = 2.0  # two boxes whose bands share an octave or more add up there (common practice, no source)
BACKWARDS_DEG = 90.0

_ALGEBRA = "circuit theory: an odd number of inversions turns the polarity, an even number does not"
_CANCEL = "circuit theory; equal sources of opposite polarity cancel on the line between them; IEC 60268-5, from memory"


@frozen(eq=False, repr=False)
class Pushing(Value):
    """A loudspeaker, or a way of one, with the side to which it pushes and every turn that makes it so."""

    box: BoxFigures
    inverted: bool
    turns: tuple[Turn, ...]
    against: bool = False

    @property
    def wrong_way(self) -> bool:
        """Does it push the other way than its group wants?"""
        return self.inverted != self.against

    @property
    def span(self) -> Span:
        return self.box.box.arrival.sink.span

    @property
    def key(self) -> str:
        return self.box.key


def _pushing(box: BoxFigures, feed: str | None = None, against: bool = False) -> Pushing | None:
    """How a box pushes for a positive pulse at a feed, or at all its feeds; None where they disagree."""
    parts = [part for part in box.parts if feed is None or part.feed == feed]
    if not parts:
        # Without a signal the loudspeaker side alone decides.
        return Pushing(box, len(box.own_turns) % 2 == 1, box.own_turns, against) if feed is None else None
    ways = {(len(part.turns) + len(box.own_turns)) % 2 == 1 for part in parts}
    if len(ways) != 1:
        return None
    return Pushing(box, ways.pop(), parts[0].turns + box.own_turns, against)


def _of_roster(figures: Figures, roster: Roster) -> list[Pushing]:
    found = []
    for part in roster.parts:
        keys = (
            [f"{part.name}.{part.port}"]
            if part.port
            else [part.name, *(f"{part.name}.{w}" for w in ("low", "mid", "high"))]
        )
        for key in keys:
            box = figures.boxes.get(key)
            pushing = _pushing(box, against=part.against) if box else None
            if pushing:
                found.append(pushing)
    return found


def _odd_ones(members: Sequence[Pushing]) -> list[list[Pushing]]:
    """The members that push against the others, together where one channel and the same turns make them so."""
    wrong = [member for member in members if member.wrong_way]
    right = [member for member in members if not member.wrong_way]
    if not wrong or not right:
        return []
    odd = wrong if len(wrong) <= len(right) else right
    bundles: dict[tuple[str, tuple[Turn, ...]], list[Pushing]] = {}
    for member in odd:
        bundles.setdefault((member.box.channel, member.turns), []).append(member)
    return list(bundles.values())


def _names(bundle: Sequence[Pushing]) -> str:
    keys = [member.key for member in bundle]
    return ", ".join(keys[:3]) + (f" and {len(keys) - 3} more" if len(keys) > 3 else "")


def _clash(
    rule: str,
    bundle: list[Pushing],
    other: Pushing,
    where: str,
    intent: Label | None,
) -> Finding:
    first = bundle[0]
    turned = "inverted" if first.inverted else "not inverted"
    related = [intent] if intent else []
    related += [Label(turn.span, f"on the way to {first.key}: {turn.text}") for turn in first.turns]
    related += [Label(turn.span, f"on the way to {other.key}: {turn.text}") for turn in other.turns]
    related.append(Label(other.span, f"{other.key} pushes the other way: {_turns(other)} on its way"))
    push = "pushes" if len(bundle) == 1 else "push"
    return Finding(
        rule,
        first.span,
        f"{_names(bundle)} {push} against {other.key}{where}",
        label=f"{turned}: {_turns(first)} on the way",
        related=tuple(dict.fromkeys(related)),
        computed=f"{_turns(first)} on the way to {first.key}, {_turns(other)} on the way to {other.key}",
        allowed="both odd or both even" + (", the other way round for boxes `against` the group" if intent else ""),
        help=_cures(bundle, other),
        fix=_fix(bundle),
        subject=first.key.partition(".")[0] if "[" not in first.key else first.key,
    )


def _turns(member: Pushing) -> str:
    count = len(member.turns)
    return f"{count or 'no'} turn{'' if count == 1 else 's'}"


def _named(turn: Turn) -> str:
    """A turn as the object of a sentence, with its place."""
    what = "the crossing" if turn.span.text == "invert" else f"the turn where {turn.text}"
    return f"{what} in line {turn.span.line}"


def _faces_back(member: Pushing) -> bool:
    given = member.box.box.gear.facts.get("aim")
    aim = given.entries[0].get("angle") if given and given.entries else None
    return aim is not None and abs(aim.value) > BACKWARDS_DEG


def _cures(bundle: Sequence[Pushing], other: Pushing) -> str:
    """Every single change that would cure it."""
    first = bundle[0]
    if any(_faces_back(member) for member in bundle):
        return (
            f"{first.key} faces backwards: if it is meant to push the other way, list it as `against {first.key}` in a"
            " group; if not, any single one of its turns is to go"
        )
    cures = [f"take out {_named(turn)}" for turn in first.turns]
    cures.append(
        "or cross its lead once more: `-> invert` before the box"
        if cures
        else "cross its lead: `-> invert` before the box"
    )
    if not first.turns and other.turns:
        cures += [f"or take out, on the way to {other.key}, {_named(turn)}" for turn in other.turns]
    return "; ".join(cures) + "; if it is meant so, say `against` in a group"


def _fix(bundle: Sequence[Pushing]) -> Fix | None:
    """Take out the one crossing that is written in the path, where there is just one and nobody meant it."""
    first = bundle[0]
    hops = [turn for turn in first.turns if turn.span.text == "invert"]
    if len(hops) != 1 or any(_faces_back(member) for member in bundle):
        return None
    edit = _without_hop(hops[0].span)
    return Fix(f"take out `invert` in line {hops[0].span.line}", (edit,)) if edit else None


def _without_hop(span: Span) -> Edit | None:
    """The edit that deletes an `invert` hop together with one of its arrows."""
    text = span.source.text
    end = span.end
    while end < len(text) and text[end] in " \t":
        end += 1
    if text.startswith("->", end):
        end += 2
        while end < len(text) and text[end] in " \t":
            end += 1
        return Edit(Span(span.source, span.start, end), "")
    return None


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


Disagreement = tuple[Roster, list[Pushing], Pushing, str]  # the list, who pushes wrongly, against whom, said why


def _in_groups(figures: Figures) -> Iterable[Disagreement]:
    for roster in figures.rig.rosters_of("group"):
        members = _of_roster(figures, roster)
        for bundle in _odd_ones(members):
            other = next(member for member in members if member.wrong_way != bundle[0].wrong_way)
            yield roster, bundle, other, f"the group {roster.name} says that they push together"


def _in_pairs(figures: Figures) -> Iterable[Disagreement]:
    groups = _Groups(figures)
    for roster in figures.rig.rosters_of("stereo"):
        feeds = [part.name for part in roster.parts]
        kinds: dict[object, list[tuple[str, Pushing]]] = {}
        for box in figures.boxes.values():
            for feed in feeds:
                pushing = _pushing(box, feed)
                if pushing and len({part.feed for part in box.parts} & set(feeds)) == 1:
                    kinds.setdefault((box.box.gear.kind, box.box.way), []).append((feed, pushing))
        for members in kinds.values():
            side = {member.key: feed for feed, member in members}
            for bundle in _odd_ones([member for _, member in members]):
                first = bundle[0]
                for feed, other in members:
                    across = other.inverted != first.inverted and feed != side[first.key]
                    if across and not groups.share(first, other):
                        yield roster, bundle, other, f"{side[first.key]} and {feed} are a stereo pair"
                        break


def polarity_clash(figures: Figures) -> Iterable[Finding]:
    """Boxes of one group do not push the way that the group says."""
    for roster, bundle, other, why in _in_groups(figures):
        yield _clash("polarity-clash", bundle, other, f" in the group {roster.name}", Label(roster.span, why))


def polarity_stereo(figures: Figures) -> Iterable[Finding]:
    """Boxes of one kind, one on the left and one on the right feed of a stereo pair, push different ways."""
    for roster, bundle, other, why in _in_pairs(figures):
        yield _clash("polarity-stereo", bundle, other, f" in the stereo pair {roster.name}", Label(roster.span, why))


def _band(box: BoxFigures, feed: str) -> tuple[float, float] | None:
    """The band in which a box plays a feed: what reaches it, within its own band; None where neither is known."""
    part = next(part for part in box.parts if part.feed == feed)
    facts = box.box.gear.way(box.box.way) if box.box.way else box.box.gear.facts
    given = facts.get("band")
    own = given.entries[0].get("frequency") if given and given.entries else None
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
    groups = _Groups(figures)
    # What a group or a stereo pair says of a box already, be it a finding or an intent, is not said again here.
    told = {member.key for _, bundle, _, _ in (*_in_groups(figures), *_in_pairs(figures)) for member in bundle}
    meant = {part.name for roster in figures.rig.rosters_of("group") for part in roster.parts if part.against}
    feeds = Counter(part.feed for box in figures.boxes.values() for part in box.parts)
    said: set[frozenset[str]] = set()
    for feed, count in feeds.items():
        if count < 2:
            continue
        members = [
            member
            for box in figures.boxes.values()
            if box.key not in told and box.box.gear.full not in meant and (member := _pushing(box, feed))
        ]
        for bundle in _odd_ones(members):
            first = bundle[0]
            for other in members:
                pair = frozenset((first.box.box.gear.full, other.box.box.gear.full))
                if other.inverted == first.inverted or groups.share(first, other) or pair in said or len(pair) < 2:
                    continue
                if not _share_a_band(first.box, other.box, feed):
                    continue
                said |= {frozenset((m.box.box.gear.full, other.box.box.gear.full)) for m in bundle}
                yield _clash("polarity-shared", bundle, other, f", and both play {feed} in the same band", None)
                break


def inversions_cancel(figures: Figures) -> Iterable[Finding]:
    """Two crossings on one way that undo each other, where no opposed channel is the reason."""
    seen: set[tuple[Span, ...]] = set()
    for arrival in figures.trace.arrivals.values():
        hops = [turn for turn in arrival.turns if turn.span.text == "invert"]
        if len(hops) >= 2 and len(hops) == len(arrival.turns) and (hops[0].span, hops[1].span) not in seen:
            seen.add((hops[0].span, hops[1].span))
            yield _cancelling(hops[:2], arrival.sink.key, arrival.sink.key, "")
    alike = {part.name: roster.name for roster in figures.rig.rosters_of("stereo") for part in roster.parts}
    siblings: dict[str, list[ChannelFigures]] = {}
    for channel in figures.channels.values():
        siblings.setdefault(channel.gear.full, []).append(channel)
    for box in figures.boxes.values():
        own = figures.channels[box.channel]
        for part in box.parts:
            before = [turn for turn in part.turns if turn.span.text == "invert"]
            after = [turn for turn in box.own_turns if turn.span.text == "invert"]
            if len(before) != 1 or len(after) != 1 or len(part.turns) + len(box.own_turns) != 2:
                continue
            if (before[0].span, after[0].span) in seen or _opposed(siblings[own.gear.full], own, part.feed, alike):
                continue
            seen.add((before[0].span, after[0].span))
            why = "; no other channel of this amplifier carries the same signal the other way up"
            yield _cancelling([before[0], after[0]], box.key, box.box.gear.full, why)


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


def _cancelling(turns: Sequence[Turn], key: str, subject: str, why: str) -> Finding:
    edits = [_without_hop(turn.span) for turn in turns]
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
        allowed="none, or two for a reason: opposed channels of one amplifier, gear that is turned inside",
        help="take both out: fewer crossed leads, fewer mistakes when the rig is built",
        fix=fix,
        subject=subject,
    )


RULES = (
    Rule(
        "polarity-clash",
        Severity.ERROR,
        "boxes of one group push different ways",
        "they cancel where the group is meant to add up; bass vanishes in the middle of the audience",
        "every box of a group pushes outward at the same instant, those `against` it inward",
        _CANCEL,
        "take out one turn, or add one; any single change that the finding lists cures it",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1]\n"
        "a.2 -> lead 2.5 mm2 9 m -> invert -> s[2]\ngroup subs: s[*]\n",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1]\n"
        "a.2 -> lead 2.5 mm2 9 m -> invert -> s[2]\ngroup subs: s[1], against s[2]\n",
        polarity_clash,
    ),
    Rule(
        "polarity-stereo",
        Severity.ERROR,
        "left and right push different ways",
        "what is meant for the middle cancels there, and the bass with it",
        "boxes of one kind on both feeds of a stereo pair have the same polarity",
        _CANCEL,
        "take out one turn, or add one; any single change that the finding lists cures it",
        "feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\nspeaker b[1..2] is box\n"
        "l -> a.1 -> lead 2.5 mm2 9 m -> b[1]\nr -> invert -> a.2 -> lead 2.5 mm2 9 m -> b[2]\n",
        "feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\nspeaker b[1..2] is box\n"
        "l -> a.1 -> lead 2.5 mm2 9 m -> b[1]\nr -> a.2 -> lead 2.5 mm2 9 m -> b[2]\n",
        polarity_stereo,
    ),
    Rule(
        "polarity-shared",
        Severity.WARNING,
        "boxes that play the same signal in the same band push different ways",
        "they cancel wherever both are heard about equally loud",
        "boxes that share a feed and an octave agree, unless a group says `against`",
        _CANCEL,
        "take out one turn, or say in a group what is meant",
        "feed f { level 0 dBu }\namp a is twin\nspeaker s[1..2] is sub\nf -> a.1 -> lead 2.5 mm2 9 m -> s[1]\n"
        "f -> a.2 -> lead 2.5 mm2 9 m -> invert -> s[2]\n",
        "feed f { level 0 dBu }\namp a is twin\nspeaker s[1..2] is sub\nf -> a.1 -> lead 2.5 mm2 9 m -> s[1]\n"
        "f -> invert -> a.2 -> lead 2.5 mm2 9 m -> invert -> s[2]\n",
        polarity_shared,
    ),
    Rule(
        "inversions-cancel",
        Severity.ADVICE,
        "two inversions undo each other for no purpose",
        "each crossed lead is a chance to build the rig wrong",
        "no two crossings on one way, but for opposed channels of one amplifier and for gear that is turned inside",
        _ALGEBRA,
        "take both out",
        "amp a is twin\nspeaker s is sub\na.1 -> invert -> lead 2.5 mm2 9 m -> invert -> s\n",
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\n",
        inversions_cancel,
    ),
)
