"""Figures of the mains as a tree, from supply or generator to every inlet."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures.values import Ground
from rigspec.value import Value


@frozen(eq=False, repr=False)
class MainsFigures(Value):
    """Figures of the mains as a tree, from supply or generator to every inlet."""


def mains_figures(ground: Ground) -> MainsFigures:
    """Work out the mains as a tree, from supply or generator to every inlet."""
    return MainsFigures()
