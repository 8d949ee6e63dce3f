"""Figures of levels at every input and output, clip points and headroom."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures.values import Ground
from rigspec.value import Value


@frozen(eq=False, repr=False)
class LevelFigures(Value):
    """Figures of levels at every input and output, clip points and headroom."""


def level_figures(ground: Ground) -> LevelFigures:
    """Work out levels at every input and output, clip points and headroom."""
    return LevelFigures()
