"""What a text is made of: its symbols, and what of it can be folded."""

from __future__ import annotations

import re
from collections.abc import Iterator

from attrs import frozen

from rigspec.language.syntax import (
    Allow,
    Comment,
    Expect,
    File,
    Listing,
    Measured,
    Member,
    Path,
    RigFacts,
    Statement,
    Stock,
    Thing,
    Use,
)
from rigspec.text.source import Source, Span
from rigspec.text.value import Content

_heading = re.compile(r"#\s*-{2,}\s*(.+?)\s*-*\s*")


@frozen(eq=False, repr=False)
class Symbol(Content):
    """A statement, or a section that a heading such as ``# ---- mains ----`` begins, with what stands in it.

    ``sort`` is the word of the statement, or ``section``.
    """

    name: str
    detail: str
    sort: str
    span: Span
    name_span: Span
    children: tuple[Symbol, ...] = ()


@frozen(eq=False, repr=False)
class Fold(Content):
    """What can be folded: from the line of one offset to that of the other. ``what``: statement, comment, section."""

    what: str
    start: int
    end: int


def symbols(file: File) -> list[Symbol]:
    """The statements of a file under its headings."""
    top: list[Symbol] = []
    open_section: Symbol | None = None
    inside: list[Symbol] = []

    def close() -> None:
        if open_section is not None:
            end = inside[-1].span.end if inside else open_section.span.end
            span = Span(file.source, open_section.span.start, end)
            top.append(Symbol(open_section.name, "", "section", span, open_section.name_span, tuple(inside)))

    for statement in file.statements:
        for comment in statement.tokens[0].comments:
            title = heading(comment)
            if title:
                close()
                at = comment.start
                span = Span(file.source, at, at + len(comment.text))
                open_section, inside = Symbol(title, "", "section", span, span), []
        found = _symbol(file.source, statement)
        if found is not None:
            (top if open_section is None else inside).append(found)
    close()
    return top


def heading(comment: Comment) -> str:
    """The title that a comment gives to what follows, or nothing."""
    match = _heading.fullmatch(comment.text) if comment.own_line else None
    return match[1] if match else ""


def _symbol(source: Source, statement: Statement) -> Symbol | None:
    node = statement.node
    whole = Span(source, statement.start, statement.end)
    match node:
        case RigFacts():
            return Symbol(node.title.value or "rig", "", "rig", whole, node.title.span)
        case Use():
            return Symbol(node.path.value or "use", "use", "use", whole, node.path.span)
        case Stock():
            return Symbol(node.name, f"stock {node.sort}", "stock", whole, node.name_span)
        case Thing():
            index = node.index.span.text if node.index is not None else ""
            kind = f" is {node.kind.name}" if node.kind is not None else ""
            return Symbol(f"{node.name}{index}", f"{node.word}{kind}", node.word, whole, node.name_span)
        case Listing():
            return Symbol(node.name or node.word, node.word, node.word, whole, node.name_span)
        case Member():
            span = node.refs[0].span.to(node.refs[-1].span)
            return Symbol(span.text, "settings", "member", whole, span)
        case Path():
            first, last = node.hops[0].span, node.hops[-1].span
            return Symbol(f"{_short(first)} -> {_short(last)}", "path", "path", whole, first)
        case Expect():
            return Symbol(_short(whole), "promise", "expect", whole, node.figure_span)
        case Measured():
            return Symbol(_short(whole), "reading", "measured", whole, node.figure_span)
        case Allow():
            return Symbol(_short(whole), "exception", "allow", whole, node.rule_span)
    return None


def _short(span: Span) -> str:
    text = " ".join(span.text.split())
    return text if len(text) <= 60 else f"{text[:56]} ..."


def folds(file: File) -> list[Fold]:
    """Statements of several lines, comments of several lines, and sections."""
    return [*_statements(file), *_comments(file), *_sections(file)]


def _statements(file: File) -> Iterator[Fold]:
    for statement in file.statements:
        start, end = statement.start, statement.end
        if "\n" in file.source.text[start:end]:
            yield Fold("statement", start, end)


def _all_comments(file: File) -> Iterator[tuple[Comment, ...]]:
    for statement in file.statements:
        for token in statement.tokens:
            yield token.comments
    yield file.tail


def _comments(file: File) -> Iterator[Fold]:
    for comments in _all_comments(file):
        run: list[Comment] = []
        for comment in (*comments, None):
            if comment is not None and comment.own_line and not (run and comment.blank_before):
                run.append(comment)
                continue
            if len(run) > 1:
                yield Fold("comment", run[0].start, run[-1].start + len(run[-1].text))
            run = [comment] if comment is not None and comment.own_line else []


def _sections(file: File) -> Iterator[Fold]:
    started: int | None = None
    end = 0
    for statement in file.statements:
        for comment in statement.tokens[0].comments:
            if heading(comment):
                if started is not None and end > started:
                    yield Fold("section", started, end)
                started = comment.start
        end = statement.end
    if started is not None and end > started:
        yield Fold("section", started, end)
