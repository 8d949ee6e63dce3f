"""What a figure that can be asked for is: its word, of what sort of thing, what it says, and how its tree is made."""

from __future__ import annotations

from collections.abc import Callable

from attrs import frozen

from rigspec.figures import Figures
from rigspec.text.value import Content
from rigspec.why.working import Step


@frozen(eq=False, repr=False)
class Derived(Content):
    """One figure of one sort of thing.

    ``word`` stands in `FIGURES` of `figure_kinds.py` with its kinds. ``of`` names the sort of thing in words, with
    its article. ``make`` gives the tree for a thing's key, or None where the key is no such thing or the figure is not
    known; its value is the computed figure itself, never a second computation of it. ``figure`` gives that alone,
    where it is to be had without its tree: a promise that is kept needs no working.
    """

    word: str
    of: str
    says: str
    make: Callable[[Figures, str], Step | None]
    figure: Callable[[Figures, str], float | str | None] | None = None

    def value(self, figures: Figures, key: str) -> float | str | None:
        """The figure without its working; None where the tree would be."""
        if self.figure is not None:
            return self.figure(figures, key)
        step = self.make(figures, key)
        return None if step is None else step.value
