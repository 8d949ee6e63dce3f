"""Checks of the files that a command line names."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from rigspec.check import Report, check
from rigspec.cli import terminal
from rigspec.cli.output import PEOPLE, about_file, report_trouble
from rigspec.cli.trouble import UsageError
from rigspec.files.files import STANDARD_INPUT, Unreadable, each_file
from rigspec.files.library import Library
from rigspec.show.cells import visible
from rigspec.text.finding import Severity
from rigspec.text.source import Source
from rigspec.text.value import Content

FIGURES = "so figures may be missing or wrong"


@frozen(eq=False, repr=False)
class Checked(Content):
    """A rig's report and the paths of all files that were read for it, its own first."""

    report: Report
    files: tuple[str, ...]


def check_one(library: Library, source: Source) -> Checked:
    """Check a text together with what it uses."""
    reader = library.reader(source)
    try:
        report = check(source, reader)
    except Exception as error:
        error.add_note(f"while checking {source.path}")
        raise
    return Checked(report, tuple(reader.seen))


def check_first(words: tuple[str, ...], options: dict[str, str], form: str = PEOPLE) -> Checked | None:
    """Check the rig that the first word means; None where it cannot be read, which is then told in this form."""
    refuse_stray_name(words, options)
    library = Library()
    source = library.open(words[0], options["--name"])
    if isinstance(source, Unreadable):
        report_trouble([about_file(source)], form, options["--colour"])
        return None
    return check_one(library, source)


def open_all(library: Library, words: tuple[str, ...], name: str) -> Iterator[Source | Unreadable]:
    """The text of each file that the words on the command line mean, each once."""
    seen: set[str] = set()
    for found in each_file(words):
        source = library.open(found, name) if isinstance(found, str) else found
        if source.path not in seen:
            seen.add(source.path)
            yield source


def refuse_stray_name(words: tuple[str, ...], options: dict[str, str]) -> None:
    """``--name`` says nothing unless a text comes through standard input."""
    if options["--name"] and STANDARD_INPUT not in words:
        raise UsageError(None, "--name goes with -, standard input", "add - behind it, or leave it out")


def told_of_errors(report: Report, so: str = FIGURES) -> bool:
    """Has the rig errors? If so, people are told, and in the words ``so`` what that means for what is written."""
    errors = sum(finding.severity is Severity.ERROR for finding in report.findings)
    if not errors:
        return False
    count = "an error" if errors == 1 else f"{errors} errors"
    path = visible(report.source.path)
    terminal.tell(f"{path} has {count}, {so}; see `rigspec check {path}`\n")
    return True
