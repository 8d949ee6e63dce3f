"""Every mutant judged and checked: which matter, which of these the checker finds, and at which line."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator
from functools import cache
from pathlib import Path

from attrs import define, frozen

from rigspec.check import check
from rigspec.files.library import Library
from rigspec.language.reader import parse
from rigspec.language.syntax import Expect, Figure, File, Stock
from rigspec.text.finding import Finding, Severity
from rigspec.text.source import Load, Refused, Source

from .criteria import NOT_YET, PROMISED, Crossing, Judge
from .edits import NAME, Mutant, Rig
from .mutants import AMPS, BOXES, OPERATORS, THINNER_KIND
from .reading import read

SPACE = re.compile(r"^expect (?:evenness|arrival)|\{ array ", re.MULTILINE)
SAMPLES = Path(__file__).parents[2] / "samples"
MOST_OF_EACH = 2
"""So many mutants of each sort are taken from each sample, evenly over the file: all of them would take minutes."""


@frozen
class Verdict:
    """What became of a mutant: the criteria it crosses, and what the checker has to say that it did not say before."""

    sample: str
    mutant: Mutant
    line: int
    was: str
    now: str
    crossed: frozenset[Crossing]
    new: tuple[Finding, ...]
    found_there: bool

    @property
    def matters(self) -> bool:
        return any(scope == PROMISED for scope, _ in self.crossed)

    @property
    def readable(self) -> bool:
        """Is the fault in the rig alone, and not in its text?"""
        return not any(words.startswith("text: ") for _, words in self.crossed)

    @property
    def alarmed(self) -> bool:
        """Does the checker report an error or a warning where no criterion is crossed?"""
        return not self.crossed and any(finding.severity is not Severity.ADVICE for finding in self.new)

    @property
    def matters_later(self) -> bool:
        return not self.matters and any(scope == NOT_YET for scope, _ in self.crossed)


class Sample:
    """A clean rig, its tree and its text, with the stock that it uses."""

    def __init__(self, path: Path) -> None:
        library = Library()
        source = library.open(str(path))
        assert isinstance(source, Source)
        self.name = path.stem
        self.source = source
        load: Load = library.reader(source)
        self.file = parse(source)
        self.stock = parse(Source("house.rig", (SAMPLES / "stock" / "house.rig").read_text(encoding="utf-8")))
        self.rig = Rig(self.file)
        self.judged = self.judge(self.file)
        self.findings = check(source, load).findings
        self.load = self._from_short_shelf(load)

    def _from_short_shelf(self, load: Load) -> Load:
        """The stock without the kinds that neither this rig nor a mutant of it names: half the time of every check."""
        named = set(NAME.findall(self.source.text)) | set(THINNER_KIND.values())
        named |= {other for kind, others in (*BOXES, *AMPS) if kind in named for other in others.split()}
        kept = [
            self.stock.source.text[statement.tokens[0].start : statement.tokens[-1].end]
            for statement in self.stock.statements
            if isinstance(statement.node, Stock) and statement.node.name in named
        ]
        text = "\n".join(kept)

        def loaded(user: str, used: str) -> Source | Refused:
            got = load(user, used)
            return Source(got.path, text) if isinstance(got, Source) else got

        return loaded

    def judge(self, file: File) -> Judge:
        return Judge(read(file, self.stock))

    def mutants(self) -> Iterator[Mutant]:
        for operator in OPERATORS:
            yield from operator(self.rig)
        yield from self._broken_promises()

    def _broken_promises(self) -> Iterator[Mutant]:
        """Each promise moved just beyond the figure that the judge computes for its first subject."""
        for node in self.rig.nodes:
            if not isinstance(node, Expect):
                continue
            keys = [atom.span.text.replace("[*]", "[1]") for item in node.clauses[0].items for atom in item.atoms]
            figure = {"load": self.judged.loads, "loss": self.judged.losses}.get(node.figure, {}).get(keys[0])
            value = ""
            if isinstance(node.value, str):
                value = "normal" if node.value == "inverted" else "inverted"
            elif figure is not None and isinstance(node.value, Figure):
                value = f"{figure * (1.01 if node.comparison == '>=' else 0.99):.4f} {node.value.unit}"
            if value:
                yield Mutant("promise a little more", ((node.value_span.start, node.value_span.end, value),))

    def verdict(self, mutant: Mutant) -> Verdict:
        text = mutant.text(self.source.text)
        source = Source(self.source.path, text)
        file = parse(source)
        crossed = frozenset(self.judge(file).crossed - self.judged.crossed)
        before = Counter((finding.rule, finding.message) for finding in self.findings)
        new = []
        for finding in check(source, self.load, lambda read: file if read is source else _parsed(read)).findings:
            if before[finding.rule, finding.message] > 0:
                before[finding.rule, finding.message] -= 1
            else:
                new.append(finding)
        lines = mutant.lines(self.source.text)
        start, end, put = mutant.edits[0]
        lost = mutant.lost | (_things(crossed) if mutant.statement_gone else frozenset())
        there = any(_at(finding, source.path, lines) or _names(finding, lost) for finding in new)
        was, now = (" ".join(each.split()) for each in (self.source.text[start:end], put))
        return Verdict(self.name, mutant, min(lines), was, now, crossed, tuple(new), there)


_parsed = cache(parse)  # of the stock, which is the same for all mutants of a sample


def _at(finding: Finding, path: str, lines: set[int]) -> bool:
    spans = (finding.span, *(label.span for label in finding.related))
    return any(span.path == path and span.line in lines for span in spans)


def _things(crossed: frozenset[Crossing]) -> frozenset[str]:
    """What the criteria say of things: the names in them."""
    return frozenset(name for _, words in crossed for name in NAME.findall(words))


def _names(finding: Finding, lost: frozenset[str]) -> bool:
    """Does a finding name the thing that lost its path? Asked where a mutant took something out."""
    return not lost.isdisjoint(NAME.findall(finding.subject))


def samples() -> list[Sample]:
    """All samples but those that promise sound at places or say what an array is meant to be: that is not judged."""
    return [Sample(path) for path in sorted(SAMPLES.glob("*.rig")) if not SPACE.search(path.read_text("utf-8"))]


def sampled(mutants: Iterator[Mutant], most: int) -> tuple[list[Mutant], int]:
    """At most so many of each sort, evenly spread, and how many there are in all. No chance is involved."""
    sorts: dict[str, list[Mutant]] = {}
    for mutant in mutants:
        sorts.setdefault(mutant.operator, []).append(mutant)
    taken = []
    for each in sorts.values():
        step = max(1.0, len(each) / most)
        taken += [each[int(number * step)] for number in range(min(most, len(each)))]
    return taken, sum(map(len, sorts.values()))


@define
class Row:
    """One sort of mutants, counted."""

    operator: str
    made: int = 0
    matter: int = 0
    found: int = 0
    there: int = 0
    later: int = 0
    alarmed: int = 0

    @property
    def harmless(self) -> int:
        return self.made - self.matter - self.later

    def count(self, verdict: Verdict) -> None:
        self.made += 1
        self.alarmed += verdict.alarmed
        self.later += verdict.matters_later
        if verdict.matters:
            self.matter += 1
            self.found += bool(verdict.new)
            self.there += verdict.found_there


@frozen
class Table:
    """``total`` counts all; ``readable`` those whose text is right and whose rig is wrong."""

    rows: tuple[Row, ...]
    total: Row
    readable: Row
    missed: tuple[Verdict, ...]
    elsewhere: tuple[Verdict, ...]
    later: tuple[Verdict, ...]
    alarmed: tuple[Verdict, ...]
    possible: int


def measure(rigs: list[Sample], most: int = MOST_OF_EACH) -> Table:
    """Judge and check the mutants of some rigs."""
    rows: dict[str, Row] = {}
    total, readable = Row("all"), Row("all whose text is right")
    missed: list[Verdict] = []
    elsewhere: list[Verdict] = []
    later: list[Verdict] = []
    alarmed: list[Verdict] = []
    possible = 0
    for rig in rigs:
        mutants, count = sampled(rig.mutants(), most)
        possible += count
        for mutant in mutants:
            verdict = rig.verdict(mutant)
            row = rows.setdefault(mutant.operator, Row(mutant.operator))
            for each in (row, total, *([readable] if verdict.readable else ())):
                each.count(verdict)
            if verdict.matters and not verdict.found_there:
                (elsewhere if verdict.new else missed).append(verdict)
            elif verdict.matters_later and not verdict.found_there:
                later.append(verdict)
            elif verdict.alarmed:
                alarmed.append(verdict)
    ordered = tuple(rows[operator] for operator in sorted(rows))
    return Table(ordered, total, readable, tuple(missed), tuple(elsewhere), tuple(later), tuple(alarmed), possible)
