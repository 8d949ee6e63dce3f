"""What options say: the form that is written, and figures with their units."""

from __future__ import annotations

import re

from rigspec.cli.output import PEOPLE
from rigspec.cli.trouble import UsageError
from rigspec.text.units import FigureKind, UnknownUnit, quantity, show

CSV, JSON = "csv", "json"
TONES_HZ = 20.0, 100.0
"""Where sound is added as waves, so that a single tone says something."""
_FIGURE = re.compile(r"\s*([-+]?\d+(?:\.\d+)?)\s*(\S+)\s*")


def form_of(options: dict[str, str]) -> str:
    """``--as FORM``, or short ``--json`` or ``--csv``; people where nothing is said."""
    short = [name for name in ("--json", "--csv") if name in options]
    wanted = {name.removeprefix("--") for name in short}
    if options["--as"] != PEOPLE:
        wanted.add(options["--as"])
    if len(wanted) > 1:
        raise UsageError(short[-1], "figures are written in one form at a time", f"leave out all but {short[-1]}")
    return wanted.pop() if wanted else PEOPLE


def tone_of(options: dict[str, str]) -> float:
    """The tone of ``--tone``."""
    return figure_of(options, "--tone", "frequency", TONES_HZ, "55 Hz")


def figure_of(options: dict[str, str], name: str, kind: FigureKind, ends: tuple[float, float], example: str) -> float:
    """A figure of an option, with its unit, in the base unit of its kind."""
    text = options[name]
    read = _FIGURE.fullmatch(text)
    try:
        found = quantity(float(read[1]), read[2]) if read else None
    except UnknownUnit:
        found = None
    if found is None or found.kind != kind or not ends[0] <= found.value <= ends[1]:
        low, high = (show(end, kind) for end in ends)
        raise UsageError(name, f"{name} takes {low} to {high}, not {text}", f"for example {name} '{example}'")
    return found.value
