"""Where on a plan the words stand: near what they name and on nothing else, or farther away with a line to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import cos, dist, hypot, pi, sin

from attrs import define, field, frozen

from rigspec.draw.letters import ASCENT, DESCENT, width
from rigspec.draw.marks import Anchor, Level, Mark, Point, Stroke, Words
from rigspec.draw.plan_cells import Cells, add_line, areas
from rigspec.draw.shapes import Area, bounds
from rigspec.text.value import Content

LEADING = 1.2  # from base line to base line, in sizes
CLEAR = 2.0  # px between words and whatever else
# Right, left, below and above first; then the corners; then what lies between.
ANGLES = tuple(k * pi / 8 for k in (0, 8, 4, 12, 2, 6, 14, 10, 1, 7, 15, 9, 3, 5, 13, 11))
BETWEEN = tuple((2 * k + 1) * pi / 16 for k in range(16))
MOST_TRIES = 10_000  # rooms of one window, about a second: more things than that takes cannot be told apart on paper
NEAR = 5.0
LONG = 75.0  # px: a line that the eye has to follow
NEARER = 7.0  # px that words without a line are nearer to their own symbol than to any other
OVER_SYMBOL, OVER_LINE = 400.0, 80.0  # px of detour that a leader is worth to keep clear of these
FAR = (14.0, 20.0, 27.0, 35.0, 44.0, 54.0, 66.0, 80.0, 96.0, 115.0, 140.0, 170.0, 210.0, 260.0, 320.0)


@frozen(eq=False, repr=False)
class Line(Content):
    """One line of a label."""

    text: str
    size: float
    strong: bool = False
    level: Level = ""


@frozen(eq=False, repr=False)
class LabelBlock(Content):
    """Where a label has been put, and the line that leads from it to what it names (None where it stands beside)."""

    area: Area
    leader: tuple[Point, Point] | None


@define
class PlanPaper:
    """What is taken on a window of the plan: by symbols, by words, and by lines, which words avoid."""

    room: Area
    symbols: Cells[Area] = field(factory=areas)
    words: Cells[Area] = field(factory=areas)
    lines: Cells[tuple[Point, Point]] = field(factory=Cells)
    tries: list[int] = field(factory=lambda: [0])  # of rooms far from what is named, in all copies of the sheet

    def copy(self) -> PlanPaper:
        return PlanPaper(self.room, self.symbols.copy(), self.words.copy(), self.lines.copy(), self.tries)

    def take(self, area: Area) -> None:
        """Words stand here from now on."""
        self.words.add(area, area)

    def hide(self, area: Area) -> None:
        """A symbol stands here from now on."""
        self.symbols.add(area, area)

    def draw(self, line: tuple[Point, Point]) -> None:
        """A line runs here from now on."""
        add_line(self.lines, line)

    def free(self, area: Area) -> bool:
        """Whether words may stand here."""
        wide = area.grown(CLEAR)
        return (
            self.room.holds(area)
            and not any(wide.meets(other) for other in self.symbols.near(wide))
            and not any(wide.meets(other) for other in self.words.near(wide))
            and not any(wide.crossed_by(*line) for line in self.lines.near(wide))
        )

    def tangled(self, line: tuple[Point, Point], own: Area) -> bool:
        """Whether a leader is long, or runs through a symbol or across a line."""
        cost = self.cost(line, own)
        return cost is None or cost > LONG

    def cost(self, line: tuple[Point, Point], own: Area) -> float | None:
        """How bad a leader is: its length, and more for each symbol and line that it crosses; None through words."""
        area = bounds(line).grown(CLEAR)
        if any(other.grown(CLEAR).crossed_by(*line) for other in self.words.near(area)):
            return None
        symbols = sum(other != own and other.crossed_by(*line) for other in self.symbols.near(area))
        crossed = sum(_cross(*line, *other) for other in self.lines.near(area))
        return dist(*line) + OVER_SYMBOL * symbols + OVER_LINE * crossed

    def ways(self, spot: Point, own: Area, lines: Sequence[Line]) -> int:
        """In how many ways a label has room beside what it names."""
        return len(self._beside(spot, own, lines))

    def near(self, spot: Point, own: Area, lines: Sequence[Line]) -> LabelBlock | None:
        """Put a label beside what it names; None where there is no room."""
        found = self._beside(spot, own, lines)
        if not found:
            return None
        self.take(found[0])
        return LabelBlock(found[0], None)

    def _beside(self, spot: Point, own: Area, lines: Sequence[Line]) -> list[Area]:
        """The free rooms beside a symbol that are so much nearer to it than to others that all see whose they are."""
        wide, high = size_of(lines)
        found = []
        for angle in ANGLES:
            area = _beside(spot, _radius(own) + NEAR, angle, wide, high)
            least = area.gap(own) + NEARER
            others = self.symbols.near(area.grown(least))
            if self.free(area) and all(area.gap(other) >= least for other in others if other != own):
                found.append(area)
        return found

    def far(self, spot: Point, own: Area, lines: Sequence[Line]) -> LabelBlock | None:
        """Put a label at the nearest free room to which a good line can lead; None where there is none."""
        wide, high = size_of(lines)
        best: tuple[float, LabelBlock] | None = None
        for away in FAR:
            if best is not None and best[0] <= away:  # no line from farther out is as short
                break
            if self.tries[0] > MOST_TRIES:
                break
            self.tries[0] += len(ANGLES) + len(BETWEEN)
            for angle in (*ANGLES, *BETWEEN):
                area = _beside(spot, _radius(own) + away, angle, wide, high)
                if not self.free(area):
                    continue
                leader = _leader(spot, _radius(own), area)
                cost = self.cost(leader, own)
                if cost is not None and (best is None or cost < best[0]):
                    best = cost, LabelBlock(area, leader)
        if best is None or best[1].leader is None:
            return None
        self.take(best[1].area)
        self.draw(best[1].leader)
        return best[1]

    def place(self, spot: Point, own: Area, lines: Sequence[Line]) -> LabelBlock | None:
        """Put a label beside what it names, or farther away; None where there is no room at all."""
        return self.near(spot, own, lines) or self.far(spot, own, lines)


def _radius(own: Area) -> float:
    return max(own.right - own.left, own.bottom - own.top) / 2


def size_of(lines: Sequence[Line]) -> Point:
    """The width and height of a block of lines."""
    wide = max(width(line.text, line.size, line.strong) for line in lines)
    return wide, sum(LEADING * line.size for line in lines[:-1]) + (ASCENT + DESCENT) * lines[-1].size


def _beside(spot: Point, away: float, angle: float, wide: float, high: float) -> Area:
    """A block that touches a circle around the spot with its nearest side or corner, in this direction."""
    x, y = spot[0] + away * cos(angle), spot[1] + away * sin(angle)
    across, down = cos(angle), sin(angle)
    left = x - wide * (1 - _share(across))
    top = y - high * (1 - _share(down))
    return Area(left, top, left + wide, top + high)


def _share(direction: float) -> float:
    """How much of a block lies on the far side of its point: all of it, half of it, or nothing."""
    return 1.0 if direction > 0.3 else 0.0 if direction < -0.3 else 0.5


def _leader(spot: Point, radius: float, area: Area) -> tuple[Point, Point]:
    """From the symbol's rim to the nearest point of the block, a little before it."""
    x = min(max(spot[0], area.left), area.right)
    y = min(max(spot[1], area.top), area.bottom)
    dx, dy = x - spot[0], y - spot[1]
    long = hypot(dx, dy) or 1.0
    start, end = radius / long, max(1 - (CLEAR + 0.5) / long, 0.0)
    return (spot[0] + dx * start, spot[1] + dy * start), (spot[0] + dx * end, spot[1] + dy * end)


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the lines from a to b and from c to d cross."""

    def side(p: Point, q: Point, r: Point) -> float:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def label(block: LabelBlock, spot: Point, lines: Sequence[Line]) -> Iterable[Mark]:
    """The marks of a label that has been put: its leader and its lines, set against the side of what they name."""
    area = block.area
    anchor: Anchor = "start" if area.left >= spot[0] else "end" if area.right <= spot[0] else "middle"
    x = {"start": area.left, "end": area.right, "middle": (area.left + area.right) / 2}[anchor]
    if block.leader:
        yield Stroke(block.leader, 0.6, level="quiet")
    y = area.top
    for line in lines:
        yield Words(x, y + ASCENT * line.size, line.text, line.size, anchor, line.strong, line.level)
        y += LEADING * line.size
