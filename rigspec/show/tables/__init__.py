"""The tables of figures, one for each question. Each family's file lists its own; the families are listed here."""

from rigspec.show.tables import bands, channels, impedance, leads, levels, limiters, lines, mains, measured, speakers
from rigspec.show.tables.question import Question

FAMILIES = (channels, speakers, leads, impedance, levels, bands, limiters, lines, mains, measured)
QUESTIONS: dict[str, Question] = {question.word: question for family in FAMILIES for question in family.QUESTIONS}
