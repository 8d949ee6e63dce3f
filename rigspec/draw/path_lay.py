"""From columns to marks: sizes, order and heights put together, leads drawn in the gaps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import evolve, frozen

from rigspec.draw.letters import width
from rigspec.draw.marks import Group, Mark, Outline, Point, Round, Stroke, Words
from rigspec.draw.path_columns import Columns, Stack
from rigspec.draw.path_graph import Edge
from rigspec.draw.path_heights import Room, heights
from rigspec.draw.path_order import Hop, Order, ordered
from rigspec.draw.path_route import Net, lying_on, tracks
from rigspec.draw.path_symbols import (
    SMALL,
    Size,
    edge_width,
    finding_mark,
    item_marks,
    item_width,
    mark_width,
    node_marks,
    size_of,
    turn_mark,
)
from rigspec.draw.path_things import DRAWN
from rigspec.text.finding import Finding
from rigspec.text.value import Value, gathered

Socket = tuple[str, str]
FRAME, FRAME_HEAD = 8.0, 15.0
TRACK = 9.0
STUB = 14.0  # from a column to its first track, and from the last label to the next column
LINK = 17.0  # the height of each lead between two linked boxes
NUDGES = 8


@frozen(eq=False, repr=False)
class Laid(Value):
    """All marks, and how far to the right and down they reach."""

    marks: tuple[Mark, ...]
    right: float
    bottom: float


def laid(columns: Columns, findings: tuple[Finding, ...], left: float, top: float) -> Laid:
    """Lay the columns out from the left upper corner on."""
    return _Layout(columns, findings, left, top).laid()


class _Layout:
    def __init__(self, columns: Columns, findings: tuple[Finding, ...], left: float, top: float) -> None:
        self.columns = columns
        self.findings = findings
        self.order: Order = ordered(columns)
        arrivals: dict[str, dict[str, int]] = {}
        for edge in columns.edges:
            found = arrivals.setdefault(edge.target[0], {})
            found[edge.target[1]] = found.get(edge.target[1], 0) + 1
        self.sizes: dict[str, Size] = {
            node.key: size_of(node, findings, arrivals.get(node.key, {}))
            for stack in columns.stacks
            for node in stack.nodes
        }
        self.wide = [self._column_width(column) for column in range(len(columns.heads))]
        rooms = [self._room(cell.stack, cell.passing) for cell in self.order.cells]
        self.rooms = rooms
        self.power = {edge.source: edge.power for edge in columns.edges}
        tops = heights(self.order, rooms, self._gap)
        self.nets = [self._nets(gap) for gap in range(len(columns.heads))]
        self.y = [y + top + (FRAME_HEAD + FRAME + 8) for y in tops]
        self._nudge()
        self.left = left
        self.top = top

    # ---- room

    def _column_width(self, column: int) -> float:
        found = [width(self.columns.heads[column].upper(), SMALL, True)]
        for stack in self.columns.stacks:
            if stack.column == column:
                found += [self.sizes[node.key].width for node in stack.nodes]
                found += [self._links_width(self.columns.links.get(node.key, ())) for node in stack.nodes]
                found.append(width(stack.group, SMALL, True))
        return max(found)

    def _links_width(self, links: Sequence[Edge]) -> float:
        return max((18 + 16 * len(links) + edge_width(link, self.findings) + 60 for link in links), default=0)

    def _link_height(self, key: str) -> float:
        links = self.columns.links.get(key, ())
        return LINK * len(links) + 10 if links else 0.0

    def _room(self, stack: Stack | None, passing: Socket | None) -> Room:
        if stack is None:
            return Room(0.0, {passing or ("", ""): 0.0})
        y, sockets = 0.0, {}
        for place, node in enumerate(stack.nodes):
            y += self._link_height(node.key) if place else 0.0
            for row, below in self.sizes[node.key].ports.items():
                sockets[node.key, row] = y + below
            y += self.sizes[node.key].height
        return Room(y, sockets)

    def _gap(self, upper: int, lower: int) -> float:
        a, b = self.order.cells[upper], self.order.cells[lower]
        if a.passing and b.passing:
            return 12.0
        if a.group and a.group == b.group:
            return 12.0
        return 16.0 + (FRAME if a.group else 0) + (FRAME + FRAME_HEAD if b.group else 0)

    # ---- leads

    def _nets(self, gap: int) -> list[tuple[Hop, ...]]:
        found = gathered(self.order.hops[gap], lambda hop: hop.net)
        return [tuple(hops) for hops in found.values()]

    def _height(self, end: tuple[int, Socket]) -> float:
        return self.y[end[0]] + self.rooms[end[0]].sockets[end[1]]

    def _lanes(self, gap: int) -> list[list[float]]:
        """The height at which each lead of each net comes to the next column; several to one inlet stand below it."""
        taken: dict[tuple[int, Socket], int] = {}
        lanes = []
        for hops in self.nets[gap]:
            found = []
            for hop in hops:
                place = taken.get(hop.target, 0)
                taken[hop.target] = place + 1
                found.append(self._height(hop.target) + 18.0 * place)
            lanes.append(found)
        return lanes

    def _routed(self, gap: int) -> list[Net]:
        return [
            Net(self._height(hops[0].source), tuple(lane))
            for hops, lane in zip(self.nets[gap], self._lanes(gap), strict=True)
        ]

    def _nudge(self) -> None:
        """Move down whatever is reached at a height where another lead begins, as long as two lie on each other."""
        for gap in range(len(self.nets)):
            for _ in range(NUDGES):
                nets = self._routed(gap)
                wrong = lying_on(nets, tracks(nets)[0])
                if not wrong:
                    break
                at, other = wrong[0]
                hop = next(
                    hop
                    for hop, target in zip(self.nets[gap][other], nets[other].targets, strict=True)
                    if abs(target - nets[at].source) < 5
                )
                self._push(gap + 1, hop.target[0], 6.0)

    def _push(self, column: int, cell: int, by: float) -> None:
        level = self.order.columns[column]
        self.y[cell] += by
        place = level.index(cell)
        for above, below in zip(level[place:], level[place + 1 :], strict=False):
            least = self.y[above] + self.rooms[above].height + self._gap(above, below)
            self.y[below] = max(self.y[below], least)

    # ---- marks

    def laid(self) -> Laid:
        marks: list[Mark] = []
        leads: list[Mark] = []
        x, bottom = self.left, self.top
        for column, head in enumerate(self.columns.heads):
            wide = self.wide[column]
            marks.append(Words(x, self.top, head.upper(), SMALL, strong=True))
            marks += self._frames(column, x)
            for cell in self.order.columns[column]:
                stack = self.order.cells[cell].stack
                if stack is not None:
                    leads += self._stack(stack, x, self.y[cell])
                    bottom = max(bottom, self.y[cell] + self.rooms[cell].height + FRAME)
                else:
                    leads.append(self._passing(cell, x, wide))
                    bottom = max(bottom, self.y[cell])
            if column + 1 < len(self.columns.heads):
                found, x = self._leads(column, x, wide)
                leads += found
            else:
                x += wide
        return Laid((*marks, *leads), x, bottom)

    def _passing(self, cell: int, x: float, wide: float) -> Mark:
        y, net = self.y[cell], self.order.cells[cell].passing
        assert net is not None
        return Stroke(((x, y), (x + wide, y)), self._thick(net))

    def _thick(self, net: Socket) -> float:
        return 1.8 if self.power.get(net) else 1.0

    def _frames(self, column: int, x: float) -> Iterable[Mark]:
        found: dict[str, list[int]] = {}
        for cell in self.order.columns[column]:
            if self.order.cells[cell].group:
                found.setdefault(self.order.cells[cell].group, []).append(cell)
        for group, cells in found.items():
            top = self.y[cells[0]] - FRAME - FRAME_HEAD
            bottom = self.y[cells[-1]] + self.rooms[cells[-1]].height + FRAME
            box = Outline(x - FRAME, top, self.wide[column] + 2 * FRAME, bottom - top, 6, (5, 3), "tint", 1)
            yield Group(group, group, (box, Words(x, top + 14, group, SMALL, strong=True)))

    def _width(self, stack: Stack, key: str) -> float:
        return self.wide[stack.column] if stack.nodes[0].word in DRAWN else self.sizes[key].width

    def _stack(self, stack: Stack, x: float, y: float) -> Iterable[Mark]:
        for place, node in enumerate(stack.nodes):
            if place:
                below = y + self._link_height(node.key)
                yield from self._links(self.columns.links[node.key], x, y, below)
                y = below
            size = self.sizes[node.key]
            yield node_marks(node, x, y, evolve(size, width=self._width(stack, node.key)), self.findings)
            y += size.height

    def _links(self, links: Sequence[Edge], x: float, top: float, bottom: float) -> Iterable[Mark]:
        words = x + 18 + 16 * len(links)
        for place, link in enumerate(links):
            at, y = x + 14 + 16 * place, top + 11 + LINK * place
            yield Stroke(((at, top), (at, bottom)), 1.8 if link.power else 1.0, head=True)
            way = f"{link.target[1]}: " if len(links) > 1 else ""
            right = words
            for item in link.items:
                if item.turn:
                    yield turn_mark(at, y, item.turn)
                text = f"{way}{item.text}" if item.text else ""
                way = "" if text else way
                if text:
                    yield Words(right, y + 3.2, text, SMALL)
                    right += width(text, SMALL) + 6
                for number in item.marks:
                    yield finding_mark(right, y, number, self.findings)
                    right += mark_width(number, self.findings)

    def _leads(self, gap: int, x: float, wide: float) -> tuple[list[Mark], float]:
        """The leads from a column to the next, and where that begins."""
        nets = self._routed(gap)
        found, count = tracks(nets)
        words = [
            sum(item_width(item, self.findings) for item in hop.edge.items)
            for hops in self.nets[gap]
            for hop in hops
            if hop.edge
        ]
        begin = x + wide + STUB
        labels = begin + TRACK * count + (4 if count else 0)
        end = labels + max(words, default=0) + STUB + 6
        marks: list[Mark] = []
        labelled: list[Mark] = []
        for hops, net, track in zip(self.nets[gap], nets, found, strict=True):
            trunk = begin + TRACK * track
            marks += self._net(gap, hops, net, (self._right(hops[0], x, wide), trunk, end))
            for hop, y in zip(hops, net.targets, strict=True):
                if hop.edge:
                    labelled += item_marks(hop.edge, labels, y, self.findings)
        return [*marks, *labelled], end

    def _right(self, hop: Hop, x: float, wide: float) -> float:
        cell = self.order.cells[hop.source[0]]
        if cell.stack is None:
            return x + wide
        return x + self._width(cell.stack, hop.source[1][0])

    def _net(self, gap: int, hops: Sequence[Hop], net: Net, xs: tuple[float, float, float]) -> Iterable[Mark]:
        begin, trunk, end = xs
        thick = self._thick(hops[0].net)
        for hop, y in zip(hops, net.targets, strict=True):
            cell = self.order.cells[hop.target[0]]
            arrow = cell.stack is not None and hop.target[1][0] in self.sizes and cell.stack.nodes[0].word != "joint"
            points: tuple[Point, ...] = ((begin, net.source), (trunk, net.source), (trunk, y), (end, y))
            if abs(y - net.source) < 0.25:
                points = ((begin, y), (end, y))
            yield Stroke(points, thick, head=arrow)
        if len(hops) > 1:
            levels = sorted({net.source, *net.targets})
            dots = [y for y in levels if y not in (levels[0], levels[-1]) or (y == net.source and y in net.targets)]
            yield from (Round(trunk, y, 2.2, "ink", 0) for y in dots)
