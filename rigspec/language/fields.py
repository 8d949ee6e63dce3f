"""What a setting takes. The settings themselves stand in the tables of `settings.py`.

A figure's place is known by its dimension, so the order inside an item does not matter.
"""

from __future__ import annotations

from typing import Final, cast

from attrs import field, frozen

from rigspec.language.words import ChoiceWord, SettingWord
from rigspec.text.units import FigureKind
from rigspec.text.value import Content

NUMBER: Final = "number"  # a bare number: a count or a ratio without a unit


def alternatives(group: str) -> list[FigureKind]:
    """The kinds of figure of which one is asked for."""
    return cast("list[FigureKind]", group.split("|"))


@frozen(eq=False, repr=False)
class Field(Content):
    """One setting.

    ``need`` are the kinds of figure that each item must hold (of alternatives written ``a|b`` one), ``may`` those it
    can hold besides. ``words`` are the words it may hold. ``many``: several items, separated by commas. ``again``: the
    setting may be given more than once in a block. ``inner`` names the table of the settings in its own braces.
    ``whole``: its number is a whole one. ``zero``: it may be nothing at all. ``range_only``: one figure is not enough.
    ``share``: it is a part of something, 1 at the most. ``most``: its number is no larger, as no gear has more.
    ``bare``: the word alone says enough, without the pairs that it may name. ``kept``: nothing computes with it yet.
    """

    word: SettingWord
    says: str
    example: str
    need: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    words: tuple[ChoiceWord, ...] = ()
    word_needed: bool = False
    ranges: bool = False
    refs: bool = False
    texts: bool = False
    pairs: bool = False
    bare: bool = False
    many: bool = False
    again: bool = False
    inner: str = ""
    whole: bool = False
    zero: bool = False
    range_only: bool = False
    share: bool = False
    most: int = 0
    kept: bool = False
    kinds: frozenset[FigureKind] = field(init=False)

    @kinds.default
    def _kinds(self) -> frozenset[FigureKind]:
        return frozenset(kind for group in self.need + self.may for kind in alternatives(group))


# The lead spoken of in a path, `lead 2.5 mm2 15 m`, in `linked 2.5 mm2 2 m`, and behind a named lead's name.
LEAD_SPEC = Field(
    "lead",
    "the lead's size or kind, its length, and the number on its tape",
    'lead 2.5 mm2 15 m "P15"',
    may=("area|gauge", "length"),
    words=("solid", "tinned", "inverted"),
    ranges=True,
    refs=True,
    texts=True,
)

# Kinds of which nothing has less than nothing; those in the second set, if said at all, are above zero.
NOT_NEGATIVE = frozenset({"time", "ratio", NUMBER})
ABOVE_ZERO = frozenset(
    (
        "resistance",
        "power",
        "apparent power",
        "voltage",
        "current",
        "frequency",
        "area",
        "capacitance",
        "inductance",
        "mass",
        "rack units",
        "slope",
        "temperature",
        "resistance per length",
        "speed",
    )
)
