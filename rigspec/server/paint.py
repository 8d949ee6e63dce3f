"""What each piece of a text is, for colours: more than a pattern can tell, since words depend on their place."""

from __future__ import annotations

from collections.abc import Iterator

from attrs import frozen

from rigspec.language.syntax import Comment, Statement, Token
from rigspec.language.tables import WORDS
from rigspec.server import mentions as m
from rigspec.server.mentions import of_statement
from rigspec.server.snapshot import Snapshot
from rigspec.text.value import Content

# The protocol's standard types, so that every theme has a colour for them.
TYPES = (
    "keyword",
    "variable",
    "type",
    "property",
    "parameter",
    "enumMember",
    "function",
    "decorator",
    "number",
    "string",
    "comment",
    "operator",
)
MODIFIERS = ("declaration",)
_OF_MENTION = {
    m.THING: "variable",
    m.KIND: "type",
    m.PORT: "parameter",
    m.SETTING: "property",
    m.FIGURE: "function",
    m.RULE: "decorator",
    m.CHOICE: "enumMember",
    m.SORT: "keyword",
    m.WORD: "keyword",
}
_OF_TOKEN = {
    "FIGURE": "number",
    "PAIR": "number",
    "STRING": "string",
    "ARROW": "operator",
    "COMPARE": "operator",
    "PLUS_MINUS": "operator",
    "INDEX": "number",
    "PORT": "parameter",
}


@frozen(eq=False, repr=False)
class Paint(Content):
    """A stretch of text on one line, and what it is."""

    start: int
    end: int
    type: str
    declares: bool = False


def paints(sight: Snapshot, start: int, end: int) -> list[Paint]:
    """Everything that has a colour between two offsets, in the order of the text."""
    found: list[Paint] = []
    for statement in sight.file.statements:
        comments = statement.tokens[0].comments
        first = comments[0].start if comments else statement.start
        after = statement.after
        last = statement.end if after is None else after.start + len(after.text)
        if first <= end and last >= start:
            found += _statement(sight, statement)
    found += [_comment(comment) for comment in sight.file.tail]
    return sorted((each for each in found if each.start <= end and each.end >= start), key=lambda each: each.start)


def _comment(comment: Comment) -> Paint:
    return Paint(comment.start, comment.start + len(comment.text), "comment")


def _statement(sight: Snapshot, statement: Statement) -> Iterator[Paint]:
    named = {
        each.span.start: each
        for each in of_statement(sight.file, statement, sight.words, sight.kinds)
        if each.what in _OF_MENTION
    }
    for token in statement.tokens:
        for comment in token.comments:
            yield _comment(comment)
        mention = named.get(token.start)
        kind = _kind(token, mention)
        if kind:
            declares = mention is not None and mention.declares
            yield Paint(token.start, token.end, kind, declares)
    if statement.after is not None:
        yield _comment(statement.after)


def _kind(token: Token, mention: m.Mention | None) -> str:
    if token.kind == "NAME":
        if mention is not None:
            return _OF_MENTION[mention.what]
        return "keyword" if token.text in WORDS or token.text in ("normal", "inverted") else ""
    return _OF_TOKEN.get(token.kind, "")
