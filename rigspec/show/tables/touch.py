"""Notes on outputs whose voltage is dangerous to touch, and on the class of their wiring."""

from __future__ import annotations

from rigspec.figures import Figures
from rigspec.solve.line import TOUCH_PROFESSIONAL_VOLT, TOUCH_VOLT
from rigspec.text.finding import few

MOST_NAMED = 4


def touch_notes(figures: Figures, *, lines: bool) -> list[str]:
    """What to say below a table of channels: of those that drive a distributed line, or of all others."""
    volts = {
        key: channel.rated_volt
        for key, channel in figures.channels.items()
        if channel.rated_volt is not None and (key in figures.lines.channels) == lines
    }
    notes = []
    high = sorted((key for key, volt in volts.items() if volt > TOUCH_VOLT), key=lambda key: -volts[key])
    if high:
        named = few([f"{key} {volts[key]:.0f} V" for key in high], MOST_NAMED)
        notes.append(
            f"Dangerous to touch, more than {TOUCH_VOLT:g} V rms at full output ({TOUCH_PROFESSIONAL_VOLT:g} V for"
            f" professional gear; IEC 60065 9.1.1.1, as a public page quotes it): {named}."
        )
    code = figures.rig.facts.get("code")
    if lines and volts and code is not None and "nec" in code.entries[0].words:
        notes.append(
            "NEC 640.9(C): the wiring of an output is of class 1, 2 or 3, as the amplifier is listed and marked. This"
            " is a reminder; it is not judged here."
        )
    return notes
