"""``rigspec check``: what is wrong in rigs."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from rigspec.check import Report, check, in_order
from rigspec.cli import terminal
from rigspec.cli.output import PEOPLE, about_file, blocks, document, fails
from rigspec.cli.trouble import UsageError
from rigspec.finding import Finding
from rigspec.source import Source
from rigspec.texts.files import STANDARD_INPUT, Stamp, Unreadable, each_file
from rigspec.texts.library import Library
from rigspec.value import Content


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


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Check, fix where wanted, report; the exit code."""
    refuse_stray_name(words, options)
    if "--fix" in options and STANDARD_INPUT in words:
        raise UsageError(None, "--fix cannot change standard input", "save the text in a file and name that file")
    if "--watch" in options:
        from rigspec.cli.watch import watch

        return watch(words, options)
    return check_all(words, options)[0]


def check_all(words: tuple[str, ...], options: dict[str, str]) -> tuple[int, dict[str, Stamp]]:
    """Check what the words mean, once: the exit code, and all files that it depends on as they were then."""
    library = Library()
    checked: dict[str, Checked] = {}
    unread: list[Finding] = []
    for source in open_all(library, words, options["--name"]):
        if isinstance(source, Unreadable):
            unread.append(about_file(source))
        else:
            checked[source.path] = check_one(library, source)
    notes, written = "", True
    if "--fix" in options:
        from rigspec.cli.fix import fix_all

        notes, written = fix_all(library, checked)
    findings = in_order([*unread, *(finding for one in checked.values() for finding in one.report.findings)])
    _print(options, findings, checked, notes, len(checked) + len(unread))
    code = 2 if unread or not written else 1 if fails(findings, options["--fail-on"]) else 0
    return code, library.asked


def _print(
    options: dict[str, str], findings: tuple[Finding, ...], checked: dict[str, Checked], notes: str, count: int
) -> None:
    form = options["--as"]
    if form != PEOPLE:
        terminal.tell(notes)
        files = dict.fromkeys(path for one in checked.values() for path in one.files)
        terminal.hand_over(document(findings, form, list(files), options["--fail-on"]))
        return
    end = f"no findings in {count} file{'' if count == 1 else 's'}"  # in its words, without the 4 ms to load it
    if findings:
        from rigspec.show.people import summary

        end = summary(findings, count)
    excused = len({finding for one in checked.values() for finding in one.report.excused})
    if excused:
        end += f", {excused} more accepted by `allow`"
    parts = (notes, blocks(findings, options["--colour"]), f"{end}\n")
    terminal.say("\n".join(part for part in parts if part))
