"""Offsets, lines and columns: counted in code points from 1 for people, in UTF-16 units from 0 for editors."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigspec.language.reader import parse
from rigspec.text.source import Source

# Only a line feed ends a line here: the other characters are those that str.splitlines would take for ends as well.
PIECES = st.sampled_from(
    ["a", "->", " ", "\n", "\r\n", "\t", "Ω", "😀", "e\u0301", "\u2028", "\x85", "\x0c", "\ufeff", "#", '"', "{"]
)
TEXTS = st.lists(PIECES, max_size=40).map("".join)


@given(TEXTS)
def test_every_offset_is_its_line_and_column(text: str) -> None:
    source = Source("t.rig", text)
    for offset in range(len(text) + 1):
        before = text[:offset]
        line, column = before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1
        assert source.position(offset) == (line, column)
        units = len(before.rpartition("\n")[2].encode("utf-16-le")) // 2
        assert source.position_utf16(offset) == (line - 1, units)
        assert source.line_text(line) == text.split("\n")[line - 1].rstrip("\r")


@given(TEXTS)
def test_statements_and_slips_lie_in_the_text_where_they_say(text: str) -> None:
    source = Source("t.rig", text)
    file = parse(source)
    end = 0
    for statement in file.statements:
        for token in statement.tokens:
            if token.text:
                assert text[token.start : token.end] == token.text
                assert token.start >= end
                end = token.end
            for comment in token.comments:
                assert text[comment.start :].startswith(comment.text)
    for slip in file.slips:
        assert 0 <= slip.span.start <= slip.span.end <= len(text)


@pytest.mark.parametrize(
    ("text", "line", "column", "units"),
    [
        ("amp a is k )", 1, 12, (0, 11)),
        ("\ufeffamp a is k )", 1, 13, (0, 12)),
        ("# 😀\r\namp a is k )\r\n", 2, 12, (1, 11)),
        ('rig "😀" ) # Ω', 1, 9, (0, 9)),
        ("amp a is k\n\n\n  amp b is k )", 4, 14, (3, 13)),
    ],
)
def test_a_slip_is_told_at_its_place(text: str, line: int, column: int, units: tuple[int, int]) -> None:
    (slip,) = parse(Source("t.rig", text)).slips
    assert (slip.span.line, slip.span.column) == (line, column)
    assert slip.span.source.position_utf16(slip.span.start) == units


def test_a_byte_order_mark_is_no_part_of_the_first_statement() -> None:
    file = parse(Source("t.rig", "\ufeffamp a is k {\namp b is k"))
    assert [slip.span.line for slip in file.slips] == [1]
    assert [statement.node is None for statement in file.statements] == [True, False]
