"""The tables of sheets as CSV, for spreadsheets."""

from __future__ import annotations

import re

from rigspec.sheets.sheet import Blank, Cell, Mark, Table, Tick
from rigspec.show.cells import prose

_NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
_ACTS = ("=", "+", "-", "@")  # what a spreadsheet takes for the beginning of a formula


class _Lines(list[str]):
    """What the writer takes for a file."""

    write = list.append


def table_csv(table: Table) -> str:
    """One table with its heads."""
    import csv

    lines = _Lines()
    writer = csv.writer(lines, lineterminator="\n")
    writer.writerow([guarded(head) for head in table.heads])
    writer.writerows([_cell(cell) for cell in row] for row in table.rows)
    return "".join(lines)


def guarded(text: str) -> str:
    """Text that no spreadsheet takes for a formula."""
    shown = prose(text)
    return f"'{shown}" if shown.lstrip().startswith(_ACTS) and not _NUMBER.fullmatch(shown) else shown


def _cell(cell: Cell) -> str:
    match cell:
        case None | Tick() | Blank():
            return ""
        case Mark(text):
            return guarded(text)
        case float():
            return f"{cell:.6g}"
    return guarded(str(cell))
