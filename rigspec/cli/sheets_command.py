"""``rigspec sheets``: what the crew takes to the venue."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from rigspec.cli import terminal
from rigspec.cli.checking import check_first, told_of_errors
from rigspec.cli.command import nearest
from rigspec.cli.trouble import CannotRunError, UsageError
from rigspec.files.files import STANDARD_INPUT
from rigspec.show.cells import visible
from rigspec.text.finding import few

if TYPE_CHECKING:
    from collections.abc import Sequence

    from rigspec.sheets.sheet import Head, Sheet

MARKDOWN, CSV, HTML = "markdown", "csv", "html"
ENDINGS = {MARKDOWN: ".md", CSV: ".csv", HTML: ".html"}
ALL = "sheets"  # the name of the page that holds all of them


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Write the sheets of one rig; the exit code."""
    path, asked, folder = words[0], words[1:], options["--output"]
    _refuse_unknown(path, asked)
    if "--overwrite" in options and not folder:
        raise UsageError("--overwrite", "--overwrite goes with -o", "say the folder: -o DIR")
    if folder == STANDARD_INPUT:
        raise UsageError(folder, "-o takes a folder", "leave it out: then the sheets go to standard output")
    checked = check_first(words, options)
    if checked is None:
        return 2
    report = checked.report
    whole = import_module("rigspec.sheets.whole")
    made: tuple[Sheet, ...] = whole.sheets(report, asked)
    head: Head = whole.head(report)
    form = options["--as"]
    if folder:
        texts: dict[str, str] = {}
        for each in [form] if form else list(ENDINGS):
            texts.update(_files(made, head, each, bool(asked)))
        _fill(folder, texts, "--overwrite" in options, asked, tuple(ENDINGS[each] for each in [form] if each))
    elif form in ("", MARKDOWN):
        terminal.say("\n".join(_markdown(made, head).values()))
    else:
        terminal.hand_over("\n".join(_files(made, head, form, False).values()))
    return 1 if told_of_errors(report, "so do not build from its sheets") else 0


def _refuse_unknown(path: str, asked: tuple[str, ...]) -> None:
    known = list(import_module("rigspec.sheets.whole").SHEETS)
    for word in asked:
        if word in known:
            continue
        if path in known and word.endswith(".rig"):
            raise UsageError(word, "the rig comes before the sheets", f"write `rigspec sheets {word} {path}`")
        raise UsageError(word, f"there is no sheet {word}", f"{nearest(word, known)}the sheets are {', '.join(known)}")


def _markdown(made: Sequence[Sheet], head: Head) -> dict[str, str]:
    write = import_module("rigspec.sheets.markdown").markdown
    return {f"{sheet.word}.md": write(sheet, head) for sheet in made}


def _files(made: Sequence[Sheet], head: Head, form: str, single: bool) -> dict[str, str]:
    """The texts of one form by the names of their files: a spreadsheet holds one table."""
    if form == MARKDOWN:
        return _markdown(made, head)
    if form == CSV:
        files = import_module("rigspec.sheets.spreadsheet").files
        return {name: text for sheet in made for name, text in files(sheet).items()}
    page = import_module("rigspec.sheets.page").page
    if single:
        return {f"{sheet.word}.html": page([sheet], head) for sheet in made}
    return {f"{ALL}.html": page(made, head)}


def _fill(path: str, texts: dict[str, str], overwrite: bool, asked: tuple[str, ...], endings: tuple[str, ...]) -> None:
    """Put all texts into a folder, and take sheets away that this rig no longer has."""
    folder = import_module("rigspec.cli.folder").Folder(path)
    foreign = [] if overwrite else folder.foreign(texts)
    if foreign:
        raise CannotRunError(
            f"nothing is written in {visible(path)}: {few(foreign)} was not written by `rigspec sheets`, or was changed"
            " since; take another folder, or --overwrite to replace it"
        )
    folder.write(texts)
    gone = [] if asked else folder.drop(texts, endings or tuple(ENDINGS.values()))
    count = f"{len(texts)} files" if len(texts) != 1 else "1 file"
    terminal.say(f"wrote {count} in {visible(path)}\n")
    if gone:
        terminal.say(f"took away {', '.join(gone)}: no longer in this rig\n")
