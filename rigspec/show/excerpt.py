"""Source lines with markers under the places that matter."""

from collections.abc import Iterator

from attrs import evolve, frozen

from rigspec.show.cells import cell_width, glyph, prose, wrap
from rigspec.text.source import Source, Span
from rigspec.text.value import Content

TAB = "    "  # of fixed width: the marker is drawn under what is shown, whatever the terminal's tab stops
CROPPED = "..."


@frozen(eq=False, repr=False)
class Mark(Content):
    """Characters ``start`` to ``end`` (from 0, end exclusive) of one line, the sign to draw below them, what to say."""

    line: int
    start: int
    end: int
    sign: str
    text: str


@frozen(eq=False, repr=False)
class ExcerptRow(Content):
    """One row of an excerpt: what stands in the gutter, what behind it, and the sign when it is a marker's row."""

    gutter: str
    body: str
    sign: str = ""


def marks_of(span: Span, text: str, sign: str) -> tuple[Mark, ...]:
    """The marks that show a span: one, or one on its first and one on its last line, where the text goes."""
    source = span.source
    first, column = source.position(span.start)
    last, last_column = source.position(max(span.start, span.end - 1))
    opening = source.line_text(first)
    start = min(column - 1, len(opening))
    if first == last:
        end = min(start + span.end - span.start, len(opening))
        return (Mark(first, start, max(start, end), sign, text),)
    closing = source.line_text(last)
    indent = len(closing) - len(closing.lstrip())
    end = min(last_column, len(closing))
    return (
        Mark(first, start, len(opening), sign, ""),
        Mark(last, min(indent, end), end, sign, text),
    )


def rows(source: Source, marks: list[Mark], room: int) -> Iterator[ExcerptRow]:
    """The marked lines of a source in their order, at most ``room`` cells wide, each with its markers below it."""
    if not source.text:
        yield from (ExcerptRow("", line, mark.sign) for mark in marks for line in wrap(mark.text, room))
        return
    previous = 0
    for line in sorted({mark.line for mark in marks}):
        if previous and line > previous + 1:
            yield ExcerptRow(CROPPED, "")
        previous = line
        yield from _line_rows(source.line_text(line), [mark for mark in marks if mark.line == line], room)


def _line_rows(text: str, marks: list[Mark], room: int) -> Iterator[ExcerptRow]:
    """One line, or as many croppings of it as it takes to show every mark."""
    while marks:
        first, last = _window(text, marks[0], room)
        before = CROPPED if first else ""
        yield ExcerptRow(str(marks[0].line), before + _shown(text[first:last]) + (CROPPED if last < len(text) else ""))
        inside = [mark for mark in marks[1:] if first <= mark.start and mark.end <= last]
        for mark in [evolve(marks[0], end=min(marks[0].end, last)), *inside]:
            offset = cell_width(before + _shown(text[first : mark.start]))
            length = max(1, cell_width(_shown(text[mark.start : mark.end])))
            yield from _marker_rows(mark, offset, length, room)
        marks = [mark for mark in marks[1:] if mark not in inside]


def _marker_rows(mark: Mark, offset: int, length: int, room: int) -> Iterator[ExcerptRow]:
    """The marker with its text behind it where there is room, else below it."""
    text = prose(mark.text)
    marker = " " * offset + mark.sign * length
    if offset + length + 1 + cell_width(text) <= room:
        yield ExcerptRow("", f"{marker} {text}", mark.sign)
        return
    yield ExcerptRow("", marker, mark.sign)
    indent = min(offset, max(0, room - min(40, cell_width(text))))
    yield from (ExcerptRow("", " " * indent + line, mark.sign) for line in wrap(text, room - indent))


def _window(text: str, mark: Mark, room: int) -> tuple[int, int]:
    """The stretch of a line to show: all of it, or the marked part with as much on both sides as there is room for."""
    if len(text) < room and cell_width(_shown(text)) < room:
        return 0, len(text)
    left, right = mark.start, mark.start
    free = room - 2 * len(CROPPED)
    while right < mark.end and (size := _size(text[right])) <= free:
        free -= size
        right += 1
    growing = True
    while growing:
        growing = False
        if left > 0 and (size := _size(text[left - 1])) <= free:
            left, free, growing = left - 1, free - size, True
        if right < len(text) and (size := _size(text[right])) <= free:
            right, free, growing = right + 1, free - size, True
    return left, right


def _shown(text: str) -> str:
    return "".join(TAB if char == "\t" else glyph(char) for char in text)


def _size(char: str) -> int:
    return cell_width(_shown(char))
