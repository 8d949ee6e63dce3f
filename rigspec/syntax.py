"""What a rig file says, as frozen nodes that know their place.

Places take no part in equality: two texts mean the same when their statements are equal, wherever they stand. Numbers
and units are kept as their author spelt them; their meaning is made later, by the figures' owner.
"""

from __future__ import annotations

from typing import TypeAlias

from attrs import field, frozen

from rigspec.finding import Finding
from rigspec.source import Source, Span


def _place() -> Span:
    result: Span = field(eq=False, repr=False)
    return result


@frozen
class Comment:
    """A comment as written, from ``#`` to the end of its line."""

    text: str
    start: int
    own_line: bool
    blank_before: bool


@frozen
class Token:
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


@frozen
class Figure:
    """A number with its unit, both as written; ``unit`` is empty for a bare number."""

    number: str
    unit: str
    tolerance: Figure | None
    span: Span = _place()


@frozen
class Range:
    low: Figure
    high: Figure
    span: Span = _place()


@frozen
class Text:
    value: str
    span: Span = _place()


@frozen
class Pair:
    """Two channels taken together, ``1+2``."""

    first: int
    second: int
    span: Span = _place()


@frozen
class Index:
    """The part in square brackets: ``numbers`` is None for ``[*]``, else ranges of members, both ends included."""

    numbers: tuple[tuple[int, int], ...] | None
    span: Span = _place()


@frozen
class Ref:
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


@frozen
class Item:
    """What stands between two commas."""

    atoms: tuple[Atom, ...]
    span: Span = _place()


@frozen
class Setting:
    word: str
    items: tuple[Item, ...]
    block: Block | None
    word_span: Span = _place()
    span: Span = _place()


@frozen
class Block:
    settings: tuple[Setting, ...]
    span: Span = _place()


# ---- hops -----------------------------------------------------------------------------------------------------------


@frozen
class Point:
    """A thing on the way; ``linked`` is the lead between the members of a row."""

    ref: Ref
    linked: tuple[Atom, ...] | None
    span: Span = _place()


@frozen
class LeadHop:
    atoms: tuple[Atom, ...]
    span: Span = _place()


@frozen
class Invert:
    span: Span = _place()


@frozen
class Pad:
    loss: Figure
    span: Span = _place()


@frozen
class Delay:
    time: Figure
    span: Span = _place()


@frozen
class Join:
    """``series(...)`` or ``parallel(...)``."""

    word: str
    branches: tuple[tuple[Hop, ...], ...]
    span: Span = _place()


Hop: TypeAlias = Point | LeadHop | Invert | Pad | Delay | Join


# ---- statements -----------------------------------------------------------------------------------------------------


@frozen
class RigFacts:
    title: Text
    block: Block | None
    span: Span = _place()


@frozen
class Use:
    path: Text
    span: Span = _place()


@frozen
class Stock:
    """``stock amp twin-900 { ... }``: ``sort`` is what it is a kind of."""

    sort: str
    name: str
    block: Block | None
    sort_span: Span = _place()
    name_span: Span = _place()
    span: Span = _place()


@frozen
class Thing:
    """A thing of this rig: feed, split, processor, amp, speaker, lead, panel, mains, place."""

    word: str
    name: str
    index: Index | None
    kind: Ref | None
    parent: Ref | None
    atoms: tuple[Atom, ...]
    block: Block | None
    word_span: Span = _place()
    name_span: Span = _place()
    span: Span = _place()


@frozen
class Listing:
    """``stereo``, ``mix``, ``rack``, ``group`` with a name and items; ``spare`` has no name."""

    word: str
    name: str
    items: tuple[Item, ...]
    word_span: Span = _place()
    name_span: Span = _place()
    span: Span = _place()


@frozen
class Member:
    """Settings made on a thing already named: ``bass.2 { attenuator -2 dB }``."""

    ref: Ref
    block: Block
    span: Span = _place()


@frozen
class Path:
    hops: tuple[Hop, ...]
    span: Span = _place()


@frozen
class Clause:
    word: str
    items: tuple[Item, ...]
    span: Span = _place()


@frozen
class Expect:
    figure: str
    clauses: tuple[Clause, ...]
    comparison: str
    value: Figure | str
    figure_span: Span = _place()
    value_span: Span = _place()
    span: Span = _place()


@frozen
class Measured:
    figure: str
    ref: Ref
    value: Figure | str
    figure_span: Span = _place()
    span: Span = _place()


@frozen
class Allow:
    rule: str
    ref: Ref
    reason: Text
    rule_span: Span = _place()
    span: Span = _place()


Node: TypeAlias = RigFacts | Use | Stock | Thing | Listing | Member | Path | Expect | Measured | Allow


@frozen
class Statement:
    """One statement with all its tokens; ``node`` is None where it has a slip.

    ``after`` is the comment behind the statement on its last line. Comments and blank lines before it are kept with
    its first token.
    """

    node: Node | None
    tokens: tuple[Token, ...] = field(eq=False, repr=False)
    after: Comment | None = field(eq=False, repr=False)


@frozen
class File:
    """A whole text as statements; ``tail`` holds the comments behind the last one."""

    source: Source = field(eq=False)
    statements: tuple[Statement, ...]
    tail: tuple[Comment, ...] = field(eq=False, repr=False)
    slips: tuple[Finding, ...] = field(eq=False, repr=False, default=())
