"""``rigspec reach``: how loud a rig is heard at its places, and when."""

from __future__ import annotations

from importlib import import_module

from rigspec.check import Report
from rigspec.cli import terminal
from rigspec.cli.checking import check_first, told_of_errors
from rigspec.cli.command import nearest
from rigspec.cli.forms import JSON, form_of
from rigspec.cli.output import PEOPLE
from rigspec.cli.trouble import UsageError


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Show where one rig is heard; the exit code."""
    form = form_of(options)
    checked = check_first(words, options, JSON if form == JSON else PEOPLE)
    if checked is None:
        return 2
    if options["--why"]:
        return _why(checked.report, options["--why"])
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


def _why(report: Report, name: str) -> int:
    """Show how what is heard at one place comes about."""
    text = import_module("rigspec.show.reach_why").why_text(report, name)
    if text is None:
        known = [gear.full for gear in report.figures.rig.gear.values() if gear.word in ("place", "area")]
        help = f"{nearest(name, known)}places are {', '.join(known)}" if known else "this rig has no place"
        raise UsageError(name, f"there is no place {name} that says where it is", help)
    terminal.say(text)
    return int(told_of_errors(report))


def _patterns(report: Report, path: str) -> str:
    """The patterns of a rig's arrays, drawn."""
    from rigspec.cli.picture import svg
    from rigspec.cli.seal import sealed

    scene = import_module("rigspec.space.scene").scene(report.figures)
    found = import_module("rigspec.space.arrays").arrays(report.figures, scene)
    drawing = import_module("rigspec.draw.array_patterns").array_patterns(report.figures.rig.title or path, found)
    return sealed(svg(drawing).encode("utf-8"), ".svg").decode("utf-8")
