"""Tables about impedance."""

from rigspec.show.tables.question import Question

QUESTIONS: tuple[Question, ...] = ()
