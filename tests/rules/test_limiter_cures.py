"""What a finding about a limiter says to set really cures it, and a tenth of a decibel more would not always."""

from __future__ import annotations

import re

import pytest
from rig_checks import check_rig, check_text, rig_files

from rigspec.check import Report
from rigspec.text.finding import Finding

RULES = ("limiter-high", "limiter-idle", "limiter-low")
_CURE = re.compile(r"`limit ([^`]*?) (?:rms|peak)`")


def with_limit(finding: Finding, threshold: str) -> Report:
    """The rig with another threshold where the finding stands."""
    text, files = finding.span.source.text, rig_files()
    changed = text[: finding.span.start] + threshold + text[finding.span.end :]
    name = finding.span.path
    return check_text(changed, {**files, name: changed}, name)


def told(report: Report, line: int) -> set[str]:
    return {found.rule for found in report.findings if found.rule in RULES and found.span.line == line}


CASES = [
    finding
    for name in ("limiter-high.rig", "limiter-idle.rig", "limiter-low.rig", "box-power-no-level.rig")
    for finding in check_rig(name).findings
    if finding.rule in RULES
]


@pytest.mark.parametrize("finding", CASES, ids=lambda f: f"{f.span.path}:{f.span.line}")
def test_the_threshold_that_is_named_cures(finding: Finding) -> None:
    cure = _CURE.search(finding.help)
    assert cure is not None, finding.help
    assert finding.rule not in told(with_limit(finding, cure[1]), finding.span.line)


def test_there_are_cases_of_each_rule() -> None:
    assert {finding.rule for finding in CASES} == set(RULES)


@pytest.mark.parametrize(
    "finding", [f for f in CASES if f.rule == "limiter-high" and f.computed.endswith("a.1")], ids=lambda f: f.message
)
def test_half_a_decibel_above_the_named_threshold_is_told_again(finding: Finding) -> None:
    cure = _CURE.search(finding.help)
    assert cure is not None
    dbu = float(cure[1].split()[0])
    assert finding.rule in told(with_limit(finding, f"{dbu + 0.5:.2f} dBu"), finding.span.line)


def test_a_box_without_a_continuous_rating_is_named_as_left_out() -> None:
    text = rig_files()["limiter-high.rig"] + (
        "stock speaker quiet { impedance 8 ohm; rated 400 W peak }\nspeaker z1 is small\nspeaker z2 is quiet\n"
        "amp z is twin\nspare z.2\nz.1 { limit 0 dBu rms }\nf -> z.1 -> z1\nz.1 -> z2\n"
    )
    (found,) = (each for each in check_text(text, rig_files()).findings if "limiter of z.1" in each.message)
    assert found.rule == "limiter-high"
    assert "z2 has no continuous rating and is left out" in found.assumes
