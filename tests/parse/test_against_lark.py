"""Our reader of tables accepts exactly what lark's own LALR parser, built from the grammar, accepts.

lark is handed the same tokens one by one. A word of the language is a keyword where its parser can take that keyword,
and a name elsewhere: the grammar's own comment says so, and lark's ``accepts`` decides where that is.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from checking import laws
from hypothesis import given
from hypothesis import strategies as st
from lark import Lark, Token, UnexpectedInput
from model import Rig
from rigs import rigs

from rigspec.language.build import grammar_text
from rigspec.language.chunk import STATEMENT_WORDS, cut
from rigspec.language.reader import parse
from rigspec.language.tokens import tokens
from rigspec.text.source import Source

LARK: Any = Lark(grammar_text(), parser="lalr", lexer="basic")
KEYWORDS = {
    terminal.pattern.value: terminal.name
    for terminal in LARK.terminals
    if terminal.pattern.type == "str" and terminal.pattern.value.isalpha()
}
SAMPLES = sorted((Path(__file__).parents[2] / "samples").rglob("*.rig"))


def lark_accepts(stream: list[tuple[str, str]]) -> bool:
    """Does lark take these tokens (kind and text) as one statement?"""
    parser = LARK.parse_interactive("")
    try:
        for kind, text in stream:
            keyword = KEYWORDS.get(text, "") if kind == "NAME" else ""
            if keyword in parser.choices() and keyword in parser.accepts():
                kind = keyword
            parser.feed_token(Token(kind, text))
        parser.feed_eof()
    except UnexpectedInput:
        return False
    return True


def lark_reads(text: str) -> list[bool]:
    """For every statement of a text, found by our chunker, whether lark takes it."""
    stream, position, found = tokens(text), 0, []
    while stream[position].kind != "END":
        chunk = cut(stream, position)
        found.append(lark_accepts([(token.kind, token.text) for token in chunk.tokens]))
        position = chunk.end
    return found


def we_read(text: str) -> list[bool]:
    return [statement.node is not None for statement in parse(Source("test.rig", text)).statements]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_lark_reads_the_samples_as_we_do(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert lark_reads(text) == we_read(text)
    assert all(we_read(text))


@given(rigs())
@laws(12)
def test_lark_reads_whole_rigs_as_we_do(rig: Rig) -> None:
    assert lark_reads(rig.text) == we_read(rig.text) == [True] * len(rig.statements())


def test_the_words_that_begin_statements_are_those_that_lark_takes_first() -> None:
    first = LARK.parse_interactive("").accepts()
    assert {word for word, terminal in KEYWORDS.items() if terminal in first} == STATEMENT_WORDS


# A random row of tokens: mostly from a piece of a real statement, so that it comes far before it breaks.
PIECES = [
    'rig "t" { mains 230 V 50 Hz }',
    "stock speaker k { low { impedance 8 ohm ± 10 % } ; band 35 Hz to 95 Hz , 3 }",
    "mains a from b { breaker 16 A C }",
    "amp a [1..2] is k { bridge 1+2 }",
    "lead l is k 25 m",
    "mix m : a -3 dB , b",
    "spare sub [5] , bass .2",
    "a .1 -> lead 2.5 mm2 15 m -> series ( b , c -> invert , parallel ( d ) ) -> pad 3 dB -> delay 3 ms",
    "s [*] .low linked 2.5 mm2 2 m",
    "expect load of a .1 at b between c , d in 35 Hz to 95 Hz >= 8 ohm",
    "measured load of a .1 4.2 ohm",
    'allow rule on a because "r"',
    "place use group rack stereo panel split processor speaker feed is from on at in of to because linked",
]
TOKENS = [(token.kind, token.text) for piece in PIECES for token in tokens(piece)[:-1]]


@st.composite
def token_rows(draw: st.DrawFn) -> list[tuple[str, str]]:
    piece = [(token.kind, token.text) for token in tokens(draw(st.sampled_from(PIECES)))[:-1]]
    row = piece[: draw(st.integers(0, len(piece)))]
    row += draw(st.lists(st.sampled_from(TOKENS), max_size=4))
    if draw(st.booleans()):
        rest = [(token.kind, token.text) for token in tokens(draw(st.sampled_from(PIECES)))[:-1]]
        row += rest[draw(st.integers(0, len(rest))) :]
    for _ in range(draw(st.integers(0, 2))):
        if row:
            del row[draw(st.integers(0, len(row) - 1))]
    return row


@given(token_rows())
@laws(1500)
def test_lark_and_we_take_the_same_rows_of_tokens(row: list[tuple[str, str]]) -> None:
    text = " ".join(text for _, text in row)
    stream = tokens(text)
    if [(token.kind, token.text) for token in stream[:-1]] != row or not row:
        return  # side by side some of these would be other tokens
    chunk = cut(stream, 0)
    if not chunk.closed:  # a bracket that stays open is told without parsing, and lark does not take it either
        assert not lark_accepts([(token.kind, token.text) for token in chunk.tokens])
        return
    assert we_read(text) == [lark_accepts([(token.kind, token.text) for token in chunk.tokens])]
