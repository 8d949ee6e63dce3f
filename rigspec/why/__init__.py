"""How every figure came about: each word that can be promised, measured or asked for, with the tree behind its value.

A word may be had of several sorts of things (the `loss` of a loudspeaker and of a lead). The families are listed here.
"""

from __future__ import annotations

from rigspec.figures import Figures
from rigspec.why import bands, boxes, channels, groups, impedance, leads, levels, lines, mains, protection, supplies
from rigspec.why.derived import Derived
from rigspec.why.working import Step

__all__ = ["DERIVED", "Derived", "derive", "everything", "figure_of"]

FAMILIES = (channels, boxes, leads, groups, impedance, levels, bands, protection, lines, mains, supplies)
DERIVED: dict[str, tuple[Derived, ...]] = {}
for _family in FAMILIES:
    for _derived in _family.DERIVED:
        DERIVED[_derived.word] = (*DERIVED.get(_derived.word, ()), _derived)


def derive(figures: Figures, word: str, key: str) -> Step | None:
    """The figure that a word names of a thing, with its working; None where the rig does not let it be known.

    ``key`` is the full name of a channel, a loudspeaker, a lead, an input, a part of the mains or a feed, as the rig
    writes it: ``bass.1``, ``sub[2]``, ``hang[1].low``, ``loom.2``, ``xo.a``, ``pa``.
    """
    for derived in DERIVED.get(word, ()):
        step = derived.make(figures, key)
        if step is not None:
            return step
    return None


def figure_of(figures: Figures, word: str, key: str) -> float | str | None:
    """The figure that a word names of a thing, without its working: what `derive` gives as its value."""
    for derived in DERIVED.get(word, ()):
        value = derived.value(figures, key)
        if value is not None:
            return value
    return None


def everything(figures: Figures, key: str) -> list[tuple[str, Step]]:
    """Every figure of one thing, each with its word: what an editor shows beside its name."""
    found = ((word, derive(figures, word, key)) for word in DERIVED)
    return [(word, step) for word, step in found if step is not None]
