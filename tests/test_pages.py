"""The documents: made parts are fresh, examples are read by the program itself, commands are commands."""

import re
from pathlib import Path

import pytest

from rigspec.check import check
from rigspec.cli.command import read_words
from rigspec.cli.commands import COMMANDS
from rigspec.language.fields import Field
from rigspec.language.figure_kinds import FIGURES
from rigspec.language.format import canonical
from rigspec.language.reader import parse
from rigspec.language.settings import TABLES
from rigspec.language.syntax import Thing
from rigspec.make import ROOT
from rigspec.rig.values import Faults, facts
from rigspec.show.pages import HEARD, figures, made_names, refreshed, takes
from rigspec.show.people import people
from rigspec.text.source import Refused, Source
from rigspec.why import DERIVED

DOCUMENTS = (
    "README.md",
    "DEVELOPERS.md",
    "grammar/reference.md",
    "grammar/rules.md",
    "grammar/patterns.md",
    "grammar/using.md",
    "editors/README.md",
)
_example = re.compile(r"^```rig([^\n]*)\n(.*?)^```$", re.MULTILINE | re.DOTALL)
EXAMPLES = [
    pytest.param(words.split(), text, id=f"{path}-{number}")
    for path in DOCUMENTS
    for number, (words, text) in enumerate(_example.findall((ROOT / path).read_text(encoding="utf-8")), 1)
]
SETTINGS = [pytest.param(name, field, id=f"{name}-{word}") for name in TABLES for word, field in TABLES[name].items()]


def load(user: str, used: str) -> Source | Refused:
    path = ROOT / Path(user).parent / used
    return Source(used, path.read_text(encoding="utf-8")) if path.is_file() else Refused(used, "it does not exist")


def test_a_made_part_is_replaced_and_nothing_else() -> None:
    page = "before\n<!-- made: a -->\nold\n<!-- end -->\nbetween\n<!-- made: b -->\n<!-- end -->\nafter\n"
    once = refreshed(page, {"a": lambda: "new\n", "b": lambda: "also\n"})
    assert once == (
        "before\n<!-- made: a -->\n\nnew\n\n<!-- end -->\nbetween\n<!-- made: b -->\n\nalso\n\n<!-- end -->\nafter\n"
    )
    assert refreshed(once, {"a": lambda: "new\n", "b": lambda: "also\n"}) == once
    assert made_names(page) == ["a", "b"]
    with pytest.raises(KeyError):
        refreshed(page, {"a": lambda: ""})


@pytest.mark.parametrize(("words", "text"), EXAMPLES)
def test_examples_are_read_are_canonical_and_whole_rigs_are_clean(words: list[str], text: str) -> None:
    """``rig whole`` is checked as well; ``rig as-written`` shows a form that the formatter would change."""
    source = Source("example.rig", text)
    slips = parse(source).slips
    assert not slips, people(slips, colour=False)
    if "as-written" not in words:
        assert canonical(source) == text
    if "whole" in words:
        report = check(source, load)
        assert not report.findings, people(report.findings, colour=False)
        assert report.figures.boxes, "a whole rig has figures"


def test_the_reference_has_an_example_of_every_statement() -> None:
    text = (ROOT / "grammar/reference.md").read_text(encoding="utf-8")
    shown = {
        type(s.node).__name__ for _, example in _example.findall(text) for s in parse(Source("", example)).statements
    }
    words = {
        statement.node.word
        for _, example in _example.findall(text)
        for statement in parse(Source("", example)).statements
        if isinstance(statement.node, Thing)
    }
    assert shown == {"RigFacts", "Use", "Stock", "Thing", "Listing", "Member", "Path", "Expect", "Measured", "Allow"}
    assert words == {"feed", "split", "processor", "amp", "speaker", "lead", "panel", "mains", "place", "area"}


@pytest.mark.parametrize(("name", "field"), SETTINGS)
def test_the_example_of_a_setting_is_taken_where_it_is_listed(name: str, field: Field) -> None:
    node = parse(Source("", f"feed thing {{ {field.example} }}")).statements[0].node
    assert isinstance(node, Thing)
    faults = Faults()
    assert facts(node.block, name, "it", faults).keys() == {field.word}
    assert faults.found == []
    assert takes(field)


def test_the_table_of_figures_knows_what_is_computed() -> None:
    rows = re.findall(r"^\| `([a-z-]+)` \| ([^|]+) \| ([^|]+) \| ([^|]*)\|$", figures(), re.MULTILINE)
    known: dict[str, list[str]] = {}
    for name, _, of, _ in rows:
        known.setdefault(name, []).append(of.strip())
    assert known.keys() == FIGURES.keys()
    assert known["power"][0] == DERIVED["power"][0].of
    assert known["polarity"] == ["a loudspeaker or a way of one"]
    assert {
        word for word, of in known.items() if of == ["not computed yet"]
    } == FIGURES.keys() - DERIVED.keys() - HEARD.keys()


def test_every_command_in_the_documents_is_one() -> None:
    fenced = re.compile(r"^```sh\n(.*?)^```$", re.MULTILINE | re.DOTALL)
    texts = [block for path in DOCUMENTS for block in fenced.findall((ROOT / path).read_text(encoding="utf-8"))]
    hooks = (ROOT / ".pre-commit-hooks.yaml").read_text(encoding="utf-8")
    lines = [*"\n".join(texts).splitlines(), *re.findall(r"entry: (.*)", hooks)]
    calls = [call for line in lines for call in re.findall(r"(?:^|/|&& )rigspec ([^>&<|]+)", line)]
    assert len(calls) >= 8
    for call in calls:
        words = call.split()
        read_words(COMMANDS[words[0]], words)
