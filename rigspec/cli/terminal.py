"""Where the words go: streams, colour, width."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from typing import TextIO

from rigspec.cli.trouble import CannotRunError

PLAIN_WIDTH = 100  # cells, where there is no terminal that has a width of its own
WIDEST = 120  # longer lines of prose are hard to read, however wide the terminal


def say(text: str) -> None:
    """Write text for people to standard output; what its encoding lacks comes out as an escape such as ``\\u2126``."""
    _write(sys.stdout, text.replace("\n", os.linesep))


def tell(text: str) -> None:
    """Write text for people to standard error."""
    _write(sys.stderr, text.replace("\n", os.linesep))


def hand_over(text: str) -> None:
    """Write a document for programs to standard output: UTF-8 and ``\\n``, whatever the terminal speaks."""
    _write(sys.stdout, text, "utf-8")


def _write(stream: TextIO | None, text: str, encoding: str = "") -> None:
    """Write all of a text; a stream that the caller has closed has nobody to tell."""
    if stream is None or not text:
        return
    binary = getattr(stream, "buffer", None)
    if binary is None:  # a caller inside this process collects text
        stream.write(text)
        return
    data = text.encode(encoding or stream.encoding or "ascii", "backslashreplace")
    try:
        stream.flush()
        while data:  # an unbuffered stream may take a part only
            data = data[binary.write(data) :]
        binary.flush()
    except OSError as error:
        _give_up(stream)
        if isinstance(error, BrokenPipeError):
            raise
        raise CannotRunError(f"the output cannot be written: {(error.strerror or str(error)).lower()}") from error


def _give_up(stream: TextIO) -> None:
    """Let what is still to be written vanish, so that the interpreter does not complain about it when it ends."""
    with suppress(OSError, ValueError):
        nowhere = os.open(os.devnull, os.O_WRONLY)
        os.dup2(nowhere, stream.fileno())
        os.close(nowhere)


def is_terminal(stream: TextIO | None) -> bool:
    """Does somebody look at this stream?"""
    try:
        return stream is not None and stream.isatty()
    except ValueError:  # closed
        return False


def use_colour(wish: str, stream: TextIO | None) -> bool:
    """``always``, ``never``, or ``auto``: on a terminal that can, unless NO_COLOR is set to anything (no-color.org)."""
    if wish != "auto":
        return wish == "always"
    return is_terminal(stream) and not os.environ.get("NO_COLOR") and os.environ.get("TERM") != "dumb"


def width(stream: TextIO | None) -> int:
    """Cells in a line of prose."""
    if stream is None or not is_terminal(stream):
        return PLAIN_WIDTH
    try:
        columns = os.get_terminal_size(stream.fileno()).columns
    except (OSError, ValueError):
        return PLAIN_WIDTH
    return min(columns or PLAIN_WIDTH, WIDEST)
