"""In a right rig a figure with a wrong unit is one finding: nothing is concluded from what it leaves open."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from rigspec.check import check
from rigspec.text.source import Source
from tests.rules.rig_checks import in_memory

HERE = Path(__file__).parent
FILES = {path.relative_to(HERE).as_posix(): path.read_text(encoding="utf-8") for path in HERE.rglob("*.rig")}
RIGS = sorted(name for name in FILES if "/" not in name)
WORDS = "gain|attenuator|rated|band|limit|high-pass|low-pass|at|input|delay|level|peak|source|least-load|impedance"
_figure = re.compile(rf"(?<![\w-])(?:{WORDS}) [+-]?[\d.]+ ?([A-Za-z]+)")


@pytest.mark.parametrize("name", RIGS)
def test_a_wrong_unit_is_one_finding(name: str) -> None:
    text = FILES[name]
    for found in _figure.finditer(text):
        before = text[text.rfind("\n", 0, found.start()) + 1 : found.start()]
        if "#" in before or "->" in before or before.startswith("expect"):
            continue
        slip = f"{text[: found.start(1)]}kg{text[found.end(1) :]}"
        findings = check(Source(name, slip), in_memory({**FILES, name: slip})).findings
        assert [each.rule for each in findings] == ["unit-mismatch"], found[0]
