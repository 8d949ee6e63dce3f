"""What editors colour is what the checker reads: their lists of words are made from its own, and never by hand."""

from __future__ import annotations

import json
from xml.etree import ElementTree

import pytest

from rigspec.language.chunk import STATEMENT_WORDS
from rigspec.language.settings import TABLES
from rigspec.make import ROOT
from rigspec.show.editor_words import FRESH, names_in, word_lists
from rigspec.text.units import UNITS


def test_the_lists_hold_what_can_be_written() -> None:
    lists = word_lists()
    assert set(lists["statement"]) == set(STATEMENT_WORDS)
    assert {"feed", "amp", "stereo"} <= set(lists["naming"])
    assert not {"rig", "use", "expect", "spare"} & set(lists["naming"])
    assert set(lists["setting"]) == {word for table in TABLES.values() for word in table}
    assert set(lists["unit"]) == {spelling for unit in UNITS for spelling in unit.spellings}
    assert {"invert", "pad", "lead", "series"} <= set(lists["hop"])


@pytest.mark.parametrize("path", list(FRESH))
def test_a_word_that_is_missing_in_an_editor_is_put_back(path: str) -> None:
    text = (ROOT / path).read_text(encoding="utf-8")
    assert len(names_in(text)) >= 5
    assert "crossover-null" in text
    without = text.replace("crossover-null", "crossover-nil")
    assert FRESH[path](without) == text


def test_the_files_are_well_formed() -> None:
    grammar = json.loads((ROOT / "editors/vscode/syntaxes/rig.tmLanguage.json").read_text(encoding="utf-8"))
    assert grammar["scopeName"] == "source.rig"
    ElementTree.fromstring((ROOT / "editors/kate/rig.xml").read_text(encoding="utf-8"))
