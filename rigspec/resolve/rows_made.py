"""Rows, step by step: what a block of statements makes of the rows it meets is taken over while it meets the same.

There are three steps: things are declared, settings are made on them later, and parts of the mains get their parents.
A row that a later step changes is another object; one that comes out as in the check before is the object from then.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

from attrs import frozen

from rigspec.resolve.names import Names, Row
from rigspec.resolve.standing import Block, Standing, Stated, the_same
from rigspec.rig import Kind
from rigspec.source import Span
from rigspec.syntax import Listing
from rigspec.value import Value


@frozen(eq=False, repr=False)
class Step(Value):
    """What is done to rows: with which statements of a block, and which names of rows and of kinds these speak of."""

    what: str
    statements: Callable[[Block], Sequence[Stated]]
    rows: Callable[[Stated], Iterable[str]]
    kinds: Callable[[Stated], Iterable[str]]
    declares: bool  # its names are new


@frozen(eq=False, repr=False)
class _Made(Value):
    """What a block has made of the rows that it met; None stands for a row that there was not."""

    met: Mapping[str, Row | None]
    kinds: Mapping[str, Kind | None]
    rows: Mapping[str, Row]
    listings: Mapping[str, Listing]


class RowsMade:
    """The rows of a rig while steps work on them. Whoever changes one asks for it to be his ``own`` first."""

    def __init__(self, names: Names, standing: Standing) -> None:
        self.names = names
        self.standing = standing
        self._own: dict[str, Row] = {}  # rows that the block at hand has made or changed

    def step(self, step: Step, blocks: Iterable[Block], work: Callable[[Stated], None]) -> None:
        names = self.names
        before: dict[str, Row] = self.standing.made.get(step.what, {})
        for block in blocks:
            if not step.statements(block):
                continue
            made: _Made | None = block.kept.get(step.what)
            if made is not None and self._meets(made, step):
                names.rows.update(made.rows)
                names.listings.update(made.listings)
                continue
            made = self._work(step, step.statements(block), work, before)
            if made is not None:
                block.kept[step.what] = made
        self.standing.made[step.what] = dict(names.rows)

    def own(self, name: str) -> Row:
        """A row that may be changed."""
        row = self._own.get(name)
        if row is None:
            old = self.names.rows[name]
            row = self._own[name] = self.names.rows[name] = Row(old.word, name, dict(old.members), old.span)
        return row

    def new(self, word: str, name: str, span: Span) -> Row:
        row = self._own[name] = self.names.rows[name] = Row(word, name, {}, span)
        return row

    def _meets(self, made: _Made, step: Step) -> bool:
        names = self.names
        unlisted = not step.declares or names.listings.keys().isdisjoint(made.met.keys())
        return unlisted and the_same(names.rows, made.met) and the_same(names.kinds, made.kinds)

    def _work(
        self, step: Step, statements: Sequence[Stated], work: Callable[[Stated], None], before: Mapping[str, Row]
    ) -> _Made | None:
        """What a block makes of rows; None where it has a fault, or a name is in doubt."""
        names = self.names
        faults = names.faults.count
        met = {name: names.rows.get(name) for stated in statements for name in step.rows(stated)}
        kinds = {name: names.kinds.get(name) for stated in statements for name in step.kinds(stated)}
        self._own = {}
        for stated in statements:
            work(stated)
        for name, row in self._own.items():
            old = before.get(name)
            if old is not None and old == row and list(old.members) == list(row.members):
                names.rows[name] = old
        doubtful = names.silent & {*met, *kinds} or None in kinds.values()
        if names.faults.count > faults or doubtful or (not step.declares and None in met.values()):
            return None
        made = {name: names.rows[name] for name in self._own}
        listings = {name: names.listings[name] for name in met if step.declares and name in names.listings}
        return _Made(met, kinds, made, listings)
