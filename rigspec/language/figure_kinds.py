"""The words of the figures that can be promised, measured and asked for, with the kinds of their values."""

from __future__ import annotations

from rigspec.text.units import FigureKind

# None where a figure is a word.
FIGURES: dict[str, tuple[FigureKind, ...]] = {
    "load": ("resistance",),
    "impedance": ("resistance",),
    "least-impedance": ("resistance",),
    "resistance": ("resistance",),
    "power": ("power",),
    "voltage": ("voltage",),
    "loss": ("gain",),
    "level": ("level", "sound level"),
    "evenness": ("gain",),
    "arrival": ("time",),
    "difference": ("gain", "time"),
    "headroom": ("gain",),
    "clip-level": ("level",),
    "gain": ("gain",),
    "limit": ("level",),
    "limit-peak": ("level",),
    "taps": ("power",),
    "delay": ("time",),
    "damping": ("number",),
    "current": ("current",),
    "source": ("resistance",),
    "margin": ("ratio",),
    "temperature": ("temperature",),
    "low-edge": ("frequency",),
    "high-edge": ("frequency",),
    "attenuation": ("gain",),
    "crossover": ("gain",),
    "draw": ("power",),
    "heat": ("power",),
    "share": ("ratio",),
    "neutral": ("current",),
    "drop": ("ratio",),
    "inrush": ("current",),
    "leakage": ("current",),
    "opposed-gain": ("ratio",),
    "climb": ("voltage",),
    "polarity": (),
}
