"""No text takes work or memory out of all proportion to its size: more than some limit is told and left out."""

from __future__ import annotations

import re
from collections.abc import Callable

import adversary as a
import pytest
from checking import checked

from rigspec.check import Report
from rigspec.draw.path import path
from rigspec.draw.plan import plan
from rigspec.draw.svg import svg_text
from rigspec.show.export import export_json

# Without its bound each of these takes minutes or all memory; with it some tenths of a second.
SECONDS = 10


def _messages(report: Report) -> str:
    return "\n".join(finding.message for finding in report.findings)


COUNTS = (
    ("channels", "amp", 64),
    ("inputs", "processor", 26),
    ("outputs", "processor", 200),
    ("pairs", "lead", 200),
    ("lines", "panel", 200),
    ("legs", "split", 200),
    ("outlets", "mains", 200),
)


@pytest.mark.timeout(SECONDS)
@pytest.mark.parametrize(("word", "sort", "most"), COUNTS, ids=[word for word, *_ in COUNTS])
def test_no_thing_has_more_of_anything_than_the_largest_gear(word: str, sort: str, most: int) -> None:
    assert f"`{word} 1000000000` is impossible: it is at most {most}" in _messages(checked(a.counted(word, sort)))


TOLD: dict[str, tuple[Callable[[int], str], int, str]] = {
    "members of one index": (a.index, 20_000, "this names 20,000,000 members, and a row has 1,000 at most"),
    "members named by one index": (a.index_used, 20_000, "this names 20,000,000 members, and a row has 1,000 at most"),
    "rows": (a.rows, 2_000, "rows and ranges of a rig name 100,000 members together at most"),
    "a row named again and again": (a.named_again, 20_000, "name 100,000 members together at most"),
    "groups of groups": (a.groups, 40, ""),
    "groups of groups with a slip": (a.groups_unknown, 40, "nothing is called `nobody`"),
    "sums of what is alike": (a.summed, 60, ""),
    "sums of what is not alike": (a.summed_turned, 60, "is not worked out: more than 1000 ways lead to it"),
    "unknown names": (a.unknown, 2_000, "nothing is called `speakre_nubmer_1x`"),
    "unknown kinds": (a.unknown_kinds, 2_000, "no speaker of the kind `knid-1x` is in the stock"),
    "unknown members": (a.unknown_members, 2_000, "`row_1` has no member 5"),
    "long names": (a.long_name, 200_000, "is not a unit of this language"),
    "a long row of links": (a.linked, 1000, "the difference of s[*] is"),
    "brackets in brackets": (a.nested, 50_000, ""),
    "hops": (a.hops, 1_000, ""),
    "a long comment": (a.comment, 1_000_000, ""),
    "a long line": (a.line, 300_000, ""),
    "used files": (a.uses, 5_000, "`f1.rig` cannot be used"),
}


@pytest.mark.timeout(SECONDS)
@pytest.mark.parametrize(("make", "size", "told"), TOLD.values(), ids=TOLD)
def test_a_check_ends_soon(make: Callable[[int], str], size: int, told: str) -> None:
    assert told in _messages(checked(make(size)))


def test_near_names_are_found_among_many() -> None:
    found = checked(a.unknown(300)).findings
    labels = {finding.subject: finding.label for finding in found if finding.rule == "name-unknown"}
    assert len(labels) == 300
    assert all(f"`speaker_number_{at}`" in labels[f"speakre_nubmer_{at}x"] for at in range(1, 301))


@pytest.mark.timeout(SECONDS)
def test_a_long_label_is_cut_on_a_drawing() -> None:
    report = checked(a.label(200_000))
    found = plan(report)
    assert found is not None
    drawn = svg_text(path(report)) + svg_text(found)
    assert "…" in drawn
    shown = re.sub(r"<title>.*?</title>", "", drawn, flags=re.DOTALL)  # that is shown beside the drawing, whole
    assert "x" * 1000 not in shown


@pytest.mark.timeout(2 * SECONDS)
def test_many_labels_on_a_plan_and_many_findings_on_a_path() -> None:
    crowded = plan(checked(a.spread(70)))
    assert crowded is not None
    assert "s70" in svg_text(crowded)
    assert "load of a.1" in svg_text(path(checked(a.faulty(1_500))))


def test_an_export_tells_the_curve_of_a_kind_once() -> None:
    few, many = (export_json(checked(a.curves(count)), (), "") for count in (10, 1000))
    assert many.count('"curve"') == few.count('"curve"')
    assert len(many) < 120 * len(few)
