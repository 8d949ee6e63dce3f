"""Tables about channels."""

from rigspec.show.tables.question import Question

QUESTIONS: tuple[Question, ...] = ()
