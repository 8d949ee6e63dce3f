"""The tables of sheets as CSV, for spreadsheets."""

from __future__ import annotations

import re

from rigspec.sheets.sheet import Blank, Cell, Mark, Sheet, Table, Tick
from rigspec.show.cells import prose

_NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
_ACTS = ("=", "+", "-", "@")  # what a spreadsheet takes for the beginning of a formula


class _Lines(list[str]):
    """What the writer takes for a file."""

    write = list.append


def table_csv(*parts: Table) -> str:
    """One table with its heads, or the parts of one, which stand in the first column."""
    import csv

    lines = _Lines()
    writer = csv.writer(lines, lineterminator="\n")
    in_parts = any(table.part for table in parts)
    writer.writerow([guarded(head) for head in (("place",) if in_parts else ()) + parts[0].heads])
    for table in parts:
        first = (table.part,) if in_parts else ()
        writer.writerows([_cell(cell) for cell in (*first, *row)] for row in table.rows)
    return "".join(lines)


def files(sheet: Sheet) -> dict[str, str]:
    """The tables of a sheet by the names of their files."""
    words = dict.fromkeys(table.word for table in sheet.tables)
    return {
        f"{sheet.word}-{word}.csv": table_csv(*(table for table in sheet.tables if table.word == word))
        for word in words
    }


def guarded(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    shown = prose(text)
    return f"'{shown}" if shown.lstrip().startswith(_ACTS) and not _NUMBER.fullmatch(shown) else shown


def _cell(cell: Cell) -> str:
    match cell:
        case None | Tick() | Blank():
            return ""
        case Mark(text):
            return f"X {prose(text)} X"  # a spreadsheet shows no bold type: the same mark as on paper
        case float():
            return f"{cell:.6g}"
    return guarded(str(cell))
