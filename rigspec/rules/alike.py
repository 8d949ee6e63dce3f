"""Rules about twins: alike loudspeakers that mirror each other, or stand side by side in a group, are set alike."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from attrs import frozen

from rigspec.figures import BoxFigures, Figures
from rigspec.figures.groups import keys_of
from rigspec.figures.powered import players, players_by_key
from rigspec.figures.signal import Passed, filters_set
from rigspec.rig.model import Gear, Given, Output, Roster, delay_s
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show
from rigspec.text.value import Value, gathered, once

NEAR_M = 0.5  # so far from mirrored, or from the middle, a box may stand (common practice, no source)
LATE_S = 0.0005  # a sixth of a metre (common practice, no source)
WAYS_S = 0.003
MOST_OUTPUTS = 50  # before a loudspeaker; no way is longer


@frozen(eq=False, repr=False)
class Twins(Value):
    """Two alike loudspeakers, or ways of such; ``mirrored`` where the first stands to house left of the middle."""

    one: BoxFigures
    other: BoxFigures
    mirrored: bool


@once
def twins(figures: Figures) -> tuple[Twins, ...]:
    """All pairs that are expected to be set alike, each loudspeaker in one."""
    found: list[Twins] = []
    paired: set[str] = set()
    meant = _arrays(figures)
    lots = gathered(players(figures), lambda box: (box.box.gear.kind, box.box.way))
    for (kind, _), lot in lots.items():
        right = gathered((box for box in lot if (here := at(box)) is not None and here[0] >= NEAR_M), _cell)
        for box in lot if kind is not None and right else ():
            here = at(box)
            if box.key in paired or here is None or here[0] > -NEAR_M:
                continue
            near = (each for cell in _cells(here) for each in right.get(cell, ()) if each.key not in paired)
            other = next((each for each in near if _mirrors(here, at(each))), None)
            if other is not None and not {box.box.gear.full, other.box.gear.full} & meant:
                paired |= {box.key, other.key}
                found.append(Twins(box, other, True))
    for roster in figures.rig.rosters_of("group"):
        if "array" not in roster.facts:
            found += [each for each in _beside(figures, roster) if each.other.key not in paired]
    return tuple(found)


def _arrays(figures: Figures) -> set[str]:
    """The loudspeakers of which a group says what array they are: rules about arrays judge them."""
    groups = [roster for roster in figures.rig.rosters_of("group") if "array" in roster.facts]
    return {part.name for roster in groups for part in roster.parts}


def at(box: BoxFigures) -> tuple[float, float, float] | None:
    return place(box.box.gear)


def place(gear: Gear) -> tuple[float, float, float] | None:
    """Where a loudspeaker stands; None where that is not said, or not all of it can be read."""
    given = gear.facts.get("at")
    said = [entry.measures[0].value for entry in given.entries if entry.measures] if given else []
    if given is None or len(said) < 2 or len(said) < len(given.entries):
        return None
    return said[0], said[1], said[2] if len(said) > 2 else 0.0


def _cell(box: BoxFigures) -> tuple[int, int]:
    """Where a box stands along and up, roughly, so that few have to be looked at."""
    here = at(box)
    assert here is not None
    return round(here[1] / NEAR_M), round(here[2] / NEAR_M)


def _cells(here: tuple[float, float, float]) -> list[tuple[int, int]]:
    along, up = round(here[1] / NEAR_M), round(here[2] / NEAR_M)
    steps = (0, -1, 1)
    return [(along + one, up + other) for one in steps for other in steps]


def _mirrors(one: tuple[float, float, float], other: tuple[float, float, float] | None) -> bool:
    if other is None or other[0] < NEAR_M:
        return False
    return max(abs(one[0] + other[0]), abs(one[1] - other[1]), abs(one[2] - other[2])) <= NEAR_M


def _beside(figures: Figures, roster: Roster) -> Iterator[Twins]:
    """Alike members of a group that play the same feeds from one line along."""
    known = players_by_key(figures)
    names = dict.fromkeys(key for part in roster.parts if not part.against for key in keys_of(part.name))
    here = sorted((known[key] for key in names if key in known), key=lambda box: box.key)
    for first, *rest in gathered(here, lambda box: (box.box.gear.kind, box.box.way, feeds(box))).values():
        for each in rest:
            one, other = at(first), at(each)
            if one is not None and other is not None and abs(one[1] - other[1]) <= NEAR_M:
                yield Twins(first, each, False)


def feeds(box: BoxFigures) -> frozenset[str]:
    return frozenset(part.feed for part in box.parts)


# ---- what is set on the way ------------------------------------------------------------------------------------------


def outputs(figures: Figures, box: BoxFigures) -> list[Output]:
    """The outputs on the way to a loudspeaker, from its own back to the feeds."""
    found: list[Output] = []
    todo = [box.box.arrival.output]
    while todo and len(found) < MOST_OUTPUTS:
        output = todo.pop(0)
        if output in found:
            continue
        found.append(output)
        arrivals = [figures.trace.arrivals.get(key) for key, _ in figures.signals.inputs(output)]
        todo += [arrival.output for arrival in arrivals if arrival is not None]
    return found


def _delays(figures: Figures, box: BoxFigures) -> list[Given]:
    """Where delays are set on the way and at the box itself."""
    facts = [box.box.gear.facts, *(output.gear.ports.get(output.port, {}) for output in outputs(figures, box))]
    return [each["delay"] for each in facts if "delay" in each]


def _late_s(box: BoxFigures) -> float | None:
    """How late it is by all that is set; None where its feeds come at different times."""
    late = {part.delay_s + part.latency_s for part in box.parts}
    own = box.box.gear.facts.get("delay")
    said = own.entries[0].measures[0] if own and own.entries and own.entries[0].measures else None
    return late.pop() + (delay_s(said) if said is not None else 0.0) if len(late) == 1 else None


Filters = Mapping[tuple[object, ...], Passed]
"""Filters by what they are, wherever they are set."""


def _filters(box: BoxFigures) -> Filters:
    passed = [each for part in box.parts for each in part.filters] + [*filters_set(box.box.gear.facts, box.key)]
    return {
        (each.word, each.corner.value, each.slope.value if each.slope else None, each.alignment): each
        for each in passed
    }


def settings_unlike(figures: Figures) -> Iterable[Finding]:
    """Twins that are fed alike have unlike filters, or one of them is late."""
    for pair in twins(figures):
        if not pair.one.parts or not pair.other.parts:
            continue
        ours, theirs = _filters(pair.one), _filters(pair.other)
        if ours.keys() != theirs.keys():
            yield _unlike_filters(pair, ours, theirs)
            continue
        late = _late_s(pair.one), _late_s(pair.other)
        if late[0] is not None and late[1] is not None and abs(late[0] - late[1]) > LATE_S:
            yield _unlike_delays(figures, pair, (late[0], late[1]))


def _unlike_filters(pair: Twins, ours: Filters, theirs: Filters) -> Finding:
    mine = [ours[key] for key in sorted(ours.keys() - theirs.keys(), key=str)]
    yours = [theirs[key] for key in sorted(theirs.keys() - ours.keys(), key=str)]
    here = (yours or mine)[0]
    return _finding(
        pair,
        f"{pair.one.key} and {pair.other.key} are alike and fed alike, and their filters are not:"
        f" {_said(mine)} and {_said(yours)}",
        here,
        [each for each in (*mine, *yours) if each is not here],
    )


def _said(filters: list[Passed]) -> str:
    said = [f"{each.word} {' '.join(each.span.text.removeprefix(each.word).split())}" for each in filters]
    return ", ".join(said) or "none"


def _finding(pair: Twins, message: str, here: Passed, others: list[Passed]) -> Finding:
    return Finding(
        "settings-unlike",
        here.span,
        message,
        label=f"on the way to {pair.other.key}" if pair.other.key != here.key else "its own",
        related=(
            *(Label(each.span, f"{each.key}: {_said([each])}") for each in others),
            Label(pair.one.box.arrival.sink.span, f"{pair.one.key} hangs here"),
            Label(pair.other.box.arrival.sink.span, f"{pair.other.key} hangs here"),
        ),
        help="set both alike; boxes that are meant to differ belong in a group that says what it is: `array`",
        subject=pair.other.key.partition(".")[0],
        also=(pair.one.key.partition(".")[0],),
    )


def _unlike_delays(figures: Figures, pair: Twins, late: tuple[float, float]) -> Finding:
    sets = _delays(figures, pair.one), _delays(figures, pair.other)
    own = [each for each in (*sets[1], *sets[0]) if not (each in sets[0] and each in sets[1])]
    apart = show(abs(late[0] - late[1]), "time")
    behind = pair.one if late[0] > late[1] else pair.other
    first, second = (show(each, "time") for each in late)
    hz = 0.5 / abs(late[0] - late[1])
    here = own[0].span if own else behind.box.arrival.sink.span
    return Finding(
        "settings-unlike",
        here,
        f"{pair.one.key} and {pair.other.key} are alike and fed alike, and the delay of {behind.key} is {apart} more",
        label="not set at its twin" if len(own) == 1 else "unlike its twin",
        related=tuple(Label(each.span, "its twin's") for each in own[1:]),
        computed=f"{first} and {second}; opposite to each other at {show(hz, 'frequency')}",
        allowed=f"{show(LATE_S, 'time')} apart",
        help=f"set both to {first} or both to {second}; a group that means it says `array`",
        subject=behind.key.partition(".")[0],
        follows=(tuple(("stereo-unlike", each.key) for each in (behind, pair.one, pair.other)),),
        also=tuple(each.key.partition(".")[0] for each in (pair.one, pair.other) if each is not behind),
    )


def ways_late(figures: Figures) -> Iterable[Finding]:
    """Between ways of one loudspeaker lies more delay than aligns any driver."""
    for ways in gathered((box for box in players(figures) if box.box.way), lambda box: box.box.gear.full).values():
        said = {box.key: found for box in ways if box.parts and (found := _late_s(box)) is not None}
        boxes = {box.key: box for box in ways}
        known = sorted(said, key=said.__getitem__)
        if len(known) < 2:
            continue
        early, late = boxes[known[0]], boxes[known[-1]]
        by_s = said[late.key] - said[early.key]
        corners = [part.low_hz for box in ways for part in box.parts if part.low_hz]
        most_s = max(WAYS_S, 1 / max(corners)) if corners else WAYS_S
        if by_s <= most_s:
            continue
        apart = show(by_s, "time")
        own = [each for each in _delays(figures, late) if each not in _delays(figures, early)]
        yield Finding(
            "ways-late",
            own[0].span if own else late.box.arrival.sink.span,
            f"the delay of {late.key} is {apart} more than that of {early.key}: no driver stands so far behind another",
            label=f"{apart} behind the other way",
            related=(Label(early.box.arrival.sink.span, f"{early.key} hangs here"),),
            computed=apart,
            allowed=f"at most {show(most_s, 'time')}: a period at their crossover, or {show(WAYS_S, 'time')}",
            help="delay the ways of one loudspeaker alike, but for what its data sheet gives to align its drivers",
            subject=late.box.gear.full,
        )


_WAYS = (
    "feed f {{ level -30 dBu; peak -15 dBu }}\nprocessor x is cross\nx.1 {{ from a; high-pass 60 Hz 24 dB/octave }}\n"
    "x.1 {{ low-pass 1.2 kHz 24 dB/octave linkwitz-riley }}\n"
    "x.2 {{ from a; high-pass 1.2 kHz 24 dB/octave linkwitz-riley; {delay} }}\namp a is twin\n"
    "speaker t is two-way\nf -> x.a\nx.1 -> a.1 -> t.low\nx.2 -> a.2 -> t.high\n"
)
RULES = (
    Rule(
        name="settings-unlike",
        severity=Severity.WARNING,
        summary="of two alike loudspeakers that are fed alike one has other filters, or is late",
        reason="where both are heard their sum is uneven; bass that is late by half a period cancels",
        limit=f"the same filters, and at most {show(LATE_S, 'time')} apart, for alike loudspeakers that mirror each"
        " other or stand side by side in a group; a group that says `array` is left to the rules about arrays",
        authority="common practice, no source",
        cure="set both alike, or say in a group what it is meant to be",
        bad="feed f { level 0 dBu }\namp a is twin\nspeaker s[1] is sub { at -3 m, 0 m }\n"
        "speaker s[2] is sub { at 3 m, 0 m }\nf -> a.1 -> s[1]\nf -> delay 10 ms -> a.2 -> s[2]\n",
        good="feed f { level 0 dBu }\namp a is twin\nspeaker s[1] is sub { at -3 m, 0 m }\n"
        "speaker s[2] is sub { at 3 m, 0 m }\nf -> delay 10 ms -> a.1 -> s[1]\nf -> delay 10 ms -> a.2 -> s[2]\n",
        check=settings_unlike,
    ),
    Rule(
        name="ways-late",
        severity=Severity.WARNING,
        summary="between ways of one loudspeaker lies more delay than aligns any driver",
        reason="the ways are heard one after the other, and cancel around their crossover",
        limit=f"the larger of a period at their crossover and {show(WAYS_S, 'time')}",
        authority="common practice, no source",
        cure="delay all ways of one loudspeaker alike, but for what its data sheet gives",
        bad=_WAYS.format(delay="delay 12 ms"),
        good=_WAYS.format(delay="delay 0.3 ms"),
        check=ways_late,
    ),
)
