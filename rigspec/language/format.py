"""The one canonical form of a rig file, laid out from its tokens.

The layout works on tokens, not on meaning: every token and every comment of the file is written again, in order, and
only blank space, line ends and `;` are chosen here. So nothing can be lost, and figures stay as their author spelt
them. The rules stand in the language reference (`grammar/reference.md`, "The canonical form").
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from itertools import pairwise

from attrs import frozen

from rigspec.language.reader import parse
from rigspec.language.syntax import (
    Allow,
    Comment,
    Expect,
    File,
    Listing,
    Measured,
    Member,
    Path,
    Statement,
    Thing,
    Token,
)
from rigspec.text.source import Source
from rigspec.text.value import Content

WIDTH = 100
INDENT = "  "
CONTINUATION = "    "

_NO_SPACE_BEFORE = {"COMMA", "COLON", "RPAR", "INDEX", "PORT", "SEP", "LPAR"}
_unit_gap = re.compile(r"(?<=[\d])[ \t]*(?=[^\d\s.eE+/-]|[eE](?![\d+-]))")


def format_file(file: File) -> str:
    """The canonical text of a file without slips."""
    lines: list[str] = []
    group: list[_Line] = []
    key: object = None
    for statement in file.statements:
        first = statement.tokens[0]
        own_key = (type(statement.node), first.text) if not isinstance(statement.node, Path) else Path
        gap = _gap_lines(first.comments, first.lines, bool(lines or group))
        flat = _flat(statement.tokens)
        if gap or own_key != key or flat is None:
            lines += _align(group)
            group, key = [], own_key
        lines += gap
        if flat is None:
            lines += _tall(statement)
            key = None
        else:
            group.append(_Line(statement, flat))
    lines += _align(group)
    lines += _gap_lines(file.tail, 0, bool(lines))
    return "\n".join(lines) + "\n" if lines else ""


def canonical(source: Source) -> str:
    """The canonical text of a source, proved: it means the same, keeps every comment and is its own canonical form.

    Raises ``Unprovable`` when that cannot be shown; the caller then leaves the file alone.
    """
    before = parse(source)
    if before.slips:
        raise Unprovable("the file has slips")
    text = format_file(before)
    after = parse(Source(source.path, text))
    if after.slips or after.statements != before.statements:
        raise Unprovable("the canonical form would not mean the same")
    if comments_of(after) != comments_of(before):
        raise Unprovable("the canonical form would lose or move a comment")
    if format_file(after) != text:
        raise Unprovable("the canonical form is not its own canonical form")
    return text


class Unprovable(Exception):
    """The formatter could not show that its own output means what the file means."""


def comments_of(file: File) -> list[tuple[int, str]]:
    """Every comment with the number of the statement it belongs to (the one it precedes, stands in or follows)."""
    result = []
    for number, statement in enumerate(file.statements):
        result += [(number, comment.text) for token in statement.tokens for comment in token.comments]
        if statement.after is not None:
            result.append((number, statement.after.text))
    return result + [(-1, comment.text) for comment in file.tail]


# ---- one line -------------------------------------------------------------------------------------------------------


def spelling(token: Token) -> str:
    """A token as the canonical form writes it: only blank space inside figures and brackets is settled."""
    if token.kind == "FIGURE":
        return " ".join(_unit_gap.sub(" ", token.text, count=1).split())
    if token.kind == "INDEX":
        return "".join(token.text.split())
    return ";" if token.kind == "SEP" else token.text


def _joined(tokens: Sequence[Token]) -> str:
    parts: list[str] = []
    before = ""
    for token in tokens:
        glued = token.kind in _NO_SPACE_BEFORE or before in ("", "LPAR") or (token.kind, before) == ("RBRACE", "LBRACE")
        parts.append(spelling(token) if glued else " " + spelling(token))
        before = token.kind
    return "".join(parts)


def _flat(tokens: Sequence[Token]) -> str | None:
    """The statement on one line, or None if a comment inside or the width forbids it."""
    if any(token.comments for token in tokens[1:]):
        return None
    text = _joined(tokens)
    return text if len(text) <= WIDTH else None


# ---- several lines --------------------------------------------------------------------------------------------------


def _tall(statement: Statement) -> list[str]:
    lines = _Lines("")
    _write(lines, statement.tokens, "", skip_comments=True)
    if statement.after is not None:
        lines.behind(statement.after.text)
    return lines.done


class _Lines:
    """Lines under construction."""

    def __init__(self, indent: str) -> None:
        self.done: list[str] = [indent]

    def new(self, indent: str) -> None:
        if self.done[-1].strip():
            self.done.append(indent)
        else:
            self.done[-1] = indent

    def behind(self, comment: str) -> None:
        self.done[-1] = f"{self.done[-1].rstrip()}  {comment}" if self.done[-1].strip() else self.done[-1] + comment

    def gap(self, comments: Sequence[Comment], lines: int, indent: str, *, blanks: bool) -> None:
        """Write the comments, and where wanted the blank lines, that stand before a token."""
        for comment in comments:
            if not comment.own_line:
                self.behind(comment.text)
                continue
            if blanks and comment.blank_before:
                self.blank()
            self.new(indent)
            self.done[-1] += comment.text
        if blanks and lines > 1:
            self.blank()

    def blank(self) -> None:
        if self.done[-1].strip():
            self.done += ["", ""]


def _write(lines: _Lines, tokens: Sequence[Token], indent: str, *, skip_comments: bool) -> None:
    """Write a statement or a setting that does not fit on one line: its head, then its block a setting a line."""
    opening = next((at for at, token in enumerate(tokens) if token.kind == "LBRACE"), None)
    if opening is None:
        _wrap(lines, tokens, indent, skip_comments)
        return
    _wrap(lines, tokens[: opening + 1], indent, skip_comments)
    inner = indent + INDENT
    for number, setting in enumerate(_settings(tokens[opening + 1 : -1])):
        first = setting[0]
        lines.gap(first.comments, first.lines, inner, blanks=number > 0)
        lines.new(inner)
        flat = _joined(setting)
        if any(token.comments for token in setting[1:]) or len(inner) + len(flat) > WIDTH:
            _write(lines, setting, inner, skip_comments=True)
        else:
            lines.done[-1] += flat
    lines.gap(tokens[-1].comments, 0, inner, blanks=True)
    lines.new(indent)
    lines.done[-1] += "}"


def _settings(tokens: Sequence[Token]) -> list[list[Token]]:
    """The settings of a block, cut at the separators outside inner blocks."""
    settings: list[list[Token]] = [[]]
    depth = 0
    for token in tokens:
        depth += {"LBRACE": 1, "RBRACE": -1}.get(token.kind, 0)
        if token.kind == "SEP" and depth == 0:
            settings.append([])
        else:
            settings[-1].append(token)
    return [setting for setting in settings if setting]


def _pieces(tokens: Sequence[Token], deep: bool, room: int) -> list[list[Token]]:
    """The tokens between which a line may break: before an arrow, behind a comma, and always behind a comment.

    Breaks inside brackets are taken only where a piece would not fit on a line of its own.
    """
    pieces: list[list[Token]] = [[]]
    depth = 0
    for at, token in enumerate(tokens):
        depth -= token.kind == "RPAR"
        may = deep or depth == 0
        if at and ((may and (token.kind == "ARROW" or tokens[at - 1].kind == "COMMA")) or token.comments):
            pieces.append([])
        pieces[-1].append(token)
        depth += token.kind == "LPAR"
    if deep:
        return pieces
    return [
        part for piece in pieces for part in (_pieces(piece, True, room) if len(_joined(piece)) > room else [piece])
    ]


def _wrap(lines: _Lines, tokens: Sequence[Token], indent: str, skip_comments: bool) -> None:
    """Fill lines with the tokens."""
    further = indent + CONTINUATION
    for number, piece in enumerate(_pieces(tokens, False, WIDTH - len(further))):
        comments = () if number == 0 and skip_comments else piece[0].comments
        text = _joined(piece)
        line = lines.done[-1]
        if comments:
            lines.gap(comments, 0, further, blanks=False)
            lines.new(further)
            lines.done[-1] += text
        elif number == 0 or not line.strip():
            lines.done[-1] += text
        else:
            glue = "" if piece[0].kind in _NO_SPACE_BEFORE or line.endswith("(") else " "
            if len(line) + len(glue) + len(text) > WIDTH:
                lines.new(further)
                lines.done[-1] += text
            else:
                lines.done[-1] += glue + text


def _gap_lines(comments: Sequence[Comment], lines: int, something_before: bool) -> list[str]:
    """The comments and at most one blank line between two statements."""
    result: list[str] = []
    for comment in comments:
        if comment.blank_before and (result or something_before):
            result.append("")
        result.append(comment.text)
    if lines > 1 and (result or something_before):
        result.append("")
    return result


# ---- alignment of lines that stand together -------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class _Line(Content):
    statement: Statement
    flat: str


def _align(group: Sequence[_Line]) -> list[str]:
    """The lines of a group in columns, or unaligned when that would be too wide; trailing comments in one column."""
    if not group:
        return []
    texts = [line.flat for line in group]
    if len(group) > 1:
        rows = [_cells(line.statement) for line in group]
        is_path = isinstance(group[0].statement.node, Path)
        aligned = _path_columns(rows) if is_path else _columns(rows)
        if max(map(len, aligned)) <= WIDTH:
            texts = aligned
    commented = [len(text) for text, line in zip(texts, group, strict=True) if line.statement.after is not None]
    stop = max(commented, default=0)
    return [
        text if line.statement.after is None else f"{text:<{stop}}  {line.statement.after.text}"
        for text, line in zip(texts, group, strict=True)
    ]


def _cells(statement: Statement) -> list[tuple[str, str]]:
    """The cells of a statement, each with the name of the column it wants to stand in."""
    tokens = statement.tokens
    match statement.node:
        case Path():
            return _hop_cells(tokens)
        case Thing():
            at = 3 if len(tokens) > 2 and tokens[2].kind == "INDEX" else 2
            cuts = {0: "name"}
            # By place, not by word: a thing may be called `is` or `from`.
            if at < len(tokens) and tokens[at].text == "is":
                cuts[at] = "is"
                at += 2
            if at < len(tokens) and tokens[at].text == "from":
                cuts[at] = "from"
            block = next((number for number, token in enumerate(tokens) if token.kind == "LBRACE"), None)
            if block is not None:
                cuts[block] = "block"
        case Listing():
            colon = next((at for at, token in enumerate(tokens) if token.kind == "COLON"), 0)
            block = next((at for at, token in enumerate(tokens) if token.kind == "LBRACE"), None)
            cuts = {0: "name", colon + 1: "items"} | ({block: "block"} if block else {})
        case Member():
            cuts = {0: "name", next(at for at, token in enumerate(tokens) if token.kind == "LBRACE"): "block"}
        case Expect():
            cuts = {0: "name", next(at for at, token in enumerate(tokens) if token.kind == "COMPARE"): "value"}
        case Measured():
            block = next((at for at, token in enumerate(tokens) if token.kind == "LBRACE"), len(tokens))
            cuts = {0: "name", block: "block"}
            if len(statement.node.readings) == 1 and statement.node.readings[0].at is None:
                cuts[block - 1] = "value"
        case Allow():
            cuts = {0: "name", len(tokens) - 2: "because"}
        case _:
            cuts = {0: "name"}
    bounds = [*sorted(cuts), len(tokens)]
    return [(cuts[start], _joined(tokens[start:end])) for start, end in pairwise(bounds) if end > start]


def _columns(rows: Sequence[list[tuple[str, str]]]) -> list[str]:
    order = ["name", "is", "from", "items", "value", "because", "block"]
    used = [column for column in order if any(column == name for row in rows for name, _ in row)]
    width = {column: max(len(text) for row in rows for name, text in row if name == column) for column in used}
    lines = []
    for row in rows:
        texts = dict(row)
        lines.append(" ".join(texts.get(column, "").ljust(width[column]) for column in used).rstrip())
    return lines


def _hop_cells(tokens: Sequence[Token]) -> list[tuple[str, str]]:
    cells: list[list[Token]] = [[]]
    depth = 0
    for token in tokens:
        depth += {"LPAR": 1, "RPAR": -1}.get(token.kind, 0)
        if token.kind == "ARROW" and depth == 0:
            cells.append([])
        else:
            cells[-1].append(token)
    kinds = ["start"] + [cell[0].text if cell[0].text in ("lead", *_PASSING) else "point" for cell in cells[1:]]
    return [(kind, _joined(cell)) for kind, cell in zip(kinds, cells, strict=True)]


_PASSING = (
    "invert",
    "pad",
    "delay",
)  # hops that a path may have more than its neighbour and still stand in its columns


def _path_columns(rows: Sequence[list[tuple[str, str]]]) -> list[str]:
    """Paths in columns: those that follow each other and differ only by inversions, pads and delays."""
    lines: list[str] = []
    shapes = [[kind for kind, _ in row if kind not in _PASSING] for row in rows]
    start = 0
    for at in range(1, len(rows) + 1):
        if at == len(rows) or shapes[at] != shapes[start]:
            lines += _hops_aligned(rows[start:at])
            start = at
    return lines


def _hops_aligned(rows: Sequence[list[tuple[str, str]]]) -> list[str]:
    columns: list[str] = []
    for kinds in dict.fromkeys(tuple(kind for kind, _ in row) for row in rows):
        columns = _merged(columns, kinds)
    widths = [0] * len(columns)
    placed: list[dict[int, str]] = []
    for row in rows:
        at, cells = 0, {}
        for kind, text in row:
            at = columns.index(kind, at)
            cells[at] = text
            widths[at] = max(widths[at], len(text))
            at += 1
        placed.append(cells)
    lines = []
    for cells in placed:
        last = max(cells)
        text = ""
        for at, width in enumerate(widths[: last + 1]):
            cell = cells.get(at, "").ljust(width)
            text += cell if at == last else f"{cell} {'->' if at in cells else '  '} "
        lines.append(text.rstrip())
    return lines


def _merged(left: Sequence[str], right: Sequence[str]) -> list[str]:
    """The shortest row of columns in which both rows can be found in order."""
    size = [[0] * (len(right) + 1) for _ in range(len(left) + 1)]
    for i in range(len(left) - 1, -1, -1):
        for j in range(len(right) - 1, -1, -1):
            same = left[i] == right[j]
            size[i][j] = size[i + 1][j + 1] + 1 if same else max(size[i + 1][j], size[i][j + 1])
    merged, i, j = [], 0, 0
    while i < len(left) or j < len(right):
        if i < len(left) and j < len(right) and left[i] == right[j]:
            merged.append(left[i])
            i, j = i + 1, j + 1
        elif j >= len(right) or (i < len(left) and size[i + 1][j] >= size[i][j + 1]):
            merged.append(left[i])
            i += 1
        else:
            merged.append(right[j])
            j += 1
    return merged
