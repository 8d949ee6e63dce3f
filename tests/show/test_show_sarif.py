"""Findings as code-scanning sites take them, held against the published schema of SARIF 2.1.0."""

import json
import re
from collections.abc import Iterable
from pathlib import Path
from typing import Any
from urllib.parse import unquote

import pytest
from attrs import frozen
from hypothesis import example, given
from jsonschema import Draft4Validator
from show_examples import CLASH, FINDINGS, RIG, any_findings

from rigspec.show.sarif import to_sarif
from rigspec.text.finding import Finding, Severity
from rigspec.text.source import Source, Span

SCHEMA = Draft4Validator(json.loads(Path(__file__).with_name("sarif-2.1.0-rtm.5.json").read_text(encoding="utf-8")))


@frozen
class Rule:
    name: str
    summary: str
    reason: str
    authority: str
    severity: Severity


RULES = {
    "load-too-low": Rule("load-too-low", "a channel's load is too low", "it burns", "data sheet", Severity.ERROR),
    "polarity-clash": Rule("polarity-clash", "boxes push against each other", "no bass", "practice", Severity.ADVICE),
}


def run(findings: Iterable[Finding]) -> Any:
    log = json.loads(to_sarif(findings, rules=RULES, tool_version="1.2.3"))
    assert [error.message for error in SCHEMA.iter_errors(log)] == []
    return log["runs"][0]


def test_the_schema_is_awake() -> None:
    log = json.loads(to_sarif(FINDINGS, rules=RULES, tool_version="1.2.3"))
    log["runs"][0]["results"][0]["level"] = "advice"
    assert ["'advice' is not one of" in error.message for error in SCHEMA.iter_errors(log)] == [True]


def test_rules_say_what_why_and_by_what_authority() -> None:
    driver = run([])["tool"]["driver"]
    assert (driver["name"], driver["version"]) == ("rigspec", "1.2.3")
    assert driver["rules"][1] == {
        "id": "polarity-clash",
        "shortDescription": {"text": "boxes push against each other"},
        "fullDescription": {"text": "no bass"},
        "help": {"text": "boxes push against each other\n\nWhy: no bass\n\nSource: practice"},
        "defaultConfiguration": {"level": "note"},
    }


def test_results_point_at_their_rules_and_carry_their_levels() -> None:
    results = run(FINDINGS)["results"]
    assert [(result.get("ruleIndex"), result["ruleId"], result["level"]) for result in results[:4]] == [
        (1, "polarity-clash", "error"),
        (0, "load-too-low", "error"),
        (None, "lead-loss-high", "warning"),
        (None, "headroom-unused", "note"),
    ]
    assert results[1]["message"]["text"] == (
        "bass.1 has to drive 2.67 ohm\ncomputed: 2.67 ohm\nallowed: at least 4 ohm (data sheet of twin-900)"
    )


def test_places_are_columns_of_code_points_below_the_source_root() -> None:
    [result] = run([CLASH])["results"]
    [location] = result["locations"]
    assert location["physicalLocation"] == {
        "artifactLocation": {"uri": "parade/bandstand%202.rig", "uriBaseId": "%SRCROOT%"},
        "region": {"startLine": 12, "startColumn": 55, "endLine": 12, "endColumn": 64},
    }
    assert [place["message"]["text"] for place in result["relatedLocations"]] == [x.text for x in CLASH.related]


def test_a_fix_carried_out_as_the_standard_says_gives_the_mended_text() -> None:
    [result] = run([CLASH])["results"]
    [change] = result["fixes"][0]["artifactChanges"]
    [replacement] = change["replacements"]
    region, lines = replacement["deletedRegion"], RIG.text.split("\n")
    assert region["startLine"] == region["endLine"]
    line = lines[region["startLine"] - 1]
    mended = (
        line[: region["startColumn"] - 1] + replacement["insertedContent"]["text"] + line[region["endColumn"] - 1 :]
    )
    assert mended.endswith("lead 2.5 mm2 15 m -> invert -> sub[3..4] linked 2.5 mm2 2 m")


@pytest.mark.parametrize(
    ("path", "uri", "base"),
    [
        ("./a b/é%#?:.rig", "a%20b/%C3%A9%25%23%3F%3A.rig", "%SRCROOT%"),
        ("stock\\house.rig", "stock/house.rig", "%SRCROOT%"),
        ("/home/é.rig", "file:///home/%C3%A9.rig", None),
        ("C:\\rigs\\a.rig", "file:///C:/rigs/a.rig", None),
        ("\udcff.rig", "%FF.rig", "%SRCROOT%"),
    ],
)
def test_paths_become_uris_by_rfc_3986_and_rfc_8089(path: str, uri: str, base: str | None) -> None:
    [result] = run([Finding("r", Span(Source(path, ""), 0, 0), "m")])["results"]
    artifact = result["locations"][0]["physicalLocation"]["artifactLocation"]
    assert (artifact["uri"], artifact.get("uriBaseId")) == (uri, base)


@given(any_findings)
@example(list(FINDINGS))
def test_every_log_keeps_to_the_schema_and_every_uri_to_rfc_3986(findings: list[Finding]) -> None:
    for finding, result in zip(findings, run(findings)["results"], strict=True):
        uri = result["locations"][0]["physicalLocation"]["artifactLocation"]["uri"]
        assert re.fullmatch(r"(file://)?([A-Za-z0-9._~/:-]|%[0-9A-F]{2})*", uri)
        if finding.span.path.isalnum():
            assert unquote(uri) == finding.span.path
