"""The examples that explain a rule do what they say: the bad one breaks it, the good one breaks nothing."""

import pytest
from rig_checks import FOUND_AT_THE_EDGE, check_example

from rigspec.rules import RULES
from rigspec.rules.rule import Rule
from rigspec.show.people import people
from rigspec.text.finding import Severity

# A misspelled exception excuses nothing, so that what it was meant for is told as well.
MEANT_TO_BE_EXCUSED = {"allow-unknown": {"lead-loss-high"}}
JUDGED = [rule for rule in RULES.values() if rule.name not in FOUND_AT_THE_EDGE]
each_rule = pytest.mark.parametrize("rule", JUDGED, ids=lambda rule: rule.name)


@each_rule
def test_the_bad_example_breaks_its_rule(rule: Rule) -> None:
    found = check_example(rule.bad).findings
    assert rule.name in {finding.rule for finding in found}, people(found, colour=False)


@each_rule
def test_the_bad_example_breaks_no_other_rule(rule: Rule) -> None:
    known = {rule.name} | MEANT_TO_BE_EXCUSED.get(rule.name, set())
    others = [f for f in check_example(rule.bad).findings if f.rule not in known and f.severity is not Severity.ADVICE]
    assert not others, people(others, colour=False)


@each_rule
def test_the_good_example_is_clean(rule: Rule) -> None:
    found = [f for f in check_example(rule.good).findings if f.severity is not Severity.ADVICE]
    assert not found, people(found, colour=False)


def test_only_rules_without_a_check_are_found_at_the_edge() -> None:
    assert all(RULES[name].check is None for name in FOUND_AT_THE_EDGE)
