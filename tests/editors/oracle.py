"""What each piece of a rig is, by the checker's own parser: the highlighters of all editors are held against it."""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

from attrs import frozen

from rigspec.language import syntax as s
from rigspec.language.reader import parse
from rigspec.language.tables import WORDS
from rigspec.show.editor_words import word_lists
from rigspec.text.source import Source

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "samples").rglob("*.rig"))
LISTS = {name: set(words) for name, words in word_lists().items()}
_number = re.compile(r"[+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?:/\d+)?")
_OF_TOKEN = {
    "PAIR": "number",
    "STRING": "text",
    "ARROW": "operator",
    "COMPARE": "operator",
    "INDEX": "number",
    "PORT": "port",
    "COMMENT": "comment",
}


@frozen
class Piece:
    """A stretch of one line, line and column from 0 and in code points, and what it is; ``plain`` has no colour."""

    line: int
    column: int
    text: str
    what: str


def pieces(text: str) -> list[Piece]:
    """All pieces of a text without slips, in order."""
    source = Source("", text)
    file = parse(source)
    assert not file.slips
    found: list[Piece] = []

    def add(start: int, text: str, what: str) -> None:
        line, column = source.position(start)
        found.append(Piece(line - 1, column - 1, text, what))

    comments = list(file.tail)
    for statement in file.statements:
        assert statement.node is not None
        known = dict(_words(statement.node))
        blocks = [span for setting in _blocks(statement.node) for span in [setting.span]]
        comments += [c for token in statement.tokens for c in token.comments]
        comments += [statement.after] if statement.after is not None else []
        for at, token in enumerate(statement.tokens):
            inside = any(span.start <= token.start < span.end for span in blocks)
            if token.kind == "FIGURE":
                number = _number.match(token.text)
                assert number is not None
                add(token.start, number[0], "number")
                unit = token.text[number.end() :].lstrip()
                if unit:
                    add(token.end - len(unit), unit, "unit")
            elif token.kind == "NAME":
                what = known.get(token.start) or _loose(token.text, inside, at)
                add(token.start, token.text, what)
            elif token.kind in _OF_TOKEN:
                add(token.start, token.text, _OF_TOKEN[token.kind])
    for comment in comments:
        add(comment.start, comment.text, "comment")
    return sorted(found, key=lambda piece: (piece.line, piece.column))


def _loose(word: str, inside: bool, at: int) -> str:
    """A word of which no node keeps the place."""
    if at == 0 and word in LISTS["statement"]:
        return "statement"
    if not inside and word == "linked":
        return "hop"
    if word in LISTS["joint"] and word in WORDS:
        return "joint"
    return "choice" if word in LISTS["choice" if inside else "state"] else "plain"


def _words(node: s.Node) -> Iterator[tuple[int, str]]:
    """Where the words stand of which the nodes know what they are."""
    for block in _blocks(node):
        yield from ((setting.word_span.start, "setting") for setting in block.settings)
    match node:
        case s.Stock():
            yield node.sort_span.start, "sort"
            yield node.name_span.start, "kind"
        case s.Thing():
            yield node.name_span.start, "name"
            if node.kind is not None:
                yield node.kind.name_span.start, "kind"
        case s.Listing(name=name) if name:
            yield node.name_span.start, "name"
        case s.Expect() | s.Measured():
            yield node.figure_span.start, "figure"
        case s.Allow():
            yield node.rule_span.start, "rule"
        case s.Path():
            yield from _hops(node.hops)


def _hops(hops: tuple[s.Hop, ...]) -> Iterator[tuple[int, str]]:
    for hop in hops:
        if isinstance(hop, s.Point):
            yield hop.ref.name_span.start, "plain"
        else:
            yield hop.span.start, "hop"
        if isinstance(hop, s.Join):
            for branch in hop.branches:
                yield from _hops(branch)


def _blocks(node: s.Node | s.Setting) -> Iterator[s.Block]:
    block = getattr(node, "block", None)
    if block is not None:
        yield block
        for setting in block.settings:
            yield from _blocks(setting)
