"""What a rig is once its names are bound and its stock is applied: gear with facts, and how it is wired together."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import Literal, TypeAlias, cast

from attrs import field, frozen

from rigspec.language.syntax import Allow, Expect, Measured, Ref
from rigspec.language.words import Carries, ChoiceWord, GearWord, ListWord, PieceWord, SettingWord, ThingWord, WayWord
from rigspec.rig.doubt import Doubt
from rigspec.text.finding import Finding
from rigspec.text.source import Source, Span
from rigspec.text.units import FigureKind
from rigspec.text.value import Content, Value

# ---- figures as given -----------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class Measure(Content):
    """A figure as given: ``value`` in the base unit of its kind, ``low`` to ``high`` with tolerance or range."""

    kind: FigureKind
    value: float
    low: float
    high: float
    text: str
    span: Span = field(eq=False, repr=False)


@frozen(eq=False, repr=False)
class Entry(Content):
    """One item of a setting, with its figures found by kind."""

    measures: tuple[Measure, ...]
    words: tuple[ChoiceWord, ...]
    refs: tuple[Ref, ...]
    texts: tuple[str, ...]
    pairs: tuple[tuple[int, int], ...]
    span: Span = field(eq=False, repr=False)

    def get(self, kind: FigureKind) -> Measure | None:
        for measure in self.measures:  # no generator: every figure of every rule comes through here
            if measure.kind == kind:
                return measure
        return None


@frozen(eq=False, repr=False)
class Given(Content):
    """A setting that was made, in the order of its items."""

    word: SettingWord
    entries: tuple[Entry, ...]
    inner: Facts | None
    span: Span = field(eq=False, repr=False)


Facts: TypeAlias = Mapping[SettingWord, Given]


def entries(facts: Facts, word: SettingWord) -> tuple[Entry, ...]:
    """The items of a setting; none where it is not made."""
    given = facts.get(word)
    return given.entries if given else ()


def first(facts: Facts, word: SettingWord) -> Entry | None:
    given = facts.get(word)
    return given.entries[0] if given and given.entries else None


def choice(facts: Facts, word: SettingWord) -> ChoiceWord | Literal[""]:
    """The first word that a setting takes, if it has one."""
    item = first(facts, word)
    return item.words[0] if item and item.words else ""


def one(facts: Facts, word: SettingWord, kind: FigureKind) -> Measure | None:
    """The figure of this kind in the first item of a setting, if it was given."""
    item = first(facts, word)
    return item.get(kind) if item else None


SWITCHES: tuple[SettingWord, ...] = ("bridge", "joined")
WAYS: tuple[WayWord, ...] = ("low", "mid", "high")  # of a loudspeaker that is driven in several
SPEED_OF_SOUND_M_PER_S = 343.2  # 20 degC, ISO 9613-1


def delay_s(measure: Measure) -> float:
    """A delay in seconds, written as a time or as the distance that sound goes in it at 20 degC."""
    return measure.value if measure.kind == "time" else measure.value / SPEED_OF_SOUND_M_PER_S


def inversion(facts: Facts, port: str) -> Given | None:
    """The `inverted` of a thing where it applies to this port: it stands alone, or names the port's number."""
    given = facts.get("inverted")
    if given is None:
        return None
    numbers = [str(int(measure.value)) for entry in given.entries for measure in entry.measures]
    return given if not numbers or port in numbers else None


# ---- gear -----------------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class Kind(Value):
    """A kind of gear from the stock."""

    sort: ThingWord | Literal[""]  # empty where it is no sort that there is
    name: str
    facts: Facts
    span: Span
    doubt: Doubt | None


@frozen(eq=False, repr=False)
class Gear(Value):
    """One thing, or one member of a row. ``ports`` are the settings made on its channels, outputs, pairs or lines."""

    word: GearWord
    name: str
    number: int | None
    kind: Kind | None
    facts: Facts
    ports: Mapping[str, Facts]
    span: Span
    doubt: Doubt | None = None
    parent: str = ""  # the part of the mains that feeds a part of the mains
    full: str = field(init=False)  # the name with its number; everything asks for it

    @full.default
    def _full(self) -> str:
        return self.name if self.number is None else f"{self.name}[{self.number}]"

    def says(self, word: SettingWord) -> bool:
        return word in self.facts

    def measure(self, word: SettingWord, kind: FigureKind) -> Measure | None:
        return one(self.facts, word, kind)

    def count(self, word: SettingWord, otherwise: int) -> int:
        measure = self.measure(word, "number")
        return otherwise if measure is None else int(measure.value)

    def joined(self, *words: SettingWord) -> Iterator[tuple[int, int, SettingWord, Entry]]:
        """The channels that an amplifier's `bridge` and `joined` join, by which of them, and where that is said."""
        for word in words or SWITCHES:
            yield from ((one, two, word, each) for each in entries(self.facts, word) for one, two in each.pairs)

    @property
    def ways(self) -> tuple[WayWord, ...]:
        """The ways of a loudspeaker that is driven in several, else nothing."""
        return tuple(way for way in WAYS if way in self.facts)

    def way(self, way: str) -> Facts:
        """The facts of a way; those of the box itself where it has no ways."""
        given = self.facts.get(cast("SettingWord", way))
        return given.inner or {} if given else self.facts


def runs(numbers: Sequence[int]) -> str:
    """Members of a row in short, as they are written in brackets: ``1..4,7``."""
    found: list[list[int]] = []
    for number in numbers:
        if found and found[-1][1] == number - 1:
            found[-1][1] = number
        else:
            found.append([number, number])
    return ",".join(str(low) if low == high else f"{low}..{high}" for low, high in found)


def members(gears: Iterable[Gear]) -> str:
    """Things of one name in short, as they are written: ``s[1..4]``."""
    found = list(gears)
    numbers = sorted({gear.number for gear in found if gear.number is not None})
    return f"{found[0].name}[{runs(numbers)}]" if numbers else found[0].full


# ---- wiring ---------------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class LeadSpec(Content):
    """What is known of a lead: each conductor's size, the length one way, where that was said, and its kind if any."""

    area_mm2: Measure | None
    awg: Measure | None
    length: Measure | None
    solid: bool
    tinned: bool
    kind: Kind | None = field(default=None, eq=False)
    numbers: tuple[str, ...] = ()  # what is written on its tape; a range where one hop stands for several leads


@frozen(eq=False, repr=False)
class Piece(Value):
    """What lies between two joints: ``lead``, ``invert``, ``pad``, ``delay``, or ``plug`` (two joints are one)."""

    what: PieceWord
    a: int
    b: int
    span: Span
    name: str = ""
    spec: LeadSpec | None = None
    gain_db: float = 0.0
    delay_s: float = 0.0
    inverted: Span | None = None
    gear: Gear | None = None


@frozen(eq=False, repr=False)
class Series(Value):
    """A joint whose two conductors lead through several branches, one after the other."""

    joint: int
    branches: tuple[int, ...]
    span: Span


@frozen(eq=False, repr=False)
class Output(Value):
    """Where something comes out: ``carries`` is signal, power (an amplifier's output) or mains."""

    key: str
    gear: Gear
    port: str
    carries: Carries
    joint: int
    span: Span

    @property
    def bridged(self) -> bool:
        return "+" in self.port

    @property
    def halves(self) -> list[str]:
        """The channels of a bridged pair, that of the plus pole first; else its one port."""
        return self.port.split("+")

    @property
    def first(self) -> str:
        """The port, of a bridged pair the channel by whose input it is fed."""
        return min(self.halves, key=int) if self.bridged else self.port


@frozen(eq=False, repr=False)
class Sink(Value):
    """Where something goes in: ``takes`` is signal, power (a loudspeaker) or mains (an inlet)."""

    key: str
    gear: Gear
    port: str
    takes: Carries
    joint: int
    span: Span


@frozen(eq=False, repr=False)
class Way(Content):
    """One arrival at, or one departure from, a thing: the joint of the path and the place in the text."""

    joint: int
    span: Span


@frozen(eq=False, repr=False)
class Through(Value):
    """A line of a panel or a pair of a named lead: entered at ``near``, left at ``far``."""

    key: str
    gear: Gear
    port: str
    near: int
    far: int
    entered: tuple[Way, ...]
    left: tuple[Way, ...]


@frozen(eq=False, repr=False)
class Wiring(Value):
    """How everything hangs together. Joints are numbers; pieces lead from joint to joint in the author's direction.

    ``arrivals`` holds every arrival at each sink: more than one is a fault, and only the first is wired. ``ends`` are
    the last joints of paths. Nothing is concluded about joints behind one of the ``doubts``.
    """

    outputs: Mapping[str, Output]
    sinks: Mapping[str, Sink]
    arrivals: Mapping[str, tuple[Way, ...]]
    throughs: Mapping[str, Through]
    pieces: tuple[Piece, ...]
    series: tuple[Series, ...]
    ends: tuple[Way, ...]
    doubts: Mapping[int, Doubt]


# ---- relations and promises -----------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class ListMember(Content):
    """A thing in a list: by its full name, with the gain (mix) or the turn (group) said beside it."""

    name: str
    port: str
    gain_db: float
    against: bool
    span: Span = field(eq=False, repr=False)

    @property
    def key(self) -> str:
        """The name with its port, as outputs and inputs go by it."""
        return f"{self.name}.{self.port}" if self.port else self.name


@frozen(eq=False, repr=False)
class Roster(Content):
    """A named list: stereo pair, mix, rack, group; or the spares."""

    word: ListWord
    name: str
    parts: tuple[ListMember, ...]
    facts: Facts = field(eq=False, repr=False)
    span: Span = field(eq=False, repr=False)


@frozen(eq=False, repr=False)
class Expectation(Value):
    """A promise. ``band`` is what it holds in, ``at`` the part of full output or the frequency that it is given at.

    ``after`` are the things that its subjects are judged against, as in `arrival of tower after hang`.
    """

    statement: Expect
    value: Measure | str
    subjects: tuple[ListMember, ...]
    band: Measure | None
    at: Measure | None
    after: tuple[ListMember, ...]


@frozen(eq=False, repr=False)
class Reading(Value):
    """What a meter said: of which thing, at which place and which frequency if these are said.

    ``facts`` are the conditions of the whole statement: the lead as it was, the meter, a note.
    """

    statement: Measured
    value: Measure | str
    subject: ListMember
    place: ListMember | None
    at: Measure | None
    facts: Facts
    span: Span


@frozen(eq=False, repr=False)
class Excuse(Value):
    """An ``allow`` statement and the full names it covers."""

    statement: Allow
    names: frozenset[str]


@frozen(eq=False, repr=False)
class Rig(Value):
    """Everything a rig file and the files it uses say, bound together."""

    source: Source
    title: str
    facts: Facts
    kinds: Mapping[str, Kind]
    gear: Mapping[str, Gear]
    rosters: tuple[Roster, ...]
    wiring: Wiring
    expectations: tuple[Expectation, ...]
    readings: tuple[Reading, ...]
    excuses: tuple[Excuse, ...]
    findings: tuple[Finding, ...]
    files: tuple[Source, ...]
    doubts: Mapping[str, Doubt]  # names that statements with a fault may mean
    doubt: Doubt | None  # of all names

    def doubt_of(self, gear: Gear) -> Doubt | None:
        """Why nothing is concluded from a thing, by what is said of it and of its name."""
        return gear.doubt or self.doubts.get(gear.name)

    def limit(self, word: SettingWord, kind: FigureKind) -> Measure | None:
        """A limit that the company has set in the rig's facts."""
        given = self.facts.get("limits")
        return one(given.inner, word, kind) if given and given.inner else None

    def rosters_of(self, word: ListWord) -> list[Roster]:
        return [roster for roster in self.rosters if roster.word == word]
