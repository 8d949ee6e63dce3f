"""Rigs with expectations on the offending line, matched both ways: nothing missing, nothing extra."""

from collections import Counter

import pytest
from rig_checks import FOUND_AT_THE_EDGE, RIGS, Want, check_rig, nears, wants

from rigspec.check import Report
from rigspec.rules import RULES
from rigspec.show.people import people

NAMES = sorted(path.name for path in RIGS.glob("*.rig"))
each_rig = pytest.mark.parametrize("name", NAMES)


def expected(report: Report) -> list[Want]:
    return sorted(want for source in report.figures.rig.files for want in wants(source))


@each_rig
def test_a_rig_has_the_findings_that_it_expects_and_no_others(name: str) -> None:
    report = check_rig(name)
    missing, extra = [], list(report.findings)
    for want in expected(report):
        met = next((finding for finding in extra if want.met_by(finding)), None)
        if met is None:
            missing.append(want)
        else:
            extra.remove(met)
    told = "".join(f"missing: {w.path}:{w.line}: {w.rule}: ...{w.piece}...\n" for w in missing)
    assert missing + extra == [], f"{told}extra:\n{people(extra, colour=False)}"


@each_rig
def test_a_near_miss_names_a_rule_that_is_not_wanted_there(name: str) -> None:
    for source in check_rig(name).figures.rig.files:
        wanted = {(want.line, want.rule) for want in wants(source)}
        for line, rule in nears(source):
            assert rule in RULES, f"{source.path}:{line}: there is no rule {rule}"
            assert (line, rule) not in wanted, f"{source.path}:{line}: {rule} is both wanted and near"


def test_every_rule_has_a_rig_that_breaks_it_and_a_near_miss_that_does_not() -> None:
    provoked: Counter[str] = Counter()
    near: Counter[str] = Counter()
    for name in NAMES:
        for source in check_rig(name).figures.rig.files:
            provoked.update(want.rule for want in wants(source))
            near.update(rule for _, rule in nears(source))
    judged = RULES.keys() - FOUND_AT_THE_EDGE
    assert sorted(judged - provoked.keys()) == [], "no rig provokes these"
    assert sorted(judged - near.keys()) == [], "no rig comes near to these"
