"""Tables about speakers."""

from rigspec.show.tables.question import Question

QUESTIONS: tuple[Question, ...] = ()
