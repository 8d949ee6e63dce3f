"""Plans taken apart: where each thing is drawn, which way it points, what is written, at which scale."""

from __future__ import annotations

import re
from random import Random

from attrs import frozen
from making import reported
from overlaps import flat

from rigspec.check import Report
from rigspec.draw.marks import PX_PER_MM, Drawing, Group, Outline, Point, Round, Shape, Stroke, Words
from rigspec.draw.plan import plan

HEAD = 'rig "Test" { mains 230 V 50 Hz }\nuse "stock/house.rig"\n'


@frozen
class Symbol:
    """A symbol: the names that it stands for, its middle, the tips of its wedges from there, its own marks."""

    names: str
    middle: Point
    tips: tuple[Point, ...]
    marks: tuple[object, ...]


def drawn(text: str, *show: str) -> Drawing:
    found = plan(reported(HEAD + text), show)
    assert found is not None
    return found


def planned(report: Report, *show: str) -> Drawing:
    found = plan(report, show)
    assert found is not None
    return found


def symbols(drawing: Drawing) -> list[Symbol]:
    """All symbols, in the order of the windows."""
    return [_symbol(mark) for mark in drawing.marks if isinstance(mark, Group) and mark.title]


def _symbol(group: Group) -> Symbol:
    squares = [mark for mark in group.marks if isinstance(mark, Shape) and len(mark.points) == 4]
    if not squares:
        lines = [mark for mark in group.marks if isinstance(mark, Stroke)]
        return Symbol(group.name, _mean(lines[0].points), (), group.marks)
    (square,) = squares
    middle = _mean(square.points)
    wedges = [mark.points[2] for mark in group.marks if isinstance(mark, Shape) and len(mark.points) == 3]
    return Symbol(group.name, middle, tuple((x - middle[0], y - middle[1]) for x, y in wedges), group.marks)


def _mean(points: tuple[Point, ...]) -> Point:
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def texts(drawing: Drawing) -> list[str]:
    return [mark.text for mark in flat(drawing.marks) if isinstance(mark, Words)]


def ratios(drawing: Drawing) -> list[int]:
    """The scale of each window, as it is written below it."""
    return [int(text.removeprefix("1:")) for text in texts(drawing) if re.fullmatch(r"1:\d+", text)]


def metres(px: float, ratio: int) -> float:
    """What so many px of paper are on the ground."""
    return px / PX_PER_MM * ratio / 1000


def windows(drawing: Drawing) -> list[Outline]:
    """The borders of the windows: the only boxes that reach over so much of the paper."""
    boxes = [mark for mark in drawing.marks if isinstance(mark, Outline)]
    return [box for box in boxes if box.height > 250 and not box.dash]


def rings(symbol: Symbol) -> list[Round]:
    return [mark for mark in symbol.marks if isinstance(mark, Round)]


def crowded(seed: int) -> str:
    """A rig of up to forty boxes and some places near each other, with labels, heights and aims."""
    pick = Random(seed)
    count, span = pick.choice([1, 2, 5, 10, 20, 40]), pick.choice([0.5, 2, 8, 30, 300])
    lines = []
    for number in range(count):
        at = (
            f"at {pick.uniform(-span, span):.1f} m, {pick.uniform(-span / 3, span):.1f} m{pick.choice(['', ', 2.5 m'])}"
        )
        aim = pick.choice(["", f"; aim {pick.randint(-180, 180)} deg", "; aim 5 deg, -12 deg"])
        label = pick.choice(["", "", '; label "by the <old> wall & gate"'])
        row = pick.choice(["", "[1..4]"])
        lines.append(f"speaker box_{number}{row} is {pick.choice(KINDS)} {{ {at}{aim}{label} }}")
    lines += [
        f"place p{number} {{ at {pick.uniform(-span, span):.1f} m, {pick.uniform(0, span):.1f} m }}"
        for number in range(count // 4)
    ]
    return "\n".join(lines) + "\n"


KINDS = ("reflex-18", "twelve-two", "wedge-12")
