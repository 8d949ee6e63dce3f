"""The parse of a text that was read before, a little different: statements far from the change are taken as they are.

A statement depends on its own tokens and on the line where the next one begins; one with a slip may have looked on.
How far each looked is kept, so what an edit cannot have touched is known and not guessed. A law test holds the result
against a plain parse after every edit.
"""

from __future__ import annotations

from bisect import bisect_left

from attrs import evolve, frozen

from rigspec.difference import same_head, same_tail
from rigspec.finding import Edit, Finding, Fix, Label
from rigspec.parse.reader import read_statement
from rigspec.parse.tokens import tokens
from rigspec.source import Anchor, Source, Span
from rigspec.syntax import Comment, File, Statement, Token
from rigspec.value import Value

WINDOW = 4  # statements behind the change that are read at once to meet the old ones again


@frozen(eq=False, repr=False)
class _Piece(Value):
    """A statement with its anchor, from which all offsets count.

    ``end``: behind its last token, or the comment behind that. ``reach``: behind everything that was looked at.
    """

    anchor: Anchor
    statement: Statement
    end: int
    reach: int
    slip: Finding | None


class Rereader:
    """Parses the versions of one text, one after the other. Its last result is the only one that holds.

    Spans of statements that are taken over move with the text: those in an earlier result then tell where the
    statement stands now.
    """

    def __init__(self) -> None:
        self._source: Source | None = None
        self._pieces: list[_Piece] = []
        self._tail: tuple[Comment, ...] = ()
        self._file: File | None = None

    def parse(self, source: Source) -> File:
        """What `reader.parse` gives for this text."""
        before = self._source
        if self._file is not None and before is not None and (before is source or before == source):
            return self._file
        if before is None or before.path != source.path:
            pieces, self._tail, _ = _read(source, 0, len(source.text), None)
        else:
            pieces = self._changed(before.text, source)
        self._source, self._pieces = source, pieces
        for piece in pieces:
            piece.anchor.whole = source
        slips = [piece.slip for piece in pieces if piece.slip is not None]
        self._file = File(source, tuple([piece.statement for piece in pieces]), self._tail, tuple(slips))
        return self._file

    def _changed(self, old: str, source: Source) -> list[_Piece]:
        new = source.text
        head = same_head(old, new)
        tail = min(same_tail(old, new), min(len(old), len(new)) - head)
        shift = len(new) - len(old)
        pieces = self._pieces
        looked = (number for number, piece in enumerate(pieces) if piece.anchor.offset + piece.reach >= head)
        first = next(looked, len(pieces))  # statements before it did not look at what has changed
        begin = pieces[first - 1].anchor.offset + pieces[first - 1].end if first else 0
        # The statement before the last one, and all behind, stand in what is the same at the end of both texts.
        last = max(first, min(bisect_left(pieces, len(old) - tail, key=_start) + 1, len(pieces)))
        window = WINDOW
        while True:
            stop = last + window
            whole = stop >= len(pieces)
            limit = len(new) if whole else _start(pieces[stop]) + shift
            ahead = enumerate(pieces[last : stop + 1], last)
            known = {_start(piece) + shift: (number, piece, shift) for number, piece in ahead}
            read, comments, met = _read(source, begin, limit, None if whole else known)
            if met is not None or whole:
                break
            window *= 4
        taken = pieces[met:] if met is not None else []
        gone = pieces[first : met if met is not None else len(pieces)]
        read = _same_nodes(read, new, gone, old)
        for piece in gone:
            if all(piece.anchor is not each.anchor for each in read):
                piece.anchor.kept.clear()
        if shift:
            for piece in taken:
                piece.anchor.offset += shift
            if taken:
                self._tail = tuple(evolve(each, start=each.start + shift) for each in self._tail)
        if not taken:
            self._tail = comments
        return [*pieces[:first], *read, *taken]


def _start(piece: _Piece) -> int:
    return piece.anchor.offset + piece.statement.tokens[0].start


def _same_nodes(read: list[_Piece], new: str, gone: list[_Piece], old: str) -> list[_Piece]:
    """What was read, with the nodes that there were before where a statement says the very same.

    Around an edit statements are read again that it has not changed: the one before it, and what stands next to it.
    """
    before = {_wording(piece, old): piece for piece in gone if piece.slip is None}
    found = []
    for piece in read:
        same = before.pop(_wording(piece, new), None) if piece.slip is None else None
        found.append(piece if same is None else _with_node_of(same, piece))
    return found


def _wording(piece: _Piece, text: str) -> tuple[bool, str]:
    """All that a statement is made from: its text without what stands around it, and if it begins its line."""
    tokens = piece.statement.tokens
    return tokens[0].first, text[_start(piece) : piece.anchor.offset + tokens[-1].end]


def _with_node_of(same: _Piece, piece: _Piece) -> _Piece:
    """A piece with the node, the anchor and what was kept of an earlier one that says the same; the rest is its own."""
    anchor = same.anchor
    offset = _start(piece) - same.statement.tokens[0].start
    by = piece.anchor.offset - offset
    anchor.offset = offset

    def moved(comment: Comment) -> Comment:
        return evolve(comment, start=comment.start + by)

    own = piece.statement
    tokens = tuple(
        evolve(token, start=token.start + by, comments=tuple(map(moved, token.comments))) for token in own.tokens
    )
    statement = Statement(same.statement.node, tokens, own.after and moved(own.after), anchor)
    return _Piece(anchor, statement, piece.end + by, piece.reach + by, None)


def _alike(token: Token, begin: int, _: int, piece: _Piece, shift: int) -> bool:
    """Is a token that was read now the first one of an old statement, with the same comments before it?"""
    first = piece.statement.tokens[0]
    by = begin - piece.anchor.offset - shift
    if (token.kind, token.text, token.lines, token.first) != (first.kind, first.text, first.lines, first.first):
        return False
    return token.comments == tuple(evolve(each, start=each.start - by) for each in first.comments)


def _read(
    source: Source, begin: int, limit: int, known: dict[int, tuple[int, _Piece, int]] | None
) -> tuple[list[_Piece], tuple[Comment, ...], int | None]:
    """The statements between two offsets, up to where one of the ``known`` ones begins: its number, if it is met.

    Without known ones the text is read to its end, and the comments behind the last statement are given as well. None
    is met where the limit cuts off what would have to be looked at.
    """
    stream = tokens(source.text[begin:limit])
    pieces: list[_Piece] = []
    position = 0
    while stream[position].kind != "END":
        if known is not None and position:
            met = known.get(stream[position].start + begin)
            if met is not None and _alike(stream[position], begin, *met):
                return pieces, (), met[0]
        anchor = Anchor(source, begin)
        read = read_statement(source, anchor, stream, position)
        reach = _line_end(stream, read.reach)
        if known is not None and reach is None:
            return [], (), None
        slip = read.slip and _anchored(read.slip, anchor)
        after = read.statement.after
        end = read.statement.tokens[-1].end if after is None else after.start + len(after.text)
        pieces.append(_Piece(anchor, read.statement, end, limit - begin if reach is None else reach, slip))
        position = read.next
    if known is not None:
        return [], (), None
    tail = tuple(evolve(each, start=each.start + begin) for each in stream[position].comments)
    return pieces, tail, None


def _line_end(stream: list[Token], position: int) -> int | None:
    """Behind the last token of the line that a position stands in; None where the stream ends before the next line."""
    ahead = position + 1
    while ahead < len(stream) and not stream[ahead].lines and stream[ahead].kind != "END":
        ahead += 1
    if ahead >= len(stream) or stream[ahead].kind == "END":
        return None
    return stream[ahead].end


def _anchored(finding: Finding, anchor: Anchor) -> Finding:
    """A finding whose places in the whole text are told from an anchor."""

    def moved(span: Span) -> Span:
        return Span(anchor, span.start - anchor.offset, span.end - anchor.offset)

    fix = finding.fix
    return evolve(
        finding,
        span=moved(finding.span),
        related=tuple(Label(moved(label.span), label.text) for label in finding.related),
        fix=fix and Fix(fix.title, tuple(Edit(moved(edit.span), edit.text) for edit in fix.edits)),
    )
