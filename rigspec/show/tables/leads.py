"""Tables about leads."""

from rigspec.show.tables.question import Question

QUESTIONS: tuple[Question, ...] = ()
