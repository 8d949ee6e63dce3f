"""Tables about lines."""

from rigspec.show.tables.question import Question

QUESTIONS: tuple[Question, ...] = ()
