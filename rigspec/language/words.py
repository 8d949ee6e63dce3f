"""The words of the language as types, so that a misspelt one is an error before anything runs.

What the words mean stands elsewhere: in the grammar, and in the tables of settings and figures. The tests hold these
lists against them.
"""

# One word a line would be a long file that says little.
# fmt: off

from __future__ import annotations

from typing import Literal, TypeAlias

ThingWord: TypeAlias = Literal[
    "feed", "split", "processor", "amp", "speaker", "lead", "panel", "mains", "place", "area",
]
GearWord: TypeAlias = ThingWord | Literal["mix"]  # a mix on a path comes out as gear does
ListWord: TypeAlias = Literal["stereo", "mix", "rack", "group", "spare"]
StockSort: TypeAlias = Literal["amp", "speaker", "lead", "processor", "panel"]
Carries: TypeAlias = Literal["signal", "power", "mains"]  # power is what an amplifier gives to loudspeakers
PieceWord: TypeAlias = Literal["lead", "invert", "pad", "delay", "plug"]
WayWord: TypeAlias = Literal["low", "mid", "high"]
SettingWord: TypeAlias = Literal[
    "active", "aim", "air", "array", "asks", "at", "attack", "attenuator", "band", "box", "box-q", "breaker",
    "bridge", "bridged-gain", "capacitance", "capacitor", "carries", "channels", "code", "coil-inductance", "common",
    "compliance-ratio", "connectors", "contact", "corner", "coverage", "curve", "damping", "dc-resistance", "delay",
    "draw", "drive", "driver", "drivers", "drop", "efficiency", "electrical-q", "ends", "from", "gain", "generator",
    "headroom", "hears", "height", "high", "high-pass", "idle", "impedance", "input", "input-peak", "inputs",
    "inrush", "insertion-loss", "inverted", "joined", "label", "language", "latency", "lead", "lead-loss", "leakage",
    "least-load", "legs", "length", "level", "limit", "limits", "line", "lines", "loss", "low", "low-pass", "mains",
    "mechanical-q", "meter", "mid", "muted", "note", "on", "outlets", "outputs", "owned", "pairs", "passive", "peak",
    "peak-level", "phase", "phases", "power-factor", "powered", "programme", "rail", "rated", "rated-at", "regulated",
    "release", "residual", "resonance", "sensitivity", "separate", "sequence", "shared", "size", "source", "spread",
    "stage", "supply", "switch-mode", "tap", "taps", "toward", "transformer", "trip", "weight",
]
ChoiceWord: TypeAlias = Literal[
    "B", "C", "D", "L1", "L2", "L3", "alone", "bessel", "bridge", "butterworth", "class-ab", "class-h", "continuous",
    "curved", "end-fire", "free-field", "full-bridge", "gradient", "ground", "half-bridge", "half-space", "iec",
    "inverted", "least", "linkwitz-riley", "loudspeaker", "mains", "nec", "peak", "rms", "sealed", "selective",
    "side-by-side", "signal", "solid", "spaced", "tinned", "vented",
]
