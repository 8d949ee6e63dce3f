"""What holds for the tables of every rig, in every form, and for the working of every figure as it is told."""

from __future__ import annotations

import csv
import io
import json
import re

import pytest
from checking import checked, laws
from hypothesis import given
from hypothesis import strategies as st
from model import Rig
from rigs import rigs

from rigspec.check import Report
from rigspec.show.answers import answer
from rigspec.show.cells import cell_width
from rigspec.show.figures import WIDTH, figures_json, figures_text
from rigspec.show.figures_csv import LONG_HEAD, figures_csv
from rigspec.show.overview import overview
from rigspec.show.people import people
from rigspec.show.tables import QUESTIONS
from rigspec.show.why import filled, nodes_of, why_json, why_text
from rigspec.text.source import Source
from rigspec.why import everything

# What a name may be made to look like: short, long, wide on a terminal, with joints to break at and without.
STRETCHES = st.sampled_from(
    ("", "_" * 40, "喇叭" * 30, "x" * 150, "-front-of-house-left-hand-side" * 4, "e\u0301" * 30)
)
_name = re.compile(r"\b(sub|rackamp|loom|wall|feed|wedge|lawn|house|stage|xo|y|group|rack)(\d{3})\b")


def stretched(rig: Rig, by: str) -> Report:
    return checked(_name.sub(lambda found: f"{found[1]}{by}{found[2]}", rig.text))


@given(rigs(words=False), STRETCHES)
@laws(60)
def test_no_line_is_wider_than_a_hundred_cells(rig: Rig, by: str) -> None:
    report = stretched(rig, by)
    for words in ((), *[(word,) for word in QUESTIONS]):
        for line in figures_text(report, words).splitlines():
            assert cell_width(line) <= WIDTH, line
            assert line == line.rstrip()


@given(rigs(words=False), STRETCHES)
@laws(80)
def test_every_rig_fits_on_one_screen(rig: Rig, by: str) -> None:
    lines = overview(stretched(rig, by)).splitlines()
    assert len(lines) <= 60
    for line in lines:
        assert cell_width(line) <= WIDTH, line
        assert line == line.rstrip()


@given(rigs(words=False), STRETCHES)
@laws(40)
def test_programs_and_spreadsheets_are_told_the_same(rig: Rig, by: str) -> None:
    report = stretched(rig, by)
    told = json.loads(figures_json(report), parse_constant=lambda what: pytest.fail(f"{what} is no JSON"))
    assert list(told["tables"]) == list(QUESTIONS)
    long = list(csv.reader(io.StringIO(figures_csv(report))))
    assert long[0] == list(LONG_HEAD)
    figures = {(table, thing, figure) for table, thing, figure, _, _ in long[1:]}
    assert len(figures) == len(long) - 1, "every figure has a name of its own"
    for word, rows in told["tables"].items():
        assert sum(line[0] == word for line in long) == sum(
            value is not None for row in rows for value in list(row.values())[1:]
        )
        as_one = list(csv.DictReader(io.StringIO(figures_csv(report, [word]))))
        for row, line in zip(rows, as_one, strict=True):
            for key, value in row.items():
                if isinstance(value, float):
                    assert float(line[key]) == value


@given(rigs())
@laws(25)
def test_how_figures_came_about_is_told_once_and_whole(rig: Rig) -> None:
    figures = checked(rig.text).figures
    for key in [*figures.channels, *figures.boxes][:3]:
        asked = [(word, key, step) for word, step in everything(figures, key)]
        text, nodes = why_text(asked), nodes_of([step for _, _, step in asked])[0]
        words = " ".join(text.split())
        for node in nodes:
            assert " ".join(node.step.name.split()) in words
        for line in text.splitlines():
            assert cell_width(line) <= WIDTH or len(line.split()) < 5, line
        labels = re.findall(r"^\s*(?:- )?(\[\d+\]) ", text, re.MULTILINE)
        assert len(set(labels)) == len(labels)
        assert set(re.findall(r", see (\[\d+\])", words)) <= set(labels)
        told = json.loads(why_json("test.rig", asked))
        assert len(told["steps"]) == len(nodes)
        for step in told["steps"]:
            assert all(part["step"] < step["step"] for part in step["rests_on"])
            symbols = [part["symbol"] for part in step["rests_on"] if part["symbol"]]
            assert len(set(symbols)) == len(symbols)


def test_a_formula_is_filled_with_numbers() -> None:
    figures = checked(
        "stock amp a { channels 1; rated 400 W at 4 ohm; gain 29 dB }\nstock speaker s { impedance 8 ohm }\n"
        "amp a is a\nspeaker s is s\na.1 -> lead 2.5 mm2 10 m -> s\n"
    ).figures
    step = dict(everything(figures, "s"))["loss"]
    symbols = {each.symbol: each for each in step.rests_on}
    assert filled(step.formula, symbols) == "max(0, 20 * log10(1 / 0.98044))"


PIECES = st.sampled_from(
    (
        *("load", "loss", "difference", "level", "nonsense", "of", "at", "between", "in", ",", " ", ".", "[*]", "[1]"),
        *("[1..2]", ".*", ".1", ".1+2", ".low", "=", "normal", "4 ohm", "35 Hz to 95 Hz", "#", "{", "}", "\n", '"a"'),
        *("a", "s", "g", "r", "mono", "house", "f", "lawn", "->", "linked", ";", "\0", "\ud800", "ö"),
    )
)
ASKED_OF = """\
rig "x" { mains 230 V 50 Hz }
stock amp a { channels 2; rated 400 W at 4 ohm; gain 29 dB }
stock speaker s { impedance 8 ohm }
feed f { level 4 dBu }
amp a is a
speaker s[1..2] is s
mains house { supply 230 V }
place lawn { at 0 m, 1 m }
mix mono: f
group g: s[*]
rack r: a
f -> a.1 -> lead 2.5 mm2 10 m -> s[1..2] linked 2.5 mm2 1 m
"""


@given(st.lists(PIECES, max_size=8).map(" ".join) | st.lists(PIECES, max_size=8).map("".join) | st.text(max_size=30))
@laws(400)
def test_any_question_has_an_answer_or_is_told_what_is_wrong_with_it(text: str) -> None:
    question = Source("--why", text)
    found = answer(checked(ASKED_OF), question)
    assert found.known or found.lacking
    assert all(step.name for _, _, step in found.known)
    for finding in found.lacking:
        assert finding.message
        assert finding.fix is None
        assert 0 <= finding.span.start <= finding.span.end <= len(finding.span.source.text)
    people(found.lacking, colour=False)
