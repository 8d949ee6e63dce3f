"""What a sheet is: a value that every form is written from."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TypeAlias

from attrs import evolve, frozen

from rigspec.text.value import Content


@frozen(eq=False, repr=False)
class SheetMark(Content):
    """A cell that nobody may miss: every form shows it in capitals and with a mark of its own, not by colour."""

    text: str


@frozen(eq=False, repr=False)
class Tick(Content):
    """A box for a tick."""


@frozen(eq=False, repr=False)
class Blank(Content):
    """Room to write a reading in."""


TICK, BLANK = Tick(), Blank()
Cell: TypeAlias = str | int | float | SheetMark | Tick | Blank | None
Row: TypeAlias = tuple[Cell, ...]


@frozen(eq=False, repr=False)
class Table(Content):
    """Rows of cells under heads that hold the unit. ``word`` tells the tables of one sheet apart in file names.

    Tables of one word are parts of one whole, with the same heads: a spreadsheet has them in one file, where ``part``
    tells them apart. ``said`` stands under the title. ``alone``: on paper it begins a sheet of its own.
    """

    word: str
    title: str
    heads: tuple[str, ...]
    rows: tuple[Row, ...]
    part: str = ""
    said: str = ""
    alone: bool = False

    @property
    def shown(self) -> Table:
        """The table as people read it: without the columns in which nothing stands."""
        kept = [at for at in range(len(self.heads)) if any(row[at] not in ("", None) for row in self.rows)]
        rows = tuple(tuple(row[at] for at in kept) for row in self.rows)
        return evolve(self, heads=tuple(self.heads[at] for at in kept), rows=rows)


@frozen(eq=False, repr=False)
class Sheet(Content):
    """One sheet of paper, or several: ``word`` asks for it, ``cautions`` stand above the tables and ``notes`` below."""

    word: str
    title: str
    intro: str
    tables: tuple[Table, ...]
    notes: tuple[str, ...] = ()
    cautions: tuple[str, ...] = ()


def filled(tables: Iterable[Table]) -> tuple[Table, ...]:
    """The tables that have rows."""
    return tuple(table for table in tables if table.rows)


@frozen(eq=False, repr=False)
class Head(Content):
    """What stands on the head of every sheet: whose rig it is, which text it was made from, and what is wrong there.

    ``stamp`` is a checksum over all the texts, so that sheets on paper can be told from those of another version.
    """

    rig: str
    path: str
    stamp: str
    errors: int

    @property
    def made_from(self) -> str:
        return f"Made from {self.path}, text {self.stamp}. Sheets with another number are of another version."

    @property
    def warning(self) -> str:
        """What to say where the check found errors; nothing where it found none."""
        if not self.errors:
            return ""
        count = "1 error" if self.errors == 1 else f"{self.errors} errors"
        return f"THE CHECK FOUND {count.upper()} IN THIS RIG. Do not build from these sheets: things may be missing."


def number(value: float, digits: int = 3) -> str:
    """A float for people: so many significant digits, never fewer than its whole part has."""
    if value == 0:
        return "0"
    from math import floor, log10

    places = max(0, digits - 1 - floor(log10(abs(value))))
    text = f"{value:.{places}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
