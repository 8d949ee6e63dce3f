"""Gain on the line side: what a sensitivity stands for, and what loading costs.

Figures are ohms, volts (rms) and dB. Losses are positive figures.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import inf

from rigspec.solve.decibel import insertion_loss_db, ratio_to_gain


def source_ohm(damping: float, load_ohm: float) -> float:
    """The impedance inside an output of a damping factor at a load: one over the other (IEC 60268-3, from memory).

    ``damping`` is a bare number; ValueError where it or the load is not above 0.
    """
    if damping <= 0 or load_ohm <= 0:
        raise ValueError(f"no damping factor {damping:g} at {load_ohm:g} ohm")
    return load_ohm / damping


def sensitivity_gain_db(output_volt: float, sensitivity_volt: float) -> float:
    """The gain of an amplifier that gives its rated output voltage from its sensitivity: 20 log of the two.

    ValueError where one of them is not above 0.
    """
    if output_volt <= 0 or sensitivity_volt <= 0:
        raise ValueError(f"no gain from {sensitivity_volt:g} V to {output_volt:g} V")
    return ratio_to_gain(output_volt / sensitivity_volt)


def parallel_ohm(ohms: Iterable[float]) -> float:
    """Resistances side by side; inf where there is none, 0 where one of them is 0."""
    siemens = 0.0
    for ohm in ohms:
        if ohm <= 0:
            return 0.0
        siemens += 1 / ohm
    return 1 / siemens if siemens else inf


def loading_loss_db(source_ohm: float, load_ohm: float) -> float:
    """What an output loses in its own impedance to all that it drives: 20 log(1 + source/load), the voltage divider.

    0 dB where nothing loads it (inf), inf dB into a short.
    """
    return insertion_loss_db(source_ohm, load_ohm) if load_ohm > 0 else inf
