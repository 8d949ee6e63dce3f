"""Which way loudspeakers push, what turns them, and every single change that would turn them back."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from rigspec.figures import BoxFigures, ChannelFigures, Figures
from rigspec.figures.groups import names_in
from rigspec.figures.powered import players_by_key, powered_boxes
from rigspec.figures.trace import Turn
from rigspec.rig.model import Facts, Kind, Roster, choice
from rigspec.text.finding import Edit, Fix
from rigspec.text.source import Span
from rigspec.text.value import Value, gathered, once

BACKWARDS_DEG = 90.0


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


@once
def meant_against(figures: Figures) -> frozenset[str]:
    """The loudspeakers that are meant to push the other way: `against` a group, or at the rear of a gradient array."""
    found: set[str] = set()
    for roster in figures.rig.rosters_of("group"):
        found.update(part.name for part in roster.parts if part.against)
        if gradient(roster):
            from rigspec.space.arrays import rear_of  # late: few rigs have one

            found.update(rear_of(figures.rig, roster))
    return frozenset(found)


def gradient(roster: Roster) -> bool:
    """Is a group a gradient array that does not name those that push the other way?"""
    return choice(roster.facts, "array") == "gradient" and not any(part.against for part in roster.parts)


def by_name(boxes: Iterable[BoxFigures]) -> list[BoxFigures]:
    """Boxes in an order that does not depend on the order of statements: by name, number and way."""
    return sorted(boxes, key=lambda box: (box.box.gear.name, box.box.gear.number or 0, box.box.way))


def pushing(box: BoxFigures, feed: str | None = None, against: bool = False) -> Pushing | None:
    """How a box pushes for a positive pulse at a feed, or at all its feeds; None where they disagree."""
    parts = [part for part in box.parts if feed is None or part.feed == feed]
    if not parts:
        # Without a signal the loudspeaker side alone decides.
        alone = feed is None and not box.in_doubt
        return Pushing(box, len(box.own_turns) % 2 == 1, box.own_turns, against) if alone else None
    ways = {(len(part.turns) + len(box.own_turns)) % 2 == 1 for part in parts}
    if len(ways) != 1:
        return None
    return Pushing(box, ways.pop(), parts[0].turns + box.own_turns, against)


def of_roster(figures: Figures, roster: Roster) -> Sequence[Pushing]:
    against = names_in(roster)
    known = players_by_key(figures)
    boxes = [known[key] for key in against if key in known]
    return tuple(member for box in by_name(boxes) if (member := pushing(box, against=against[box.key])))


@once
def all_ways(figures: Figures) -> frozenset[tuple[str, Kind | None, str, bool]]:
    """Which way all loudspeakers push: by feed, kind and way of each, and whether inward."""
    powered = _ways_of(powered_boxes(figures).values())
    return powered.union(*(ways_of(channel) for channel in figures.channels.values()))


@once
def ways_of(channel: ChannelFigures) -> frozenset[tuple[str, Kind | None, str, bool]]:
    """Which way the boxes of a channel push."""
    return _ways_of(channel.boxes)


def _ways_of(boxes: Iterable[BoxFigures]) -> frozenset[tuple[str, Kind | None, str, bool]]:
    found = set()
    for box in boxes:
        for feed in {part.feed for part in box.parts}:
            member = pushing(box, feed)
            if member is not None:
                found.add((feed, box.box.gear.kind, box.box.way, member.inverted))
    return frozenset(found)


def odd_ones(members: Sequence[Pushing]) -> list[list[Pushing]]:
    """The members that push against the others, together where one channel and the same turns make them so."""
    wrong = [member for member in members if member.wrong_way]
    right = [member for member in members if not member.wrong_way]
    if not wrong or not right:
        return []
    odd = wrong if len(wrong) <= len(right) else right
    bundles = gathered(odd, lambda member: (member.box.channel, member.turns))
    return list(bundles.values())


def faces_back(member: Pushing) -> bool:
    aim = member.box.box.gear.measure("aim", "angle")
    return aim is not None and abs(aim.value) > BACKWARDS_DEG


# ---- what would cure a clash ----------------------------------------------------------------------------------------


def cures(figures: Figures, bundle: Sequence[Pushing], others: Sequence[Pushing]) -> str:
    """Every single change that would make a bundle push like the others, as a sentence."""
    first = bundle[0]
    backwards = any(faces_back(member) and not member.against for member in bundle)
    if backwards and not all(faces_back(other) for other in others):
        return (
            f"{first.key} faces backwards: if it is meant to push the other way, list it as `against {first.key}` in a"
            " group; if not, any single one of its inversions is to go"
        )
    fixed = _data_sheet_spans(figures)
    found = [undone(turn, first.span) for turn in _own(first, others) if turn.span not in fixed]
    if not any(_behind(figures, first, other) for other in others):
        together = all(member.span == first.span or _behind(figures, first, member) for member in bundle)
        where = "the box" if together else "each of them"
        found.append(f"cross its lead{' once more' if first.turns else ''}: `-> invert` before {where}")
    shared = [turn for turn in _own(others[0], bundle) if all(turn in other.turns for other in others)]
    found += [f"on the way to {others[0].key} {undone(turn, first.span)}" for turn in shared if turn.span not in fixed]
    meant = next((member.key for member in (first, others[0]) if member.against), "")
    intent = f"take out `against` before {meant}" if first.against != others[0].against else "say `against` in a group"
    return "; or ".join(found) + f"{'; ' if found else ''}if it is meant so, {intent}"


def cure_by_edit(bundle: Sequence[Pushing], others: Sequence[Pushing]) -> tuple[Fix, ...]:
    """Take out the one crossing that is written in the path, where there is just one and nobody meant it.

    Another one would cure it too: nothing tells which was forgotten, least of all where channels are opposed.
    """
    hops = [turn for turn in _own(bundle[0], others) if turn.span.text == "invert"]
    if len(hops) != 1 or any(faces_back(member) for member in bundle):
        return ()
    edit = without_hop(hops[0].span)
    return (Fix(f"take out `invert` in line {hops[0].span.line}", (edit,)),) if edit else ()


def sole_turn(figures: Figures, bundle: Sequence[Pushing], others: Sequence[Pushing]) -> Turn | None:
    """The one turn that is on one side only and can be taken out: that is the place to edit.

    None where there are several or none, where more than the turn may be the slip (what is listed `against`, a box that
    faces backwards, a bridge, whose second lead may have to be crossed), or where stock says it.
    """
    first = bundle[0]
    if any(first.against != other.against for other in others) or any(map(faces_back, bundle)):
        return None
    own = _own(first, others)
    if len(own) != 1 or any(_own(other, bundle) for other in others):
        return None
    bridged = own[0].text.startswith(("the bridge switch", "the plus pole"))
    return None if bridged or own[0].span in _data_sheet_spans(figures) else own[0]


def _own(member: Pushing, others: Iterable[Pushing]) -> list[Turn]:
    """The turns on the way to one box that no box of the other side has too: taking out those cures nothing."""
    shared = {turn for other in others for turn in other.turns}
    return [turn for turn in member.turns if turn not in shared]


def undone(turn: Turn, here: Span) -> str:
    """The order that takes a turn back, with its place."""
    text = turn.text
    place = f"line {turn.span.line}" if turn.span.path == here.path else f"{turn.span.path}, line {turn.span.line}"
    if turn.span.text == "invert":
        order = "take out the crossing"
    elif text.endswith((" is made inverted", " is inverted inside")):
        order = f"make {text.removesuffix(' is made inverted').removesuffix(' is inverted inside')} straight"
    elif text.endswith(" is switched inverted"):
        order = f"switch {text.removesuffix(' is switched inverted')} back"
    elif text.startswith("the bridge switch"):
        order = "switch the bridge off"
    elif text.startswith("the plus pole"):
        order = "name the bridge's channels the other way round"
    elif text.startswith("the feed "):
        order = f"take {text.removesuffix(' comes inverted')} the right way round"
    else:
        order = f"switch {text.rpartition(': ')[2]} back"
    return f"{order} ({place})"


def _data_sheet_spans(figures: Figures) -> set[Span]:
    """Where stock says that a kind is inverted inside: a fact of the data sheet, which nobody can take out."""

    def spans(facts: Facts) -> Iterable[Span]:
        for given in facts.values():
            yield given.span
            if given.inner:
                yield from spans(given.inner)

    return {span for kind in figures.rig.kinds.values() for span in spans(kind.facts)}


def _behind(figures: Figures, first: Pushing, other: Pushing) -> bool:
    """Does the other box hang behind the first on its link, so that crossing before the first turns both?"""
    if first.box.channel != other.box.channel:
        return False
    run = figures.trace.runs[first.box.channel]
    joint, goal = other.box.box.arrival.sink.joint, first.box.box.arrival.sink.joint
    while joint != goal and joint in run.parent:
        joint = run.parent[joint].a
    return joint == goal


def without_hop(span: Span) -> Edit | None:
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
