"""What a difference in level is to a listener, in words.

1 dB is just heard, 3 dB clearly. 10 dB, ten times the power, are about twice as loud (ISO 532-1: the loudness in sone
doubles for each 10 phon); in deep bass it takes about 6 dB, where the curves of equal loudness crowd (ISO 226, from
memory).
"""

from __future__ import annotations

TWICE_DB, TWICE_IN_BASS_DB = 10.0, 6.0


def loudness(step_db: float, bass: bool = False) -> str:
    """What a step is to a listener; ``bass``: all of it lies below 100 Hz."""
    step, twice = abs(step_db), TWICE_IN_BASS_DB if bass else TWICE_DB
    if step < 0.5:
        return "nobody hears it"
    if step < 1.5:
        return "just heard"
    if step < 0.75 * twice:
        return "clearly heard"
    times = 2 ** (step / twice)
    return "about twice as loud" if times < 2.6 else f"about {times:.0f} times as loud"
