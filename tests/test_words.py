"""The words of the language as types: they are those of its tables, and no word is misspelt where types do not see it.

mypy refuses ``gear.word == "ampp"`` and ``facts.get("impedence")``. It is blind to a word in a tuple of words, in one
of several patterns, and before ``in``.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from typing import get_args

import pytest

from rigspec.language import words
from rigspec.language.fields import LEAD_SPEC, alternatives
from rigspec.language.figure_kinds import FIGURES
from rigspec.language.settings import STOCK_SORTS, TABLES
from rigspec.show.editor_words import word_lists
from rigspec.text.units import BASE_UNIT, FigureKind

FIELDS = [LEAD_SPEC, *(field for table in TABLES.values() for field in table.values())]
SPOKEN = {"settings": {field.word for field in FIELDS}, "choices": {word for field in FIELDS for word in field.words}}
THINGS, LISTS = get_args(words.ThingWord), get_args(words.ListWord)


def test_the_types_hold_the_words_of_the_tables() -> None:
    assert set(get_args(words.SettingWord)) == SPOKEN["settings"]
    assert set(get_args(words.ChoiceWord)) == SPOKEN["choices"]
    assert {*THINGS, *LISTS} == {*word_lists()["naming"], "spare"}
    assert get_args(words.StockSort) == STOCK_SORTS
    assert set(get_args(FigureKind)) == set(BASE_UNIT)
    assert {kind for each in FIELDS for group in each.need + each.may for kind in alternatives(group)} <= set(BASE_UNIT)


# By the name of what is asked, which words it can be.
ASKED = {
    "word": {*THINGS, *LISTS, *get_args(words.GearWord), *SPOKEN["settings"], *FIGURES},
    "kind": set(BASE_UNIT),
    "carries": set(get_args(words.Carries)),
    "takes": set(get_args(words.Carries)),
    "facts": SPOKEN["settings"],
    "inner": SPOKEN["settings"],
    "words": SPOKEN["choices"],
}
ROOMS = ("rig", "figures", "why", "rules", "sheets")


def asked(node: ast.expr) -> str:
    """The last name of what is asked: `word` of `output.gear.word`, `facts` of `facts_of(box)` and of `gear.ports`."""
    text = ast.unparse(node)
    if "ports.get(" in text or ".way(" in text or "facts_of(" in text:
        return "facts"
    return "" if text == "token.kind" else text.rpartition(".")[2]


def unseen(tree: ast.AST) -> Iterator[tuple[str, str, int]]:
    """What is asked, the word that it is held against, and the line, where types do not see the word."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Compare) and isinstance(node.ops[0], ast.In | ast.NotIn):
            left, right = node.left, node.comparators[0]
            several = right.elts if isinstance(right, ast.Tuple | ast.Set | ast.List) else []
            for what, each in [(left, each) for each in several] or [(right, left)]:
                if isinstance(each, ast.Constant) and isinstance(each.value, str):
                    yield asked(what), each.value, node.lineno
        elif isinstance(node, ast.Match):
            for each in (found for case in node.cases for found in ast.walk(case.pattern)):
                if isinstance(each, ast.MatchValue) and isinstance(each.value, ast.Constant):
                    yield asked(node.subject), str(each.value.value), each.lineno


def wrong(tree: ast.AST) -> list[str]:
    return [
        f"line {line}: {what} is never `{word}`"
        for what, word, line in unseen(tree)
        if word not in ASKED.get(what, {word})
    ]


@pytest.mark.parametrize("room", ROOMS)
def test_no_word_is_misspelt_where_types_do_not_see_it(room: str) -> None:
    for path in sorted(Path(words.__file__).parents[1].joinpath(room).rglob("*.py")):
        assert wrong(ast.parse(path.read_text(encoding="utf-8"))) == [], path.name


@pytest.mark.parametrize(
    "text",
    [
        'gear.word in ("amp", "procesor")',
        '"powred" not in gear.facts',
        '"powred" in gear.ports.get(port, {})',
        '"vent" in entry.words',
        'match gear.word:\n    case "amp" | "procesor":\n        pass',
    ],
)
def test_a_misspelt_word_is_seen(text: str) -> None:
    assert len(wrong(ast.parse(text))) == 1
