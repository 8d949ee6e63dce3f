"""Offsets and an editor's places, held against Python's own encoders."""

from __future__ import annotations

import re

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rigspec.server.lines import Lines, changed

CODECS = {"utf-8": ("utf-8", 1), "utf-16": ("utf-16-le", 2), "utf-32": ("utf-32-le", 4)}
TEXTS = st.text(st.sampled_from("ab \n\r\t\u03a9\u00b5\u00b2\U0001f50a\u0301\u2028\x0b"), max_size=40)


def units(text: str, encoding: str) -> int:
    name, size = CODECS[encoding]
    return len(text.encode(name)) // size


@given(TEXTS, st.sampled_from(sorted(CODECS)), st.data())
def test_a_place_is_what_the_encoder_says_and_leads_back(text: str, encoding: str, data: st.DataObject) -> None:
    offset = data.draw(st.integers(0, len(text)))
    lines = Lines(text, encoding)
    ends = [match.end() for match in re.finditer("\r\n|\n|\r", text) if match.end() <= offset]
    start = ends[-1] if ends else 0
    assert lines.position(offset) == (len(ends), units(text[start:offset], encoding))
    back = lines.offset(*lines.position(offset))
    between = text[offset - 1 : offset + 1] == "\r\n"  # no place in an editor
    assert back == (offset - 1 if between else offset)


@pytest.mark.parametrize(
    ("encoding", "column", "offset"),
    [
        ("utf-8", 2, 1),  # in the middle of an omega's two bytes: before it
        ("utf-8", 3, 2),
        ("utf-16", 3, 2),  # in the middle of a surrogate pair: before it
        ("utf-16", 4, 3),
        ("utf-32", 3, 3),
        ("utf-32", 99, 4),
        ("utf-8", 99, 4),
    ],
)
def test_a_place_inside_a_character_is_before_it_and_one_behind_the_line_its_end(
    encoding: str, column: int, offset: int
) -> None:
    assert Lines("a\u03a9\U0001f50ab\nc", encoding).offset(0, column) == offset


def test_a_line_beyond_the_text_is_its_end() -> None:
    assert Lines("a\nb", "utf-16").offset(7, 0) == 3


@given(TEXTS, st.sampled_from(sorted(CODECS)), st.data())
def test_a_change_replaces_what_lies_between_two_places(text: str, encoding: str, data: st.DataObject) -> None:
    start = data.draw(st.integers(0, len(text)))
    end = data.draw(st.integers(start, len(text)))
    for offset in (start, end):
        if text[offset - 1 : offset + 1] == "\r\n":
            return
    lines = Lines(text, encoding)
    new = changed(lines, lines.position(start), lines.position(end), "\U0001f50a\n")
    assert new == text[:start] + "\U0001f50a\n" + text[end:]
