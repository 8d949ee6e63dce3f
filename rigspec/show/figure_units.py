"""Which unit a figure has: the end of its key says so, for every program that reads figures."""

from __future__ import annotations

# The end of a key, its last word or the last three -> the unit. A key may be one of the longer ends alone. One without
# any of these ends is a word or a bare number.
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
    "milliampere": "mA",
    "btu_per_hour": "BTU/h",
}


def unit_of(key: str) -> str:
    """The unit of a figure by its key: ``load_ohm`` is in ohm; nothing for a word or a bare number."""
    words = key.split("_")
    if len(words) == 1:
        return UNIT_OF.get(key, "") if len(key) > 2 else ""
    return UNIT_OF.get(words[-1]) or UNIT_OF.get("_".join(words[-3:]), "")
