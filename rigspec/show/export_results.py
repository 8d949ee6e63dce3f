"""What an export says of figures and findings, as value classes; see `export_values`."""

from __future__ import annotations

from typing import Annotated, Literal

from attrs import frozen

from rigspec.show.tables.question import Cells
from rigspec.text.value import Value

# ---- findings, with the keys of `rigspec check --as json` -----------------------------------------------------------


@frozen(eq=False, repr=False)
class Position(Value):
    """A place in a text: lines and columns from 1, the offset from 0, all but utf16_column in code points."""

    line: Annotated[int, "the line, from 1"]
    column: Annotated[int, "the column in code points, from 1"]
    utf16_column: Annotated[int, "the column in UTF-16 code units, from 1"]
    offset: Annotated[int, "code points from the beginning of the text"]


@frozen(eq=False, repr=False)
class Label(Value):
    """A place and what it has to do with a finding."""

    path: Annotated[str, "the text that it stands in"]
    start: Annotated[Position, "its beginning"]
    end: Annotated[Position, "the first place behind it"]
    text: Annotated[str, "what it has to do with the finding"]


@frozen(eq=False, repr=False)
class Edit(Value):
    """A text to put in place of another."""

    path: Annotated[str, "the text to change"]
    start: Annotated[Position, "the beginning of what is replaced"]
    end: Annotated[Position, "the first place behind it"]
    text: Annotated[str, "what takes its place"]


@frozen(eq=False, repr=False)
class Fix(Value):
    """A mechanical change that cures a finding."""

    title: Annotated[str, "what it does, in words"]
    edits: Annotated[tuple[Edit, ...], "the changes that belong together"]


@frozen(eq=False, repr=False)
class Finding(Value):
    """One thing to tell the engineer."""

    rule: Annotated[str, "the name of the rule"]
    severity: Annotated[Literal["error", "warning", "advice"], "how bad it is"]
    path: Annotated[str, "the text that it stands in"]
    start: Annotated[Position, "its beginning"]
    end: Annotated[Position, "the first place behind it"]
    message: Annotated[str, "what is wrong, in one sentence"]
    label: Annotated[str, "a few words for the place itself"]
    subject: Annotated[str, "the full name of the thing it is about"]
    computed: Annotated[str, "the figure that was computed, with its unit"]
    allowed: Annotated[str, "the figure that is allowed, with its unit"]
    certain: Annotated[bool, "false where only some of what tolerances leave open breaks the rule"]
    decides: Annotated[str, "which inexact figure decides most; nothing where none does"]
    assumes: Annotated[tuple[str, ...], "what stood in for data that is not given"]
    reason: Annotated[str, "why the rule is there"]
    authority: Annotated[str, "where its limit comes from"]
    help: Annotated[str, "what to change"]
    related: Annotated[tuple[Label, ...], "other places that have to do with it"]
    fix: Annotated[Fix | None, "a change that cures it; null where none is mechanical"]


# ---- figures, from the tables of `rigspec figures` -------------------------------------------------------------------


class Tables(dict[str, list[dict[str, Cells]]]):
    """The tables of `rigspec figures --json`, by their words, a list of rows each."""


@frozen(eq=False, repr=False)
class Unknown(Value):
    """An output without figures."""

    of: Annotated[str, "the key of the output"]
    why: Annotated[str, "why it has none"]


@frozen(eq=False, repr=False)
class Assumption(Value):
    """What figures rest on."""

    what: Annotated[str, "what is assumed"]
    of: Annotated[tuple[str, ...], "the keys of what rests on it"]


@frozen(eq=False, repr=False)
class Note(Value):
    """What the words of a table mean."""

    table: Annotated[str, "the word of the table"]
    lines: Annotated[tuple[str, ...], "what its words mean, a sentence each"]


@frozen(eq=False, repr=False)
class Figures(Value):
    """Everything computed. The end of a key is its unit: load_ohm, loss_db; null is not known or has no bound."""

    version: Annotated[int, "that of `rigspec figures --json`"]
    tables: Annotated[Tables, "all tables"]
    unknown: Annotated[tuple[Unknown, ...], "outputs without figures, and why"]
    assumes: Annotated[tuple[Assumption, ...], "what figures rest on"]
    notes: Annotated[tuple[Note, ...], "what the words of the tables mean"]
    cautions: Annotated[tuple[str, ...], "what to beware of"]
