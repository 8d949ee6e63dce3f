"""Text to tokens: one pass with one regular expression, nothing thrown away.

Blank space between tokens is not kept (the formatter decides it); comments and line ends are, in the token that
follows them. The last token is always an END that holds what stands behind the last real one.
"""

from __future__ import annotations

import re

from rigspec.language.syntax import Comment, Token
from rigspec.language.tables import PATTERN

_scan = re.compile(PATTERN).finditer


def tokens(text: str) -> list[Token]:
    """All tokens of a text; a character that starts no token comes as a STRAY one."""
    result: list[Token] = []
    append = result.append
    lines = 0
    line_start = 1 if text.startswith("\ufeff") else 0  # a byte order mark some editors write
    comments: list[Comment] = []
    same: dict[str, str] = {}  # a text of many tokens is held once
    for match in _scan(text, line_start):
        kind = match.lastgroup
        if kind is None:
            continue
        start = match.start(kind)
        if kind == "NEWLINE":
            lines += 1
            line_start = match.end()
        elif kind == "COMMENT":
            own_line = lines > 0 or bool(comments) or not result
            comments.append(Comment(match[kind].rstrip(), start, own_line, lines > 1))
            lines = 0
        else:
            word = match[kind]
            append(Token(kind, same.setdefault(word, word), start, lines, tuple(comments), start == line_start))
            lines = 0
            if comments:
                comments = []
    append(Token("END", "", len(text), lines, tuple(comments), True))
    return result
