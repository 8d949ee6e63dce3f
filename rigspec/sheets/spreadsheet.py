"""The tables of sheets as CSV, for spreadsheets."""

from __future__ import annotations

from rigspec.sheets.sheet import Blank, Cell, Sheet, SheetMark, Table, Tick
from rigspec.show.csv_text import csv_text


def table_csv(*parts: Table) -> str:
    """One table with its heads, or the parts of one, which stand in the first column."""
    in_parts = any(table.part for table in parts)
    rows: list[tuple[Cell, ...]] = [(("place",) if in_parts else ()) + parts[0].heads]
    for table in parts:
        first = (table.part,) if in_parts else ()
        rows += [(*first, *row) for row in table.rows]
    return csv_text(map(_cell, row) for row in rows)


def files(sheet: Sheet) -> dict[str, str]:
    """The tables of a sheet by the names of their files."""
    words = dict.fromkeys(table.word for table in sheet.tables)
    return {
        f"{sheet.word}-{word}.csv": table_csv(*(table for table in sheet.tables if table.word == word))
        for word in words
    }


def _cell(cell: Cell) -> str | int | None:
    match cell:
        case Tick() | Blank():
            return None
        case SheetMark(text):
            return f"X {text} X"  # a spreadsheet shows no bold type: the same mark as on paper
        case float():
            return f"{cell:.6g}"
    return cell
