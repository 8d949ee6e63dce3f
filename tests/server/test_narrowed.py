"""What an edit concerns: a rule that looks again at that part alone finds there all that is new.

Samples that promise every figure of `OF_ITS_OWN` as it is are changed by program, by one mistake at a time.
"""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from random import Random

import pytest
from seeded.edits import Mutant, Rig
from seeded.mutants import OPERATORS
from test_memory import SAMPLES, Readers, told

from rigspec.check import check
from rigspec.figures import Figures
from rigspec.figures.narrowed import OF_ITS_OWN, narrowed
from rigspec.memory import Memory
from rigspec.parse.reader import parse
from rigspec.rules import RULES
from rigspec.rules.rule import Rule
from rigspec.source import Source, Span
from rigspec.why import figure_of

MISTAKES = 6
APART = [rule for rule in RULES.values() if rule.apart]
UNITS = {"power": "W", "voltage": "V", "loss": "dB", "level": "dBu", "damping": "", "polarity": ""}


def promises(figures: Figures) -> Iterator[str]:
    """A promise of every such figure, as it is."""
    rig = figures.rig
    keys = {**rig.wiring.outputs, **rig.wiring.sinks, **rig.wiring.throughs}
    for key in sorted(key for key in keys if not key.endswith(" inlet")):
        for word in sorted(OF_ITS_OWN):
            value = figure_of(figures, word, key)
            if isinstance(value, str):
                yield f"expect {word} of {key} = {value}\n"
            elif value is not None and abs(value) < 1e9:
                yield f"expect {word} of {key} = {value:.6f} {UNITS.get(word, 'ohm')}\n"


def mistakes(source: Source) -> list[Mutant]:
    rig = Rig(parse(source))
    made = [mutant for operator in OPERATORS for mutant in operator(rig)]
    return Random(len(source.text)).sample(made, MISTAKES)


def places(rule: Rule, figures: Figures) -> set[Span]:
    assert rule.look is not None
    return {finding.span for finding in rule.look(figures)}


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.rig")), ids=lambda path: path.stem)
def test_a_rule_finds_what_is_new_in_what_an_edit_concerns(path: Path) -> None:
    readers, memory = Readers(), Memory()
    clean = Source(str(path), path.read_text(encoding="utf-8"))
    promised = "".join(promises(check(clean, readers.load).figures))
    right, looked = Source(clean.path, clean.text + promised), 0
    for mistake in mistakes(clean):
        before = check(right, readers.load, readers.read, memory)
        assert before.findings == ()
        wrong = Source(clean.path, mistake.text(clean.text) + promised)
        now = check(wrong, readers.load, readers.read, memory)
        assert told(now) == told(check(wrong, readers.load)), mistake
        part = narrowed(now.figures, before.figures)
        for rule in APART if part is not None else ():
            if not places(rule, before.figures):  # else it is asked again about all
                assert places(rule, now.figures) <= places(rule, part), (rule.name, mistake)
                looked += 1
    assert looked
