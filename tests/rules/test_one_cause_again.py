"""Slips that come and go in a text that is checked again and again: each is told as in a first check."""

from __future__ import annotations

import re

import pytest
from rig_checks import in_memory
from test_examples_again import told
from test_one_cause import SAMPLES, SLIPS

from rigspec.check import check
from rigspec.finding import Finding
from rigspec.memory import Memory
from rigspec.parse.again import Rereader
from rigspec.source import Source

FILES = {path.relative_to(SAMPLES).as_posix(): path.read_text(encoding="utf-8") for path in SAMPLES.rglob("*.rig")}


def places(findings: tuple[Finding, ...]) -> list[list[tuple[int, str]]]:
    return [[(label.span.start, label.text) for label in finding.related] for finding in findings]


@pytest.mark.parametrize("sample", sorted({slip[0] for slip in SLIPS}))
def test_slips_come_and_go_as_in_a_first_check(sample: str) -> None:
    path = f"{sample}.rig"
    right = FILES[path]
    texts = [right]
    for _, pattern, instead, *_ in (slip for slip in SLIPS if slip[0] == sample):
        slip = re.sub(pattern, instead, right, flags=re.MULTILINE)
        texts += [slip, f"{slip}\nspeaker more", right]
    load, memory = in_memory(FILES), Memory()
    readers: dict[str, Rereader] = {}
    first = {text: check(Source(path, text), load).findings for text in dict.fromkeys(texts)}
    for text in texts:
        source = Source(path, text)
        again = check(source, load, lambda each: readers.setdefault(each.path, Rereader()).parse(each), memory).findings
        assert (told(again), places(again)) == (told(first[text]), places(first[text])), text
