"""The statements of a rig's files by what is done with them."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from rigspec.language.chunk import STATEMENT_WORDS
from rigspec.language.syntax import File, Listing, Member, Statement, Stock, Thing
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class Statements(Value):
    """What is declared stands with the rig's own file last, so that it is told of what it gives again.

    ``said`` is what is not about names: paths, lists, promises, the rig's facts and so on, the rig's own file first.
    ``slipped`` are the statements that cannot be read, each with the path of its file; ``unread`` are names in these,
    ``set_on`` those of them that settings are made on.
    """

    stocks: list[Stock]
    named: list[Thing | Listing]
    members: list[Member]
    fed: list[Thing]  # parts of the mains that name their parent
    said: list[Statement]
    slipped: list[tuple[str, Statement]]
    unread: frozenset[str]
    set_on: frozenset[tuple[str, str]]


def sorted_out(files: Iterable[File]) -> Statements:
    """The statements of all files, the rig's own given first."""
    own, *others = files
    declared = [each.node for file in (*others, own) for each in file.statements]
    stated = [(file.source.path, each) for file in (own, *others) for each in file.statements]
    slipped = [(path, each) for path, each in stated if each.node is None]
    return Statements(
        [node for node in declared if isinstance(node, Stock)],
        [n for n in declared if isinstance(n, Thing) or (isinstance(n, Listing) and n.word != "spare")],
        [node for node in declared if isinstance(node, Member)],
        [node for node in declared if isinstance(node, Thing) and node.parent],
        [each for _, each in stated if each.node is not None and not isinstance(each.node, Stock | Thing | Member)],
        slipped,
        frozenset().union(*(names_in(each) for _, each in slipped)),
        frozenset().union(*(_set_by(each) for _, each in slipped)),
    )


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
