"""Text and places in it.

Inside the house a place is a pair of offsets into a text, counted in code points. Lines, columns and UTF-16 units are
made here, at the edge, when somebody wants to read them.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Callable
from functools import cached_property
from typing import TypeAlias

from attrs import field, frozen

from rigspec.text.value import Content


@frozen(eq=False, slots=False, repr=False)
class Source(Content):
    """One text and the path under which its reader knows it."""

    path: str
    text: str = field(repr=False)

    @cached_property
    def line_starts(self) -> list[int]:
        """Offset of the first character of every line; only ``\\n`` ends a line (``\\r\\n`` includes one)."""
        starts = [0]
        find = self.text.find
        at = find("\n")
        while at >= 0:
            starts.append(at + 1)
            at = find("\n", at + 1)
        return starts

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset, both counted from 1, the column in code points."""
        line = bisect_right(self.line_starts, offset)
        return line, offset - self.line_starts[line - 1] + 1

    def position_utf16(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset, both counted from 0, the column in UTF-16 units (as editors count)."""
        line, column = self.position(offset)
        start = self.line_starts[line - 1]
        before = self.text[start : start + column - 1]
        return line - 1, len(before) + sum(1 for char in before if ord(char) > 0xFFFF)

    def line_text(self, line: int) -> str:
        """The text of line ``line`` (from 1) without its line end."""
        start = self.line_starts[line - 1]
        end = self.line_starts[line] if line < len(self.line_starts) else len(self.text)
        return self.text[start:end].rstrip("\r\n")


@frozen(eq=False, repr=False)
class Span(Content):
    """The characters ``start`` up to, not including, ``end`` of a source."""

    source: Source
    start: int
    end: int

    @property
    def path(self) -> str:
        return self.source.path

    @property
    def text(self) -> str:
        return self.source.text[self.start : self.end]

    @property
    def line(self) -> int:
        return self.source.position(self.start)[0]

    @property
    def column(self) -> int:
        return self.source.position(self.start)[1]

    def to(self, other: Span) -> Span:
        """The span from the start of this one to the end of ``other``."""
        return Span(self.source, self.start, other.end)

    def part(self, first: int, last: int) -> Span:
        """A part, by offsets from the start of this span."""
        return Span(self.source, self.start + first, self.start + last)


@frozen(eq=False, repr=False)
class Refused(Content):
    """A file that could not be had, and why, as the end of a sentence: ``it does not exist``."""

    path: str
    reason: str


# Given the path of a text and the path it uses, relative to its own folder: the text used, or why not.
Load: TypeAlias = "Callable[[str, str], Source | Refused]"
