"""``rigspec figures``: what is computed."""

from __future__ import annotations

from importlib import import_module

from rigspec.cli import terminal
from rigspec.cli.check_command import check_one, refuse_stray_name
from rigspec.cli.files import Unreadable
from rigspec.cli.library import Library
from rigspec.cli.output import PEOPLE, about_file, report_trouble
from rigspec.finding import Severity
from rigspec.show.cells import visible


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Show the figures of one rig; the exit code."""
    refuse_stray_name(words, options)
    library = Library()
    source = library.open(words[0], options["--name"])
    if isinstance(source, Unreadable):
        report_trouble([about_file(source)], options["--as"], options["--colour"])
        return 2
    report = check_one(library, source).report
    figures = import_module("rigspec.show.figures")
    if options["--as"] == PEOPLE:
        terminal.say(figures.figures_text(report))
    else:
        terminal.hand_over(figures.figures_json(report))
    errors = sum(finding.severity is Severity.ERROR for finding in report.findings)
    if not errors:
        return 0
    count = "an error" if errors == 1 else f"{errors} errors"
    path = visible(source.path)
    terminal.tell(f"{path} has {count}, so figures may be missing or wrong; see `rigspec check {path}`\n")
    return 1
