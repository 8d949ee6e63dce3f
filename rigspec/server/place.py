"""What the cursor stands in while somebody writes: the statement so far, and what the grammar takes next."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence

from attrs import frozen

from rigspec.language.chunk import cut
from rigspec.language.fields import LEAD_SPEC, Field
from rigspec.language.reader import states_behind
from rigspec.language.settings import TABLES
from rigspec.language.states import accepts
from rigspec.language.syntax import Token
from rigspec.language.tables import STATES, WORDS
from rigspec.language.tokens import tokens
from rigspec.rig.ports import PORT_TABLES
from rigspec.server.snapshot import Snapshot
from rigspec.text.source import Source
from rigspec.text.units import UNITS
from rigspec.text.value import Value

_MARK = "zzz"  # stands for the word at the cursor, whatever is there of it
_typed = re.compile(r"[^\W\d][\w-]*\Z|\Z")
_index = re.compile(r"([^\W\d][\w-]*)\[([^\[\]\n]*)\Z")
_port = re.compile(r"([^\W\d][\w-]*)(\[[^\[\]\n]*\])?\.([\w*-]*)\Z")
_unit = re.compile(r"(?<![\w.\[+-])[+-]?\d+(?:\.\d+)?(?:/\d+)?[ \t]*([^\W\d_][\w/]*|%|°[CF]?|)\Z")
_string = re.compile(r'"(?:[^"\\]|\\.)*"')


@frozen(eq=False, repr=False)
class CursorSetting(Value):
    """The settings that a cursor stands among: their table, and the word of the one at hand or nothing.

    ``item`` counts the items before the cursor, ``atoms`` what stands in its own before it. ``made`` are the words of
    the settings that stand before it in the same braces.
    """

    table: str
    word: str
    item: int
    atoms: tuple[Token, ...]
    made: frozenset[str]

    @property
    def field(self) -> Field | None:
        return TABLES.get(self.table, {}).get(self.word)


@frozen(eq=False, repr=False)
class CursorPlace(Value):
    """``before`` are the tokens of the statement up to the word at the cursor, which begins at ``start``.

    ``what``: word, index, port, unit, text or comment. ``name`` is that of the thing whose members or ports are asked
    for. ``terminals`` are what the grammar takes here.
    """

    what: str
    start: int
    before: tuple[Token, ...]
    terminals: frozenset[str]
    name: str = ""

    @property
    def first(self) -> str:
        return self.before[0].text if self.before else ""

    @property
    def previous(self) -> Token | None:
        return self.before[-1] if self.before else None


def place(sight: Snapshot, offset: int) -> CursorPlace:
    """Where the cursor at an offset stands."""
    text = sight.source.text
    line = text[text.rfind("\n", 0, offset) + 1 : offset]
    plain = _string.sub(lambda match: " " * len(match[0]), line)
    if "#" in plain.partition('"')[0]:
        return CursorPlace("comment", offset, (), frozenset())
    if '"' in plain:
        start = offset - len(line) + plain.index('"') + 1
        return CursorPlace("text", start, _before(sight, start - 1), frozenset())
    for what, match in (("index", _index.search(line)), ("port", _port.search(line)), ("unit", _unit.search(line))):
        if match is not None:
            start = offset - len(match[match.lastindex or 0])
            begin = offset - len(match[0])
            before = _before(sight, begin)
            terminals = _terminals(sight.source, before)
            return CursorPlace(what, start, before, terminals, "" if what == "unit" else match[1])
    match = _typed.search(line)
    start = offset - len(match[0]) if match is not None else offset
    before = _before(sight, start)
    return CursorPlace("word", start, before, _terminals(sight.source, before))


def _before(sight: Snapshot, offset: int) -> tuple[Token, ...]:
    """The tokens of the statement that a word at an offset belongs to, before that word."""
    begin = 0
    for statement in sight.file.statements:  # what stands before the last statement that begins earlier changes nothing
        if statement.start >= offset:
            break
        begin = statement.start
    text = sight.source.text[begin:offset]
    stream = tokens(f"{text}{'' if not text or text[-1].isspace() or not text[-1].isalnum() else ' '}{_MARK}")
    position = 0
    found: list[Token] = []
    while stream[position].kind != "END":
        chunk = cut(stream, position)
        found = chunk.tokens
        position = chunk.end
    return tuple(Token(each.kind, each.text, each.start + begin, each.lines) for each in found[:-1])


def _terminals(source: Source, before: Sequence[Token]) -> frozenset[str]:
    states = states_behind(source, list(before))
    if states is None:
        return frozenset()
    known = {*STATES[states[-1]], *WORDS.values()} - {"$END"}
    return frozenset(terminal for terminal in known if accepts(states, terminal))


@frozen(eq=False, repr=False)
class CursorLead(Value):
    """What is written of the lead at hand: a kind, a size, a length."""

    kind: bool
    size: bool
    length: bool


def lead_so_far(at: CursorPlace) -> CursorLead | None:
    """The lead that is being described, behind `lead` or `linked` in a path or in its own statement; None elsewhere."""
    begins = 0 if at.first == "lead" else None
    for number, token in enumerate(at.before):
        if number and token.text in ("lead", "linked"):
            begins = number
        elif token.kind in ("ARROW", "LPAR", "COMMA", "LBRACE"):
            begins = None
    if begins is None or (at.first == "lead" and begins == 0 and len(at.before) < 2):
        return None
    words = at.before[begins + 1 :]
    if at.first == "lead" and begins == 0:
        words = words[1:]
    kinds = [_kind_of(token) for token in words if token.kind == "FIGURE"]
    named = any(token.kind == "NAME" and token.text not in (*LEAD_SPEC.words, "is", "to") for token in words)
    return CursorLead(named, "area" in kinds or "gauge" in kinds, "length" in kinds)


def _kind_of(token: Token) -> str:
    unit = token.text.lstrip("+-0123456789./ \t").strip()
    return next((each.kind for each in UNITS if unit in each.spellings), "")


def setting(before: Sequence[Token], words: Mapping[str, str]) -> CursorSetting | None:
    """The settings that the cursor stands among, or None outside of braces."""
    tables: list[str] = []
    made: list[set[str]] = []
    current: list[Token] = []  # the tokens of the setting at hand
    for number, token in enumerate(before):
        if token.kind == "LBRACE":
            word = current[0].text if tables and current else ""
            field = TABLES.get(tables[-1], {}).get(word) if tables else None
            tables.append(field.inner if field is not None else _table(before[:number], words) if not tables else "")
            made.append(set())
            current = []
        elif token.kind == "RBRACE" and tables:
            tables.pop()
            made.pop()
            current = []
        elif token.kind == "SEP":
            current = []
        else:
            if tables and not current:
                made[-1].add(token.text)
            current.append(token)
    if not tables:
        return None
    commas = [number for number, token in enumerate(current) if token.kind == "COMMA"]
    word = current[0].text if current else ""
    atoms = tuple(current[(commas[-1] if commas else 0) + 1 :])
    return CursorSetting(tables[-1], word, len(commas), atoms, frozenset(made[-1] - {word}))


def _table(head: Sequence[Token], words: Mapping[str, str]) -> str:
    """The table of the settings in the braces of a statement that begins so."""
    first = head[0].text if head else ""
    if first == "rig":
        return "rig"
    if first == "stock":
        return f"stock {head[1].text}" if len(head) > 1 else ""
    if first in TABLES and len(head) > 1 and head[1].kind == "NAME":
        return first
    word = words.get(first, "")
    return PORT_TABLES.get(word, word) if any(token.kind == "PORT" for token in head) else word
