"""Boundaries in words: rounded to the side on which a finding is gone, so that what is said is enough."""

from __future__ import annotations

from math import floor, log10

from rigspec.text.units import FigureKind, quantity, show

_LEAST_STEPS = {"gain": 0.01, "level": 0.01, "slope": 0.01}  # as `show` writes decibels


def at_most(value: float, kind: FigureKind, unit: str = "") -> str:
    """A boundary to stay at or below, shown with three digits and never above ``value``; ``unit`` as `show` has it."""
    return _bound(value, kind, unit, -1.0)


def at_least(value: float, kind: FigureKind, unit: str = "") -> str:
    """A boundary to stay at or above, shown with three digits and never below ``value``."""
    return _bound(value, kind, unit, 1.0)


def _bound(value: float, kind: FigureKind, unit: str, sign: float) -> str:
    shown = show(value, kind, unit)
    text, _, used = shown.partition(" ")
    number = float(text)
    there = quantity(number, used).value
    # What differs by nothing but the last bits of a float is the same figure.
    if (there - value) * sign >= -1e-12 * abs(value):
        return shown
    step = max(10.0 ** min(0, floor(log10(abs(number or 1.0))) - 2), _LEAST_STEPS.get(kind, 0.0))
    return show(quantity(number + sign * step, used).value, kind, used)
