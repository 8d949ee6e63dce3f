"""Rows as CSV, for spreadsheets: the one place that keeps them from running what is written in a rig."""

from __future__ import annotations

import re
from collections.abc import Iterable

from rigspec.show.cells import prose

_NUMBER = re.compile(r"[-+]?\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
_ACTS = ("=", "+", "-", "@")  # what a spreadsheet takes for the beginning of a formula


class _Lines(list[str]):
    """What the csv module writes to in place of a file."""

    write = list.append


def csv_text(rows: Iterable[Iterable[object]]) -> str:
    """Rows with commas between their cells: nothing for None, all digits of a float, no text that acts."""
    import csv

    lines = _Lines()
    csv.writer(lines, lineterminator="\n").writerows(map(_cell, row) for row in rows)
    return "".join(lines)


def guarded(text: str) -> str:
    """Text on one line that no spreadsheet runs: one that begins like a formula has an apostrophe before it."""
    shown = prose(text)
    return f"'{shown}" if shown.lstrip().startswith(_ACTS) and not _NUMBER.fullmatch(shown) else shown


def _cell(cell: object) -> object:
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    return guarded(cell) if isinstance(cell, str) else cell
