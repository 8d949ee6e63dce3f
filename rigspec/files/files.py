"""Files as they are found: which ones a path means, and the text of each or why there is none."""

from __future__ import annotations

import errno
import os
import re
import stat
import sys
from collections.abc import Iterator
from typing import TypeAlias

from attrs import frozen

from rigspec.text.source import Source
from rigspec.text.value import Content

SUFFIX = ".rig"
LIMIT = 4 * 1024 * 1024  # bytes; a rig of 20,000 lines has about 1 MiB
STANDARD_INPUT = "-"

_CARRIAGE_RETURN = re.compile("\r(?!\n)")
_REASONS = {
    errno.ENOENT: "it does not exist",
    errno.EACCES: "you may not read it",
    errno.EPERM: "you may not read it",
    errno.ENOTDIR: "a part of its path is not a folder",
    errno.ELOOP: "its links lead in a circle",
    errno.ENAMETOOLONG: "its name is too long",
}


@frozen(eq=False, repr=False)
class Unreadable(Content):
    """A file that could not be had.

    ``reason`` ends the sentence that ``what`` begins; ``text`` and ``offset`` show where reading stuck.
    """

    path: str
    reason: str
    text: str = ""
    offset: int = 0
    help: str = ""
    what: str = "this file cannot be read"


def why(error: OSError | ValueError) -> str:
    """What the operating system says, as the end of a sentence."""
    if isinstance(error, OSError):
        return _REASONS.get(error.errno or 0) or (error.strerror or str(error)).lower()
    return "its name holds a character that no file name can hold"


Stamp: TypeAlias = "tuple[int, int, int] | None"


def stamp(path: str) -> Stamp:
    """What changes when a file does, without reading it; None where it is not there."""
    try:
        facts = os.stat(path)
    except (OSError, ValueError):
        return None
    return facts.st_mtime_ns, facts.st_size, facts.st_ino


def read(path: str, shown: str) -> Source | Unreadable:
    """The text of a file, known to its reader as ``shown``. Never waits: only regular files are opened."""
    try:
        refusal = _kind(os.stat(path))
        if refusal:
            return Unreadable(shown, refusal)
        flags = os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_NOCTTY", 0) | getattr(os, "O_BINARY", 0)
        with open(os.open(path, flags), "rb") as file:
            refusal = _kind(os.fstat(file.fileno()))
            if refusal:  # it was put in place of the file that was there a moment ago
                return Unreadable(shown, refusal)
            data = file.read(LIMIT + 1)
    except (OSError, ValueError) as error:
        if isinstance(error, FileNotFoundError):
            return _missing(path, shown)
        return Unreadable(shown, why(error))
    return decode(data, shown)


def read_standard_input(shown: str) -> Source | Unreadable:
    """The text that comes in through standard input."""
    if sys.stdin is None or sys.stdin.closed:
        return Unreadable(shown, "standard input is closed")
    try:
        return decode(sys.stdin.buffer.read(LIMIT + 1), shown)
    except OSError as error:
        return Unreadable(shown, why(error))


def _kind(facts: os.stat_result) -> str:
    mode = facts.st_mode
    if stat.S_ISREG(mode):
        return ""
    if stat.S_ISDIR(mode):
        return "it is a folder"
    kinds = {stat.S_IFIFO: "a pipe", stat.S_IFSOCK: "a socket", stat.S_IFCHR: "a device", stat.S_IFBLK: "a device"}
    return f"it is {kinds.get(stat.S_IFMT(mode), 'something else')}, not a regular file"


def _missing(path: str, shown: str) -> Unreadable:
    if os.path.islink(path):
        return Unreadable(shown, "it is a link to a file that does not exist")
    from difflib import get_close_matches

    folder, name = os.path.split(path)
    try:
        near = get_close_matches(name, os.listdir(folder or "."), n=3, cutoff=0.7)
    except OSError:
        return Unreadable(shown, f"there is no folder {shown_path(folder)}")
    found = " or ".join(shown_path(os.path.join(os.path.dirname(shown), other)) for other in near)
    return Unreadable(shown, "it does not exist", help=f"did you mean {found}?" if found else "")


def decode(data: bytes, shown: str) -> Source | Unreadable:
    """Bytes as text: UTF-8, at most 4 MiB, lines that end as such; line ends and a byte order mark stay as they are.

    A carriage return alone is no line end here, but some editors show one: a comment would hide what follows it.
    """
    if len(data) > LIMIT:
        return Unreadable(shown, f"it is larger than {LIMIT // 1024**2} MiB, the most that is read")
    try:
        text = data.decode("utf-8")
        alone = _CARRIAGE_RETURN.search(text)
        if alone is None:
            return Source(shown, text)
        reason = "a carriage return alone stands in it, which ends no line here"
        return Unreadable(shown, reason, text, alone.start(), "save it with the line ends LF or CR LF in the editor")
    except UnicodeDecodeError as error:
        if data[:2] in (b"\xff\xfe", b"\xfe\xff"):
            return Unreadable(shown, "it is UTF-16 text, not UTF-8", help="save it as UTF-8 in the editor")
        text = "" if b"\0" in data else data.decode("utf-8", "replace")
        reason = f"it is not UTF-8 text (byte 0x{data[error.start]:02X} at offset {error.start})"
        offset = len(data[: error.start].decode("utf-8")) if text else 0
        return Unreadable(shown, reason, text, offset, "save it as UTF-8 in the editor")


def shown_path(path: str) -> str:
    """A path as a person would type it: relative where it is below the current folder, with forward slashes."""
    if path in ("", STANDARD_INPUT):
        return path
    normal = os.path.normpath(path)
    if os.path.isabs(normal) or normal.startswith(os.pardir):
        here = os.getcwd()
        absolute = os.path.abspath(normal)
        if absolute.startswith(os.path.join(here, "")):
            normal = absolute[len(os.path.join(here, "")) :]
    if "\0" not in path and normal != path and os.path.realpath(normal) != os.path.realpath(path):
        normal = path  # `link/../x` is not `x` when link leads elsewhere
    return normal.replace(os.sep, "/")


def each_file(words: tuple[str, ...]) -> Iterator[str | Unreadable]:
    """The files that paths on the command line mean; without any, those below the current folder."""
    for word in words or (".",):
        if word != STANDARD_INPUT and os.path.isdir(word):
            yield from _below(word)
        else:
            yield word


def _below(folder: str) -> Iterator[str | Unreadable]:
    """All rig files below a folder in the order of their paths; hidden files and folders are left out.

    Links to folders are not followed, since they may lead in a circle.
    """
    refused: list[OSError] = []
    found: list[str] = []
    for place, folders, names in os.walk(folder, onerror=refused.append):
        folders[:] = [name for name in folders if not name.startswith(".")]
        found += [os.path.join(place, name) for name in names if name.endswith(SUFFIX) and not name.startswith(".")]
    for error in refused:
        path = os.fsdecode(error.filename) if error.filename else folder
        yield Unreadable(shown_path(path), why(error), what="this folder cannot be read")
    if not found and not refused:
        what = "there is nothing to read in this folder"
        yield Unreadable(shown_path(folder), f"no *{SUFFIX} file is in it or below it", what=what)
    yield from sorted(found, key=lambda path: path.split(os.sep))
