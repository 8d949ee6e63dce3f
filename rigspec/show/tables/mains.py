"""Tables about mains."""

from rigspec.show.tables.question import Question

QUESTIONS: tuple[Question, ...] = ()
