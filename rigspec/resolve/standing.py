"""What stands in a text from check to check: its statements in blocks, each with what was made of it the last time.

An edit leaves all blocks as they are but the one that it is in. What a block as a whole adds to the rig is added again
in one step, while all that it met is the same; only in the others each statement is looked at.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from operator import is_
from typing import Any

from attrs import define, field

from rigspec.memory import Memory
from rigspec.parse.chunk import STATEMENT_WORDS
from rigspec.syntax import File, Listing, Member, Node, Statement, Stock, Thing, Use

MOST_IN_A_BLOCK = 32  # more make a change dear, fewer make everything else dear


def the_same(known: Mapping[str, object], found: Mapping[str, object]) -> bool:
    """Does the very same stand under these keys as was found there? None stands for nothing."""
    return all(map(is_, map(known.get, found), found.values()))


class Stated:
    """A statement that was read, with what was made of it: kept by what it is, as long as the statement stands."""

    __slots__ = ("_kept", "node", "statement")

    def __init__(self, statement: Statement, node: Node, before: Stated | None) -> None:
        self.statement, self.node = statement, node
        self._kept: dict[object, tuple[tuple[object, ...], Any]] = before._kept if before is not None else {}

    def made(self, what: object, *given: object) -> Any:
        """What was made of it the last time, if it was made of the very same; else None."""
        found = self._kept.get(what)
        return found[1] if found is not None and all(map(is_, found[0], given)) else None

    def keep(self, what: object, made: object, *given: object) -> None:
        self._kept[what] = given, made


def names_in(statement: Statement) -> set[str]:
    return {token.text for token in statement.tokens if token.kind == "NAME"}


def _set_by(statement: Statement) -> set[tuple[str, str]]:
    """What a statement that cannot be read makes settings on, as in `xo.1, xo.2 { ...`: names, and "" behind each.

    Where no brace is typed yet it may become a path as well: then ports stand behind the names that have one.
    """
    ports: dict[str, str] = {}
    name, before, several = "", "COMMA", False
    for token in statement.tokens:
        if token.kind == "LBRACE":
            return {(name, "") for name in ports}
        if token.kind == "NAME" and before == "COMMA" and token.text not in STATEMENT_WORDS:
            name = token.text
            ports[name] = ""
        elif token.kind == "PORT" and before in ("NAME", "INDEX"):
            ports[name] = token.text[1:]
        elif token.kind not in ("COMMA", "INDEX", "STRAY", "FIGURE"):
            return set()
        before = token.kind
        several = several or before == "COMMA"
    if several:  # no path holds a comma there
        return {(name, "") for name in ports}
    return {(name, port) for name, port in ports.items() if port}


class Block:
    """Statements that follow each other, by what is done with them."""

    def __init__(self, statements: Sequence[Statement], before: Mapping[int, Stated]) -> None:
        self.ids = list(map(id, statements))
        self.statements = statements  # held, so that no other gets the id of one
        self.kept: dict[str, Any] = {}  # what all of them together make of the rig
        self.stocks: list[Stock] = []
        self.things: list[Stated] = []  # things and lists that have a name
        self.members: list[Stated] = []
        self.fed: list[Stated] = []  # parts of the mains that name their parent
        self.said: list[Stated] = []  # what is not about names: paths, lists, promises, the rig's facts and so on
        self.stated: dict[int, Stated] = {}
        self.slipped: list[Statement] = []  # those that cannot be read
        self.unread: set[str] = set()  # names in these
        self.unset: set[tuple[str, str]] = set()  # of those, what settings are made on: see `_set_by`
        for statement in statements:
            node = statement.node
            if node is None:
                self.slipped.append(statement)
                self.unread |= names_in(statement)
                self.unset |= _set_by(statement)
                continue
            stated = self.stated[id(node)] = Stated(statement, node, before.get(id(node)))
            self._sort(stated, node)

    def _sort(self, stated: Stated, node: Node) -> None:
        match node:
            case Stock():
                self.stocks.append(node)
            case Thing():
                self.things.append(stated)
                if node.parent:
                    self.fed.append(stated)
            case Member():
                self.members.append(stated)
            case Use():
                pass
            case _:
                self.said.append(stated)
                if isinstance(node, Listing) and node.word != "spare":
                    self.things.append(stated)


@define(eq=False, repr=False)
class Standing:
    """The blocks of all files, and what was made of all of them together, under the names of the steps that made it."""

    blocks: dict[str, list[Block]] = field(factory=dict)
    made: dict[str, Any] = field(factory=dict)

    @property
    def in_order(self) -> list[Block]:
        """All blocks, those of the rig's own file first."""
        return [block for blocks in self.blocks.values() for block in blocks]

    @property
    def own_last(self) -> list[Block]:
        """All blocks, those of the rig's own file last, so that it is told of what it gives again."""
        own, *others = self.blocks.values()
        return [block for blocks in (*others, own) for block in blocks]


def standing(files: Iterable[File], memory: Memory) -> Standing:
    """What stands now. What stood in the check before is taken over where it is the same, and is not used any more."""
    before = memory.known("standing") or Standing()
    blocks = {file.source.path: _blocks(file.statements, before.blocks.get(file.source.path, [])) for file in files}
    return memory.keep("standing", None, Standing(blocks, before.made))


def _blocks(statements: tuple[Statement, ...], before: Sequence[Block]) -> list[Block]:
    """Statements in blocks: those from before at the beginning and at the end, and between them new ones."""
    ids = list(map(id, statements))
    first, head = 0, 0
    while first < len(before) and ids[head : head + len(before[first].ids)] == before[first].ids:
        head += len(before[first].ids)
        first += 1
    last, tail = len(before), len(ids)
    while last > first and ids[max(head, tail - len(before[last - 1].ids)) : tail] == before[last - 1].ids:
        last -= 1
        tail -= len(before[last].ids)
    if first and 0 < tail - head < MOST_IN_A_BLOCK // 2:  # a small one is put to the one before it
        first -= 1
        head -= len(before[first].ids)
    stated = {key: each for block in before[first:last] for key, each in block.stated.items()}
    count = -(-(tail - head) // MOST_IN_A_BLOCK)
    bounds = [head + (tail - head) * number // count for number in range(count)] + [tail] if count else []
    made = [Block(statements[low:high], stated) for low, high in pairwise(bounds)]
    return [*before[:first], *made, *before[last:]]
