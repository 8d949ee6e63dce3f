"""Figures of loads and losses over frequency, where a stock gives impedance as it is."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures.bands import BandFigures
from rigspec.figures.values import Ground
from rigspec.value import Value


@frozen(eq=False, repr=False)
class SpectrumFigures(Value):
    """Figures of loads and losses over frequency, where a stock gives impedance as it is."""


def spectrum_figures(ground: Ground, bands: BandFigures) -> SpectrumFigures:
    """Work out loads and losses over frequency, where a stock gives impedance as it is."""
    return SpectrumFigures()
