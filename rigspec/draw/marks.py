"""What a drawing consists of: frozen marks, at places in px from the left upper corner; 96 px are one inch.

A mark never says by colour alone: what a colour says is also said by a shape, by dashes or by words.
"""

from __future__ import annotations

from typing import Literal, TypeAlias

from attrs import frozen

from rigspec.text.value import Content

PX_PER_INCH = 96.0
PX_PER_MM = PX_PER_INCH / 25.4

Point: TypeAlias = tuple[float, float]
Anchor: TypeAlias = Literal["start", "middle", "end"]
# "" draws in ink; "quiet" is for what helps the eye only: grids, axes, leader lines.
Level: TypeAlias = Literal["", "quiet", "error", "warning"]
# What an area is filled with. "tint" lies behind a group, "none" lets through what lies below.
Fill: TypeAlias = Literal["none", "paper", "ink", "tint", "quiet", "error", "warning"]

# Vermilion, orange and sky blue as in Okabe and Ito, "Color Universal Design" (2002, revised 2008), which people tell
# apart whatever their colour vision. The tint is their sky blue with seven parts of white. Words in orange would be too
# pale on paper, so ``LINES`` has them, and the lines of a warning, in ink.
FILLS: dict[Fill, str] = {
    "none": "none",
    "paper": "#ffffff",
    "ink": "#000000",
    "tint": "#eaf6fc",
    "quiet": "#d9d9d9",
    "error": "#d55e00",
    "warning": "#e69f00",
}
LINES: dict[Level, str] = {"": "#000000", "quiet": "#6e6e6e", "error": "#a84a00", "warning": "#000000"}


@frozen(eq=False, repr=False)
class Words(Content):
    """One line of text; ``y`` is its base line, ``x`` its start, middle or end, ``size`` the height of its letters."""

    x: float
    y: float
    text: str
    size: float = 11.0
    anchor: Anchor = "start"
    strong: bool = False
    level: Level = ""


@frozen(eq=False, repr=False)
class Stroke(Content):
    """A line through points; ``dash`` are lengths of dashes and gaps, ``head`` puts an arrow's head on its end."""

    points: tuple[Point, ...]
    width: float = 1.0
    dash: tuple[float, ...] = ()
    head: bool = False
    level: Level = ""


@frozen(eq=False, repr=False)
class Outline(Content):
    """A box with upright sides; ``round`` is the radius of its corners, ``thick`` the width of its border (0: none)."""

    x: float
    y: float
    width: float
    height: float
    round: float = 0.0
    dash: tuple[float, ...] = ()
    fill: Fill = "none"
    thick: float = 1.0
    level: Level = ""


@frozen(eq=False, repr=False)
class Shape(Content):
    """A closed polygon: an arrow's head, a cone, the mark of a turn."""

    points: tuple[Point, ...]
    fill: Fill = "none"
    thick: float = 1.0
    dash: tuple[float, ...] = ()
    level: Level = ""


@frozen(eq=False, repr=False)
class Round(Content):
    """A circle."""

    x: float
    y: float
    radius: float
    fill: Fill = "none"
    thick: float = 1.0
    dash: tuple[float, ...] = ()
    level: Level = ""


@frozen(eq=False, repr=False)
class Group(Content):
    """Marks that belong together: ``name`` is the part's name in the rig, ``title`` what pointing at it shows."""

    name: str
    title: str
    marks: tuple[Mark, ...]


Mark: TypeAlias = Words | Stroke | Outline | Shape | Round | Group


@frozen(eq=False, repr=False)
class Drawing(Content):
    """A whole drawing on paper of ``width`` and ``height``, drawn in the order of its marks."""

    width: float
    height: float
    title: str
    description: str
    marks: tuple[Mark, ...]
