"""A supply as a rig says it, and what rigspec says of opposed drive on it: from the text to the figure."""

from __future__ import annotations

from rigspec.check import check
from rigspec.figures.opposed import OpposedModel, prospect
from rigspec.text.source import Source

LOSES = 0.75
"""What a silicon diode drops while an amplifier idles, in volts (common practice, no source)."""


def described(emf_volt: float, ohm: float, farad: float, common: float | None = None) -> str:
    """A supply as its owner would describe it: the rails at idle, what lies before them, and their reservoir."""
    share = "" if common is None else f"; common {100 * common:.6g} %"
    rail = emf_volt - LOSES
    given = f"capacitance {1000 * farad:.6g} mF; rail {rail:.6g} V; source {ohm:.6g} ohm{share}"
    return f"supply {{ transformer; shared; {given} }}"


def rated(load_ohm: float, alone_watt: float, driven_watt: float, farad: float, hz: float) -> str:
    """A supply as a data sheet gives it."""
    return (
        f"rated {driven_watt:.6g} W at {load_ohm:g} ohm; rated {alone_watt:.6g} W at {load_ohm:g} ohm alone;"
        f" rated-at {hz:.6g} Hz; supply {{ transformer; shared; capacitance {1000 * farad:.6g} mF }}"
    )


def _no_files(path: str, near: str) -> Source:
    raise FileNotFoundError(path)


def prospect_of(supply: str, load_ohm: float, mains_hz: float, hz: float, stage: str = "class-ab") -> OpposedModel:
    """Two channels with the same bass on such a supply; ``hz`` is where the bass begins."""
    text = f"""\
rig "one" {{ mains 230 V {mains_hz:g} Hz }}
stock amp two {{ channels 2; gain 30 dB; stage {stage}; {supply} }}
stock speaker sub {{ impedance {load_ohm:g} ohm; rated 2 kW continuous }}
feed send {{ level -20 dBu; band {hz:.6g} Hz to {max(120.0, hz + 1):.6g} Hz }}
amp a is two
speaker s[1..2] is sub
send -> a.1 -> s[1]
send -> a.2 -> s[2]
"""
    figures = check(Source("one.rig", text), _no_files).figures
    (together,) = figures.together
    return prospect(figures, together)
