"""Which unit a figure has: the end of its key says so, for every program that reads figures."""

from __future__ import annotations

# The end of a key, behind its last underscore -> the unit. A key may be one of the longer ends alone. One without any
# of these ends is a word or a bare number.
UNIT_OF = {
    "ohm": "ohm",
    "volt": "V",
    "ampere": "A",
    "watt": "W",
    "va": "VA",
    "db": "dB",
    "dbu": "dBu",
    "percent": "%",
    "hz": "Hz",
    "m": "m",
    "mm2": "mm2",
    "awg": "AWG",
    "s": "s",
    "ms": "ms",
    "c": "degC",
    "kg": "kg",
    "deg": "deg",
    "farad": "F",
    "henry": "H",
    "ma": "mA",
}


def unit_of(key: str) -> str:
    """The unit of a figure by its key: ``load_ohm`` is in ohm; nothing for a word or a bare number."""
    _, underscore, end = key.rpartition("_")
    return UNIT_OF.get(end, "") if underscore or len(end) > 2 else ""
