"""Findings as build servers show tests."""

from xml.etree import ElementTree

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from show_examples import CLASH, FINDINGS, LOSS, RIG, STOCK, UNUSED, any_findings

from rigspec.show.junit import junit
from rigspec.text.finding import Finding, Severity
from rigspec.text.source import Source, Span


def test_a_suite_for_each_file_and_a_passing_case_for_a_clean_one() -> None:
    root = ElementTree.fromstring(junit([CLASH, LOSS], files=[STOCK.path, RIG.path]))
    assert [(suite.get("name"), suite.get("tests"), suite.get("failures")) for suite in root] == [
        ("stock/house.rig", "1", "0"),
        ("parade/bandstand 2.rig", "2", "1"),
    ]
    assert [(case.get("name"), [child.tag for child in case]) for case in root.iter("testcase")] == [
        ("no findings", []),
        ("polarity-clash at 12:55", ["failure"]),
        ("lead-loss-high at 11:34", ["system-out"]),
    ]
    failure = root.find(".//failure")
    assert failure is not None
    assert (failure.get("type"), failure.get("message")) == (CLASH.rule, CLASH.message)
    assert "^^^^^^^^^" in (failure.text or "")


@pytest.mark.parametrize(("fail_on", "failures"), [(Severity.ERROR, 1), (Severity.WARNING, 2), (Severity.ADVICE, 3)])
def test_what_fails_is_the_callers_choice(fail_on: Severity, failures: int) -> None:
    root = ElementTree.fromstring(junit([CLASH, LOSS, UNUSED], files=[], fail_on=fail_on))
    assert (root.get("tests"), root.get("failures"), len(root.findall(".//failure"))) == ("3", str(failures), failures)


def test_markup_is_escaped_and_what_xml_forbids_is_spelt_out() -> None:
    """Forbidden by XML 1.0, 2.2: most control characters, halves of pairs, U+FFFE."""
    finding = Finding("<&>", Span(Source('"<&>\ud800.rig', "]]>\x00\ufffe"), 3, 5), "a\x00 \"<&>' \ufffe")
    text = junit([finding], files=[])
    [case] = ElementTree.fromstring(text).iter("testcase")
    assert case.get("classname") == '"<&>\\ud800.rig'
    [failure] = case
    assert failure.get("message") == "a\\x00 \"<&>' \\ufffe"
    assert "]]>\\x00\\ufffe\n" in (failure.text or "")


@given(any_findings, st.sampled_from(Severity))
@example(list(FINDINGS), Severity.ERROR)
def test_every_report_is_xml_and_its_counts_are_true(findings: list[Finding], fail_on: Severity) -> None:
    root = ElementTree.fromstring(junit(findings, files=["clean\x1b.rig"], fail_on=fail_on).encode("utf-8"))
    failing = sum(finding.severity.weight >= fail_on.weight for finding in findings)
    for element in (root, *root):
        assert element.get("tests") == str(len(list(element.iter("testcase"))))
        assert element.get("failures") == str(len(list(element.iter("failure"))))
    assert len(list(root.iter("failure"))) == failing
    assert len(list(root.iter("system-out"))) == len(findings) - failing
