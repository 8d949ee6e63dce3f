"""Figures as text for people and as JSON: one table for each question, made from its one definition."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import floor, isfinite, log10
from typing import TYPE_CHECKING, Any

from rigspec.show.cells import cell_width, prose, wrap
from rigspec.show.table import settled, table
from rigspec.show.tables import QUESTIONS
from rigspec.show.tables.question import Cells, Column, Question
from rigspec.text.finding import few

if TYPE_CHECKING:
    from rigspec.check import Report
    from rigspec.figures import Figures

WIDTH = 100  # cells
ALIKE = 1e-6  # rows that differ by less than this share are equally bad
SIGNIFICANT = 3
LARGEST = 1e15  # from here on powers of ten are written
SMALLEST = 1e-5  # and below this
CAUTIONS = (
    "Rated figures are not measurements. Powers are for a sine into the rated impedance.",
    "Outputs of large amplifiers are dangerous to touch; mains work is for licensed people under the local code.",
    "Levels that these powers can reach harm hearing.",
)
NOTHING = "-"


# ---- what there is to show -------------------------------------------------------------------------------------------


def asked(words: Sequence[str]) -> list[Question]:
    """The questions of these words, in the order of the tables; all where no word is given. KeyError if unknown."""
    wanted = {QUESTIONS[word].word for word in words}
    return [question for word, question in QUESTIONS.items() if word in wanted or not wanted]


def clean(value: Cells) -> Cells:
    """A cell as programs take it: no infinite figures, and lists that are lists."""
    if isinstance(value, float):
        return value if isfinite(value) else None
    return value if value is None or isinstance(value, str | int) else list(value)


def assumptions(figures: Figures, questions: Sequence[Question]) -> dict[str, list[str]]:
    """What the figures of these tables rest on, each with the things that it was assumed for."""
    found: dict[str, dict[str, None]] = {}
    for question in questions:
        for text, key in question.assumes(figures) if question.assumes else ():
            found.setdefault(text, {})[key] = None
    return {text: list(keys) for text, keys in found.items()}


# ---- for people ------------------------------------------------------------------------------------------------------


def figures_text(report: Report, words: Sequence[str] = ()) -> str:
    """The tables that are asked for, with what they assume and the cautions that go with them; 100 cells wide."""
    worked, questions = report.figures, asked(words)
    parts = [wrapped(worked.rig.title or report.source.path)]
    rows = {question.word: list(question.rows(worked)) for question in questions}
    shown = [question for question in questions if rows[question.word]]
    if len(shown) > 1:
        parts[0] += wrapped(f"Tables, each to be had alone by its word: {', '.join(each.word for each in shown)}")
    parts += [_question(question, rows[question.word], worked) for question in shown]
    for question in questions:
        if words and not rows[question.word]:
            parts.append(wrapped(f"{question.title}: there is nothing of this in the rig."))
    if worked.unknown:
        parts.append("".join(wrapped(f"{key}: no figures, {why}") for key, why in worked.unknown.items()))
    if not shown and not words and not worked.unknown:
        parts.append("There is nothing in this rig that figures can be computed for.\n")
    assumed = assumptions(worked, questions)
    if assumed:
        listed = (wrapped(f"{text} ({few(keys, 4)})", "- ") for text, keys in assumed.items())
        parts.append("Assumed\n" + "".join(listed))
    parts.append("".join(map(wrapped, CAUTIONS)))
    return "\n".join(parts)


def wrapped(text: str, bullet: str = "") -> str:
    """Prose in lines that keep the width; a word that is wider than a line is cut."""
    room = WIDTH - len(bullet)
    lines = [piece for line in wrap(text, room) or [""] for piece in _pieces(line, room)]
    return "".join(f"{' ' * len(bullet) if number else bullet}{line}\n" for number, line in enumerate(lines))


def _pieces(line: str, width: int) -> Iterator[str]:
    """A line in pieces that keep the width: mostly the line itself."""
    while cell_width(line) > width:
        fits = next(at for at in range(len(line)) if cell_width(line[: at + 1]) > width)
        yield line[:fits]
        line = line[fits:]
    yield line


def _question(question: Question, rows: Sequence[Any], figures: Figures) -> str:
    """One table with its title above, and below it what its mark means and its notes."""
    columns = []
    for column in question.columns:
        cells = [column.get(row) for row in rows] if column.people else []
        if any(cell is not None for cell in cells):
            columns.append((column, cells))
    heads = [column.head for column, _ in columns]
    shown = [_shown_column(column, cells) for column, cells in columns]
    kept, same = settled(heads, shown)
    right = {number for number, at in enumerate(kept) if any(map(_is_figure, columns[at][1]))}
    marked = worst_rows(question, rows)
    text = wrapped(question.title) + table(
        [heads[at] for at in kept],
        list(zip(*(shown[at] for at in kept), strict=True)),
        right=right,
        marks=dict.fromkeys(marked, ">"),
        width=WIDTH,
    )
    if marked:
        more = f" ({len(marked)} alike)" if len(marked) > 1 else ""
        text += wrapped(f"{question.mark}{more}", "> ")
    text += wrapped(same) if same else ""
    return text + "".join(wrapped(note) for note in (question.note(figures) if question.note else ()))


def worst_rows(question: Question, rows: Sequence[Any]) -> list[int]:
    """The numbers of the rows that are worst; none where nothing is bad or all are equally so."""
    if question.worst is None or len(rows) < 2:
        return []
    badness = [question.worst(row) for row in rows]
    worst = max(badness)
    if not worst > 0:  # also where it is no number
        return []
    found = [number for number, each in enumerate(badness) if each == worst or each >= worst * (1 - ALIKE)]
    return found if len(found) < len(rows) else []


def _is_figure(cell: Cells) -> bool:
    return isinstance(cell, int | float) and not isinstance(cell, bool)


def _shown_column(column: Column, cells: Sequence[Cells]) -> list[str]:
    """The cells of one column as text; figures with their points below each other."""
    shown = [_shown(cell, column.decimals) for cell in cells]
    points = [text.find(".") if _is_figure(cell) else -1 for cell, text in zip(cells, shown, strict=True)]
    behind = max((len(text) - at for text, at in zip(shown, points, strict=True) if at >= 0), default=0)
    if not behind:
        return shown
    return [
        text + " " * (behind - (len(text) - at if at >= 0 else 0)) if _is_figure(cell) or cell is None else text
        for cell, text, at in zip(cells, shown, points, strict=True)
    ]


def _shown(cell: Cells, decimals: int | None) -> str:
    if cell is None:
        return NOTHING
    if isinstance(cell, str):
        return prose(cell)
    if isinstance(cell, bool):
        return "yes" if cell else "no"
    if isinstance(cell, int):
        return str(cell)
    if isinstance(cell, float):
        return number(cell, decimals)
    return ", ".join(map(prose, cell)) or NOTHING


def number(value: float, decimals: int | None = None) -> str:
    """A figure with so many decimals, or with three significant digits and never fewer than its whole part has.

    Without ``decimals`` zeros at the end are left out of a figure that is exactly what is shown, as given ones are.
    """
    if not isfinite(value):
        return "-" if value != value else "infinite" if value > 0 else "-infinite"
    size, short = abs(value), decimals is None
    if size >= LARGEST or (short and 0 < size < SMALLEST):
        return f"{value:.{SIGNIFICANT - 1}e}"
    if short:
        decimals = max(0, SIGNIFICANT - 1 - floor(log10(size))) if size else 0
    text = f"{value:.{decimals}f}"
    if short and float(text) == value and "." in text:
        text = text.rstrip("0").rstrip(".")
    return text if float(text) else text.lstrip("-")


# ---- for programs ----------------------------------------------------------------------------------------------------


def figures_json(report: Report, words: Sequence[str] = ()) -> str:
    """All figures with their units in the keys, versioned; what is not known or has no bound is null."""
    from rigspec.show.ascii_json import dump

    return dump(figures_document(report, words))


def figures_document(report: Report, words: Sequence[str] = ()) -> dict[str, Any]:
    """What `figures_json` writes, as a value."""
    worked, questions = report.figures, asked(words)
    return {
        "format": "rigspec-figures",
        "version": 3,  # a key that changes its meaning or goes raises it, a new key or table does not
        "file": report.source.path,
        "title": worked.rig.title,
        "tables": {question.word: _rows(question, worked) for question in questions},
        "unknown": dict(worked.unknown),
        "assumes": [{"what": text, "of": keys} for text, keys in assumptions(worked, questions).items()],
        "notes": {q.word: notes for q in questions if q.note and (notes := list(q.note(worked)))},
        "cautions": list(CAUTIONS),
    }


def _rows(question: Question, figures: Figures) -> list[dict[str, Cells]]:
    columns = [column for column in question.columns if column.programs]
    return [{column.key: clean(column.get(row)) for column in columns} for row in question.rows(figures)]
