"""What things, leads and marks on the signal path look like, and how much room each takes."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from attrs import frozen

from rigspec.draw.letters import width
from rigspec.draw.marks import Group, Mark, Outline, Round, Shape, Stroke, Words
from rigspec.draw.path_graph import Edge, PathItem, PathNode, PathRow
from rigspec.figures.trace import Turn
from rigspec.text.finding import Finding, Severity
from rigspec.text.value import Content

TITLE, SMALL = 11.0, 9.0
LINE = 18.0
HEAD, NOTE = 20.0, 12.0
PAD = 7.0
TURN = 6.0  # radius
CHIP = 8.0  # around the words of a chip, both sides together
POINTS = ("joint",)  # drawn as a dot
LETTERS = {Severity.ERROR: "E", Severity.WARNING: "W", Severity.ADVICE: "A"}


@frozen(eq=False, repr=False)
class Size(Content):
    """Room for a thing, and how far below its top the line of each row lies; ``arrivals`` counts leads to an inlet."""

    width: float
    height: float
    ports: Mapping[str, float]
    shown: bool  # whether rows have lines of their own
    arrivals: Mapping[str, int]


def size_of(node: PathNode, findings: tuple[Finding, ...], arrivals: Mapping[str, int]) -> Size:
    """How much room a thing takes, with rows as wide as what stands on them."""
    if node.word in POINTS:
        return Size(6, 12, {row.key: 6 for row in node.rows}, False, arrivals)
    wide = width(node.title, TITLE, True) + _marks_width(node.marks, findings)
    wide = max([wide + TURN * 2.5 * len(node.turns), *(width(line, SMALL) for line in node.lines)])
    top = HEAD + NOTE * len(node.lines)
    shown = len(node.rows) > 1 or any(
        row.said or row.middle or row.right or row.turns or row.marks or row.against for row in node.rows
    )
    shown = shown or any(count > 1 for count in arrivals.values())
    if not shown:
        return Size(wide + 2 * PAD, top + 2, {row.key: HEAD / 2 + 1 for row in node.rows}, False, arrivals)
    ports: dict[str, float] = {}
    ins = outs = 0
    rows = {row.key: row for row in node.rows}
    sides: dict[int, list[float]] = {}
    for row in node.rows:
        tall = max(1, arrivals.get(row.key, 1))
        both = (row.inlet and row.outlet) or not (row.inlet or row.outlet) or node.word not in ("processor", "split")
        at = max(ins, outs) if both else ins if row.inlet else outs
        ins, outs = (at + tall, at + tall) if both else (at + tall, outs) if row.inlet else (ins, at + tall)
        ports[row.key] = top + at * LINE + LINE / 2
        sides.setdefault(at, []).append(_row_width(row, findings))
    wide = max([wide, *(sum(each) + 14 * (len(each) - 1) for each in sides.values())])
    assert set(ports) == set(rows)
    return Size(wide + 2 * PAD, top + max(ins, outs) * LINE + 3, ports, True, arrivals)


def _row_width(row: PathRow, findings: tuple[Finding, ...]) -> float:
    words = [text for text in (row.said, row.middle, row.right) if text]
    wide = sum(width(text, SMALL) for text in words) + 12 * len(words)
    wide += 2.5 * TURN * len(row.turns) + _marks_width(row.marks, findings)
    return wide + (width(row.against, SMALL, True) + CHIP + 8 if row.against else 0)


def _marks_width(numbers: Iterable[int], findings: tuple[Finding, ...]) -> float:
    return sum(mark_width(number, findings) for number in numbers)


def mark_width(number: int, findings: tuple[Finding, ...]) -> float:
    """The room that a finding's mark takes, with a gap before it."""
    return 6 + 11 + width(mark_text(number, findings), SMALL, True)


def mark_text(number: int, findings: tuple[Finding, ...]) -> str:
    return f"{LETTERS[findings[number - 1].severity]}{number}"


def finding_mark(x: float, y: float, number: int, findings: tuple[Finding, ...]) -> Mark:
    """A finding's mark from x on: a diamond (error), a triangle (warning), a circle (advice), its letter and number."""
    finding = findings[number - 1]
    words = Words(x + 12, y + 3.2, mark_text(number, findings), SMALL, strong=True)
    return Group(f"finding {number}", finding.message, (severity_symbol(x, y, finding.severity), words))


def severity_symbol(x: float, y: float, severity: Severity) -> Mark:
    """The shape for a severity, 10 px wide from x on, around y."""
    match severity:
        case Severity.ERROR:
            return Shape(((x, y), (x + 5, y - 5.5), (x + 10, y), (x + 5, y + 5.5)), "error", 1)
        case Severity.WARNING:
            return Shape(((x, y + 4.5), (x + 5, y - 5), (x + 10, y + 4.5)), "warning", 1)
    return Round(x + 5, y, 4.5, "paper", 1)


def turn_mark(x: float, y: float, turn: Turn) -> Mark:
    """Two conductors that cross: plus and minus are exchanged here."""
    near, far, d = TURN * 0.55, TURN, TURN * 0.5
    cross = tuple(
        Stroke(((x - far, y - d * s), (x - near, y - d * s), (x + near, y + d * s), (x + far, y + d * s)), 1.5)
        for s in (1, -1)
    )
    behind = tuple((x + far * right, y + (d + 1) * down) for right, down in ((-1, -1), (1, -1), (1, 1), (-1, 1)))
    return Group(
        f"inversion at line {turn.span.line}",
        f"{turn.text} (line {turn.span.line})",
        (Shape(behind, "paper", 0), *cross),
    )


def node_marks(node: PathNode, x: float, y: float, size: Size, findings: tuple[Finding, ...]) -> Mark:
    """A thing with its left upper corner at x, y."""
    if node.word in POINTS:
        return Group("", "leads meet here: in parallel", (Round(x + 3, y + 6, 3, "ink", 0),))
    rough = node.word in ("loose", "open", "back")
    marks: list[Mark] = [
        Outline(
            x,
            y,
            size.width,
            size.height,
            8 if node.word in ("feed", "mix") else 0,
            (4, 3) if rough else (),
            "paper",
            1.8 if node.word in ("amp", "speaker") else 1.2,
        )
    ]
    if node.word == "speaker":  # the front of a box, as a bar at its right
        marks.append(Outline(x + size.width - 3, y, 3, size.height, fill="ink", thick=0))
    marks.append(Words(x + PAD, y + 14, node.title, TITLE, strong=True))
    at = x + PAD + width(node.title, TITLE, True)
    for number in node.marks:
        marks.append(finding_mark(at + 6, y + 10, number, findings))
        at += mark_width(number, findings)
    for place, line in enumerate(node.lines):
        marks.append(Words(x + PAD, y + HEAD + NOTE * place + 8, line, SMALL))
    if size.shown:
        for row in node.rows:
            marks += _row_marks(row, x, y + size.ports[row.key], size.width, findings)
    title = " ".join([node.title, *node.lines])
    return Group(node.title.partition("  ")[0], title, tuple(marks))


def _row_marks(row: PathRow, x: float, y: float, wide: float, findings: tuple[Finding, ...]) -> Iterable[Mark]:
    left, right = x + PAD, x + wide - PAD
    if row.said:
        yield Words(left, y + 3.2, row.said, SMALL)
        left += width(row.said, SMALL) + 12
    if row.middle:
        yield Words(left, y + 3.2, row.middle, SMALL)
    if row.right:
        yield Words(right, y + 3.2, row.right, SMALL, "end")
        right -= width(row.right, SMALL)
    if row.against:
        long = width(row.against, SMALL, True) + CHIP
        yield Outline(right - long, y - 7, long, 14, 3, thick=1.5)
        yield Words(right - long / 2, y + 3.2, row.against, SMALL, "middle", True)
        right -= long + 4
    if row.inlet and not row.outlet and row.key.startswith("in "):  # outlets stand at the right of the same line
        for number in row.marks:
            yield finding_mark(left, y, number, findings)
            left += mark_width(number, findings)
        return
    for number in reversed(row.marks):
        right -= mark_width(number, findings)
        yield finding_mark(right + 4, y, number, findings)
    for turn in reversed(row.turns):
        yield turn_mark(right - TURN - 2, y, turn)
        right -= 2.5 * TURN


# ---- what lies on a lead


def item_width(item: PathItem, findings: tuple[Finding, ...]) -> float:
    """The room that something on a lead takes, with a gap behind it."""
    wide = width(item.text, SMALL) + 8 if item.text else 0.0
    return wide + (2 * TURN + 6 if item.turn else 0) + _marks_width(item.marks, findings)


def edge_width(edge: Edge, findings: tuple[Finding, ...]) -> float:
    return sum(item_width(item, findings) for item in edge.items)


def item_marks(edge: Edge, x: float, y: float, findings: tuple[Finding, ...]) -> Iterable[Mark]:
    """What lies on a lead along y, from x on in the order of the signal: words above the line, turns upon it."""
    for item in edge.items:
        if item.turn:
            yield turn_mark(x + TURN + 2, y, item.turn)
            x += 2 * TURN + 6
        if item.text:
            yield Words(x + 3, y - 4, item.text, SMALL)
            x += width(item.text, SMALL) + 8
        for number in item.marks:
            yield finding_mark(x + 3, y - 8, number, findings)
            x += mark_width(number, findings)
