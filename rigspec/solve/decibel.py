"""Decibels: 20 log of voltages, 10 log of powers, the level 0 dBu, and how much louder a step sounds."""

from math import inf, log10

from rigspec.text.units import DBU_REFERENCE_VOLT


def _decades(ratio: float) -> float:
    if ratio < 0:
        raise ValueError(f"a ratio of magnitudes cannot be negative: {ratio}")
    return log10(ratio) if ratio else -inf


def ratio_to_gain(voltage_ratio: float) -> float:
    """Gain in dB of a ratio of voltages (20 log); -inf for 0; ValueError below 0 (ITU-R V.574)."""
    return 20 * _decades(voltage_ratio)


def gain_to_ratio(gain_db: float) -> float:
    """The ratio of voltages that a gain in dB stands for (20 log)."""
    return float(10 ** (gain_db / 20))


def power_ratio_to_gain(power_ratio: float) -> float:
    """Gain in dB of a ratio of powers (10 log); -inf for 0; ValueError below 0 (ITU-R V.574)."""
    return 10 * _decades(power_ratio)


def gain_to_power_ratio(gain_db: float) -> float:
    """The ratio of powers that a gain in dB stands for (10 log)."""
    return float(10 ** (gain_db / 10))


def volt_to_dbu(volt: float) -> float:
    """Level in dBu of an RMS voltage; -inf for 0 V."""
    return ratio_to_gain(volt / DBU_REFERENCE_VOLT)


def dbu_to_volt(level_dbu: float) -> float:
    """RMS voltage of a level in dBu."""
    return DBU_REFERENCE_VOLT * gain_to_ratio(level_dbu)


def insertion_loss_db(series_ohm: float, load_ohm: float) -> float:
    """Level lost in dB, as a positive figure, when a resistance comes between a voltage source and a resistive load.

    This is what a lead takes from a loudspeaker: 20 log(1 + series/load), by the voltage divider.
    """
    return ratio_to_gain(1 + series_ohm / load_ohm)
