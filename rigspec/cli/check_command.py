"""``rigspec check``: what is wrong in rigs."""

from __future__ import annotations

from rigspec.check import in_order
from rigspec.cli import terminal
from rigspec.cli.checking import Checked, check_one, open_all, refuse_stray_name
from rigspec.cli.output import PEOPLE, about_file, blocks, document, fails
from rigspec.cli.trouble import UsageError
from rigspec.files.files import STANDARD_INPUT, Stamp, Unreadable
from rigspec.files.library import Library
from rigspec.text.finding import Finding


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Check, fix where wanted, report; the exit code."""
    refuse_stray_name(words, options)
    if "--fix" in options and STANDARD_INPUT in words:
        raise UsageError(None, "--fix cannot change standard input", "save the text in a file and name that file")
    if "--watch" in options:
        from rigspec.cli.watch import watch

        return watch(words, options, check_all)
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
    full = "--full" in options
    end = f"no findings in {count} file{'' if count == 1 else 's'}"  # in its words, without the 4 ms to load it
    if findings:
        from rigspec.show.people import summary

        end = summary(findings, count)
    excused = len({finding for one in checked.values() for finding in one.report.excused})
    if excused:
        end += f", {excused} more accepted by `allow`"
    if findings and not full:
        end += "; why, and what was assumed: --full"
    parts = (notes, blocks(findings, options["--colour"], full=full), f"{end}\n")
    terminal.say("\n".join(part for part in parts if part))
