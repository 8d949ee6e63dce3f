"""What a rig file says, as frozen nodes that know their place.

Places take no part in equality: two texts mean the same when their statements are equal, wherever they stand. Numbers
and units are kept as their author spelt them; their meaning is made later, by the figures' owner.
"""

from __future__ import annotations

from typing import TypeAlias

from attrs import field, frozen

from rigspec.language.words import ListWord, ThingWord
from rigspec.text.finding import Finding
from rigspec.text.source import Source, Span
from rigspec.text.value import Content


def _place() -> Span:
    result: Span = field(eq=False, repr=False)
    return result


@frozen(eq=False, repr=False)
class Comment(Content):
    """A comment as written, from ``#`` to the end of its line."""

    text: str
    start: int
    own_line: bool
    blank_before: bool


@frozen(eq=False, repr=False)
class Token(Content):
    """One token, and in ``comments`` what stands between the token before it and this one.

    ``lines`` counts the line ends since that token or the last comment, so that a blank line can be kept. ``first``
    tells that the token stands in the first column.
    """

    kind: str
    text: str
    start: int
    lines: int = 0
    comments: tuple[Comment, ...] = ()
    first: bool = False

    @property
    def end(self) -> int:
        return self.start + len(self.text)


# ---- atoms ----------------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class Figure(Content):
    """A number with its unit, both as written; ``unit`` is empty for a bare number."""

    number: str
    unit: str
    tolerance: Figure | None
    span: Span = _place()


@frozen(eq=False, repr=False)
class Range(Content):
    low: Figure
    high: Figure
    span: Span = _place()


@frozen(eq=False, repr=False)
class Text(Content):
    value: str
    span: Span = _place()


@frozen(eq=False, repr=False)
class Pair(Content):
    """Two channels taken together, ``1+2``."""

    first: int
    second: int
    span: Span = _place()


@frozen(eq=False, repr=False)
class Index(Content):
    """The part in square brackets: ``numbers`` is None for ``[*]``, else ranges of members, both ends included."""

    numbers: tuple[tuple[int, int], ...] | None
    span: Span = _place()


@frozen(eq=False, repr=False)
class Ref(Content):
    """A name, perhaps with members and ports: ``sub``, ``sub[1..4]``, ``bass.1``, ``bass.1+2``, ``hang[*].low``."""

    name: str
    index: Index | None
    ports: tuple[str, ...]
    name_span: Span = _place()
    span: Span = _place()

    @property
    def plain(self) -> bool:
        return self.index is None and not self.ports


Atom: TypeAlias = Figure | Range | Text | Pair | Ref


@frozen(eq=False, repr=False)
class Item(Content):
    """What stands between two commas."""

    atoms: tuple[Atom, ...]
    span: Span = _place()


@frozen(eq=False, repr=False)
class Setting(Content):
    word: str
    items: tuple[Item, ...]
    block: Block | None
    word_span: Span = _place()
    span: Span = _place()


@frozen(eq=False, repr=False)
class Block(Content):
    settings: tuple[Setting, ...]
    span: Span = _place()


# ---- hops -----------------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class Point(Content):
    """A thing on the way; ``linked`` is the lead between the members of a row."""

    ref: Ref
    linked: tuple[Atom, ...] | None
    span: Span = _place()


@frozen(eq=False, repr=False)
class LeadHop(Content):
    atoms: tuple[Atom, ...]
    span: Span = _place()


@frozen(eq=False, repr=False)
class Invert(Content):
    span: Span = _place()


@frozen(eq=False, repr=False)
class Pad(Content):
    loss: Figure
    span: Span = _place()


@frozen(eq=False, repr=False)
class Delay(Content):
    time: Figure
    span: Span = _place()


@frozen(eq=False, repr=False)
class Join(Content):
    """``series(...)`` or ``parallel(...)``."""

    word: str
    branches: tuple[tuple[Hop, ...], ...]
    span: Span = _place()


Hop: TypeAlias = Point | LeadHop | Invert | Pad | Delay | Join


# ---- statements -----------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class RigFacts(Content):
    title: Text
    block: Block | None
    span: Span = _place()


@frozen(eq=False, repr=False)
class Use(Content):
    path: Text
    span: Span = _place()


@frozen(eq=False, repr=False)
class Stock(Content):
    """``stock amp twin-900 { ... }``: ``sort`` is what it is a kind of."""

    sort: str
    name: str
    block: Block | None
    sort_span: Span = _place()
    name_span: Span = _place()
    span: Span = _place()


@frozen(eq=False, repr=False)
class Thing(Content):
    """A thing of this rig: feed, split, processor, amp, speaker, lead, panel, mains, place, area."""

    word: ThingWord
    name: str
    index: Index | None
    kind: Ref | None
    parent: Ref | None
    atoms: tuple[Atom, ...]
    block: Block | None
    word_span: Span = _place()
    name_span: Span = _place()
    span: Span = _place()


@frozen(eq=False, repr=False)
class Listing(Content):
    """``stereo``, ``mix``, ``rack``, ``group`` with a name and items; ``spare`` has no name."""

    word: ListWord
    name: str
    items: tuple[Item, ...]
    block: Block | None
    word_span: Span = _place()
    name_span: Span = _place()
    span: Span = _place()


@frozen(eq=False, repr=False)
class Member(Content):
    """Settings made on things already named: ``bass.2 { attenuator -2 dB }``."""

    refs: tuple[Ref, ...]
    block: Block
    span: Span = _place()


@frozen(eq=False, repr=False)
class Path(Content):
    """``each``: the rows in it are taken member by member, one path for each."""

    hops: tuple[Hop, ...]
    each: bool
    span: Span = _place()


@frozen(eq=False, repr=False)
class Clause(Content):
    word: str
    items: tuple[Item, ...]
    span: Span = _place()


@frozen(eq=False, repr=False)
class Expect(Content):
    figure: str
    clauses: tuple[Clause, ...]
    comparison: str
    value: Figure | str
    figure_span: Span = _place()
    value_span: Span = _place()
    span: Span = _place()


@frozen(eq=False, repr=False)
class ReadingOf(Content):
    """What was read of one thing: ``place`` is where, if that is said, ``at`` under which condition (`at 1 kHz`)."""

    ref: Ref
    place: Ref | None
    value: Figure | str
    at: Figure | None
    value_span: Span = _place()
    span: Span = _place()


@frozen(eq=False, repr=False)
class Measured(Content):
    """``preposition`` is `of` before things, and `at` before places."""

    figure: str
    preposition: str
    readings: tuple[ReadingOf, ...]
    block: Block | None
    figure_span: Span = _place()
    span: Span = _place()


@frozen(eq=False, repr=False)
class Allow(Content):
    rule: str
    ref: Ref
    reason: Text
    rule_span: Span = _place()
    span: Span = _place()


Node: TypeAlias = RigFacts | Use | Stock | Thing | Listing | Member | Path | Expect | Measured | Allow


@frozen(eq=False, repr=False)
class Statement(Content):
    """One statement with all its tokens; ``node`` is None where it has a slip.

    ``after`` is the comment behind the statement on its last line. Comments and blank lines before it are kept with
    its first token.
    """

    node: Node | None
    tokens: tuple[Token, ...] = field(eq=False, repr=False)
    after: Comment | None = field(eq=False, repr=False)

    @property
    def start(self) -> int:
        return self.tokens[0].start

    @property
    def end(self) -> int:
        return self.tokens[-1].end


@frozen(eq=False, repr=False)
class File(Content):
    """A whole text as statements; ``tail`` holds the comments behind the last one."""

    source: Source = field(eq=False)
    statements: tuple[Statement, ...]
    tail: tuple[Comment, ...] = field(eq=False, repr=False)
    slips: tuple[Finding, ...] = field(eq=False, repr=False, default=())
