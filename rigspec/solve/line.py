"""Distributed lines of constant voltage: the load of a tap, what a tap takes on another line, what copper is needed.

Figures are volts (rms), watts, ohms, metres and mm2. A line of "70.7 V" has sqrt(5000) V, so that a tap of 1 W has
5000 ohm; written as 70 V or 70.7 V it is that line (EIA SE-101-A and SE-106, as public pages reproduce them).
"""

from __future__ import annotations

from collections.abc import Iterable
from math import sqrt

from rigspec.solve.decibel import gain_to_power_ratio, power_ratio_to_gain

LINE_70_VOLT = sqrt(5000.0)


HEADROOM = 0.2
"""The share of a line amplifier's power that is left free (common practice, no source)."""

HIGH_PASS_FROM_HZ = 50.0
HIGH_PASS_TO_HZ = 80.0
"""Below this range line transformers saturate; a high-pass stands in it or above (common practice, no source)."""

TOUCH_VOLT = 71.0
"""Outputs above this are hazardous live for anyone: IEC 60065 clause 9.1.1.1, as a public page quotes it."""
TOUCH_PROFESSIONAL_VOLT = 120.0
"""The same for professional apparatus: IEC 60065 clause 9.1.1.1, as a public page quotes it."""


def exact_volt(nominal_volt: float) -> float:
    """The voltage a line is named after, for what people call it: 70 V and 70.7 V both are sqrt(5000) V."""
    return LINE_70_VOLT if 69.95 <= nominal_volt <= 71.05 else nominal_volt


def tap_ohm(line_volt: float, tap_w: float) -> float:
    """The impedance of a tap: V^2/P (EIA SE-101-A)."""
    return line_volt * line_volt / tap_w


def load_ohm(line_volt: float, taps_w: Iterable[float]) -> float:
    """The impedance of a whole line without its leads: V^2 over the sum of the taps; infinite without taps."""
    total = sum(taps_w)
    return line_volt * line_volt / total if total > 0 else float("inf")


def tap_takes_w(tap_w: float, made_for_volt: float, line_volt: float) -> float:
    """What a tap made for one line takes on another: it goes with the square of the voltage."""
    return tap_w * (line_volt / made_for_volt) ** 2


def after_transformer_w(power_w: float, insertion_loss_db: float) -> float:
    """What of the power that a tap takes arrives behind its transformer."""
    return power_w / gain_to_power_ratio(insertion_loss_db)


def most_taps_w(rated_w: float, headroom: float = HEADROOM) -> float:
    """The sum of taps that leaves the headroom of an amplifier free."""
    return rated_w * (1 - headroom)


def headroom_db(rated_w: float, taps_w: float) -> float:
    """The amplifier's rated power over the sum of taps, in dB."""
    return power_ratio_to_gain(rated_w / taps_w)


def area_mm2(
    share_lost: float, load_w: float, line_volt: float, length_m: float, ohm_mm2_per_m: float = 0.0175
) -> float:
    """The conductor that loses this share of the voltage (and of the amplifier's power) to a load at its far end.

    ``load_w`` is the sum of taps, ``length_m`` one way. The lead's loop R = Z s/(1 - s) with Z = V^2/P, and its
    area is 2 rho l/R. A level of 20 log(1 - s) is lost, and (1 - s)^2 of the taps' power arrives.
    """
    if not 0 < share_lost < 1:
        raise ValueError(f"a lead loses a share between 0 and 1: {share_lost}")
    loop_ohm = tap_ohm(line_volt, load_w) * share_lost / (1 - share_lost)
    return 2 * ohm_mm2_per_m * length_m / loop_ohm
