"""The same statements written otherwise: other spacing, line ends, comments, other units for the same figure."""

from __future__ import annotations

import random
import re
from decimal import Decimal
from itertools import pairwise
from math import log10

from rigspec.language.syntax import Token
from rigspec.language.tokens import tokens

LEAVES_OPEN = {"ARROW", "COMMA", "COLON"}  # a line that ends with one of these is not done
GOES_ON = {"ARROW", "COMMA"}  # a line that begins with one of these goes on with the line before
TIGHT = {"COMMA", "LBRACE", "RBRACE", "LPAR", "RPAR", "SEP", "COLON", "ARROW", "COMPARE"}


def real(text: str) -> list[Token]:
    """The tokens of a text without the one that marks its end."""
    return tokens(text)[:-1]


def line_may_end(before: Token, after: Token, bracket: str) -> bool:
    """May a line, with a comment, end between two tokens of a statement and leave its meaning?

    ``bracket`` is the innermost bracket that is open there, if any. Inside round brackets line ends mean nothing; in
    braces they separate, so they may stand where a separator stands or would be one too many.
    """
    if bracket == "LPAR" or before.kind in LEAVES_OPEN or after.kind in GOES_ON:
        return True
    return bracket == "LBRACE" and (before.kind in ("LBRACE", "SEP") or after.kind in ("RBRACE", "SEP"))


def boundaries(text: str) -> list[tuple[Token, Token, str]]:
    """Every boundary between two tokens of a statement, with the innermost bracket open there."""
    found, brackets = [], [""]
    stream = real(text)
    for before, after in pairwise(stream):
        if before.kind in ("LBRACE", "LPAR"):
            brackets.append(before.kind)
        elif before.kind in ("RBRACE", "RPAR"):
            brackets.pop()
        found.append((before, after, brackets[-1]))
    return found


def respaced(statement: str, dice: random.Random) -> str:
    """A statement with other blank space, separators and line ends, and with comments where they may stand."""
    stream = real(statement)
    text = stream[0].text
    for before, after, bracket in boundaries(statement):
        may_join = before.kind in TIGHT or after.kind in TIGHT or before.end == after.start
        gap = dice.choice(["", " ", "   ", " \t"] if may_join else [" ", "  ", "\t"])
        word = after.text
        if line_may_end(before, after, bracket) and dice.random() < 0.15:
            gap = dice.choice(["\n    ", f"  # aside {dice.randrange(99)}\n ", '\n\n   # alone: { ( " ;\n  ', "\r\n  "])
        if after.kind == "SEP":
            word = dice.choice([";", "\n  ", ";\n ", f"  # part {dice.randrange(99)}\n  ", "; ;"])
        text += gap + word
    return text


def restyled(statements: list[str], seed: int) -> str:
    """A whole file: the statements in other blank space, with comments above, beside and between them."""
    dice = random.Random(seed)
    lines: list[str] = []
    for statement in statements:
        if dice.random() < 0.2:
            lines += [""] * dice.randrange(3)
        if dice.random() < 0.2:
            lines.append(f"{' ' * dice.randrange(3)}# about what follows, {dice.randrange(99)}")
        behind = f"{' ' * dice.randrange(3)}# beside it" if dice.random() < 0.2 else ""
        lines.append(respaced(statement, dice) + behind)
    lines += ["", "# the last word"] * dice.randrange(2)
    return "\n".join(lines) + "\n" * dice.randrange(3)


# ---- units ----------------------------------------------------------------------------------------------------------

# Spellings of one kind: powers of ten to a common unit, or a number to add to it. Written here anew, not looked up.
SCALES = [
    {"ohm": 0, "Ω": 0, "\u2126": 0, "kohm": 3, "k\u03a9": 3, "k\u2126": 3, "mohm": -3, "Mohm": 6},
    {"W": 0, "kW": 3, "mW": -3},
    {"V": 0, "kV": 3, "mV": -3},
    {"A": 0, "mA": -3},
    {"Hz": 0, "kHz": 3},
    {"m": 0, "cm": -2, "mm": -3, "km": 3},
    {"s": 0, "ms": -3, "us": -6, "\u00b5s": -6, "\u03bcs": -6},
    {"kg": 0, "g": -3},
    {"F": 0, "mF": -3, "uF": -6, "\u00b5F": -6, "\u03bcF": -6, "nF": -9},
    {"H": 0, "mH": -3, "uH": -6, "\u00b5H": -6, "\u03bcH": -6},
    {"mm2": 0, "mm²": 0},
    {"deg": 0, "°": 0},
    {"dB/octave": 0, "dB/oct": 0},
    {"dB SPL": 0, "dBSPL": 0},
]
DBV_ABOVE_DBU = Decimal(repr(20 * log10(1 / 0.6**0.5)))  # 0 dBV is 1 V, 0 dBu is the root of 0.6 V (ITU-R V.574)
_figure = re.compile(r"([+-]?[\d.]+)([ \t]*)([^\d.\s].*)").fullmatch


def respelt(statement: str, dice: random.Random) -> str:
    """A statement with every figure in another unit of its kind, its value exactly kept."""
    parts, end = [], 0
    for token in real(statement):
        parts.append(statement[end : token.start])
        parts.append(_other_unit(token.text, dice) if token.kind == "FIGURE" else token.text)
        end = token.end
    return "".join(parts)


def _other_unit(text: str, dice: random.Random) -> str:
    match = _figure(text)
    if match is None:
        return text
    number, unit = Decimal(match[1]), match[3]
    blank = dice.choice(["", " ", "  "])
    if unit == "dBu" and dice.random() < 0.5:
        return f"{number - DBV_ABOVE_DBU:.12f}{blank}dBV"
    scale = next((scale for scale in SCALES if unit in scale), {unit: 0})
    other = dice.choice(list(scale))
    moved = number.scaleb(scale[unit] - scale[other])
    written = f"{moved:f}" if dice.random() < 0.8 or "." in match[1] else f"{moved:e}"
    return f"{written}{blank}{other}"
