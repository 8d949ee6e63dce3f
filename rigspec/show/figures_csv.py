"""Figures for spreadsheets: one table as it is, or all of them in long form."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

from rigspec.show.csv_text import csv_text
from rigspec.show.figure_units import unit_of
from rigspec.show.figures import asked, clean
from rigspec.show.tables.question import Cells, Question

if TYPE_CHECKING:
    from rigspec.check import Report
    from rigspec.figures import Figures

LONG_HEAD = ("table", "thing", "figure", "value", "unit")
BETWEEN = "; "  # the texts of one cell


def figures_csv(report: Report, words: Sequence[str] = ()) -> str:
    """Figures with commas between them and a head row; what is not known is an empty cell.

    One word: that table, a row for each of its things, the keys as its head. None or several: a row for each figure.
    Figures keep all their digits and have a point.
    """
    questions = asked(words)
    if len(set(words)) == 1:
        return csv_text(map(_joined, row) for row in _table(questions[0], report.figures))
    return csv_text(map(_joined, row) for row in _long(questions, report.figures))


def _joined(cell: Cells) -> object:
    return BETWEEN.join(cell) if isinstance(cell, tuple | list) else cell


def _table(question: Question, figures: Figures) -> Iterator[Sequence[Cells]]:
    columns = [column for column in question.columns if column.programs]
    yield [column.key for column in columns]
    for row in question.rows(figures):
        yield [clean(column.get(row)) for column in columns]


def _long(questions: Sequence[Question], figures: Figures) -> Iterator[Sequence[Cells]]:
    yield LONG_HEAD
    for question in questions:
        rows = list(question.rows(figures))
        for row, thing in zip(rows, things(question, rows), strict=True):
            cells = {column.key: clean(column.get(row)) for column in question.columns if column.programs}
            for key, value in list(cells.items())[1:]:
                if value is not None:
                    yield question.word, thing, key, value, unit_of(key) or _own_unit(key, cells)


def _own_unit(key: str, cells: Mapping[str, Cells]) -> Cells:
    """The unit of a value whose kind differs from row to row: it stands in a column of its own."""
    return cells.get("unit", "") if key.endswith("_value") else ""


def things(question: Question, rows: Sequence[Any]) -> list[str]:
    """What each row is about, no two alike: its first cell, and as many further words and counts as it takes."""
    names = [""] * len(rows)
    for column in question.columns:
        counts = Counter(names)
        if len(counts) == len(names) and "" not in counts:
            break
        for at, row in enumerate(rows):
            cell = column.get(row) if counts[names[at]] > 1 or not names[at] else None
            if cell is not None and cell != "" and not isinstance(cell, float):
                text = str(cell) if isinstance(cell, str | int) else BETWEEN.join(cell)
                names[at] += f", {column.key} {text}" if names[at] else text
    counts, seen = Counter(names), Counter[str]()
    for at, name in enumerate(names):
        seen[name] += 1
        if counts[name] > 1:
            names[at] = f"{name}, number {seen[name]}"
    return names
