"""``rigspec format``: rigs in their canonical form."""

from __future__ import annotations

from rigspec import check
from rigspec.cli import terminal
from rigspec.cli.checking import open_all, refuse_stray_name
from rigspec.cli.output import about_file, blocks
from rigspec.cli.writing import replace
from rigspec.files.files import Unreadable
from rigspec.files.library import Library
from rigspec.language.format import Unprovable, canonical
from rigspec.language.reader import parse
from rigspec.show.cells import visible
from rigspec.text.source import Source

SAME, CHANGED, FAILED = "same", "changed", "failed"
BYTE_ORDER_MARK = "\ufeff"


class _LeftAloneError(Exception):
    """A file is not touched; the words say why, in lines for people."""


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Format each file, or show what that would do; the exit code."""
    refuse_stray_name(words, options)
    library = Library()
    counts = {SAME: 0, CHANGED: 0, FAILED: 0}
    for source in open_all(library, words, options["--name"]):
        try:
            outcome = _one(options, library, source)
        except _LeftAloneError as reason:
            outcome = FAILED
            terminal.tell(str(reason))
        counts[outcome] += 1
    looking = "--check" in options or "--diff" in options
    if library.standard_input is None:
        _sum_up(counts, looking)
    if counts[FAILED]:
        return 2
    return 1 if looking and counts[CHANGED] else 0


def _one(options: dict[str, str], library: Library, source: Source | Unreadable) -> str:
    """Format one file. Raises ``_LeftAloneError`` where that cannot or must not be done."""
    if isinstance(source, Unreadable):
        raise _LeftAloneError(blocks([about_file(source)], options["--colour"], to_error=True))
    try:
        text = _proved(library, source, options["--colour"])
    except (_LeftAloneError, KeyboardInterrupt):
        raise
    except Exception as error:
        error.add_note(f"while formatting {source.path}")
        raise
    if "--check" in options or "--diff" in options:
        if text != source.text:
            terminal.say(_difference(source, text) if "--diff" in options else f"{visible(source.path)}\n")
    elif source is library.standard_input:
        terminal.hand_over(text)
    elif text != source.text:
        refusal = replace(library.place(source.path), source, text)
        if refusal:
            raise _LeftAloneError(f"{visible(source.path)}: not formatted, it cannot be written: {refusal}\n")
        terminal.say(f"formatted {visible(source.path)}\n")
    return SAME if text == source.text else CHANGED


def _proved(library: Library, source: Source, colour: str) -> str:
    """The canonical text, if it is proved that it means the same and gives the same figures."""
    try:
        text = canonical(source)
        same = getattr(check, "same_findings", None)
        if same is not None and not same(source, Source(source.path, text), library.reader(source)):
            raise Unprovable("the canonical form would change what is found or computed")
    except Unprovable as reason:
        slips = parse(source).slips
        if slips:
            raise _LeftAloneError(
                blocks([*map(check.stamp, slips)], colour, to_error=True)
                + f"{visible(source.path)}: not formatted; put this right first\n"
            ) from None
        raise _LeftAloneError(
            f"{visible(source.path)}: not formatted: {reason}; this is a fault of rigspec, please report it with the "
            "file\n"
        ) from None
    return text


def _difference(source: Source, text: str) -> str:
    """A unified diff; what no diff can show, a byte order mark and line ends, is told in lines above it."""
    from difflib import unified_diff

    path = source.path
    before = source.text.removeprefix(BYTE_ORDER_MARK).replace("\r\n", "\n")
    notes = ""
    if source.text.startswith(BYTE_ORDER_MARK):
        notes += f"# {path}: the byte order mark goes\n"
    if "\r\n" in source.text:
        notes += f"# {path}: the line ends CR LF become LF\n"
    lines = unified_diff(_lines(before), _lines(text), f"{path} (as it is)", f"{path} (canonical)")
    return notes + "".join(line if line.endswith("\n") else f"{line}\n\\ No newline at end of file\n" for line in lines)


def _lines(text: str) -> list[str]:
    """Lines with their ends; only a line feed ends one, as in every tool that reads diffs."""
    lines = [line + "\n" for line in text.split("\n")]
    lines[-1] = lines[-1][:-1]
    return lines if lines[-1] else lines[:-1]


def _sum_up(counts: dict[str, int], looking: bool) -> None:
    """One line on standard error, so that standard output holds nothing but file names or a diff."""
    changed = f"{_files(counts[CHANGED])} {'would change' if looking else 'formatted'}"
    parts = [changed] if counts[CHANGED] else []
    if counts[SAME]:
        parts.append(f"{_files(counts[SAME])} already in canonical form")
    if counts[FAILED]:
        parts.append(f"{_files(counts[FAILED])} left untouched")
    terminal.tell(f"{', '.join(parts)}\n")


def _files(number: int) -> str:
    return f"{number} file" if number == 1 else f"{number} files"
