"""Findings in the form that was asked for.

Findings about files and command lines carry no reason: nobody needs to be told why a missing file is not checked.
`rigspec explain` has it.
"""

from __future__ import annotations

import sys
from collections.abc import Sequence

from rigspec import __version__
from rigspec.cli import terminal
from rigspec.cli.trouble import UsageError
from rigspec.files.files import Unreadable
from rigspec.text.finding import Finding, Severity
from rigspec.text.source import Source, Span

PEOPLE = "people"
NEVER = "never"
COMMAND_LINE = "command-line"  # the path of findings about the words behind `rigspec`


def about_file(file: Unreadable) -> Finding:
    """The finding that says that a file cannot be read."""
    source = Source(file.path, file.text)
    span = Span(source, file.offset, min(file.offset + 1, len(file.text)))
    label = "here" if file.text else ""
    message = f"{file.what}: {file.reason}"
    return Finding("file-unreadable", span, message, label, help=file.help)


def about_usage(arguments: Sequence[str], usage: UsageError) -> Finding:
    """The finding that says that the command line cannot be understood, shown at the word that is wrong."""
    words = ["rigspec", *map(_word, arguments)]
    text = " ".join(words)
    start, end = 0, len(text)
    at = usage.at
    if isinstance(at, str):  # the last argument that reads so
        at = max((number for number, argument in enumerate(arguments) if argument == at), default=None)
    if at is not None:
        start = sum(len(word) + 1 for word in words[: at + 1])
        end = start + len(words[at + 1])
    span = Span(Source(COMMAND_LINE, text), start, end)
    return Finding("usage", span, usage.message, help=usage.help)


def _word(argument: str) -> str:
    """An argument as one word on one line."""
    return argument if argument.isprintable() and argument and " " not in argument else repr(argument)


def fails(findings: Sequence[Finding], fail_on: str) -> bool:
    """Is there a finding of this severity or above?"""
    return fail_on != NEVER and any(finding.severity.weight >= Severity(fail_on).weight for finding in findings)


def document(findings: Sequence[Finding], form: str, files: Sequence[str], fail_on: str = "error") -> str:
    """Findings as a text for programs, in one of the forms json, sarif, junit and line."""
    if form == "json":
        from rigspec.show.json_form import to_json

        return to_json(findings, files=files, tool_version=__version__)
    if form == "sarif":
        from rigspec.rules import RULES
        from rigspec.show.sarif import to_sarif

        return to_sarif(findings, rules=RULES, tool_version=__version__)
    if form == "junit":
        from rigspec.show.junit import junit

        return junit(findings, files=files, fail_on=Severity.ERROR if fail_on == NEVER else Severity(fail_on))
    from rigspec.show.line import lines

    return lines(findings)


def blocks(findings: Sequence[Finding], colour: str, *, to_error: bool = False, full: bool = True) -> str:
    """Findings for people, in full or brief, as wide and as coloured as the stream they go to takes."""
    if not findings:
        return ""
    if full:
        from rigspec.show.people import people as write
    else:
        from rigspec.show.brief import brief as write

    stream = sys.stderr if to_error else sys.stdout
    return write(findings, colour=terminal.use_colour(colour, stream), width=terminal.width(stream))


def report_trouble(findings: Sequence[Finding], form: str, colour: str = "auto") -> None:
    """Say what kept a command from doing its work: to people on standard error, to programs on standard output."""
    if form == PEOPLE:
        terminal.tell(blocks(findings, colour, to_error=True))
    else:
        terminal.hand_over(document(findings, form, ()))
