"""Checks of the files that a command line names."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from rigspec.check import Report, check
from rigspec.cli.trouble import UsageError
from rigspec.files.files import STANDARD_INPUT, Unreadable, each_file
from rigspec.files.library import Library
from rigspec.text.source import Source
from rigspec.text.value import Content


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
