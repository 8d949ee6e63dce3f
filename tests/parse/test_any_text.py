"""Any text at all gives a file and a report: no exception, nothing thrown away, and no waiting for it."""

from __future__ import annotations

from time import perf_counter

import pytest
from checking import checked, laws
from hypothesis import given
from hypothesis import strategies as st

from rigspec.language.format import Unprovable, canonical
from rigspec.language.reader import parse
from rigspec.language.tokens import tokens
from rigspec.text.source import Source

WORDS = (
    "rig use stock feed stereo mix split processor amp speaker lead panel rack spare mains place group expect measured "
    'allow is from invert pad delay series parallel linked of at between in on because to { } ( ) , : ; -> # " \n \\ x '
    "x.1 y[1..2] y[*] .1+2 1+2 8 ohm 5 m 2.5 mm2 1/0 AWG 1/8 % ± +/- >= 3 dB -3 dBu impedance rated 600 W continuous k"
)
SOUP = st.lists(st.sampled_from(WORDS.split(" ")), max_size=60).map(" ".join)


def assert_read(text: str) -> None:
    file = parse(Source("t.rig", text))
    assert (len(file.slips) > 0) == any(statement.node is None for statement in file.statements)
    assert len(file.slips) == sum(statement.node is None for statement in file.statements)
    kept = "".join("".join(comment.text for comment in token.comments) + token.text for token in tokens(text))
    assert "".join(kept.split()) == "".join(text.removeprefix("\ufeff").split())
    report = checked(text)
    assert [finding.rule for finding in report.findings].count("syntax") == len(file.slips)
    try:
        formatted = canonical(Source("t.rig", text))
    except Unprovable:
        assert file.slips, f"no slip, and yet no canonical form: {text!r}"
    else:
        assert canonical(Source("t.rig", formatted)) == formatted


@given(st.text())
@laws(300)
def test_any_text(text: str) -> None:
    assert_read(text)


@given(st.binary(max_size=200))
@laws(200)
def test_any_bytes_as_characters(data: bytes) -> None:
    assert_read(data.decode("latin-1"))


@given(SOUP)
@laws(500)
def test_any_row_of_the_languages_own_words(text: str) -> None:
    assert_read(text)


MANY = 10_000
HARD = {
    "round brackets": "(" * MANY,
    "braces": "{" * MANY,
    "closing brackets": ")}" * MANY,
    "square brackets": "[" * 10 * MANY,
    "quotes": '"' * 10 * MANY,
    "separators": ";" * 10 * MANY,
    "separators in braces": f"amp a is k {{{';' * 10 * MANY}}}",
    "arrows": "->" * MANY,
    "a long path": "a" + " -> b" * MANY,
    "series in series": f"x -> {'series(' * MANY}b{')' * MANY}",
    "series never closed": "x -> " + "series(" * MANY,
    "a wide parallel": f"x -> parallel({'b, ' * MANY}b)",
    "block in block": f"stock speaker k {'{ low ' * MANY}{'}' * MANY}",
    "blocks never closed": "a { b " * MANY,
    "braces never closed on many lines": "amp a {\n" * MANY,
    "brackets never closed on many lines": "a -> parallel(\n" * MANY,
    "members of members": f"a{'.1' * MANY} -> b",
    "a list": f"group g: {'a, ' * MANY}a",
    "many members": f"speaker a[{'1,' * MANY}1] is k",
    "the most members": "speaker a[1..999999999] is k\na[1..999999999] -> b",
    "a megabyte of name": "a" * 1_000_000,
    "a megabyte of names": "a " * 500_000,
    "a megabyte of digits": "x -> lead " + "9" * 1_000_000 + " m",
    "a megabyte of blanks": " " * 1_000_000,
    "a megabyte of comment": "#" * 1_000_000,
    "a megabyte of line ends": "\r\n" * 500_000,
    "a megabyte of strays": "\0" * 1_000_000,
    "endless numbers": f"amp a is k {{ bridge {'1' * MANY}+2 }}\nx[{'9' * MANY}] -> y.{'9' * MANY}+1",
    "figures": f"a {{ b {'1 m ' * MANY}}}",
    "names given again": "speaker a is k\n" * MANY,
    "unknown words": "ammp a is k\n" * 1000,
    "a file that is not there, again and again": 'use "x"\n' * MANY,
    "numbers out of reach": "x -> lead 1e999 m 1e-999 mm2 -> y\nx -> pad 1/0 dB -> y",
}


@pytest.mark.parametrize("text", HARD.values(), ids=list(HARD))
def test_hard_texts_end_well_and_soon(text: str) -> None:
    before = perf_counter()
    report = checked(text)
    # Seconds, where what grows with the square of the length takes minutes to hours: no measure of speed.
    assert perf_counter() - before < 15
    assert {finding.span.source.text for finding in report.findings} <= {text}


def test_nesting_is_bounded_and_the_bound_is_told() -> None:
    for text in (HARD["series in series"], HARD["block in block"]):
        report = checked(text)
        assert len(report.findings) == 1
        assert "deep" in report.findings[0].message or "nest" in report.findings[0].message
