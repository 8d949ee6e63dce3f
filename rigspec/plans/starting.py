"""A first rig with its own stock beside it, and entries of a stock to fill in from a data sheet."""

from __future__ import annotations

import re
from collections.abc import Mapping

from rigspec.language.format import canonical
from rigspec.language.reader import parse
from rigspec.language.settings import TABLES
from rigspec.language.syntax import Stock, Use
from rigspec.plans.gaps import LACKS
from rigspec.text.source import Source

SORTS = ("amp", "speaker", "processor", "lead")
STOCK = "stock.rig"
NAME = re.compile(r"[A-Za-z][\w-]*")
HEAD = """\
# The gear of this rig. Its figures are typical and invented: put in those of your own data sheets before you trust a
# result. `rigspec gaps {stock}` says what is still lacking.

"""
ENTRY = """\
# From the data sheet: take the `#` before a line away and put its figure in. What is not known stays as it is:
# `rigspec gaps FILE` says what then falls silent or is assumed.
"""
PAGE = """\
# The language in ten patterns

Most rigs are made of these. `rigspec new pair` writes the first one, with its gear in `stock.rig` beside it, to go on
from; so it is with each by its name. All of them check clean. The [reference](reference.md) has every statement and
setting.
"""
COMMENT = 44  # cells before the words


def started(pattern: str, house: str) -> tuple[str, str]:
    """A rig and the stock beside it, from a pattern and the stock that it was written for; only what it uses."""
    return rig_of(pattern), HEAD.format(stock=STOCK) + _cut(house, set(NAME.findall(pattern)))


def rig_of(pattern: str) -> str:
    """A pattern as it is written: it uses the stock beside it."""
    statements = parse(Source("pattern", pattern)).statements
    own = next(each for each in statements if isinstance(each.node, Use))
    return f'{pattern[: own.start]}use "{STOCK}"{pattern[own.tokens[-1].end :]}'


def page(patterns: Mapping[str, str]) -> str:
    """The patterns on one page, each with its words before it."""
    parts = [PAGE]
    for name, text in patterns.items():
        words, _, rig = rig_of(text).partition("\n\n")
        parts.append(f"## {name}\n\n{words.removeprefix('# ')}\n\n```rig\n{rig}```\n")
    return "\n".join(parts)


def _cut(house: str, words: set[str]) -> str:
    """The kinds of a stock that have these names, each with the comment right above it."""
    kept = []
    for each in parse(Source("house", house)).statements:
        if isinstance(each.node, Stock) and each.node.name in words:
            last = _nearest([found.text for found in each.tokens[0].comments], each.tokens[0].lines)
            kept.append("\n".join([*last, house[each.start : each.tokens[-1].end]]))
    return canonical(Source("stock", "\n\n".join(kept) + "\n")) if kept else ""


def _nearest(comments: list[str], lines: int) -> list[str]:
    """The comment lines right above a statement, without headings further up."""
    if lines > 1:
        return []
    near: list[str] = []
    for text in reversed(comments):
        if text.startswith("# --"):
            break
        near.insert(0, text)
    return near


def entry(sort: str, name: str) -> str:
    """An entry of a stock with all that can be said of this sort of gear, each line with what it means."""
    lacks = {word: why for words, why in LACKS[sort] for word in words}
    lines = [f"{ENTRY}stock {sort} {name} {{"]
    for word, field in TABLES[f"stock {sort}"].items():
        says = f"{field.says}; without: {lacks[word]}" if word in lacks else field.says
        lines.append(f"  # {field.example:<{COMMENT}}  # {says}")
    return "\n".join([*lines, "}"]) + "\n"
