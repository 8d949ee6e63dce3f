"""The words of figures: of what each can be had, and what it says."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rigspec.language.figure_kinds import FIGURES
from rigspec.rig.relations import POLARITIES
from rigspec.show.cells import wrap
from rigspec.text.units import units_of
from rigspec.why import DERIVED

WIDTH = 100  # cells
_HOW = """
Each can be promised, measured and asked for, of one thing or of several:
    expect load of bass.1, bass.2 >= 4 ohm
    measured resistance of loom.2 0.33 ohm
    rigspec figures hall.rig --why "loss of sub[*]"
"""


def words_text(words: Sequence[str]) -> str:
    """These words with what they are figures of, what they say of each, and how they are used."""
    return "".join(line for word in words for line in _word(word)) + _HOW


def _word(word: str) -> Iterator[str]:
    yield f"{word}: {_values(word)}\n"
    for derived in DERIVED[word]:
        for number, line in enumerate(wrap(f"{derived.of}: {derived.says}", WIDTH - 4)):
            yield f"{'    ' if number else '  '}{line}\n"


def _values(word: str) -> str:
    """The first unit of a figure's values, or the words they may be."""
    kinds = FIGURES.get(word, ())
    units = [(units_of(kind) or ("a bare number",))[0] for kind in kinds]
    return " or ".join(units or POLARITIES)
