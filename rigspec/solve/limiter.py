"""Where a limiter has to stand so that the weakest loudspeaker behind it survives, and how fast it should be.

Voltages are rms for a limiter that watches the mean (``rms``) and instantaneous peak volts for one that watches peaks
(``peak``). A peak level in dBu is that of a sine whose peaks reach it, so that 0 dB between both means the same sine.
"""

from __future__ import annotations

from math import sqrt

from attrs import frozen

from rigspec.solve.decibel import dbu_to_volt, gain_to_power_ratio, volt_to_dbu
from rigspec.text.value import Content

CREST_FACTOR = 2.0
"""Peak over rms voltage of the noise that loudspeakers are rated with (IEC 60268-1 programme noise as IEC 60268-5 uses
it, AES2; from memory): a peak rating of four times the continuous one."""

SINE_CREST_FACTOR = sqrt(2.0)


def rms_volt(power_w: float, impedance_ohm: float) -> float:
    """The rms voltage at which a mean power stands across a rated impedance: sqrt(P Z) (Ohm's and Joule's laws)."""
    return sqrt(power_w * impedance_ohm)


def peak_volt(peak_w: float, impedance_ohm: float) -> float:
    """The peak voltage at which an instantaneous power stands across a rated impedance: sqrt(P Z)."""
    return sqrt(peak_w * impedance_ohm)


def peak_power_w(continuous_w: float) -> float:
    """The peak power that stands for a rating which gives none: crest factor 2, four times the continuous power."""
    return continuous_w * CREST_FACTOR**2


def at_output_volt(box_volt: float, share: float) -> float:
    """The amplifier's output at which a voltage stands at a box, which gets this share of it through its leads."""
    if share <= 0:
        raise ValueError(f"no voltage at an amplifier's output reaches a box with a share of {share}")
    return box_volt / share


def peak_level_dbu(volt_peak: float) -> float:
    """A peak voltage as the level of the sine whose peaks reach it."""
    return volt_to_dbu(volt_peak / SINE_CREST_FACTOR)


def peak_level_volt(level_dbu: float) -> float:
    """The peak voltage that a peak level stands for."""
    return dbu_to_volt(level_dbu) * SINE_CREST_FACTOR


def mean_over_rated(volt_peak: float, volt_rms: float, crest_factor: float = SINE_CREST_FACTOR) -> float:
    """Mean power over the rated mean power, of a signal held at a peak voltage.

    ``volt_rms`` is the voltage of the rated mean power. A sine (crest factor sqrt 2) held at the peaks of crest factor
    2 carries twice the rated power, a square wave (1) four times: a peak limiter alone does not cap the mean.
    """
    return (volt_peak / crest_factor / volt_rms) ** 2


def eaten_w(continuous_w: float, under_db: float) -> float:
    """What is left of a rating where a limiter stands this far under the right threshold."""
    return continuous_w / gain_to_power_ratio(under_db)


# ---- time constants -------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class TimeConstants(Content):
    """Suggested seconds of a peak limiter for a band; ``low_hz`` and ``high_hz`` bound the row of the table."""

    attack_s: float
    release_s: float
    low_hz: float
    high_hz: float


# Lower edge in Hz, attack in ms, release over attack: a pattern of the trade (common practice, no source). The attack
# is about one period of the lower edge: 45 ms against 50 ms at 20 Hz, 16 against 15.9 at 63 Hz, 1 against 1.0 at 1 kHz.
# One printed table has a factor of 8 beside 128 ms in the row from 125 Hz; its milliseconds give 16, and are what is
# set.
_ROWS = (
    (0.0, 45.0, 16),
    (63.0, 16.0, 16),
    (125.0, 8.0, 16),
    (250.0, 4.0, 8),
    (500.0, 2.0, 4),
    (1000.0, 1.0, 2),
)


def time_constants(low_hz: float) -> TimeConstants:
    """What a limiter for a band that begins at ``low_hz`` is usually set to (common practice, no source)."""
    found = max(number for number, (edge, _, _) in enumerate(_ROWS) if low_hz >= edge or number == 0)
    edge, attack_ms, times = _ROWS[found]
    above = _ROWS[found + 1][0] if found + 1 < len(_ROWS) else float("inf")
    return TimeConstants(attack_ms / 1e3, attack_ms * times / 1e3, edge, above)


def period_s(hz: float) -> float:
    """One period of a frequency, in seconds."""
    return 1 / hz
