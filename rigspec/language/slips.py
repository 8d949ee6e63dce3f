"""What to say of a statement that cannot be read: what was being read, where it stuck, and how it is written right."""

from __future__ import annotations

import re

from rigspec.language.chunk import MOST_NESTED, STATEMENT_WORDS
from rigspec.language.figure_kinds import FIGURES
from rigspec.language.nodes import Misshapen
from rigspec.language.states import accepts
from rigspec.language.syntax import Token
from rigspec.language.tables import STATES, WORDS
from rigspec.text.finding import Edit, Finding, Fix, Label
from rigspec.text.near import near
from rigspec.text.source import Source, Span

# What each statement is called in a sentence, and one written right.
READING = {
    "rig": ("the statement of the rig's facts", 'rig "Lantern parade" { mains 230 V 50 Hz; air 14 degC }'),
    "use": ("a use of another file", 'use "stock/house.rig"'),
    "stock": ("a kind of gear", "stock speaker reflex-18 { impedance 8 ohm; rated 600 W continuous }"),
    "feed": ("a feed", "feed bass_send { level 4 dBu; peak 18 dBu }"),
    "stereo": ("a stereo pair", "stereo main: left, right"),
    "mix": ("a mix", "mix mono: left -3 dB, right -3 dB"),
    "split": ("a split", "split y { legs 2; passive }"),
    "processor": ("a processor", "processor xo is cross-2x6"),
    "amp": ("an amplifier", "amp bass is twin-900"),
    "speaker": ("a loudspeaker", "speaker sub[1..4] is reflex-18 { at -4 m, 0 m }"),
    "lead": ("a named lead", "lead snake is multi-4 25 m"),
    "panel": ("a panel", "panel wall { lines 4 }"),
    "rack": ("a rack", "rack left: bass, tops"),
    "spare": ("a list of spares", "spare sub[5], bass.2"),
    "mains": ("a part of the mains", "mains stage from house { breaker 16 A C }"),
    "place": ("a place", "place lawn { at 0 m, 20 m }"),
    "area": ("an area", "area lawn { corner -8 m, 5 m; corner 8 m, 20 m }"),
    "group": ("a group", "group subs: sub[*], against rear[*]"),
    "expect": ("a promise", "expect load of bass.1 >= 4 ohm"),
    "measured": ("a measured figure", "measured load of bass.1 4.2 ohm"),
    "each": ("a path for each of a row", "each foldback[1..4] -> mon.1..4 -> loom.1..4 -> wedge[1..4]"),
    "allow": ("an exception", 'allow lead-loss-high on sub[4] because "moved to the tree, one night only"'),
}
PATH = ("a path", "bass_send -> bass.1 -> lead 2.5 mm2 15 m -> sub[1..2] linked 2.5 mm2 2 m")
MEMBER = ("settings of a thing", "bass.2 { attenuator -2 dB }")

_CALLED = {
    "NAME": "a name",
    "FIGURE": "a figure with its unit",
    "STRING": "a text in double quotes",
    "INDEX": "members such as [1..4]",
    "PORT": "a port such as .1",
    "PAIR": "a pair of channels such as 1+2",
    "ARROW": "`->`",
    "LBRACE": "`{`",
    "RBRACE": "`}`",
    "LPAR": "`(`",
    "RPAR": "`)`",
    "COMMA": "`,`",
    "COLON": "`:`",
    "SEP": "a new line or `;`",
    "COMPARE": "a comparison such as `>=`",
    "PLUS_MINUS": "`±`",
    "$END": "the end of the line",
    **{terminal: f"`{word}`" for word, terminal in WORDS.items()},
}

_STRAYS = {
    "“": 'texts stand in straight double quotes: "like this"',
    "”": 'texts stand in straight double quotes: "like this"',
    "'": 'texts stand in double quotes: "like this"',
    '"': "the text is not closed on its line: close it with a double quote",
    "→": "an arrow is written `->`",
    "-": "an arrow is written `->`, and a minus sign stands directly before its number",
    ".": "a port follows its name directly: `bass.1`; a range of members stands in brackets: `sub[1..4]`",
    "×": "a size is that of one conductor: write `2.5 mm2`, not `3 × 2.5 mm2`",
    "[": "members stand in brackets by their numbers, `sub[1..4]` or `sub[1,3]`, or all of them, `sub[*]`",
    "/": "a comment begins with `#`",
    "*": "all members of a row are written `sub[*]`",
}
_CLAUSES = ("of", "at", "between", "in", "after")
_BRACKETS = ("LBRACE", "RBRACE", "LPAR", "RPAR")
_CLOSING = {"[": "]", '"': '"'}
_cores = re.compile(r"\d+ ?[xXgG](\d+)").fullmatch  # `3x2` and `3G2` of `3x2.5 mm2`, as leads are called
_frequency = re.compile(r"([\d.]+) *(k?Hz)").fullmatch


def _reading(chunk: list[Token]) -> tuple[str, str]:
    first = chunk[0].text
    if first in STATEMENT_WORDS and not (len(chunk) > 1 and chunk[1].kind in ("ARROW", "PORT", "INDEX")):
        return READING[first]
    if any(token.kind == "ARROW" for token in chunk):
        return PATH
    return MEMBER if any(token.kind == "LBRACE" for token in chunk) else PATH


def _expected(states: list[int]) -> str:
    """What could have stood here, in words; the commonest few where there are many."""
    possible = [terminal for terminal in STATES[states[-1]] if terminal in _CALLED and accepts(states, terminal)]
    words = sorted({_CALLED[terminal] for terminal in possible}, key=lambda word: (word[0] == "`", word))
    if len(words) > 7:
        words = [*words[:6], "others"]
    return words[0] if len(words) == 1 else ", ".join(words[:-1]) + " or " + words[-1] if words else "nothing more"


def _span(source: Source, token: Token) -> Span:
    return Span(source, token.start, token.end)


def _shown(token: Token) -> str:
    text = token.text if len(token.text) <= 30 else token.text[:27] + "..."
    return f"`{text}`" if text else "the end of the line"


def still_open(chunk: list[Token]) -> list[Token]:
    """The brackets of these tokens that nothing closes."""
    open_brackets: list[Token] = []
    for token in chunk:
        if token.kind in ("LBRACE", "LPAR"):
            open_brackets.append(token)
        elif token.kind in ("RBRACE", "RPAR") and open_brackets:
            open_brackets.pop()
    return open_brackets


def without_setting(chunk: list[Token], at: int) -> list[Token] | None:
    """The tokens of a statement without the setting that holds the one at ``at``; None where it stands in none.

    None too where a bracket may be the slip: what is a setting is not known then.
    """
    if at >= len(chunk) or chunk[at].kind in _BRACKETS or not still_open(chunk[:at]):
        return None
    if still_open(chunk[:at])[-1].kind != "LBRACE":
        return None
    first = at
    while chunk[first - 1].kind not in ("SEP", *_BRACKETS):
        first -= 1
    behind = at
    while chunk[behind].kind not in ("SEP", *_BRACKETS):
        behind += 1
    if chunk[first - 1].kind not in ("SEP", "LBRACE") or chunk[behind].kind not in ("SEP", "RBRACE"):
        return None
    if chunk[behind].kind == "SEP":
        behind += 1
    elif chunk[first - 1].kind == "SEP":
        first -= 1
    return [*chunk[:first], *chunk[behind:]]


def unclosed(source: Source, chunk: list[Token]) -> Finding:
    """A bracket that never closes: the place is the bracket."""
    open_brackets = still_open(chunk)
    bracket = open_brackets[0]
    closing = "}" if bracket.kind == "LBRACE" else ")"
    noun, example = _reading(chunk)
    return Finding(
        "syntax",
        _span(source, bracket),
        f"in {noun}: this `{bracket.text}` is never closed",
        label=f"no `{closing}` follows before the next statement",
        help=f"close it with `{closing}`; write it like this: {example}",
    )


def too_deep(source: Source, chunk: list[Token], bracket: Token) -> Finding:
    noun, example = _reading(chunk)
    return Finding(
        "syntax",
        _span(source, bracket),
        f"in {noun}: brackets are nested more than {MOST_NESTED} deep",
        label=f"the bracket number {MOST_NESTED + 1}",
        help=f"write several statements instead; write it like this: {example}",
    )


def misshapen(source: Source, chunk: list[Token], fault: Misshapen) -> Finding:
    noun, _ = _reading(chunk)
    return Finding(
        "syntax",
        _span(source, fault.token),
        f"in {noun}: {fault.message}",
        label="cannot be read",
        help=f"write it like this: {fault.example}",
    )


def stuck(source: Source, chunk: list[Token], at: int, states: list[int]) -> Finding:
    """The parser could not take the token at position ``at`` of the statement."""
    noun, example = _reading(chunk)
    right = f"write it like this: {example}"
    if at >= len(chunk) or (chunk[at].kind == "SEP" and not chunk[at].text):
        last = chunk[min(at, len(chunk)) - 1]
        unknown = _unknown_word(source, chunk)
        if unknown is not None:
            return unknown
        return Finding(
            "syntax",
            _span(source, last),
            f"{noun} ends too early, behind {_shown(last)}",
            label=f"expected next: {_expected(states)}",
            help=right,
        )
    token = chunk[at]
    if at <= 1:
        unknown = _unknown_word(source, chunk)
        if unknown is not None:
            return unknown
    if (late := _behind_value(source, chunk, at)) is not None:
        return late
    hint = _hint(source, chunk, at)
    closing = _CLOSING.get(token.text)
    if closing and closing not in source.text[token.end :].partition("\n")[0].partition("#")[0]:
        return Finding(
            "syntax",
            _span(source, token),
            f"in {noun}: this {'`[`' if closing == ']' else 'text'} is never closed",
            label=f"no `{closing}` follows on its line",
            help=f"close it with `{closing}`; {right}",
        )
    if at > 0 and chunk[at - 1].text == "is" and chunk[0].text in STATEMENT_WORDS:
        return Finding(
            "syntax",
            _span(source, token),
            f"in {noun}: {_shown(token)} stands behind `is`, where a kind of the stock belongs",
            label="no kind is named before it" if token.kind == "LBRACE" else "not a kind's name",
            related=(Label(_span(source, chunk[at - 1]), "a kind belongs behind this"),),
            help=right,
        )
    return Finding(
        "syntax",
        _span(source, token),
        f"in {noun}: {_shown(token)} cannot stand here",
        label=f"expected: {_expected(states)}",
        related=(Label(_span(source, chunk[0]), f"while reading {noun}"),) if at > 0 else (),
        help=f"{hint}; {right}" if hint else right,
    )


def band_around(text: str) -> str:
    """A band about one frequency, a sixth of an octave to each side, as it is written; a usual one for other text."""
    found = _frequency(text)
    if not found:
        return "35 Hz to 95 Hz"
    low, high = (float(f"{float(found[1]) * factor:.2g}") for factor in (0.89, 1.12))
    return f"{low:g} {found[2]} to {high:g} {found[2]}"


def _behind_value(source: Source, chunk: list[Token], at: int) -> Finding | None:
    """A clause of a promise that stands behind its value, where it belongs before the comparison."""
    token = chunk[at]
    compare = next((each for each in chunk[:at] if each.kind == "COMPARE"), None)
    if chunk[0].text != "expect" or compare is None or token.text not in _CLAUSES:
        return None
    clause = source.text[token.start : chunk[-1].end]
    if token.text == "in" and len(chunk) == at + 2:
        clause = f"in {band_around(chunk[-1].text)}"
    before, value = source.text[chunk[0].start : compare.start], source.text[compare.start : token.start]
    return Finding(
        "syntax",
        Span(source, token.start, chunk[-1].end),
        f"in a promise: `{source.text[token.start : chunk[-1].end]}` stands behind the value, before which it belongs",
        label="stands before the comparison",
        help=f"write it like this: {' '.join(f'{before} {clause} {value}'.split())}",
        fix=Fix(
            f"put `{clause}` before the comparison",
            (
                Edit(Span(source, compare.start, compare.start), f"{clause} "),
                Edit(Span(source, chunk[at - 1].end, chunk[-1].end), ""),
            ),
        ),
    )


def _hint(source: Source, chunk: list[Token], at: int) -> str:
    token = chunk[at]
    if token.kind == "COMPARE" and source.text[token.start : token.start + 2] == "=>":
        return "an arrow is written `->`"
    if token.kind == "STRAY":
        return _STRAYS.get(token.text, "")
    if token.kind == "SEP":
        return "statements end at the end of their line; `;` separates settings inside braces"
    if token.kind == "RBRACE":
        return "no brace is open here"
    around = source.text[max(token.start - 1, 0) : token.end + 1]
    if token.kind == "COMMA" and len(around) == 3 and around[0].isdigit() and around[2].isdigit():
        return "decimals are written with a point: `2.5`, not `2,5`"
    if token.kind == "PORT" and (cores := _cores(chunk[at - 1].text)):
        return f"a size is that of one conductor: write `{cores[1]}{token.text} mm2`"
    if token.text == "in" and chunk[0].text in ("expect", "measured"):
        return "a band has two ends and stands before the comparison: `in 55 Hz to 65 Hz >= ...`"
    if token.text in WORDS and at > 0:
        return f"`{token.text}` is a word of the language and cannot be a name here"
    if token.kind == "FIGURE" and at > 0 and chunk[at - 1].text in STATEMENT_WORDS:
        return "names begin with a letter"
    return ""


def _unknown_word(source: Source, chunk: list[Token]) -> Finding | None:
    """A first word that begins no statement, in a line that is neither a path nor settings."""
    first = chunk[0]
    if first.kind != "NAME" or first.text in STATEMENT_WORDS:
        return None
    if len(chunk) > 1 and chunk[1].kind not in ("NAME", "STRING", "FIGURE", "COLON"):
        return None
    meant = near(first.text, STATEMENT_WORDS, elsewhere=FIGURES)
    return Finding(
        "syntax",
        _span(source, first),
        f"`{first.text}` begins no statement",
        label=meant.question or "not a statement word",
        help=f"begin the statement with one of {', '.join(sorted(STATEMENT_WORDS))}; or a path with a name and `->`",
        fix=meant.fix(_span(source, first)),
    )
