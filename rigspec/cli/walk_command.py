"""``rigspec walk``: the walk test in front of the bass boxes."""

from __future__ import annotations

from importlib import import_module

from rigspec.cli import terminal
from rigspec.cli.checking import check_first, told_of_errors
from rigspec.cli.forms import JSON, figure_of, form_of, tone_of
from rigspec.cli.output import PEOPLE

MOST_AT_M = 50.0


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Show the walk of one rig; the exit code."""
    form = form_of(options)
    tone_hz = tone_of(options)
    at_m = figure_of(options, "--at", "length", (0.5, MOST_AT_M), "4 m")
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
