"""``rigspec figures``: what is computed, and how it came about."""

from __future__ import annotations

from importlib import import_module

from rigspec.check import Report
from rigspec.cli import terminal
from rigspec.cli.checking import check_first, told_of_errors
from rigspec.cli.command import nearest
from rigspec.cli.forms import CSV, JSON, form_of
from rigspec.cli.output import PEOPLE, blocks, fails, report_trouble
from rigspec.cli.trouble import UsageError
from rigspec.text.source import Source

EVERYTHING = "--all"
# What writes each form: its module, and what to call there.
WRITERS = {
    PEOPLE: ("rigspec.show.figures", "figures_text"),
    JSON: ("rigspec.show.figures", "figures_json"),
    CSV: ("rigspec.show.figures_csv", "figures_csv"),
}


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Show the figures of one rig; the exit code."""
    form = form_of(options)
    path, questions, why = words[0], words[1:], options["--why"]
    whole = EVERYTHING in options
    if why:
        _refuse_both((*questions, *([EVERYTHING] if whole else ())), form)
    else:
        _refuse_unknown(path, questions)
        if whole and questions:
            raise UsageError(EVERYTHING, "--all shows every table, not one alone", "leave one of the two out")
    checked = check_first(words, options, JSON if form == JSON else PEOPLE)
    if checked is None:
        return 2
    report = checked.report
    if form == PEOPLE and not (why or whole or questions):
        return _look(report)
    code = _explain(report, why, form, options["--colour"]) if why else _show(report, questions, form)
    return max(code, int(told_of_errors(report)))


def _look(report: Report) -> int:
    """Show the rig on one screen, which ends with what a check has found."""
    text: str = import_module("rigspec.show.overview").overview(report)
    terminal.say(text)
    return int(fails(report.findings, "error"))


def _refuse_both(questions: tuple[str, ...], form: str) -> None:
    if questions:
        help = f"leave {questions[0]} out, or ask for it without --why"
        raise UsageError(questions[0], "--why shows how figures came about, and no tables", help)
    if form == CSV:
        help = "leave the form out to read it, or take --as json"
        raise UsageError(None, "how a figure came about is no table, so there is no CSV of it", help)


def _refuse_unknown(path: str, questions: tuple[str, ...]) -> None:
    known = import_module("rigspec.show.tables").QUESTIONS
    for word in questions:
        if word in known:
            continue
        if path in known and word.endswith(".rig"):
            raise UsageError(word, "the rig comes before the questions", f"write `rigspec figures {word} {path}`")
        help = f"{nearest(word, list(known))}the tables are {', '.join(known)}"
        raise UsageError(word, f"figures has no table {word}", help)


def _show(report: Report, questions: tuple[str, ...], form: str) -> int:
    module, writer = WRITERS[form]
    text: str = getattr(import_module(module), writer)(report, questions)
    if form == PEOPLE:
        terminal.say(text)
    else:
        terminal.hand_over(text)
    return 0


def _explain(report: Report, why: str, form: str, colour: str) -> int:
    """Show how figures came about, and say of each that is not there why not; 2 where none is there."""
    found = import_module("rigspec.show.answers").answer(report, Source("--why", why))
    writers = import_module("rigspec.show.why")
    if form == JSON:
        if found.known:
            terminal.hand_over(writers.why_json(report.source.path, found.known, found.lacking))
        else:
            report_trouble(found.lacking, JSON)
            return 2
    elif found.known:
        terminal.say(writers.why_text(found.known))
    if found.lacking:
        terminal.tell(blocks(found.lacking, colour, to_error=True))
    return 0 if found.known else 2
