"""``rigspec compare``: several rigs side by side."""

from __future__ import annotations

from importlib import import_module

from rigspec.cli import terminal
from rigspec.cli.checking import check_one, refuse_stray_name, told_of_errors
from rigspec.cli.forms import JSON, form_of
from rigspec.cli.output import PEOPLE, about_file, report_trouble
from rigspec.cli.trouble import UsageError
from rigspec.files.files import Unreadable
from rigspec.files.library import Library


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Compare rigs; the exit code."""
    form = form_of(options)
    refuse_stray_name(words, options)
    if len(set(words)) < len(words):
        raise UsageError(words[-1], "the same rig is named twice", "name each plan once")
    library = Library()
    sources = [library.open(word, options["--name"]) for word in words]
    unread = [about_file(source) for source in sources if isinstance(source, Unreadable)]
    if unread:
        report_trouble(unread, JSON if form == JSON else PEOPLE, options["--colour"])
        return 2
    reports = [check_one(library, source).report for source in sources if not isinstance(source, Unreadable)]
    plan = import_module("rigspec.plans.plan").plan
    show = import_module("rigspec.plans.comparing")
    plans = [plan(report) for report in reports]
    if form == JSON:
        terminal.hand_over(show.compared_json(plans))
    else:
        terminal.say(show.compared(plans))
    wrong = [told_of_errors(report) for report in reports]  # people are told of each
    return int(any(wrong))
