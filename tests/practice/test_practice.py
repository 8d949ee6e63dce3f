"""Usual, right rigs, written by hand: no rule has anything to say about them.

A rig may take advice that is true of it, with a comment `# advice RULE because ...`; nothing worse is ever expected.
"""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rigspec.check import check
from rigspec.text.source import Source
from tests.rules.rig_checks import in_memory

HERE = Path(__file__).parent
FILES = {path.relative_to(HERE).as_posix(): path.read_text() for path in sorted(HERE.rglob("*.rig"))}
RIGS = [name for name in FILES if "/" not in name]
TRUE_ADVICE = re.compile(r"^# advice (\S+) because \S", re.MULTILINE)


def test_there_are_rigs_of_many_sorts() -> None:
    assert len(RIGS) >= 34


@pytest.mark.parametrize("name", RIGS)
def test_a_right_rig_is_left_alone(name: str) -> None:
    findings = check(Source(name, FILES[name]), in_memory(FILES)).findings
    advised = set(TRUE_ADVICE.findall(FILES[name]))
    said = [(finding.rule, finding.severity.value, finding.message) for finding in findings]
    assert [one for one in said if not (one[1] == "advice" and one[0] in advised)] == []
    assert advised <= {rule for rule, _, _ in said}
