"""Which channels of an amplifier draw on one supply, which of them carry alike bass, and in which polarity.

Nothing is computed here: what opposed drive is worth stands in `figures/opposed.py`, which a check loads only where
there is such a pair.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import Literal

from attrs import frozen

from rigspec.figures.band import bounds
from rigspec.figures.signal import Contribution
from rigspec.figures.values import BaseFigures, BoxFigures, ChannelFigures
from rigspec.language.words import ChoiceWord, SettingWord
from rigspec.rig.model import Facts, Gear, Measure, choice, entries, one
from rigspec.text.source import Span
from rigspec.text.value import Value

BASS_HZ = 120.0
"""Opposed drive is looked at up to here: thirds of an octave from the lower edge of a band to this."""
BASS_ONLY_HZ = 250.0
"""A channel whose band ends here or below is for bass alone (common practice, no source)."""
ALIKE_DB = 3.0
"""Channels whose levels differ by more do not draw alike (common practice, no source)."""
ALIKE_LOAD = 1.3
"""Loads that differ by more than this ratio do not draw alike (common practice, no source)."""
ALIKE_TURN = 0.125
"""Signals that are further apart at the tone than an eighth of a turn are not alike (common practice, no source)."""
ALIKE_EDGE = 2**0.5


@frozen(eq=False, repr=False)
class SupplyFacts(Value):
    """What the stock says of an amplifier's supply and of its output stages.

    ``sort`` is transformer, switch-mode or nothing; ``sharing`` is shared, separate or nothing. ``stage`` is
    class-ab, class-h, half-bridge, full-bridge or nothing. ``common`` is the share of the source's resistance that
    both rails have in common. ``said`` is where all of it stands.
    """

    sort: SettingWord | Literal[""]
    sharing: SettingWord | Literal[""]
    regulated: bool
    stage: ChoiceWord | Literal[""]
    farad: Measure | None
    ohm: Measure | None
    common: Measure | None
    rail: Measure | None
    trip: Measure | None
    said: Span
    place: Mapping[str, Span]  # where each word of it stands


@frozen(eq=False, repr=False)
class SupplyMember(Value):
    """A channel that carries alike bass; ``turned`` against the first of them, at its output (electrically).

    ``inverted``: all its boxes push inward for a positive pulse at the feed; None where they differ or are none.
    """

    channel: ChannelFigures
    turned: bool
    inverted: bool | None

    @property
    def siemens(self) -> float:
        return 1 / self.channel.load_ohm


@frozen(eq=False, repr=False)
class SharedSupply(Value):
    """Channels of one amplifier that draw on one supply and share bass.

    ``differs`` says in words what is not alike in their signals, nothing where they are. ``feeds`` are the feeds that
    they share. ``low_hz`` and ``high_hz`` bound the band of all of them, None where nothing does; ``assumes`` says what
    stood in for the lower bound, and that a stereo pair is taken as alike. ``sharing`` counts the loaded channels on
    this supply, ``supplied`` all that it has.
    """

    gear: Gear
    supply: SupplyFacts
    members: tuple[SupplyMember, ...]
    feeds: tuple[str, ...]
    differs: tuple[str, ...]
    stereo: bool
    low_hz: float | None
    high_hz: float | None
    assumes: tuple[str, ...]
    supplied: int

    @property
    def key(self) -> str:
        return " and ".join(member.channel.key for member in self.members)

    @property
    def opposed(self) -> bool:
        return any(member.turned for member in self.members)

    @property
    def normal_siemens(self) -> float:
        return sum(member.siemens for member in self.members if not member.turned)

    @property
    def turned_siemens(self) -> float:
        return sum(member.siemens for member in self.members if member.turned)

    @property
    def load_ratio(self) -> float:
        """How unlike the two sides of opposed channels load the rails, or channels in phase would: at least 1."""
        if self.opposed:
            sides = sorted((self.normal_siemens, self.turned_siemens))
        else:
            sides = sorted(member.siemens for member in self.members)
        return sides[-1] / sides[0]

    @property
    def bass_only(self) -> bool:
        return self.high_hz is not None and self.high_hz <= BASS_ONLY_HZ


def supply_facts(gear: Gear) -> SupplyFacts | None:
    """What the stock, or the rig, says of a supply; None where it says nothing."""
    given = gear.facts.get("supply")
    if given is None or given.inner is None:
        return None
    inner = given.inner
    stage = gear.facts.get("stage")
    return SupplyFacts(
        sort=_said(gear, inner, ("transformer", "switch-mode")),
        sharing=_said(gear, inner, ("shared", "separate")),
        regulated="regulated" in inner,
        stage=choice(gear.facts, "stage"),
        farad=one(inner, "capacitance", "capacitance"),
        ohm=one(inner, "source", "resistance"),
        common=one(inner, "common", "ratio"),
        rail=one(inner, "rail", "voltage"),
        trip=one(inner, "trip", "voltage"),
        said=given.span,
        place={**{word: each.span for word, each in inner.items()}, **({"stage": stage.span} if stage else {})},
    )


def half_bridge(gear: Gear) -> bool:
    """Has it half-bridge stages, and is something said of its supply?"""
    return gear.says("supply") and any("half-bridge" in each.words for each in entries(gear.facts, "stage"))


def _said(gear: Gear, inner: Facts, words: tuple[SettingWord, SettingWord]) -> SettingWord | Literal[""]:
    """Which of two words that exclude each other is said; the rig's word counts before that of the stock.

    Nothing where neither is said, or both in one place.
    """
    given = gear.kind.facts.get("supply") if gear.kind else None
    stock = given.inner or {} if given else {}
    here = [word for word in words if word in inner]
    own = [word for word in here if inner[word].span != (stock[word].span if word in stock else None)]
    found = own or here
    return found[0] if len(found) == 1 else ""


def mains_hz(rig_facts: Facts) -> tuple[float, str]:
    """The mains frequency of a rig, and what was assumed where it says none."""
    said = one(rig_facts, "mains", "frequency")
    if said is not None:
        return said.value, ""
    return 50.0, "no mains frequency is given: 50 Hz is taken"


def together(ground: BaseFigures) -> Iterable[SharedSupply]:
    """The channels of every amplifier that draw on one supply and share bass; in the order of the rig."""
    of_gear: dict[str, list[ChannelFigures]] = {}
    for channel in ground.channels.values():
        if channel.parts and channel.gear.says("supply") and not channel.output.bridged:
            of_gear.setdefault(channel.gear.full, []).append(channel)
    pair_of = None
    for found in of_gear.values():
        channels = sorted(found, key=lambda channel: int(channel.output.port))  # whatever the order of the text
        if len(channels) < 2 or channels[0].gear.doubt:
            continue
        supply = supply_facts(channels[0].gear)
        if supply is None or not supply.sharing:
            continue
        if pair_of is None:
            pair_of = {part.name: each.name for each in ground.rig.rosters_of("stereo") for part in each.parts}
        for here, supplied in _on_one(channels):
            yield from _sharing(ground, here, supply, supplied, pair_of)


def _on_one(channels: list[ChannelFigures]) -> Iterable[tuple[list[ChannelFigures], int]]:
    """Channels by the supply that they share, with how many draw on it in all. With separate ones: as if shared."""
    gear = channels[0].gear
    given = gear.facts["supply"].inner or {}
    pairs = [{str(a), str(b)} for each in given["shared"].entries for a, b in each.pairs] if "shared" in given else []
    if not pairs:
        yield channels, max(gear.count("channels", 2), len(channels))
    for pair in pairs:
        here = [channel for channel in channels if channel.output.port in pair]
        if len(here) > 1:
            yield here, 2


def _bass(channel: ChannelFigures) -> tuple[Contribution, ...]:
    return tuple(part for part in channel.parts if part.low_hz is None or part.low_hz < BASS_HZ)


def _sharing(
    ground: BaseFigures, channels: list[ChannelFigures], supply: SupplyFacts, supplied: int, pair_of: Mapping[str, str]
) -> Iterable[SharedSupply]:
    """Sets of channels that have a feed in common, or the two of a stereo pair."""
    sets: dict[str, list[ChannelFigures]] = {}
    home: dict[str, str] = {}
    for channel in channels:
        feeds = [pair_of.get(part.feed, part.feed) for part in _bass(channel)]
        known = next((home[feed] for feed in feeds if feed in home), feeds[0] if feeds else "")
        if known:
            sets.setdefault(known, []).append(channel)
            for feed in feeds:
                home.setdefault(feed, known)
    for found in sets.values():
        if len(found) > 1:
            yield _made(ground, found, supply, supplied, pair_of)


def _made(
    ground: BaseFigures, channels: list[ChannelFigures], supply: SupplyFacts, supplied: int, pair_of: Mapping[str, str]
) -> SharedSupply:
    first = channels[0]
    stereo, differs, turned = False, [], {first.key: False}
    for channel in channels[1:]:
        unlike, of_pair, side = _against(first, channel, pair_of)
        differs += unlike
        stereo = stereo or of_pair
        turned[channel.key] = side
    low, assumed = low_edge(channels)
    highs = [bounds(channel.parts)[1] for channel in channels]
    return SharedSupply(
        gear=first.gear,
        supply=supply,
        members=tuple(SupplyMember(channel, turned[channel.key], _inverted(channel)) for channel in channels),
        feeds=tuple(dict.fromkeys(part.feed for channel in channels for part in _bass(channel))),
        differs=tuple(dict.fromkeys(differs)),
        stereo=stereo,
        low_hz=low,
        high_hz=None if None in highs else max(hz for hz in highs if hz is not None),
        assumes=(assumed,) if assumed else (),
        supplied=supplied,
    )


def _inverted(channel: ChannelFigures) -> bool | None:
    """Which way all boxes of a channel push for a positive pulse at the feed, by the parity of all turns."""
    ways = {(len(part.turns) + len(box.own_turns)) % 2 == 1 for box in channel.boxes for part in box.parts}
    return ways.pop() if len(ways) == 1 else None


def _against(first: ChannelFigures, other: ChannelFigures, pair_of: Mapping[str, str]) -> tuple[list[str], bool, bool]:
    """What is not alike in two channels' bass; whether it is a stereo pair's; whether the other is turned."""
    mine = {pair_of.get(part.feed, part.feed): part for part in _bass(first)}
    theirs = {pair_of.get(part.feed, part.feed): part for part in _bass(other)}
    shared = [name for name in mine if name in theirs]
    unlike: list[str] = []
    apart = [name for name in {**mine, **theirs} if name not in shared]
    if apart:
        unlike.append(f"{' and '.join(apart)} is on one of them only")
    turned = {mine[name].inverted != theirs[name].inverted for name in shared}
    if len(turned) > 1:
        unlike.append("some of what they share is opposed and some is in phase")
    for name in shared:
        unlike += _unlike(mine[name], theirs[name])
    return unlike, any(mine[name].feed != theirs[name].feed for name in shared), turned == {True}


def _unlike(a: Contribution, b: Contribution) -> list[str]:
    found = []
    high = min([hz for hz in (a.high_hz, b.high_hz) if hz] + [BASS_HZ])
    low = max([hz for hz in (a.low_hz, b.low_hz) if hz] + [20.0])
    apart = abs(a.delay_s - b.delay_s)
    if apart * (low * high) ** 0.5 > ALIKE_TURN:
        found.append(f"one comes {apart * 1000:.3g} ms later")
    if a.gain_db is not None and b.gain_db is not None and a.feed == b.feed:
        louder = abs(a.gain_db - b.gain_db)
        if louder > ALIKE_DB:
            found.append(f"one is {louder:.3g} dB louder")
    ends = (("begins", a.low_hz or 20.0, b.low_hz or 20.0), ("ends", a.high_hz or 20e3, b.high_hz or 20e3))
    for what, mine, theirs in ends:
        edges = sorted((mine, theirs))
        if edges[1] > edges[0] * ALIKE_EDGE and edges[0] < BASS_HZ and not (what == "begins" and edges[1] < 30):
            found.append(f"the band of one {what} at {edges[0]:.3g} Hz, that of the other at {edges[1]:.3g} Hz")
    return found


def low_edge(channels: Sequence[ChannelFigures]) -> tuple[float | None, str]:
    """Where the bass of these channels begins, and what stood in for it where nothing on the way bounds it.

    Nothing where none of them carries bass.
    """
    channels = [channel for channel in channels if _bass(channel)]
    lows = [bounds(_bass(channel))[0] for channel in channels]
    if not lows:
        return None, ""
    known = [hz for hz in lows if hz is not None]
    if len(known) == len(lows):
        return min(known), ""
    own = [low for channel in channels for box in channel.boxes if (low := _own_low(box)) is not None]
    if not own:
        return None, ""
    return min(own), "nothing bounds the band from below: it is taken to begin where that of the boxes does"


def _own_low(box: BoxFigures) -> float | None:
    facts = box.box.gear.way(box.box.way)
    band = one(facts, "band", "frequency")
    return band.low if band is not None and band.low > 0 else None
