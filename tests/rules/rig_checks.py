"""Checks of texts without the command line: files come from memory, or from a folder of test rigs."""

from __future__ import annotations

import posixpath
import re
from collections.abc import Mapping
from pathlib import Path

from attrs import frozen

from rigspec.check import Refused, Report, check
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.text.finding import Finding
from rigspec.text.source import Load, Source

RIGS = Path(__file__).with_name("rigs")

# The command line reports these, before any text is checked: they are provoked in tests/cli.
FOUND_AT_THE_EDGE = frozenset({"file-unreadable", "usage"})

_PART = re.compile(r"^--- (.+)\n", re.MULTILINE)
_WANT = re.compile(r"#.*?\bwant(\^?) (.*)$")
_WANTED = re.compile(r'([a-z][a-z-]*) "([^"]*)"')
_NEAR = re.compile(r"#.*?\bnear ([a-z][a-z-]*(?:, [a-z][a-z-]*)*)")


def in_memory(files: Mapping[str, str]) -> Load:
    """Files by their path; what is used is found relative to the file that uses it."""

    def load(using: str, used: str) -> Source | Refused:
        path = posixpath.normpath(posixpath.join(posixpath.dirname(using), used))
        return Source(path, files[path]) if path in files else Refused(path, "it does not exist")

    return load


def check_text(text: str, files: Mapping[str, str] | None = None, path: str = "rig.rig") -> Report:
    """The report on a text; ``files`` are the other files of its project."""
    return check(Source(path, text), in_memory({**(files or {}), path: text}))


def check_example(example: str) -> Report:
    """The report on a rule's example: the examples' stock stands behind it, ``--- name`` begins another file."""
    main, *parts = _PART.split(example)
    return check_text(main + EXAMPLE_STOCK, dict(zip(parts[::2], parts[1::2], strict=True)))


def rig_files() -> dict[str, str]:
    """The texts of all test rigs and of what they use, by their path in the rigs' folder."""
    return {path.relative_to(RIGS).as_posix(): path.read_text(encoding="utf-8") for path in RIGS.rglob("*.rig")}


def check_rig(name: str) -> Report:
    """The report on a test rig; the files it uses are read from the rigs' folder."""
    files = rig_files()
    return check_text(files[name], files, name)


@frozen(order=True)
class Want:
    """A finding that a rig expects: where, of which rule (or ``any``), and a piece of its message."""

    path: str
    line: int
    rule: str
    piece: str

    def met_by(self, finding: Finding) -> bool:
        place = (finding.span.path, finding.span.line) == (self.path, self.line)
        return place and self.rule in ("any", finding.rule) and self.piece in finding.message


def wants(source: Source) -> list[Want]:
    """What a rig's comments expect: ``# want RULE "piece of the message"`` on the line, ``want^`` on the line above.

    Several may follow each other. ValueError for a comment that says ``want`` and cannot be read, so that a slip in
    an expectation is not taken for none.
    """
    found = []
    for number, line in enumerate(source.text.split("\n"), 1):
        comment = _WANT.search(line)
        if comment is None:
            continue
        above, body = comment.groups()
        pairs = _WANTED.findall(body)
        if not pairs or _WANTED.sub("", body).strip():
            raise ValueError(f"{source.path}:{number}: this expectation cannot be read: {body}")
        found += [Want(source.path, number - bool(above), rule, piece) for rule, piece in pairs]
    return found


def nears(source: Source) -> list[tuple[int, str]]:
    """The lines that come near to a rule without breaking it, as a rig's comments say: ``# near RULE``."""
    return [
        (number, rule)
        for number, line in enumerate(source.text.split("\n"), 1)
        if (comment := _NEAR.search(line)) is not None
        for rule in comment[1].split(", ")
    ]
