"""Exports against the published schema and the rig that they are of, and the schema against what it is made from."""

from __future__ import annotations

import json
import re
import sys
from collections.abc import Iterator
from copy import deepcopy
from functools import cache
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from jsonschema import Draft202012Validator

sys.path.append(str(Path(__file__).parents[1] / "laws"))
from checking import checked, laws
from model import Rig
from rigs import rigs

from rigspec.check import Report
from rigspec.cli.checking import check_one
from rigspec.files.library import Library
from rigspec.rig.model import Measure
from rigspec.show.export import export_json
from rigspec.show.export_values import VERSION, Export, as_json
from rigspec.show.figures import figures_json
from rigspec.show.json_form import to_json
from rigspec.show.schema import schema
from rigspec.text.source import Source

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "samples").rglob("*.rig"), key=str)
FAULTY = sorted((ROOT / "tests/rules/rigs").glob("*.rig"))
SHAPE = Path(__file__).with_name(f"export_shape_{VERSION}.txt")
WRITE = "python -m tests.golden"
VALID = Draft202012Validator(schema())
Document = dict[str, Any]


def told(report: Report, files: tuple[str, ...] = ("test.rig",)) -> Document:
    """The export of a report, which the schema takes."""
    text = export_json(report, files, "1.2.3")
    assert text == export_json(report, files, "1.2.3")
    document: Document = json.loads(text, parse_constant=lambda what: pytest.fail(f"{what} is no JSON"))
    errors = [f"{error.json_path}: {error.message[:200]}" for error in VALID.iter_errors(document)]
    assert errors == []
    return document


@cache
def sample(path: Path) -> tuple[Report, Document]:
    library = Library()
    source = library.open(str(path), "")
    assert isinstance(source, Source)
    one = check_one(library, source)
    return one.report, told(one.report, one.files)


def hall() -> Document:
    return deepcopy(sample(ROOT / "samples/two-box-hall.rig")[1])


# ---- the schema ------------------------------------------------------------------------------------------------------


def test_the_schema_is_one() -> None:
    Draft202012Validator.check_schema(schema())
    assert schema()["$schema"] == Draft202012Validator.META_SCHEMA["$id"]


def nodes(at: Any, way: str = "$") -> Iterator[tuple[str, Document]]:
    """Every schema in the schema."""
    yield way, at
    for word in ("properties", "$defs"):
        for key, node in at.get(word, {}).items():
            yield from nodes(node, f"{way}.{word}.{key}")
    if "items" in at:
        yield from nodes(at["items"], f"{way}.items")
    for number, node in enumerate(at.get("anyOf", ())):
        yield from nodes(node, f"{way}.anyOf[{number}]")


def test_nothing_is_left_open() -> None:
    seen = list(nodes(schema()))
    assert len(seen) > 500
    optional = []
    for way, node in seen:
        assert len({"$ref", "const", "enum", "type", "anyOf"} & node.keys()) == 1, way
        if node.get("type") == "array":
            assert node["items"], way
        if node.get("type") == "object":
            assert node["additionalProperties"] is False, way
            assert node["properties"], way
            if node.get("required") != list(node["properties"]):
                optional.append(way)
    assert optional == ["$.$defs.Facts"]  # a thing has the settings that were made


def test_every_key_is_a_field_and_every_definition_says_what_it_is() -> None:
    made = schema()
    assert list(made["properties"]) == [each.name for each in Export.__attrs_attrs__]  # type: ignore[attr-defined]
    assert all(node["description"] for node in made["$defs"].values())


def test_every_key_says_what_it_is_and_every_number_in_which_unit() -> None:
    """A setting says it once for all; a figure has its unit beside it."""
    bare = {"$.$defs.Figure.properties.value", "$.$defs.Figure.properties.low", "$.$defs.Figure.properties.high"}
    keys = [
        (f"{way}.properties.{key}", node)
        for way, at in nodes(schema())
        for key, node in at.get("properties", {}).items()
    ]
    assert len(keys) > 400
    assert [way for way, node in keys if not node.get("description", "").strip()] == []
    numbers = [(way, node["description"]) for way, node in keys if node.get("type") in ("number", ["number", "null"])]
    without = {way for way, says in numbers if not re.search(r"; in \S+$", says)}
    assert {way for way in without if not way.endswith((".damping", ".taps", ".line", ".inversions"))} == bare


# ---- the version -----------------------------------------------------------------------------------------------------


def test_no_key_has_gone_or_changed_in_this_version() -> None:
    """New keys are no new version. A key that goes, or takes other values, is: programs were written for it."""
    gone, added = differences()
    assert gone == {}, "raise VERSION in show/export_values.py"
    assert added == [], f"write down what is new: {WRITE}"


def differences() -> tuple[dict[str, tuple[str, str]], list[str]]:
    """What of the keys of this version is gone or other now, and what is new."""
    promised: dict[str, str] = {}
    if SHAPE.exists():
        promised = dict(line.split(" ", 1) for line in SHAPE.read_text(encoding="utf-8").splitlines())
    now = shape(schema())
    gone = {way: (what, now.get(way, "gone")) for way, what in promised.items() if now.get(way) != what}
    return gone, sorted(set(now) - set(promised))


def shape(made: Document) -> dict[str, str]:
    """Every place in a document with what may stand there, without words for people."""
    found = {}
    for way, node in nodes(made):
        what = {word: node[word] for word in ("$ref", "const", "enum", "type") if word in node}
        if what:  # the parts of an anyOf are places of their own
            found[way] = json.dumps(what, separators=(",", ":"))
    return found


def shape_now() -> str:
    """The text to keep of this version's keys: it may only grow."""
    assert not differences()[0], "a key is gone or other: raise VERSION in show/export_values.py first"
    return "".join(f"{way} {what}\n" for way, what in shape(schema()).items())


@pytest.mark.parametrize(
    "spoil",
    [
        lambda d: d.update(more=1),
        lambda d: d.pop("wiring"),
        lambda d: d.update(version=1),
        lambda d: d["things"][0].update(number="1"),
        lambda d: d["things"][0]["settings"].update(nonsense=d["settings"]["mains"]),
        lambda d: d["settings"]["mains"]["items"][0]["figures"][0].update(unit="volt"),
        lambda d: d["figures"]["tables"]["channels"][0].update(load_ohm="8"),
        lambda d: d["figures"]["tables"]["channels"][0].pop("load_ohm"),
        lambda d: d["figures"]["tables"].update(more=[]),
        lambda d: d["wiring"]["links"][0].update(what="rope"),
        lambda d: d["wiring"]["arrivals"][0].update(gain_db=None),
    ],
)
def test_the_schema_is_awake(spoil: Any) -> None:
    document = hall()
    assert VALID.is_valid(document)
    spoil(document)
    assert not VALID.is_valid(document)


# ---- exports ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_export_of_a_sample_is_whole(path: Path) -> None:
    report, document = sample(path)
    compare(report, document)


@pytest.mark.parametrize("path", FAULTY, ids=lambda path: path.stem)
def test_the_export_of_a_rig_with_faults_is_valid(path: Path) -> None:
    report, document = sample(path)
    compare(report, document)


@given(rigs())
@laws(40)
def test_the_exports_of_generated_rigs_are_whole(rig: Rig) -> None:
    report = checked(rig.text)
    compare(report, told(report))


def compare(report: Report, document: Document) -> None:
    rig, figures = report.figures.rig, json.loads(figures_json(report))
    assert document["figures"]["tables"] == figures["tables"]
    assert {each["of"]: each["why"] for each in document["figures"]["unknown"]} == figures["unknown"]
    assert document["figures"]["assumes"] == figures["assumes"]
    for key, findings in (("findings", report.findings), ("excused", report.excused)):
        assert document[key] == json.loads(to_json(findings, files=(), tool_version=""))["findings"]
    assert [thing["name"] for thing in document["things"]] == list(rig.gear)
    assert [kind["name"] for kind in document["kinds"]] == list(rig.kinds)
    assert len(document["wiring"]["links"]) == len(rig.wiring.pieces)
    assert len(document["promises"]) == len(rig.expectations)
    lines = {source.path: source.text.split("\n") for source in (report.source, *rig.files)}
    measures = list(figures_in(document))
    for figure in measures:
        place = figure["place"]
        assert figure["low"] <= figure["value"] <= figure["high"] or figure["kind"] == "gauge"
        assert place["line"] == place["end_line"]
        written = lines[place["path"]][place["line"] - 1][place["column"] - 1 : place["end_column"] - 1]
        assert figure["written"] == " ".join(written.split()), place
    given = sum(count(facts) for facts in (rig.facts, *(k.facts for k in rig.kinds.values())))
    given += sum(count(gear.facts) + sum(map(count, gear.ports.values())) for gear in rig.gear.values())
    assert sum(1 for each in ("settings", "kinds", "things") for _ in figures_in(document[each])) == given
    follow(document["wiring"])


def figures_in(node: Any) -> Iterator[Document]:
    """Every given figure in a document."""
    if isinstance(node, dict):
        if "written" in node:
            yield node
        for each in node.values():
            yield from figures_in(each)
    elif isinstance(node, list):
        for each in node:
            yield from figures_in(each)


def count(facts: Any) -> int:
    """The figures that are given in settings."""
    found = 0
    for each in facts.values():
        found += sum(isinstance(m, Measure) for entry in each.entries for m in entry.measures)
        found += count(each.inner or {})
    return found


def follow(wiring: Document) -> None:
    """Walk along the links alone: every arrival is found, with its turns."""
    leaving: dict[int, list[tuple[int, bool]]] = {}
    for link in wiring["links"]:
        turned = (link["what"] == "invert") ^ (link["what"] == "lead" and link["crossed"] is not None)
        leaving.setdefault(link["near_joint"], []).append((link["far_joint"], turned))
    for series in wiring["series"]:
        leaving.setdefault(series["joint"], []).extend((branch, False) for branch in series["branches"])
    inputs = {each["key"]: each["joint"] for each in wiring["inputs"]}
    reached: dict[str, dict[int, bool]] = {}
    for output in wiring["outputs"]:
        turns = reached[output["key"]] = {output["joint"]: False}
        todo = [output["joint"]]
        while todo:
            joint = todo.pop()
            for far, turned in leaving.get(joint, ()):
                if far not in turns:
                    turns[far] = turns[joint] ^ turned
                    todo.append(far)
    for arrival in wiring["arrivals"]:
        assert reached[arrival["from_output"]][inputs[arrival["to_input"]]] == arrival["inverted"]
        assert arrival["inverted"] == (len(arrival["inversions"]) % 2 == 1)
    fed = {link["near_joint"]: link["fed_by"] for link in wiring["links"] if link["fed_by"]}
    for joint, key in fed.items():
        assert joint in reached[key]


def test_a_figure_has_its_value_ends_words_and_place() -> None:
    rig = "stock speaker box { impedance 8 ohm ± 10 %; band 35 Hz to 1.2 kHz }\nspeaker s is box\n"
    document = told(checked(rig))
    (thing,) = document["things"]
    (figure,) = thing["settings"]["impedance"]["items"][0]["figures"]
    assert (figure["kind"], figure["value"], figure["unit"]) == ("resistance", 8.0, "ohm")
    assert (figure["low"], figure["high"]) == pytest.approx((7.2, 8.8))
    assert figure["written"] == "8 ohm ± 10 %"
    place = {"path": "test.rig", "line": 1, "column": 31, "end_line": 1, "end_column": 43}
    assert figure["place"] == place
    assert thing["kind"] == document["kinds"][0]["name"] == "box"
    (band,) = thing["settings"]["band"]["items"][0]["figures"]
    assert (band["low"], band["high"], band["unit"]) == (35.0, 1200.0, "Hz")


def test_what_is_not_finite_is_null() -> None:
    assert as_json((1.0, float("inf"), float("-inf"), float("nan"), 2, True, None)) == [
        1.0, None, None, None, 2, True, None,
    ]  # fmt: skip
