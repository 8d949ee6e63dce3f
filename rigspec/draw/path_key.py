"""What stands below the signal path: what its symbols mean, and every finding with its number, rule, line and words."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import TypeAlias

from rigspec.check import Report
from rigspec.draw.letters import width, wrapped
from rigspec.draw.marks import Group, Mark, Outline, Round, Stroke, Words
from rigspec.draw.path_graph import Graph
from rigspec.draw.path_symbols import SMALL, TURN, finding_mark, mark_width, severity_symbol, turn_mark
from rigspec.text.finding import Severity

LINE = 18.0
_Symbol: TypeAlias = Callable[[float, float], list[Mark]]  # draws from x on, around y
WORDS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.ADVICE: "advice"}


def symbols_key(graph: Graph, left: float, y: float, right: float) -> tuple[list[Mark], float]:
    """Each symbol that the drawing has, with its meaning, in lines; and the height at which they end."""
    marks: list[Mark] = [Words(left, y, "Symbols", 11, strong=True)]
    y += LINE
    x = left
    for symbol, wide, text in _symbols(graph):
        long = wide + 6 + width(text, SMALL) + 22
        if x > left and x + long > right:
            x, y = left, y + LINE
        marks += [*symbol(x, y - 3.2), Words(x + wide + 6, y, text, SMALL)]
        x += long
    return marks, y


def _symbols(graph: Graph) -> Iterator[tuple[_Symbol, float, str]]:
    nodes = list(graph.nodes.values())
    yield _thick, 24, "driven by an amplifier"
    yield _thin, 24, "signal"
    if any(node.word == "joint" for node in nodes):
        yield _dot, 8, "leads meet, in parallel"
    turns = list(graph.turns)
    if turns:
        turn = turns[0]
        said = "crossed or inverted here on purpose: leave it so"
        yield lambda x, y: [_named("key", turn_mark(x + TURN, y, turn))], 2 * TURN, said
    if any(row.against for node in nodes for row in node.rows):
        yield _against, 62, "plus at the feed moves cones inward, all others outward"
    elif any(node.word == "speaker" for node in nodes):
        yield _nothing, -6, "no box is inverted, as far as its feeds are known"
    if any(node.word == "series" for node in nodes):
        yield _nothing, -6, "in series: minus of each loop goes to plus of the next"
    if any(node.group for node in nodes):
        yield _frame, 20, "a rack or a place"
    if any(len(node.names) > 1 for node in nodes):
        yield _nothing, -6, "×4: so many alike"
    for severity in Severity:
        number = next((at for at, each in enumerate(graph.findings, 1) if each.severity is severity), 0)
        if number:
            yield _severity(severity), 10, WORDS[severity]


def _thick(x: float, y: float) -> list[Mark]:
    return [Stroke(((x, y), (x + 24, y)), 1.8, head=True)]


def _thin(x: float, y: float) -> list[Mark]:
    return [Stroke(((x, y), (x + 24, y)), 1, head=True)]


def _dot(x: float, y: float) -> list[Mark]:
    return [Round(x + 4, y, 3, "ink", 0)]


def _against(x: float, y: float) -> list[Mark]:
    return [Outline(x, y - 7, 62, 14, 3, thick=1.5), Words(x + 31, y + 3.2, "INVERTED", SMALL, "middle", True)]


def _frame(x: float, y: float) -> list[Mark]:
    return [Outline(x, y - 6, 20, 12, 4, (5, 3), "tint", 1)]


def _nothing(x: float, y: float) -> list[Mark]:
    return []


def _severity(severity: Severity) -> _Symbol:
    return lambda x, y: [severity_symbol(x, y, severity)]


def _named(name: str, mark: Mark) -> Mark:
    return Group(name, "", mark.marks) if isinstance(mark, Group) else mark


def findings_key(report: Report, graph: Graph, left: float, y: float, right: float) -> tuple[list[Mark], float]:
    """All findings in the order of their numbers, and the height at which they end."""
    if not graph.findings:
        return [Words(left, y + LINE, "The check found nothing.", SMALL)], y + LINE
    y += LINE
    marks: list[Mark] = [Words(left, y, "Findings", 11, strong=True)]
    placed = graph.placed
    x = left + max(mark_width(number, graph.findings) for number in range(1, len(graph.findings) + 1)) + 6
    for number, finding in enumerate(graph.findings, 1):
        y += LINE
        marks.append(finding_mark(left, y - 3.2, number, graph.findings))
        own = finding.span.path == report.source.path
        where = f"line {finding.span.line}{'' if own else f' of {finding.span.path}'}"
        apart = "" if number in placed else " (not marked above)"
        text = f"{WORDS[finding.severity]} {finding.rule}, {where}{apart}: {finding.message}"
        for at, line in enumerate(wrapped(text, SMALL, right - x)):
            y += 12 if at else 0
            marks.append(Words(x, y, line, SMALL))
    return marks, y
