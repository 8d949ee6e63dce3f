"""The words that editors colour, and the made parts of the files in which they stand: text in, text out.

A made part of a file begins with ``words: NAME`` in a comment of that file's language and holds one of the lists of
``word_lists``. The lists come from the grammar and the tables, so an editor colours what the checker reads.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Sequence
from textwrap import fill

from rigspec.language.chunk import STATEMENT_WORDS
from rigspec.language.fields import LEAD_SPEC
from rigspec.language.figure_kinds import FIGURES
from rigspec.language.reader import parse
from rigspec.language.settings import STOCK_SORTS, TABLES
from rigspec.language.syntax import Listing, Thing
from rigspec.language.tables import WORDS
from rigspec.rig.declare import HOP_WORDS
from rigspec.rig.relations import POLARITIES
from rigspec.rules import RULES
from rigspec.text.source import Source
from rigspec.text.units import UNITS

Words = tuple[str, ...]


def word_lists() -> dict[str, Words]:
    """Every list by its name; in each the longer of two words that begin alike stands first.

    ``statement``: words that begin a statement. ``naming``: those of them that give a name. ``sort``: what can stand
    behind ``stock``. ``hop``: words that begin a hop of a path, ``lead`` among them. ``joint``: small words between.
    ``setting``: what can begin a setting in braces. ``choice``: words that a setting may hold. ``state``: such words
    outside braces, of leads and polarities. ``figure``: what can be promised or measured. ``unit``: what can stand
    behind a number. ``rule``: what can be allowed.
    """
    fields = [field for table in TABLES.values() for field in table.values()]
    hops = {*HOP_WORDS, "lead"}
    lists: dict[str, set[str]] = {
        "statement": set(STATEMENT_WORDS),
        "naming": {word for word in STATEMENT_WORDS if _names(word)},
        "sort": set(STOCK_SORTS),
        "hop": hops,
        "joint": set(WORDS) - STATEMENT_WORDS - hops,
        "setting": {field.word for field in fields},
        "choice": {word for field in fields for word in field.words},
        "state": {*LEAD_SPEC.words, *POLARITIES},
        "figure": set(FIGURES),
        "unit": {spelling for unit in UNITS for spelling in unit.spellings},
        "rule": set(RULES),
    }
    return {name: tuple(sorted(words, key=lambda word: (-len(word), word))) for name, words in lists.items()}


def _names(word: str) -> bool:
    """Is a statement of this word one that gives a name to something? The parser knows."""
    nodes = (parse(Source("", f"{word} x{rest}")).statements[0].node for rest in ("", ": y"))
    return any(isinstance(node, Thing | Listing) and node.name == "x" for node in nodes)


# ---- how each language writes a list ---------------------------------------------------------------------------------


def _wrapped(words: Sequence[str], indent: str) -> str:
    return fill(" ".join(words), 110, initial_indent=indent, subsequent_indent=indent, break_on_hyphens=False)


def _vim(name: str, words: Words) -> str:
    """A list of script level; units hold a blank, so the words are quoted."""
    quoted = [f"'{word}',".replace(" ", "\0") for word in words]
    lines = _wrapped(quoted, r"  \ ").replace("\0", " ")
    return f"let s:{name} = [\n{lines}\n  \\ ]\n"


def _lisp(name: str, words: Words) -> str:
    quoted = [f'"{word}"'.replace(" ", "\0") for word in words]
    lines = _wrapped(quoted, "    ").replace("\0", " ").strip()
    return f"(defconst rig--{name}-words\n  '({lines}))\n"


def _xml(name: str, words: Words) -> str:
    items = "".join(f"      <item>{word}</item>\n" for word in words)
    return f'    <list name="{name}">\n{items}    </list>\n'


def _in_lines(opening: str, closing: str, write: Callable[[str, Words], str]) -> Callable[[str], str]:
    """A maker for a language with comments: the list stands on the lines between two comments."""
    part = re.compile(
        rf"(^[ \t]*{re.escape(opening)} words: (?P<name>\w+){re.escape(closing)}\n)"
        rf".*?(^[ \t]*{re.escape(opening)} end{re.escape(closing)}$)",
        re.MULTILINE | re.DOTALL,
    )

    def fresh(text: str) -> str:
        lists = word_lists()
        return part.sub(lambda found: found[1] + write(found["name"], lists[found["name"]]) + found[3], text)

    return fresh


_alternatives = re.compile(r"(?P<head>\(\?#words: (?P<name>\w+)\))\(\?:[^()]*\)")


def _pattern(text: str) -> str:
    """A maker for JSON, which has no comments: ``(?#words: NAME)`` inside a pattern, and the alternatives behind it."""
    lists = word_lists()

    def alternatives(found: re.Match[str]) -> str:
        words = "|".join(re.escape(word).replace(r"\ ", " ").replace(r"\-", "-") for word in lists[found["name"]])
        return found["head"] + json.dumps(f"(?:{words})", ensure_ascii=False)[1:-1]

    return _alternatives.sub(alternatives, text)


def names_in(text: str) -> set[str]:
    """The lists that a file holds."""
    return set(re.findall(r"\bwords: (\w+)", text))


FRESH: dict[str, Callable[[str], str]] = {
    "editors/vscode/syntaxes/rig.tmLanguage.json": _pattern,
    "editors/vim/syntax/rig.vim": _in_lines('"', "", _vim),
    "editors/emacs/rig-mode.el": _in_lines(";;", "", _lisp),
    "editors/kate/rig.xml": _in_lines("<!--", " -->", _xml),
}
"""By file: makes its text anew."""

COPIES = {
    f"editors/neovim/{folder}/rig.vim": f"editors/vim/{folder}/rig.vim"
    for folder in ("autoload", "compiler", "ftdetect", "ftplugin", "syntax")
}
"""Files that are whole copies of others, so that each plugin can be installed alone."""
