"""What an export says of figures and findings, as value classes; see `export_values`."""

from __future__ import annotations

from typing import Annotated, Literal

from attrs import frozen

from rigspec.show.tables.question import Cells
from rigspec.value import Value

# ---- findings, with the keys of `rigspec check --as json` -----------------------------------------------------------


@frozen(eq=False, repr=False)
class Position(Value):
    """A place in a text: lines and columns from 1, the offset from 0, all but utf16_column in code points."""

    line: int
    column: int
    utf16_column: int
    offset: int


@frozen(eq=False, repr=False)
class Label(Value):
    """A place and what it has to do with a finding."""

    path: str
    start: Position
    end: Position
    text: str


@frozen(eq=False, repr=False)
class Edit(Value):
    """A text to put in place of another."""

    path: str
    start: Position
    end: Position
    text: str


@frozen(eq=False, repr=False)
class Fix(Value):
    """A mechanical change that cures a finding."""

    title: str
    edits: tuple[Edit, ...]


@frozen(eq=False, repr=False)
class Finding(Value):
    """One thing to tell the engineer."""

    rule: str
    severity: Literal["error", "warning", "advice"]
    path: str
    start: Position
    end: Position
    message: str
    label: str
    subject: Annotated[str, "the full name of the thing it is about"]
    computed: str
    allowed: str
    certain: Annotated[bool, "false where only some of what tolerances leave open breaks the rule"]
    decides: str
    assumes: tuple[str, ...]
    reason: str
    authority: str
    help: str
    related: tuple[Label, ...]
    fix: Fix | None


# ---- figures, from the tables of `rigspec figures` -------------------------------------------------------------------


class Tables(dict[str, list[dict[str, Cells]]]):
    """The tables of `rigspec figures --json`, by their words, a list of rows each."""


@frozen(eq=False, repr=False)
class Unknown(Value):
    """An output without figures."""

    of: str
    why: str


@frozen(eq=False, repr=False)
class Assumption(Value):
    """What figures rest on."""

    what: str
    of: tuple[str, ...]


@frozen(eq=False, repr=False)
class Note(Value):
    """What the words of a table mean."""

    table: str
    lines: tuple[str, ...]


@frozen(eq=False, repr=False)
class Figures(Value):
    """Everything computed. The end of a key is its unit: load_ohm, loss_db; null is not known or has no bound."""

    version: Annotated[int, "that of `rigspec figures --json`"]
    tables: Tables
    unknown: tuple[Unknown, ...]
    assumes: tuple[Assumption, ...]
    notes: tuple[Note, ...]
    cautions: tuple[str, ...]
