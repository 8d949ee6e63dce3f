"""Tables about limiters."""

from rigspec.show.tables.question import Question

QUESTIONS: tuple[Question, ...] = ()
