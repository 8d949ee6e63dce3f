"""Tokens to statements, before anything is parsed.

A statement ends at a line end outside all brackets, unless its last token or the next one says that it goes on. A
bracket that is never closed would swallow the rest of the file, so a statement that begins in the first column of a
later line takes over: one slip stays one slip.
"""

from __future__ import annotations

from attrs import evolve, frozen

from rigspec.language.syntax import Token
from rigspec.language.tables import STATES, WORDS
from rigspec.text.value import Content

STATEMENT_WORDS = frozenset(word for word, terminal in WORDS.items() if terminal in STATES[0])
# How many tokens behind the next start of a statement an open bracket may still be closed. Looking on to the end of
# the file for each bracket would take quadratic time where many are open.
FARTHEST = 400
MOST_NESTED = 24  # brackets in brackets; nobody reads deeper, and what walks the tree may rely on it
_OPENS_A_LINE = {"ARROW", "COMMA"}  # a line that starts so goes on with the line before
_LEAVES_OPEN = {"ARROW", "COMMA", "COLON"}  # and a line that ends so is not done
_DEPTH = {"LBRACE": 1, "LPAR": 1, "RBRACE": -1, "RPAR": -1}


@frozen(eq=False, repr=False)
class Chunk(Content):
    """The tokens of one statement.

    ``deepest`` is a bracket nested too deep, if any; ``restart`` is the position in the file's tokens of the first
    later token that looks like the start of another statement although brackets are open.
    """

    tokens: list[Token]
    deepest: Token | None
    begin: int
    end: int
    restart: int | None
    closed: bool


def cut(tokens: list[Token], begin: int) -> Chunk:
    """The statement that begins at ``tokens[begin]``, with line ends inside braces turned into SEP tokens."""
    chunk: list[Token] = []
    brackets: list[str] = []
    restart: int | None = None
    deepest: Token | None = None
    position = begin
    while True:
        token = tokens[position]
        kind = token.kind
        if kind == "END":
            return Chunk(chunk, deepest, begin, position, restart, not brackets)
        if restart is not None and position - restart > FARTHEST:
            return Chunk(chunk, deepest, begin, position, restart, False)
        if token.lines and chunk:
            before = chunk[-1].kind
            if brackets:
                if token.first and restart is None and _starts_statement(tokens, position):
                    restart = position
                if brackets[-1] == "LBRACE" and before not in _LEAVES_OPEN and kind not in _OPENS_A_LINE:
                    _separate(chunk, Token("SEP", "", token.start))
            elif kind not in _OPENS_A_LINE and (
                before not in _LEAVES_OPEN or (token.first and _starts_statement(tokens, position))
            ):
                return Chunk(chunk, deepest, begin, position, restart, True)
        depth = _DEPTH.get(kind, 0)
        if depth > 0:
            brackets.append(kind)
            if len(brackets) > MOST_NESTED and deepest is None:
                deepest = token
        elif depth < 0 and brackets:
            brackets.pop()
        if kind == "SEP" and brackets and brackets[-1] == "LBRACE":
            # What stood before the separator moves on to the next token, for a separator may be dropped.
            following = tokens[position + 1]
            tokens[position + 1] = evolve(
                following,
                lines=following.lines + token.lines,
                # Behind a comment a line has ended, so the comments that follow stand on their own.
                comments=token.comments
                + tuple(evolve(each, own_line=each.own_line or bool(token.comments)) for each in following.comments),
            )
            tokens[position] = Token("SEP", ";", token.start)
            _separate(chunk, tokens[position])
            position += 1
            continue
        if kind == "RBRACE" and chunk and chunk[-1].kind == "SEP":
            chunk.pop()
        chunk.append(token)
        position += 1


def _separate(chunk: list[Token], separator: Token) -> None:
    """Add a separator unless it would be empty of sense: behind an opening brace or another separator."""
    if chunk and chunk[-1].kind not in ("SEP", "LBRACE"):
        chunk.append(separator)


def _starts_statement(tokens: list[Token], position: int) -> bool:
    """Does the token look like the start of a statement: a statement word, or a line that holds a path?"""
    token = tokens[position]
    if token.kind != "NAME":
        return False
    if token.text in STATEMENT_WORDS:
        return True
    ahead = position + 1
    if tokens[ahead].kind in ("INDEX", "PORT") and not tokens[ahead].lines:
        return True  # no setting begins like this
    while tokens[ahead].kind != "END" and not tokens[ahead].lines:
        if tokens[ahead].kind == "ARROW":
            return True
        ahead += 1
    return False
