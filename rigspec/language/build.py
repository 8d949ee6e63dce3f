"""Make ``tables.py`` from the grammar: ``python -m rigspec.make``.

lark reads the grammar, checks it and computes the LALR(1) tables. They are saved as plain literals, because importing
lark and building them anew would cost more than all the rest of a check. Nothing else in the project knows lark.
"""

from __future__ import annotations

import hashlib
from importlib import resources
from pathlib import Path
from typing import Any

GRAMMAR = "rigspec.lark"


def grammar_text() -> str:
    """The grammar, from beside the package when installed and from the checkout otherwise."""
    inside = resources.files("rigspec") / "grammar" / GRAMMAR
    if inside.is_file():
        return inside.read_text(encoding="utf-8")
    return (Path(__file__).parents[2] / "grammar" / GRAMMAR).read_text(encoding="utf-8")


def token_pattern(terminals: list[Any], words: dict[str, str]) -> str:
    """One regular expression for all tokens, longest alternatives first where one could hide another."""
    order = ["ARROW", "PLUS_MINUS", "COMPARE", "PAIR", "FIGURE", "NAME", "PORT", "INDEX", "STRING"]
    known = {terminal.name: terminal.pattern.to_regexp() for terminal in terminals}
    rest = sorted(name for name in known if name not in order and name not in words.values())
    groups = [f"(?P<{name}>{known[name]})" for name in order + rest]
    groups += [r"(?P<COMMENT>\#[^\n]*)", r"(?P<NEWLINE>\r?\n)", r"(?P<STRAY>[^ \t])"]
    return "[ \t]*(?:" + "|".join(groups) + ")|[ \t]+"


def number_states(table: Any, shift: Any) -> tuple[list[tuple[str, str, int]], list[dict[str, int]], int]:
    """Rules, states and the end state, numbered in the order in which they are met, so that every run agrees."""
    rules: list[tuple[str, str, int]] = []
    rule_numbers: dict[Any, int] = {}
    met = [table.start_states["start"]]
    state_numbers = {met[0]: 0}
    states: list[dict[str, int]] = []
    for state in met:
        entries: dict[str, int] = {}
        for symbol, (action, argument) in sorted(table.states[state].items()):
            if action is shift:
                if argument not in state_numbers:
                    state_numbers[argument] = len(met)
                    met.append(argument)
                entries[str(symbol)] = state_numbers[argument]
                continue
            if argument not in rule_numbers:
                rule_numbers[argument] = len(rules)
                origin, size = str(argument.origin.name), len(argument.expansion)
                single = argument.options.expand1 and size == 1 and not argument.alias
                build = "" if single else "_spread" if origin.startswith("__") else str(argument.alias or origin)
                rules.append((origin, build, size))
            entries[str(symbol)] = -1 - rule_numbers[argument]
        states.append(entries)
    return rules, states, state_numbers[table.end_states["start"]]


def tables_text() -> str:
    """The text of ``tables.py``."""
    import lark
    from lark.parsers.lalr_analysis import Shift

    text = grammar_text()
    parser: Any = lark.Lark(text, parser="lalr", lexer="basic")
    table = parser.parser.parser._parse_table
    words = {
        terminal.pattern.value: terminal.name
        for terminal in parser.terminals
        if terminal.pattern.type == "str" and terminal.pattern.value.isalpha()
    }
    rules, states, end = number_states(table, Shift)
    lines = [
        '"""Made from the grammar by ``python -m rigspec.make``; do not edit."""',
        "",
        f"GRAMMAR_SHA256 = {hashlib.sha256(text.encode()).hexdigest()!r}",
        f"END = {end}",
        f"PATTERN = {token_pattern(parser.terminals, words)!r}",
        f"WORDS: dict[str, str] = {words!r}",
        "# Each rule: the symbol it makes, the function that builds its node ('' passes one child on), how many parts.",
        f"RULES: list[tuple[str, str, int]] = {rules!r}",
        "# Each state (0 is the start): symbol -> next state (0 and up) or rule to apply (-1 - its number).",
        "STATES: list[dict[str, int]] = [",
        *[f"    {entries!r}," for entries in states],
        "]",
    ]
    return "\n".join(lines) + "\n"
