"""The high-passes and low-passes that stand on the way of a signal."""

from __future__ import annotations

from attrs import frozen

from rigspec.language.words import SettingWord
from rigspec.rig.model import Facts, Measure, first
from rigspec.solve.filter import ALIGNMENTS, BUTTERWORTH, Filter, ImpossibleFilter, order_of
from rigspec.text.source import Span
from rigspec.text.value import Value

WORDS: tuple[SettingWord, SettingWord] = ("high-pass", "low-pass")


@frozen(eq=False, repr=False)
class Passed(Value):
    """A filter that a signal has passed: as it is set at the output or channel ``key``, where it stands, and made.

    ``alignment`` is empty where none is set; a Butterworth filter is made then, of which the far slope is that of any
    other. ``made`` is None where no slope is set, or where no such filter is possible.
    """

    key: str
    high_pass: bool
    corner: Measure
    slope: Measure | None
    alignment: str
    span: Span
    made: Filter | None

    @property
    def word(self) -> str:
        return WORDS[0] if self.high_pass else WORDS[1]


def filters_set(facts: Facts, key: str) -> tuple[Passed, ...]:
    """The filters among the settings of an output or a channel; one whose corner is no frequency above 0 is none."""
    found = []
    for word in WORDS:
        given, entry = facts.get(word), first(facts, word)
        corner = entry.get("frequency") if entry else None
        if given is None or entry is None or corner is None or corner.value <= 0:
            continue
        alignment = next((each for each in entry.words if each in ALIGNMENTS), "")
        slope = entry.get("slope")
        high_pass = word == WORDS[0]
        made = _made(high_pass, corner.value, slope.value if slope else None, alignment or BUTTERWORTH)
        found.append(Passed(key, high_pass, corner, slope, alignment, given.span, made))
    return tuple(found)


def _made(high_pass: bool, corner_hz: float, slope_db: float | None, alignment: str) -> Filter | None:
    if slope_db is None:
        return None
    try:
        order_of(slope_db, alignment)
    except ImpossibleFilter:
        return None  # told by a rule of its own
    return Filter(high_pass, corner_hz, slope_db, alignment)
