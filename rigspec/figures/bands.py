"""Figures of the band that reaches every loudspeaker, through which filters."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures.values import Ground
from rigspec.value import Value


@frozen(eq=False, repr=False)
class BandFigures(Value):
    """Figures of the band that reaches every loudspeaker, through which filters."""


def band_figures(ground: Ground) -> BandFigures:
    """Work out the band that reaches every loudspeaker, through which filters."""
    return BandFigures()
