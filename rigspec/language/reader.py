"""The parse: every statement of a text alone, with the saved LALR(1) tables."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeAlias

from rigspec.language import nodes, syntax
from rigspec.language.chunk import Chunk, cut
from rigspec.language.states import accepts
from rigspec.language.tables import END, RULES, STATES, WORDS
from rigspec.language.tokens import tokens
from rigspec.text.finding import Finding
from rigspec.text.source import Source

Read: TypeAlias = "Callable[[Source], syntax.File]"  # what parses a text
_RULES = [(made, getattr(nodes, build) if build else None, size) for made, build, size in RULES]

MOST_MORE = 7  # slips of one statement that are told behind its first


class _Stuck(Exception):
    """The parser cannot take a token: its position in the chunk and the states on the stack."""

    def __init__(self, at: int, states: list[int]) -> None:
        super().__init__(at)
        self.at, self.states = at, states


def _run(source: Source, chunk: list[syntax.Token]) -> syntax.Node:
    states: list[int] = [0]
    values: list[Any] = []
    table, rules, words = STATES, _RULES, WORDS
    for at, token in enumerate([*chunk, None]):
        if token is None:
            kind = "$END"
        else:
            kind = token.kind
            if kind == "NAME" and token.text in words:
                word = words[token.text]
                action = table[states[-1]].get(word)
                if action is not None and (action >= 0 or accepts(states, word)):
                    kind = word
        while True:
            action = table[states[-1]].get(kind)
            if action is None:
                raise _Stuck(at, states)
            if action >= 0:
                states.append(action)
                values.append(token)
                break
            made, build, size = rules[-1 - action]
            if build is None:  # one part that passes on as it is
                states.pop()
            else:
                parts = values[-size:]
                del states[-size:], values[-size:]
                values.append(build(source, parts))
            states.append(table[states[-1]][made])
            if states[-1] == END:
                node: syntax.Node = values[-1]
                return node
    raise AssertionError("a statement neither ended nor stuck")


def states_behind(source: Source, chunk: list[syntax.Token]) -> list[int] | None:
    """The states of the parser behind the tokens with which a statement begins; None where it cannot take them."""
    stop = syntax.Token("NOTHING", "", chunk[-1].end if chunk else 0)
    try:
        _run(source, [*chunk, stop])
    except nodes.Misshapen:
        return None
    except _Stuck as met:
        return met.states if met.at == len(chunk) else None
    return None


def _node(source: Source, chunk: Chunk) -> syntax.Node | nodes.Misshapen | _Stuck | None:
    """The node of a chunk, or what stopped the parser; None where the chunk is not to be parsed at all."""
    if not chunk.closed or chunk.deepest is not None:
        return None
    try:
        return _run(source, chunk.tokens)
    except (nodes.Misshapen, _Stuck) as met:
        return met


def _slip(source: Source, chunk: Chunk, fault: nodes.Misshapen | _Stuck | None) -> tuple[Finding, int | None]:
    """What is wrong with a chunk, and where reading is to start again if not behind the chunk."""
    from rigspec.language import slips  # words for what most files never need

    if not chunk.closed:
        return slips.unclosed(source, chunk.tokens), chunk.restart
    if isinstance(fault, _Stuck):
        return slips.stuck(source, chunk.tokens, fault.at, fault.states), chunk.restart
    if isinstance(fault, nodes.Misshapen):
        return slips.misshapen(source, chunk.tokens, fault), None
    assert chunk.deepest is not None
    return slips.too_deep(source, chunk.tokens, chunk.deepest), None


def _left_open(source: Source, chunk: Chunk, until: int) -> Finding | None:
    """The bracket that is still open where another statement seems to start: the slip behind it has this cause."""
    from rigspec.language import slips

    before = [token for token in chunk.tokens if token.start < until]
    return slips.unclosed(source, before) if slips.still_open(before) else None


def _statement(
    source: Source, stream: list[syntax.Token], position: int
) -> tuple[syntax.Statement, list[Finding], int]:
    """The statement that begins at a position of a stream, what is wrong with it, and where the next one begins."""
    chunk = cut(stream, position)
    made = _node(source, chunk)
    slip, end, node = None, chunk.end, None
    if made is None or isinstance(made, nodes.Misshapen | _Stuck):
        slip, restart = _slip(source, chunk, made)
        if restart is not None and (not chunk.closed or slip.span.start >= stream[restart].start):
            end = restart
            slip = _left_open(source, chunk, stream[restart].start) or slip
    else:
        node = made
    taken = tuple(token for token in chunk.tokens if token.start < stream[end].start)
    slips = [] if slip is None else [slip]
    if isinstance(made, _Stuck) and end == chunk.end:
        slips += _later_slips(source, chunk, made)
    return syntax.Statement(node, taken, _comment_behind(stream, end)), slips, end


def _later_slips(source: Source, chunk: Chunk, fault: _Stuck) -> list[Finding]:
    """What else is wrong in a statement whose settings have a slip: it is read again without the setting with it."""
    from rigspec.language import slips

    tokens = chunk.tokens
    found: list[Finding] = []
    while len(found) < MOST_MORE:
        rest = slips.without_setting(tokens, fault.at)
        if rest is None:
            break
        tokens = rest
        try:
            _run(source, tokens)
            break
        except nodes.Misshapen as met:
            found.append(slips.misshapen(source, tokens, met))
            break
        except _Stuck as met:
            fault = met
            if fault.at >= len(tokens):
                break
            found.append(slips.stuck(source, tokens, fault.at, fault.states))
    return found


def parse(source: Source) -> syntax.File:
    """All statements of a text, each parsed alone, with a finding for each slip."""
    stream = tokens(source.text)
    statements: list[syntax.Statement] = []
    found: list[Finding] = []
    position = 0
    while stream[position].kind != "END":
        statement, slips, position = _statement(source, stream, position)
        statements.append(statement)
        found += slips
    return syntax.File(source, tuple(statements), stream[position].comments, tuple(found))


def _comment_behind(stream: list[syntax.Token], position: int) -> syntax.Comment | None:
    """Take the comment on the statement's own last line away from the token that follows."""
    from attrs import evolve

    comments = stream[position].comments
    if not comments or comments[0].own_line:
        return None
    stream[position] = evolve(stream[position], comments=comments[1:])
    return comments[0]
