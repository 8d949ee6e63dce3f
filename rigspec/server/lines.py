"""Offsets to an editor's lines and columns, in the units of the encoding that was agreed, and back.

An editor's line ends at ``\\n``, ``\\r\\n`` or a lone ``\\r``; offsets count code points.
"""

from __future__ import annotations

import re
from bisect import bisect_right
from functools import cached_property
from itertools import accumulate, pairwise

UTF8, UTF16, UTF32 = "utf-8", "utf-16", "utf-32"
_end = re.compile(r"\r\n|\n|\r")


def units(text: str, encoding: str) -> int:
    """How many units of an encoding a text takes."""
    if encoding == UTF32 or text.isascii():
        return len(text)
    if encoding == UTF8:
        return len(text.encode("utf-8", "surrogatepass"))
    return len(text) + sum(1 for char in text if ord(char) > 0xFFFF)


def _length(char: str, encoding: str) -> int:
    point = ord(char)
    if encoding == UTF16:
        return 2 if point > 0xFFFF else 1
    return 1 if point < 0x80 else 2 if point < 0x800 else 3 if point < 0x10000 else 4


class Lines:
    """The lines of one text."""

    def __init__(self, text: str, encoding: str) -> None:
        self.text = text
        self.encoding = encoding

    @cached_property
    def starts(self) -> list[int]:
        """Where each line begins."""
        if "\r" in self.text:
            return [0, *(match.end() for match in _end.finditer(self.text))]
        ends = accumulate(map(len, self.text.split("\n")))
        return [0, *(end + number for number, end in enumerate(ends, 1))][:-1]

    def pieces(self) -> list[str]:
        """The lines with their ends."""
        return [self.text[start:end] for start, end in pairwise([*self.starts, len(self.text)])]

    def position(self, offset: int) -> tuple[int, int]:
        """Line and column of an offset, both from 0."""
        line = bisect_right(self.starts, offset) - 1
        start = self.starts[line]
        return line, units(self.text[start:offset], self.encoding)

    def offset(self, line: int, column: int) -> int:
        """The offset of a line and column; what lies beyond a line's end is its end, beyond the text the text's end.

        A column inside a character that takes several units is the place before that character.
        """
        if line >= len(self.starts):
            return len(self.text)
        start = self.starts[max(line, 0)]
        end = self._line_end(max(line, 0))
        content = self.text[start:end]
        if self.encoding == UTF32 or content.isascii():
            return start + min(max(column, 0), len(content))
        for number, char in enumerate(content):
            column -= _length(char, self.encoding)
            if column < 0:
                return start + number
        return end

    def _line_end(self, line: int) -> int:
        """Where a line's content ends, before its line end."""
        if line + 1 >= len(self.starts):
            return len(self.text)
        end = self.starts[line + 1] - 1
        return end - 1 if self.text[end] == "\n" and end > self.starts[line] and self.text[end - 1] == "\r" else end

    def line_start(self, offset: int) -> int:
        """The offset where the line of an offset begins."""
        return self.starts[bisect_right(self.starts, offset) - 1]

    def line_end(self, offset: int) -> int:
        """The offset where the content of the line of an offset ends."""
        return self._line_end(bisect_right(self.starts, offset) - 1)


def changed(lines: Lines, start: tuple[int, int], end: tuple[int, int], new: str) -> str:
    """The text with what lies between two places replaced."""
    first, last = lines.offset(*start), lines.offset(*end)
    return lines.text[:first] + new + lines.text[max(first, last) :]
