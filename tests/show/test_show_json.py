"""Findings as programs read them."""

import json

from hypothesis import example, given
from show_examples import CLASH, FINDINGS, LOSS, STOCK, any_findings, words

from rigspec.show.ascii_json import dump
from rigspec.show.json_form import to_json
from rigspec.text.finding import Edit, Finding, Fix, Severity
from rigspec.text.source import Source, Span


def test_every_field_of_a_finding_is_there() -> None:
    source = Source("a.rig", "# 🔊\nx 🔊 amp\n")
    span = Span(source, 8, 11)
    finding = Finding(
        rule="load-too-low", span=span, message="too low", label="here", computed="2 ohm", allowed="4 ohm",
        assumes=("copper",), help="change it", fix=Fix("do it", (Edit(span, "panel"),)), subject="amp.1",
        severity=Severity.WARNING, reason="it burns", authority="common practice",
    )  # fmt: skip
    place = {
        "path": "a.rig",
        "start": {"line": 2, "column": 5, "utf16_column": 6, "offset": 8},
        "end": {"line": 2, "column": 8, "utf16_column": 9, "offset": 11},
    }
    assert json.loads(to_json([finding], files=["a.rig", "b.rig"], tool_version="1.2.3")) == {
        "format": "rigspec-findings",
        "version": 1,
        "tool": {"name": "rigspec", "version": "1.2.3"},
        "files": ["a.rig", "b.rig"],
        "counts": {"error": 0, "warning": 1, "advice": 0},
        "findings": [
            {
                "rule": "load-too-low",
                "severity": "warning",
                **place,
                "message": "too low",
                "label": "here",
                "subject": "amp.1",
                "computed": "2 ohm",
                "allowed": "4 ohm",
                "certain": True,
                "decides": "",
                "assumes": ["copper"],
                "reason": "it burns",
                "authority": "common practice",
                "help": "change it",
                "related": [],
                "fix": {"title": "do it", "edits": [{**place, "text": "panel"}]},
            }
        ],
    }


def test_related_places_and_missing_fixes() -> None:
    clash, loss = json.loads(to_json([CLASH, LOSS], files=[], tool_version="0"))["findings"]
    assert [(place["start"]["line"], place["text"]) for place in clash["related"]] == [
        (12, "inverted here"),
        (14, "meant to push together"),
        (11, "outward: not inverted"),
    ]
    assert loss["fix"] is None


@given(any_findings)
@example(list(FINDINGS))
def test_places_lead_back_to_the_text_in_every_way_of_counting(findings: list[Finding]) -> None:
    text = to_json(findings, files=[STOCK.path], tool_version="0")
    assert text.isascii()
    for finding, read in zip(findings, json.loads(text)["findings"], strict=True):
        whole = finding.span.source.text
        for offset, position in ((finding.span.start, read["start"]), (finding.span.end, read["end"])):
            before = whole[:offset].split("\n")
            assert (position["offset"], position["line"], position["column"]) == (
                offset,
                len(before),
                len(before[-1]) + 1,
            )
            assert position["utf16_column"] == len(before[-1].encode("utf-16-le", "surrogatepass")) // 2 + 1


@given(words)
@example("\\ud83d \\\ud83d \\\\ud800")
def test_json_holds_no_half_of_a_character(text: str) -> None:
    """Text by the rules of UTF-16 (Unicode Standard 3.9): pairs are one character, halves are replaced."""
    units = text.encode("utf-16-le", "surrogatepass")
    assert json.loads(dump(text)) == units.decode("utf-16-le", "replace")
