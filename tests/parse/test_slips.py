"""One slip, one finding: it stands at its own statement, and hides or changes no other."""

from __future__ import annotations

import pytest
from checking import laws
from hypothesis import assume, given
from hypothesis import strategies as st
from model import Rig
from rigs import rigs
from test_against_lark import lark_reads

from rigspec.language.chunk import STATEMENT_WORDS
from rigspec.language.reader import parse
from rigspec.language.syntax import File, Token
from rigspec.language.tokens import tokens
from rigspec.text.source import Source

SLIPS = (
    "amp",
    "amp x is",
    "amp x is k {",
    "amp x is k }",
    "amp x is k { gain 3 dB",
    "amp x is k { gain 3 dB } }",
    "amp x is k { supply { shared }",
    "amp x is k @ 3",
    "amps x is k",
    "lead",
    "speaker x[1..] is k",
    "speaker x[4..1] is k",
    "speaker x[1 is k",
    "x -> lead 2,5 mm2 15 m -> y",
    "x -> pad 3 dB 4 dB -> y",
    "x -> series(a, b",
    "x -> series()",
    "x -> parallel(a, b)) -> c",
    "x → y",
    "x - > y",
    "x ->",
    "x -> -> y",
    "series(a, b) -> c",
    "invert",
    "mains x from { breaker 16 A C }",
    "group g: a,",
    "group g a, b",
    "group g: a;; b",
    "expect load of >= 4 ohm",
    "expect load of a 4 ohm",
    "expect of a >= 4 ohm",
    "measured load a 4 ohm",
    "allow r on x because",
    'allow r on x because "open',
    "use “stock.rig”",
    "rig 'title' { air 3 degC }",
    "rig Lantern",
    "stock speaker",
    "stock speaker k { impedance: 8 ohm }",
    "25 m",
    "}",
    ")",
    "?!",
    "// a comment",
)


def read(text: str) -> File:
    return parse(Source("test.rig", text))


def stands_alone(following: str) -> bool:
    """Is this sure to be a statement of its own behind an open bracket? A bare name with braces may be a setting."""
    stream = tokens(following)
    kinds = [token.kind for token in stream]
    return stream[0].text in STATEMENT_WORDS or kinds[1] in ("INDEX", "PORT") or "ARROW" in kinds


def depth(text: str) -> int:
    """How many brackets a text leaves open; below zero, how many it closes that it has not opened."""
    kinds = [token.kind for token in tokens(text)]
    return sum((kind in ("LBRACE", "LPAR")) - (kind in ("RBRACE", "RPAR")) for kind in kinds)


def leaves_open(text: str) -> bool:
    return depth(text) > 0 or tokens(text)[-2].kind in ("ARROW", "COMMA", "COLON")


def assert_only_these_slip(lines: list[tuple[str, bool]]) -> None:
    """Statements, each with whether it has a slip, one after the other: each slip is found once, all others stay."""
    text, places, at = "", [], 1
    for line, wrong in lines:
        text += line + "\n"
        if wrong:
            places.append((at, at + line.count("\n")))
        at += 1 + line.count("\n")
    whole = [
        node for line, wrong in lines if not wrong for node in (statement.node for statement in read(line).statements)
    ]
    file = read(text)
    assert [slip.rule for slip in file.slips] == ["syntax"] * len(places), text
    for slip, (first, last) in zip(file.slips, places, strict=True):
        assert first <= slip.span.line <= last, text
    assert [statement.node for statement in file.statements if statement.node is not None] == whole, text


@pytest.mark.parametrize("slip", SLIPS)
def test_a_slip_alone(slip: str) -> None:
    assert_only_these_slip([("amp first is k", False), (slip, True), ("x -> y", False), ("feed last", False)])


def test_a_brace_too_few_and_later_one_too_many() -> None:
    assert_only_these_slip([("amp a is k {", True), ("rack r: x", False), ("amp b is k }", True), ("feed f", False)])


def test_settings_of_a_member_behind_an_open_brace_are_kept() -> None:
    lines = [("amp a is k {", True), ("bass.2 { inverted }", False), ("sub[2] { tap 6 W }", False), ("x ->", True)]
    assert_only_these_slip([*lines, ("sub[1..2].low { inverted }", False)])


@given(rigs(), st.data())
@laws(50)
def test_slips_among_statements_are_found_each_once_and_touch_no_other(rig: Rig, data: st.DataObject) -> None:
    lines = [(statement.text, False) for statement in rig.statements()]
    one_way = data.draw(st.sampled_from((1, -1)))  # a bracket too few and, later, one too many can make a block
    for slip in data.draw(st.lists(st.sampled_from([slip for slip in SLIPS if depth(slip) != one_way]), max_size=8)):
        lines.insert(data.draw(st.integers(0, len(lines))), (slip, True))
    for number, (line, _) in enumerate(lines[:-1]):
        following = lines[number + 1][0]
        assume(not leaves_open(line) or stands_alone(following))
    assert_only_these_slip(lines)


@given(rigs(), st.data())
@laws(50)
def test_a_token_left_out_of_some_statements_slips_in_these_alone(rig: Rig, data: st.DataObject) -> None:
    lines = [(statement.text, False) for statement in rig.statements()]
    one_way = data.draw(st.sampled_from((1, -1)))  # as above
    for number in data.draw(st.sets(st.integers(0, len(lines) - 1), max_size=5)):
        line = lines[number][0]
        broken = without(line, data.draw(st.sampled_from(tokens(line)[:-1])))
        alone = tokens(broken)
        following = lines[number + 1][0] if number + 1 < len(lines) else "feed last"
        if alone[0].kind in ("END", "ARROW", "COMMA") or all(lark_reads(broken)) or depth(broken) == one_way:
            continue  # nothing is left, or what is left goes on with the line before, or is right as well
        if not leaves_open(broken) or stands_alone(following):
            lines[number] = (broken, True)
    assert_only_these_slip(lines)


def without(text: str, token: Token) -> str:
    return f"{text[: token.start]} {text[token.end :]}"


@given(rigs(), st.data())
@laws(50)
def test_a_stray_character_anywhere_slips_in_its_statement_alone(rig: Rig, data: st.DataObject) -> None:
    lines = [(statement.text, False) for statement in rig.statements()]
    for number in data.draw(st.sets(st.integers(0, len(lines) - 1), max_size=5)):
        line = lines[number][0]
        before = data.draw(st.sampled_from(tokens(line)[:-1]))
        stray = data.draw(st.sampled_from(["@", "”", "!", "→", "\\", "'", "\0", "€"]))
        lines[number] = (f"{line[: before.start]} {stray} {line[before.start :]}", True)
    assert_only_these_slip(lines)
