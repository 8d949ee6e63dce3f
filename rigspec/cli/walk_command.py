"""``rigspec walk``: the walk test in front of the bass boxes."""

from __future__ import annotations

from importlib import import_module

from rigspec.cli import terminal
from rigspec.cli.checking import check_first, told_of_errors
from rigspec.cli.forms import JSON, form_of
from rigspec.cli.output import PEOPLE
from rigspec.cli.trouble import UsageError
from rigspec.text.units import UnknownUnit, quantity

MOST_TONE_HZ, LEAST_TONE_HZ = 100.0, 20.0
MOST_AT_M = 50.0


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Show the walk of one rig; the exit code."""
    form = form_of(options)
    tone_hz = _figure(options, "--tone", "frequency", LEAST_TONE_HZ, MOST_TONE_HZ)
    at_m = _figure(options, "--at", "length", 0.5, MOST_AT_M)
    checked = check_first(words, options, JSON if form == JSON else PEOPLE)
    if checked is None:
        return 2
    report = checked.report
    scene = import_module("rigspec.space.scene").scene(report.figures)
    found = import_module("rigspec.space.walk").walk(scene, tone_hz, at_m)
    if form == "svg":
        from rigspec.cli.picture import svg
        from rigspec.cli.seal import sealed

        drawing = import_module("rigspec.draw.walk_curves").walk_curves(report.figures.rig.title or words[0], found)
        terminal.hand_over(sealed(svg(drawing).encode("utf-8"), ".svg").decode("utf-8"))
        return int(told_of_errors(report))
    show = import_module("rigspec.show.walk")
    if form == PEOPLE:
        terminal.say(show.walk_text(report, found))
    else:
        terminal.hand_over(getattr(show, f"walk_{form}")(report, found))
    return int(told_of_errors(report))


def _figure(options: dict[str, str], name: str, kind: str, least: float, most: float) -> float:
    """A figure of an option, with its unit, in the base unit of its kind."""
    text = options[name]
    number, _, unit = text.strip().partition(" ")
    at = len(number.rstrip("abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ"))
    number, unit = number[:at], number[at:] or unit
    try:
        found = quantity(float(number), unit.strip())
    except (ValueError, UnknownUnit):
        found = None
    if found is None or found.kind != kind or not least <= found.value <= most:
        unit = "Hz" if kind == "frequency" else "m"
        raise UsageError(
            name,
            f"{name} takes {least:g} to {most:g} {unit}, not {text}",
            f"for example {name} '55 Hz'" if unit == "Hz" else f"for example {name} '4 m'",
        )
    return found.value
