"""The whole text of one finding of every rule, as an engineer reads it."""

from __future__ import annotations

from pathlib import Path

from rig_checks import FOUND_AT_THE_EDGE, check_example

from rigspec.rules import RULES
from rigspec.rules.rule import Rule
from rigspec.show.people import people

GOLDEN = Path(__file__).parents[1] / "golden" / "findings.txt"
REFRESH = "python -m tests.golden"


def page() -> str:
    """The first finding of each rule in that rule's own bad example, in the order of the rules."""
    return "\n".join(_section(rule) for rule in RULES.values() if rule.name not in FOUND_AT_THE_EDGE)


def _section(rule: Rule) -> str:
    found = next((f for f in check_example(rule.bad).findings if f.rule == rule.name), None)
    shown = people([found], colour=False) if found else "nothing is found\n"
    return f"==== {rule.name}\n{shown}"
