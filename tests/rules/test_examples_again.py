"""A rig that is checked again and again, as an editor's server does it, is told what a first check of it tells.

Rules need not go again through what no change concerns (`Rule.apart`): here every rule's example is put right, broken
and put right again, and every line of it goes and comes back, beside things that stay as they are.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache

from rig_checks import in_memory
from test_examples import each_rule

from rigspec.check import check
from rigspec.finding import Finding
from rigspec.memory import Memory
from rigspec.parse.again import Rereader
from rigspec.rules import RULES
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.rules.rule import Rule
from rigspec.source import Source

BESIDE = (
    "feed beside { level -10 dBu; band 40 Hz to 90 Hz }\namp beside_amp is twin\nspeaker beside_box[1..2] is sub\n"
    "beside -> beside_amp.1 -> lead 4 mm2 9 m -> beside_box[1]\n"
    "beside -> beside_amp.2 -> lead 4 mm2 9 m -> beside_box[2]\ngroup both: beside_box[*]\n"
)


class Again:
    """One text after the other, each checked with what is known of the earlier ones."""

    def __init__(self) -> None:
        self.memory = Memory()
        self.reader = Rereader()

    def found(self, text: str) -> list[tuple[str, str, str, int]]:
        return told(check(Source("rig.rig", text), in_memory({}), self.reader.parse, self.memory).findings)


@cache
def first(text: str) -> list[tuple[str, str, str, int]]:
    return told(check(Source("rig.rig", text), in_memory({})).findings)


def told(findings: tuple[Finding, ...]) -> list[tuple[str, str, str, int]]:
    return [(each.rule, each.message, each.help, each.span.start) for each in findings]


def versions(rule: Rule) -> Iterator[str]:
    """The example right, wrong and right again; then without each of its lines, right and wrong, one by one."""
    yield from (rule.good, rule.bad, rule.good, rule.bad)
    for example in (rule.bad, rule.good):
        lines = example.splitlines(keepends=True)
        for number in range(len(lines)):
            yield "".join(lines[:number] + lines[number + 1 :])
            yield example


@each_rule
def test_an_example_that_changes_is_told_as_for_the_first_time(rule: Rule) -> None:
    again = Again()
    for text in versions(rule):
        whole = BESIDE + text.partition("--- ")[0] + EXAMPLE_STOCK
        assert again.found(whole) == first(whole), text


def test_some_rules_look_again_at_what_has_changed_alone() -> None:
    assert sum(rule.apart for rule in RULES.values()) > 30
