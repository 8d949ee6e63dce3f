"""Words that mean something somewhere in the language, and what may be written in place of one that is unknown here."""

from __future__ import annotations

from rigspec.language.fields import Field
from rigspec.language.figure_kinds import FIGURES
from rigspec.language.settings import TABLES
from rigspec.language.syntax import Figure, Item, Range, Setting
from rigspec.language.tables import WORDS
from rigspec.text.finding import Fix
from rigspec.text.near import Near
from rigspec.text.units import UnknownUnit, quantity

_FIELDS = [field for table in TABLES.values() for field in table.values()]
SPOKEN = frozenset((*WORDS, *FIGURES, *(field.word for field in _FIELDS), *(word for f in _FIELDS for word in f.words)))


def setting_fix(meant: Near, setting: Setting, table: dict[str, Field]) -> Fix | None:
    """Write the setting that is surely meant, where it takes what is said: a weight is no height."""
    fits = meant.sure and all(_kinds(item) <= table[meant.sure].kinds for item in setting.items)
    return meant.fix(setting.word_span) if fits else None


def _kinds(item: Item) -> set[str]:
    """What kinds of figures stand in an item, as far as their units are known."""
    ends = [end for atom in item.atoms for end in ((atom.low, atom.high) if isinstance(atom, Range) else (atom,))]
    found: set[str] = set()
    for each in ends:
        if isinstance(each, Figure):
            try:
                found.add(quantity(1.0, each.unit).kind if each.unit else "number")
            except UnknownUnit:
                continue
    return found
