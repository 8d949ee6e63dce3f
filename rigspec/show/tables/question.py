"""A table of figures that answers one question: for people, for spreadsheets and for programs from one definition."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from typing import Any, Literal, TypeAlias

from attrs import evolve, frozen

from rigspec.figures import Figures
from rigspec.text.value import Value

Cell: TypeAlias = float | int | str | bool | None
Cells: TypeAlias = Cell | Sequence[str]


@frozen(eq=False, repr=False)
class Column(Value):
    """One column.

    ``key`` names it for programs, with its unit at the end (``load_ohm``, see `show/figure_units.py`); ``head`` is what
    people read, unit included, as short as it can be. ``get`` takes the figure from a row's value; a float is shown
    with ``decimals`` places, or with three significant digits where that is None. ``people``: False for what only
    programs are given; ``programs``: False for what only people are shown, since programs have it in other columns.
    A column that has nothing in any row is left out for people. ``holds`` says what programs find in it where that is
    not a figure with a unit or a word: a bare number, a flag, a list of words, or either a number or a word.
    ``meaning`` tells what it says, for the published schema.
    """

    key: str
    head: str
    get: Callable[[Any], Cells]
    decimals: int | None = None
    people: bool = True
    programs: bool = True
    holds: Literal["", "number", "flag", "list", "either"] = ""
    meaning: str = ""

    def says(self, meaning: str) -> Column:
        """This column with its meaning: behind the rest, since it is the long part of a definition."""
        return evolve(self, meaning=meaning)


@frozen(eq=False, repr=False)
class Question(Value):
    """One table.

    ``word`` asks for it (`rigspec figures FILE WORD`), ``title`` stands above it and says under which conditions its
    figures hold. ``rows`` gives what there is, in the order of the rig; its first column names the row. ``worst`` gives
    how bad a row is: the rows with the highest are marked, where there is one above 0 and another row that is better.
    ``mark`` says what the mark means. ``note`` gives lines below the table: what its words mean, what was assumed for
    it, with the things it was assumed for. ``assumes`` gives what its figures rest on as pairs of the assumption and
    the thing it was made for: of all tables shown it is listed once, at the end.
    """

    word: str
    title: str
    columns: tuple[Column, ...]
    rows: Callable[[Figures], Sequence[Any]]
    worst: Callable[[Any], float] | None = None
    mark: str = ""
    note: Callable[[Figures], Sequence[str]] | None = None
    assumes: Callable[[Figures], Iterable[tuple[str, str]]] | None = None
