"""``rigspec reach``: how loud a rig is heard at its places, and when."""

from __future__ import annotations

from importlib import import_module

from rigspec.check import Report
from rigspec.cli import terminal
from rigspec.cli.checking import check_first, told_of_errors
from rigspec.cli.forms import JSON, form_of
from rigspec.cli.output import PEOPLE


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Show where one rig is heard; the exit code."""
    form = form_of(options)
    checked = check_first(words, options, JSON if form == JSON else PEOPLE)
    if checked is None:
        return 2
    if form == "svg":
        terminal.hand_over(_patterns(checked.report, words[0]))
        return int(told_of_errors(checked.report))
    show = import_module("rigspec.show.reach")
    found = show.reaches(checked.report)
    if form == PEOPLE:
        terminal.say(show.reach_text(checked.report, found))
    else:
        terminal.hand_over(getattr(show, f"reach_{form}")(checked.report, found))
    return int(told_of_errors(checked.report))


def _patterns(report: Report, path: str) -> str:
    """The patterns of a rig's arrays, drawn."""
    from rigspec.cli.picture import svg
    from rigspec.cli.seal import sealed

    scene = import_module("rigspec.space.scene").scene(report.figures)
    found = import_module("rigspec.space.arrays").arrays(report.figures, scene)
    drawing = import_module("rigspec.draw.array_patterns").array_patterns(report.figures.rig.title or path, found)
    return sealed(svg(drawing).encode("utf-8"), ".svg").decode("utf-8")
