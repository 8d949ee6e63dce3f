"""What an engineer reads at the terminal."""

import re
import unicodedata
from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from show_examples import CLASH, FINDINGS, LOSS, UNUSED, any_findings

from rigspec.rules import RULES
from rigspec.show.brief import brief
from rigspec.show.excerpt import marks_of, rows
from rigspec.show.line import lines
from rigspec.show.people import people, summary
from rigspec.text.finding import Finding, Label
from rigspec.text.source import Source, Span
from tests.rules.rig_checks import check_example

SGR = re.compile(r"\x1b\[[0-9;]*m")


def test_the_golden_page() -> None:
    golden = Path(__file__).with_name("golden_people.txt").read_text(encoding="utf-8")
    assert f"{people(FINDINGS, colour=False)}\n{summary(FINDINGS, 3)}\n" == golden


def test_summary_counts_and_speaks_english() -> None:
    assert summary([], 4) == "no findings in 4 files"
    assert summary([LOSS, UNUSED, CLASH, CLASH, CLASH, UNUSED], 4) == "3 errors, 1 warning, 2 advice in 4 files"
    assert summary([CLASH], 1) == "1 error in 1 file"


def test_one_line_each() -> None:
    assert lines([LOSS, Finding("b[b]", LOSS.span, "two\r\nlines")]) == (
        "parade/bandstand 2.rig:11:34: warning: the lead to sub[1] loses 0.62 dB [lead-loss-high]\n"
        "parade/bandstand 2.rig:11:34: error: two  lines [b[b]]\n"
    )


def excerpt(text: str, start: int, end: int, *, related: tuple[int, int] | None = None, width: int = 60) -> str:
    source = Source("a.rig", text)
    labels = (Label(Span(source, *related), "there"),) if related else ()
    block = people([Finding("r", Span(source, start, end), "m", "here", labels)], colour=False, width=width)
    return block.removeprefix(block.split("\n")[0])


def test_a_marker_stands_under_what_is_wide_unseen_or_made_of_tabs() -> None:
    text = "\tΩ🔊 喇叭\u0301 \x1b[2J\u202e x"
    assert excerpt(text, text.index("喇"), text.index(" \x1b"), related=(text.index("x"), len(text))) == (
        """
        1 |     Ω🔊 喇叭\u0301 \\x1b[2J\\u202e x
          |         ^^^^ here
          |                            ~ there
"""
    )


@pytest.mark.parametrize(
    ("text", "at", "expected"),
    [
        ("ab\n", 1, "\n        1 | ab\n          |  ^ here\n"),
        ("ab\r\n", 2, "\n        1 | ab\n          |   ^ here\n"),
        ("ab\n", 3, "\n        2 |\n          | ^ here\n"),
        ("ab", 2, "\n        1 | ab\n          |   ^ here\n"),
        ("", 0, "\n          | here\n"),
    ],
)
def test_an_empty_place_has_one_marker_even_where_the_file_ends(text: str, at: int, expected: str) -> None:
    assert excerpt(text, at, at) == expected


def test_a_place_over_several_lines_shows_the_first_and_the_last() -> None:
    assert excerpt("amp {\n a\n b\n  }\n", 4, len("amp {\n a\n b\n  }\n")) == (
        """
        1 | amp {
          |     ^
      ... |
        4 |   }
          |   ^ here
"""
    )


def test_a_long_line_is_cropped_around_each_place() -> None:
    text = "x" * 500 + "HERE" + "y" * 500 + "THERE"
    assert excerpt(text, 500, 504, related=(1004, 1009), width=40) == (
        """
        1 | ...xxxxxxxxxHEREyyyyyyyyy...
          |             ^^^^ here
        1 | ...yyyyyyyyyyyyyyyyyTHERE
          |                     ~~~~~
          |                     there
"""
    )


# What one character shows as on a terminal, a NUL for the second cell of a wide one: widths by Unicode Standard
# Annex 11 (W and F are wide), escapes as Python writes them, variation selectors left out.
WIDE = {"喇": "喇\0", "🔊": "🔊\0", "Ａ": "Ａ\0"}
PICTURES = WIDE | {"a": "a", "Ω": "Ω", "\t": "    ", "\x9b": r"\x9b", "\u2066": r"\u2066", "\ufe0f": ""}


@given(st.text(st.sampled_from(list(PICTURES)), min_size=1, max_size=60), st.data(), st.integers(20, 100))
def test_marked_cells_are_the_cells_of_the_place(text: str, data: st.DataObject, room: int) -> None:
    start = data.draw(st.integers(0, len(text) - 1))
    end = data.draw(st.integers(start + 1, len(text)))
    source = Source("a.rig", text)
    shown, marker = rows(source, list(marks_of(Span(source, start, end), "", "^")), room)
    cells = "".join(WIDE.get(char, char) for char in shown.body)
    assert max(len(cells), len(marker.body.rstrip())) <= room

    expected = "".join(PICTURES[char] for char in text[start:end])
    first, length = marker.body.index("^"), marker.body.count("^")
    marked = cells[first : first + length]
    if expected:
        assert expected.startswith(marked)
        assert marked == expected or len(expected) > room - 6 - 6  # cut only where the place itself has no room


@given(any_findings)
def test_prose_keeps_to_the_width(findings: list[Finding]) -> None:
    spaced = "many short words that have to be broken somewhere 喇叭 " * 5
    findings = [Finding("r", f.span, "m", spaced, help=spaced, reason=spaced, assumes=(spaced,)) for f in findings]
    for line in people(findings, colour=False, width=50).splitlines():
        bases = [char for char in line if not unicodedata.combining(char)]
        wide = [char for char in bases if unicodedata.east_asian_width(char) in ("W", "F")]
        assert len(bases) + len(wide) <= 50 or line.endswith("error r: m")


@given(any_findings)
def test_nothing_from_a_file_acts_on_the_terminal(findings: list[Finding]) -> None:
    text = people(findings, colour=False) + lines(findings)
    assert {unicodedata.category(char) for char in text.replace("\n", "")}.isdisjoint({"Cc", "Cf", "Cs", "Zl", "Zp"})
    assert all(line == line.rstrip(" ") for line in people(findings, colour=False).split("\n") if " | " in line)
    assert len(lines(findings).splitlines()) == len(findings)


@given(any_findings)
@example(list(FINDINGS))
def test_colour_adds_nothing_but_colour(findings: list[Finding]) -> None:
    coloured = people(findings, colour=True)
    assert SGR.sub("", coloured) == people(findings, colour=False)
    assert coloured.count("\x1b[0m") * 2 == len(SGR.findall(coloured))


def test_where_a_value_was_seen_is_told_with_the_rule_and_not_at_a_finding() -> None:
    found = [finding for rule in RULES.values() for finding in check_example(rule.bad).findings]
    assert any("from memory" in finding.authority for finding in found), "programs are told"
    assert "from memory" not in people(found, colour=False) + brief(found, colour=False)
    assert "ISO 8528-1" in people(found, colour=False)
