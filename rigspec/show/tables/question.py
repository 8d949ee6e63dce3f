"""A table of figures that answers one question: for people, for spreadsheets and for programs from one definition."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

from attrs import frozen

from rigspec.figures import Figures
from rigspec.value import Value

Cell = float | int | str | bool | None


@frozen(eq=False, repr=False)
class Column(Value):
    """One column.

    ``key`` names it for programs, with its unit at the end (``load_ohm``); ``head`` is what people read, unit included,
    as short as it can be. ``get`` takes the figure from a row's value; a float is shown with ``decimals`` places, or
    with three significant digits where that is None. ``people``: False for what only programs are given.
    """

    key: str
    head: str
    get: Callable[[Any], Cell | Sequence[str]]
    decimals: int | None = None
    people: bool = True


@frozen(eq=False, repr=False)
class Question(Value):
    """One table.

    ``word`` asks for it (`rigspec figures FILE WORD`), ``title`` stands above it and says under which conditions its
    figures hold. ``rows`` gives what there is, in the order of the rig. ``worst`` gives how bad a row is: the row with
    the highest is marked, where there is one above 0 and more than one row. ``mark`` says what the mark means.
    ``note`` gives lines below the table: what was assumed for it, with the things it was assumed for.
    """

    word: str
    title: str
    columns: tuple[Column, ...]
    rows: Callable[[Figures], Sequence[Any]]
    worst: Callable[[Any], float] | None = None
    mark: str = ""
    note: Callable[[Figures], Sequence[str]] | None = None
