"""Figures of limiter thresholds for every amplifier channel."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures.bands import BandFigures
from rigspec.figures.levels import LevelFigures
from rigspec.figures.values import Ground
from rigspec.value import Value


@frozen(eq=False, repr=False)
class ProtectionFigures(Value):
    """Figures of limiter thresholds for every amplifier channel."""


def protection_figures(ground: Ground, levels: LevelFigures, bands: BandFigures) -> ProtectionFigures:
    """Work out limiter thresholds for every amplifier channel."""
    return ProtectionFigures()
