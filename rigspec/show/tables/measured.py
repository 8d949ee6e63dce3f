"""The table of what a meter said on site, beside what is computed."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from attrs import frozen

from rigspec.figures import Figures
from rigspec.rig.model import Measure, Reading
from rigspec.show.tables.question import Column, Question
from rigspec.text.units import BASE_UNIT, FigureKind, show
from rigspec.text.value import Value
from rigspec.why import derive


@frozen(eq=False, repr=False)
class _Beside(Value):
    """A reading, and the figure that the rig has for it if it has one."""

    reading: Reading
    key: str
    computed: float | str | None

    @property
    def measured(self) -> float | str:
        value = self.reading.value
        return value.value if isinstance(value, Measure) else value

    @property
    def kind(self) -> FigureKind | Literal[""]:
        value = self.reading.value
        return value.kind if isinstance(value, Measure) else ""

    @property
    def ratio_percent(self) -> float | None:
        """The reading in percent of the figure; None where that says nothing, as for decibels."""
        if not isinstance(self.computed, float) or not isinstance(self.measured, float) or not self.computed:
            return None
        return None if self.kind in ("gain", "level", "temperature") else 100 * self.measured / self.computed


def rows(figures: Figures) -> Sequence[_Beside]:
    found = []
    for reading in figures.rig.readings:
        key = reading.subject.key
        step = derive(figures, reading.statement.figure, key)
        found.append(_Beside(reading, key, step.value if step else None))
    return found


def _shown(each: _Beside, value: float | str | None) -> str | None:
    return show(value, each.kind or "number") if isinstance(value, float) else value


QUESTIONS: tuple[Question, ...] = (
    Question(
        word="measured",
        title="Measured on site, beside what is computed",
        columns=(
            Column("thing", "thing", lambda each: each.key).says("what was measured, by its full name"),
            Column("figure", "figure", lambda each: each.reading.statement.figure).says("the word of the figure"),
            Column("line", "line", lambda each: each.reading.statement.span.line, holds="number").says(
                "the line of the text that it stands in"
            ),
            Column("measured", "measured", lambda each: _shown(each, each.measured), programs=False),
            Column("computed", "computed", lambda each: _shown(each, each.computed), programs=False),
            Column("measured_value", "", lambda each: each.measured, people=False, holds="either").says(
                "what the meter said, in the unit beside it, or a word"
            ),
            Column("computed_value", "", lambda each: each.computed, people=False, holds="either").says(
                "what is computed, in the same unit"
            ),
            Column("unit", "", lambda each: BASE_UNIT.get(each.kind, ""), people=False).says(
                "the unit of both; nothing for a word or a bare number"
            ),
            Column("measured_percent", "% of it", lambda each: each.ratio_percent).says(
                "the reading in percent of the figure, not told of decibels and temperatures"
            ),
        ),
        rows=rows,
    ),
)
