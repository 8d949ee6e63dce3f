"""What a figure that can be asked for is: its word, of what sort of thing, what it says, and how its tree is made."""

from __future__ import annotations

from collections.abc import Callable

from attrs import frozen

from rigspec.figures import Figures
from rigspec.value import Value
from rigspec.working import Step


@frozen(repr=False)
class Derived(Value):
    """One figure of one sort of thing.

    ``word`` stands in `FIGURES` of `resolve/relations.py` with its kinds. ``of`` names the sort of thing in words, with
    its article. ``make`` gives the tree for a thing's key, or None where the key is no such thing or the figure is not
    known; its value is the computed figure itself, never a second computation of it.
    """

    word: str
    of: str
    says: str
    make: Callable[[Figures, str], Step | None]
