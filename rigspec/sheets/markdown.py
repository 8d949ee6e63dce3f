"""Sheets as Markdown: tables that can also be read as they are."""

from __future__ import annotations

import re

from rigspec.sheets.sheet import Blank, Cell, Head, Sheet, SheetMark, Table, Tick, number
from rigspec.show.cells import cell_width, pad, prose

WIDEST = 30  # cells up to which columns are made straight
_ACTS = re.compile(r"[\\`*|~<>&]|(?<!\w)_|_(?!\w)|(?<=\])\(|^(?:#|[-+=](?=\s|$)|\d+[.)](?=\s|$))")


def markdown(sheet: Sheet, head: Head) -> str:
    """One sheet."""
    parts = [f"# {escaped(sheet.title)}: {escaped(head.rig)}", escaped(head.made_from)]
    if head.warning:
        parts.append(f"**!! {escaped(head.warning)} !!**")
    parts.append(escaped(sheet.intro))
    parts += [f"> **Caution:** {escaped(caution)}" for caution in sheet.cautions]
    if not sheet.tables:
        parts.append("There is nothing of this in the rig.")
    for table in sheet.tables:
        parts += [f"## {escaped(table.title)}", *([escaped(table.said)] if table.said else []), _table(table.shown)]
    if sheet.notes:
        parts.append("\n".join(f"- {escaped(note)}" for note in sheet.notes))
    return "\n\n".join(parts) + "\n"


def escaped(text: str) -> str:
    """Text on one line in which nothing acts as Markdown or HTML."""
    return _ACTS.sub(_harmless, prose(text))


def _harmless(found: re.Match[str]) -> str:
    named = {"<": "&lt;", ">": "&gt;", "&": "&amp;"}
    text = found.group()
    return named.get(text) or (f"\\{text}" if len(text) == 1 else f"{text[:-1]}\\{text[-1]}")


def _cell(cell: Cell) -> str:
    match cell:
        case None:
            return ""
        case SheetMark(text):
            return f"**X {escaped(text)} X**"
        case Tick():
            return "[ ]"
        case Blank():
            return "______"
        case float():
            return number(cell)
    return escaped(str(cell))


def _table(table: Table) -> str:
    rows = [tuple(map(escaped, table.heads)), *(tuple(map(_cell, row)) for row in table.rows)]
    widths = [min(max(map(cell_width, column)), WIDEST) for column in zip(*rows, strict=True)]
    lines = [
        "| " + " | ".join(pad(cell, width) for cell, width in zip(row, widths, strict=True)) + " |" for row in rows
    ]
    return "\n".join([lines[0], "|" + "|".join("-" * (width + 2) for width in widths) + "|", *lines[1:]])
