"""Tables about bands."""

from rigspec.show.tables.question import Question

QUESTIONS: tuple[Question, ...] = ()
