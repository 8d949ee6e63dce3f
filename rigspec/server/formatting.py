"""The canonical form as the least edits that lead to it."""

from __future__ import annotations

from collections.abc import Iterator

from rigspec.check import same_findings
from rigspec.files.fixing import applied
from rigspec.language.format import Unprovable, canonical, comments_of
from rigspec.language.reader import parse
from rigspec.server.lines import UTF32, Lines
from rigspec.text.finding import Edit
from rigspec.text.source import Load, Source, Span


def format_edits(source: Source, load: Load, start: int = 0, end: int | None = None) -> list[Edit]:
    """The edits that put a text, or the lines between two offsets, in canonical form.

    None for a text with slips, or where it cannot be proved that everything means the same and gives the same figures.
    """
    try:
        text = canonical(source)
    except Unprovable:
        return []
    if "\r\n" in source.text:  # how lines end is the editor's affair
        text = text.replace("\n", "\r\n")
    start = source.text.rfind("\n", 0, start) + 1  # whole lines
    last = len(source.text) if end is None else end
    line_end = source.text.find("\n", last)
    last = len(source.text) if line_end < 0 else line_end
    edits = [edit for edit in _line_edits(source, text) if edit.span.start <= last and edit.span.end >= start]
    now = applied(source, edits)
    if not edits or now is None or not _same(source, Source(source.path, now), load):
        return []
    return edits


def _same(source: Source, after: Source, load: Load) -> bool:
    """Do both say the same, with the same comments, figures and findings? Some of the edits alone might not."""
    one, other = parse(source), parse(after)
    if other.slips or one.statements != other.statements or comments_of(one) != comments_of(other):
        return False
    return same_findings(source, after, load)


def _line_edits(source: Source, text: str) -> Iterator[Edit]:
    """The lines that differ between a text and another one, as edits."""
    from difflib import SequenceMatcher

    lines = Lines(source.text, UTF32)
    before, after = lines.pieces(), Lines(text, UTF32).pieces()
    offsets = [*lines.starts, len(source.text)]
    head = 0
    while head < min(len(before), len(after)) and before[head] == after[head]:
        head += 1
    tail = 0
    while tail < min(len(before), len(after)) - head and before[-1 - tail] == after[-1 - tail]:
        tail += 1
    left, right = before[head : len(before) - tail], after[head : len(after) - tail]
    for what, a, b, c, d in SequenceMatcher(None, left, right, autojunk=False).get_opcodes():
        if what != "equal":
            span = Span(source, offsets[head + a], offsets[head + b])
            yield from _trimmed(source, span, "".join(right[c:d]))


def _trimmed(source: Source, span: Span, new: str) -> Iterator[Edit]:
    """An edit without what is the same at its beginning and end, so that the cursor and marks stay where they are."""
    old = span.text
    head = 0
    while head < min(len(old), len(new)) and old[head] == new[head]:
        head += 1
    tail = 0
    while tail < min(len(old), len(new)) - head and old[-1 - tail] == new[-1 - tail]:
        tail += 1
    if head and old[head - 1] == "\r":  # never between the two characters of a line end
        head -= 1
    yield Edit(Span(source, span.start + head, span.end - tail), new[head : len(new) - tail])
