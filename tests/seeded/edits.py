"""What a mutant is, and what the operators look for in a rig's tree.

A mutant is one mistake that a person could make in one go; where
that takes two places (two leads exchanged, one more box declared and hung), it has two edits.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence

from attrs import frozen

from rigspec.language import syntax as s
from rigspec.text.source import Span

NAME = re.compile(r"[^\W\d]\w*(?:-\w+)*")
Edit = tuple[int, int, str]  # replace what stands from one offset to another


@frozen
class Mutant:
    """A text with one mistake. ``lost`` names the things that may have lost their path; empty where nothing went."""

    operator: str
    edits: tuple[Edit, ...]
    lost: frozenset[str] = frozenset()
    statement_gone: bool = False

    def text(self, clean: str) -> str:
        for start, end, new in sorted(self.edits, reverse=True):
            clean = clean[:start] + new + clean[end:]
        return clean

    def lines(self, clean: str) -> set[int]:
        """The lines of the mutated text that hold an edit."""
        mutated, shift, found = self.text(clean), 0, set()
        for start, end, new in sorted(self.edits):
            first = mutated.count("\n", 0, start + shift) + 1
            found |= set(range(first, first + new.strip("\n").count("\n") + 1))
            shift += len(new) - (end - start)
        return found


class Rig:
    """A clean rig's tree, with what the operators look for in it."""

    def __init__(self, file: s.File) -> None:
        self.file = file
        self.text = file.source.text
        self.nodes = [statement.node for statement in file.statements if statement.node is not None]
        self.things = [node for node in self.nodes if isinstance(node, s.Thing)]
        self.paths = [node for node in self.nodes if isinstance(node, s.Path)]
        self.words = {thing.name: thing.word for thing in self.things}
        self.tokens = [token for statement in file.statements for token in statement.tokens]

    def hops(self) -> Iterator[tuple[s.Path, Sequence[s.Hop], int]]:
        """Every hop, in its chain, with its place there; chains inside brackets too."""
        for path in self.paths:
            for chain in chains(path.hops):
                for number in range(len(chain)):
                    yield path, chain, number

    def points(self, word: str = "") -> Iterator[tuple[s.Path, s.Point]]:
        for path, chain, number in self.hops():
            hop = chain[number]
            if isinstance(hop, s.Point) and word in ("", self.words.get(hop.ref.name)):
                yield path, hop

    def settings(self) -> Iterator[s.Setting]:
        for node in self.nodes:
            block = getattr(node, "block", None)
            if block is not None:
                for setting in block.settings:
                    yield setting
                    yield from setting.block.settings if setting.block else ()

    def leads(self) -> Iterator[tuple[Sequence[s.Atom], bool]]:
        """The words of every lead: hops, links, and named leads; whether it is a link."""
        for _, chain, number in self.hops():
            hop = chain[number]
            if isinstance(hop, s.LeadHop):
                yield hop.atoms, False
            elif isinstance(hop, s.Point) and hop.linked:
                yield hop.linked, True
        yield from ((thing.atoms, False) for thing in self.things if thing.word == "lead")


def chains(hops: Sequence[s.Hop]) -> Iterator[Sequence[s.Hop]]:
    yield hops
    for hop in hops:
        if isinstance(hop, s.Join):
            for branch in hop.branches:
                yield from chains(branch)


def over(span: Span, text: str) -> Edit:
    return span.start, span.end, text


def after(span: Span, text: str) -> Edit:
    return span.end, span.end, text


def names_in(text: str) -> frozenset[str]:
    return frozenset(NAME.findall(text))
