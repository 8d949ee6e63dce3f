"""The texts of one run: each read once, and `use` held inside the project's folder."""

from __future__ import annotations

import os

from rigspec.files.files import STANDARD_INPUT, SUFFIX, Stamp, Unreadable, read, read_standard_input, shown_path, stamp
from rigspec.text.source import Refused, Source

MARKS = (".rigspec", ".git")  # a file or folder of such a name stands in the folder where a project begins
_NOT_A_RIG = f"its name does not end in {SUFFIX}, so it is no rig's text"
_LINK = f"it is a link to a file whose name does not end in {SUFFIX}"
NAMELESS = "stdin"  # how the text from standard input is called where no name was given


class Library:
    """Every text that this run has read, by the real path of its file."""

    def __init__(self) -> None:
        self._texts: dict[str, Source] = {}
        self._roots: dict[str, str] = {}
        self._places: dict[str, str] = {}
        self.standard_input: Source | None = None
        self.asked: dict[str, Stamp] = {}  # all files that were wanted, had or not, as they were then

    def open(self, word: str, name: str = "") -> Source | Unreadable:
        """The text of a file named on the command line; ``-`` is standard input, which may be given a ``name``."""
        if word == STANDARD_INPUT:
            shown = shown_path(name) if name else NAMELESS
            source = read_standard_input(shown)
            if isinstance(source, Source):
                self._keep(os.path.realpath(shown) if name else STANDARD_INPUT, source)
                self.standard_input = source
            return source
        if not word:
            return Unreadable("(empty)", "an empty path names no file")
        refusal = "" if "\0" in word else barred(word, self.root(word), named=True)
        if refusal:
            help = f"give it that ending, or pass it through standard input: `--name NAME{SUFFIX} -`"
            return Unreadable(shown_path(word), refusal, help=help if refusal == _NOT_A_RIG else "")
        return self.read(word)

    def read(self, path: str) -> Source | Unreadable:
        try:
            place = os.path.realpath(path)
        except (OSError, ValueError):
            place = path
        if place in self._texts:
            return self._texts[place]
        self.asked[path] = stamp(path)
        source = read(path, path.replace("\0", "\\0") if "\0" in path else shown_path(path))
        if isinstance(source, Source):
            self._keep(place, source)
        return source

    def _keep(self, place: str, source: Source) -> None:
        self._texts[place] = source
        self._places[source.path] = place

    def place(self, path: str) -> str:
        """The real path of a text that was read, by the path it is known under."""
        return self._places[path]

    def put(self, source: Source) -> None:
        """From now on this is the text of that file; nothing is written."""
        self._texts[self._places[source.path]] = source

    def now(self, source: Source) -> Source:
        """The text that stands for this file now."""
        return self._texts[self._places[source.path]]

    def root(self, path: str) -> str:
        """The real path of the project's folder: the nearest at or above the file that holds a mark, else its own."""
        folder = os.path.realpath(os.path.dirname(path) or ".")
        if folder not in self._roots:
            candidate = folder
            while not any(os.path.lexists(os.path.join(candidate, mark)) for mark in MARKS):
                above = os.path.dirname(candidate)
                if above == candidate:
                    candidate = folder
                    break
                candidate = above
            self._roots[folder] = candidate
        return self._roots[folder]

    def reader(self, source: Source) -> Reader:
        """What a check of this text reads other files with."""
        return Reader(self, source)


class Reader:
    """The ``load`` of one rig: reads what it uses, inside its project only. ``seen`` are the paths it has read."""

    def __init__(self, library: Library, source: Source) -> None:
        self._library = library
        self._root = library.root(source.path)
        self.seen: dict[str, None] = {source.path: None}

    def __call__(self, user: str, used: str) -> Source | Refused:
        """The text of the file that the text known as ``user`` takes in as ``used``."""
        reason = _misnamed(used)
        if reason:
            return Refused(used, reason)
        path = os.path.join(os.path.dirname(user), used)
        reason = _hidden(used) or barred(path, self._root)
        if reason:
            return Refused(used, reason)
        source = self._library.read(path)
        if isinstance(source, Unreadable):
            return Refused(source.path, source.reason + (f" ({source.help})" if source.help else ""))
        self.seen[source.path] = None
        return source


def barred(path: str, root: str, named: bool = False) -> str:
    """Why a file is not read nor written for a project with the folder ``root``, a real path; empty where it may be.

    A rig's text is in a file called so, within the project, and not in what is hidden there, such as `.git` or `.env`.
    That holds for the file itself, wherever links lead to it, so that nothing else ever gets into a finding. A file
    that was ``named`` on the command line may be hidden, if no link leads there.
    """
    try:
        real = os.path.realpath(path)
    except OSError:
        real = path
    if not os.path.join(real, "").startswith(os.path.join(root, "")):
        return _outside(os.path.abspath(path), root)
    hidden = "" if named and not os.path.islink(path) else _hidden(os.path.relpath(real, root).replace(os.sep, "/"))
    if hidden or not os.path.isfile(real):
        return hidden  # what is there instead is told when it is opened
    if not path.endswith(SUFFIX):
        return _NOT_A_RIG
    return "" if real.endswith(SUFFIX) else _LINK


def _hidden(path: str) -> str:
    """Why a path is not taken that leads through something hidden."""
    hidden = [part for part in path.split("/") if part.startswith(".") and part not in (".", "..")]
    return f"what is hidden is not read: {hidden[0]}" if hidden else ""


def _outside(path: str, root: str) -> str:
    shown = shown_path(root)
    if path.startswith(os.path.join(root, "")):
        return f"a link leads it outside the project's folder {shown}"
    both = os.path.commonpath((root, path))
    way = f"; an empty file .rigspec in {shown_path(both)} makes that the project" if both != os.sep else ""
    return f"it lies outside the project's folder {shown}{way}"


def _misnamed(used: str) -> str:
    """Why a path in a `use` statement is not taken, whatever is there; empty where it is."""
    if not used.strip():
        return "it names no file"
    if "\0" in used:
        return "its name holds a character that no file name can hold"
    if "\\" in used:
        return "its path holds a backslash"
    if used.startswith("/") or (used[1:2] == ":" and used[0].isalpha()):
        return "its path is absolute"
    if used.startswith("~"):
        return "`~` does not stand for a home folder here"
    return ""
