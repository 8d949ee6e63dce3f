"""Two sounds that do not arrive together: phase, delay, combs (wave theory) and what precedence asks for."""

from __future__ import annotations

from collections.abc import Iterator
from math import ceil

from rigspec.solve.decibel import ratio_to_gain

PRECEDENCE_S = 0.005, 0.015
"""So far behind the earlier sound a delayed box is heard as part of it, from where the earlier one comes.

The precedence effect (H. Haas, 1951), which holds for much more; 5 to 15 ms is common practice, no source.
"""
ECHO_SPEECH_S, ECHO_MUSIC_S = 0.030, 0.050  # later than this is an echo (common practice, no source)


def phase_deg(late_s: float, hz: float, inverted: bool = False) -> float:
    """The phase of what arrives so late against what does not; over -180 and up to 180."""
    turned = (-360 * hz * late_s + (180 if inverted else 0)) % 360
    return turned - 360 if turned > 180 else turned


def notch_hz(apart_s: float, inverted: bool = False) -> Iterator[float]:
    """The tones that two alike signals, so far apart in time, take from each other, from the lowest; none for 0 s."""
    apart = abs(apart_s)
    number = 1
    while apart > 0:
        yield (number if inverted else number - 0.5) / apart
        number += 1


def comb_db(second_db: float) -> tuple[float, float]:
    """How far a comb lifts and lowers a tone against the first alone, from how loud the second is against it."""
    ratio = 10 ** (second_db / 20)
    return ratio_to_gain(1 + ratio), ratio_to_gain(abs(1 - ratio))


def processor_delay_s(late_s: float, step_s: float = 0.0001) -> float:
    """A delay rounded up to what a processor takes: tenths of a millisecond."""
    return ceil(late_s / step_s - 1e-9) * step_s
