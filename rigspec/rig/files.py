"""A rig's text and every text it takes in with ``use``."""

from __future__ import annotations

from attrs import frozen

from rigspec.language.chunk import STATEMENT_WORDS
from rigspec.language.reader import Read, parse
from rigspec.language.syntax import File, Statement, Use
from rigspec.rig.values import Faults
from rigspec.text.finding import Label
from rigspec.text.source import Load, Source, Span
from rigspec.text.value import Content

MOST_FILES = 64
DEEPEST_USE = 16


@frozen(eq=False, repr=False)
class Gathered(Content):
    """All files, the rig's own first.

    ``missing`` tells that one could not be had, or that its `use` cannot be read, so unknown names prove nothing.
    """

    files: tuple[File, ...]
    missing: bool


def _unread_use(statement: Statement, file: File) -> bool:
    """A statement that cannot be read and is a `use`, half typed or misspelt: a word, and a text and nothing else."""
    if not statement.tokens:
        return False
    first, *others = statement.tokens
    if first.text == "use":
        return True
    if not others and "use".startswith(first.text):  # it may become one, where the file has none yet
        return not any(isinstance(each.node, Use) for each in file.statements)
    kinds = [token.kind for token in others if token.text]
    return first.kind == "NAME" and first.text not in STATEMENT_WORDS and kinds == ["STRING"]


def gather(source: Source, load: Load, faults: Faults, read: Read = parse) -> Gathered:
    """Read the text and whatever it uses, each file once."""
    gathering = _Gathering(load, faults, read)
    gathering.take(source, [])
    return Gathered(tuple(gathering.files.values()), gathering.missing)


class _Gathering:
    """The files so far, in the order in which they are met."""

    def __init__(self, load: Load, faults: Faults, read: Read) -> None:
        self.load, self.faults, self.read = load, faults, read
        self.files: dict[str, File] = {}
        self.missing = False

    def take(self, text: Source, trail: list[tuple[str, Span]]) -> None:
        """A text and what it uses; ``trail`` leads from it back to the rig's own, by the places of each `use`."""
        file = self.files[text.path] = self.read(text)
        self.faults.found.extend(file.slips)
        for statement in file.statements:
            if statement.node is None:
                self.missing = self.missing or _unread_use(statement, file)
            elif isinstance(statement.node, Use):
                self._use(text, statement.node, trail)

    def _use(self, text: Source, use: Use, trail: list[tuple[str, Span]]) -> None:
        place = use.path.span
        if len(trail) >= DEEPEST_USE or len(self.files) >= MOST_FILES:
            self._not_taken(
                place,
                f"`{use.path.value}` is not taken in: a rig may use {MOST_FILES} files, {DEEPEST_USE} deep",
                "gather stock in fewer files",
            )
            return
        got = self.load(text.path, use.path.value)
        if not isinstance(got, Source):
            self._not_taken(
                place,
                f"`{use.path.value}` cannot be used: {got.reason}",
                "give the path of a *.rig inside the project, relative to this file, with forward slashes",
                "not taken in",
            )
            return
        open_paths = [text.path, *(path for path, _ in trail)]
        if got.path in open_paths:
            itself = got.path == text.path
            circle = trail[: open_paths.index(got.path)]  # without the uses that only lead to it
            self.faults.add(
                "use-loop",
                place,
                "this file uses itself"
                if itself
                else f"`{use.path.value}` uses this file in turn, so each would wait for the other",
                label="closes the loop",
                related=tuple(Label(span, f"{path} uses this one") for path, span in circle),
                help="take this statement out" if itself else "move what both need into a third file",
            )
        elif got.path not in self.files:
            self.take(got, [(text.path, place), *trail])

    def _not_taken(self, place: Span, message: str, help: str, label: str = "") -> None:
        self.missing = True
        self.faults.add("use-missing", place, message, label=label, help=help)
