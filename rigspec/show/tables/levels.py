"""Tables about levels."""

from rigspec.show.tables.question import Question

QUESTIONS: tuple[Question, ...] = ()
