"""In which order things stand in their columns, so that few leads cross; racks and places stay together.

Barycentres, sweep by sweep, then exchanges of neighbours as long as these help (Sugiyama, Tagawa and Toda, 1981). Leads
that pass a column take a place in it. The sockets of a thing have their own order and count as they lie.
"""

from __future__ import annotations

from bisect import bisect_right, insort
from collections.abc import Sequence
from itertools import groupby

from attrs import frozen

from rigspec.draw.path_columns import Columns, Stack
from rigspec.draw.path_graph import Edge
from rigspec.text.value import Value

SWEEPS = 12
ROUNDS = 8
Socket = tuple[str, str]


@frozen(eq=False, repr=False)
class Cell(Value):
    """What takes a place in a column: a stack, or a lead that passes (by the socket that it comes from)."""

    stack: Stack | None
    passing: Socket | None = None

    @property
    def group(self) -> str:
        return self.stack.group if self.stack else ""


@frozen(eq=False, repr=False)
class Hop(Value):
    """A lead across one gap: from a socket or a passing lead to one, as cell and key of the socket there."""

    source: tuple[int, Socket]
    target: tuple[int, Socket]
    net: Socket
    edge: Edge | None  # where it ends here


@frozen(eq=False, repr=False)
class Order(Value):
    """``columns`` hold numbers of ``cells`` from top to bottom; ``hops`` lead from each column to the next."""

    cells: tuple[Cell, ...]
    columns: tuple[tuple[int, ...], ...]
    hops: tuple[tuple[Hop, ...], ...]


def ordered(columns: Columns) -> Order:
    """Find an order; the same for the same rig."""
    cells = [Cell(stack) for stack in columns.stacks]
    count = max((stack.column for stack in columns.stacks), default=-1) + 1
    levels: list[list[int]] = [[] for _ in range(count)]
    for at, cell in enumerate(cells):
        if cell.stack:
            levels[cell.stack.column].append(at)
    hops = _hops(columns, cells, levels)
    sorter = _Sorter(cells, levels, hops)
    return Order(tuple(cells), tuple(map(tuple, sorter.best())), tuple(map(tuple, hops)))


def _hops(columns: Columns, cells: list[Cell], levels: list[list[int]]) -> list[list[Hop]]:
    cell_of = {node.key: at for at, cell in enumerate(cells) if cell.stack for node in cell.stack.nodes}
    column_of = {node.key: stack.column for stack in columns.stacks for node in stack.nodes}
    hops: list[list[Hop]] = [[] for _ in levels]
    passing: dict[tuple[Socket, int], int] = {}
    for edge in columns.edges:
        net = edge.source
        at, place = column_of[net[0]], (cell_of[net[0]], net)
        while at + 1 < column_of[edge.target[0]]:
            at += 1
            if (net, at) not in passing:
                passing[net, at] = len(cells)
                levels[at].append(len(cells))
                cells.append(Cell(None, net))
                hops[at - 1].append(Hop(place, (passing[net, at], net), net, None))
            place = passing[net, at], net
        hops[at].append(Hop(place, (cell_of[edge.target[0]], edge.target), net, edge))
    return hops


class _Sorter:
    def __init__(self, cells: Sequence[Cell], levels: list[list[int]], hops: list[list[Hop]]) -> None:
        self.cells = cells
        self.levels = levels
        self.hops = hops
        self.share: dict[tuple[int, Socket], float] = {}
        for at, cell in enumerate(cells):
            sockets = (
                [(node.key, row.key) for node in cell.stack.nodes for row in node.rows]
                if cell.stack
                else [cell.passing or ("", "")]
            )
            for place, socket in enumerate(sockets):
                self.share[at, socket] = (place + 0.5) / len(sockets)
        self.left: dict[int, list[Hop]] = {}
        self.right: dict[int, list[Hop]] = {}
        for column in hops:
            for hop in column:
                self.left.setdefault(hop.target[0], []).append(hop)
                self.right.setdefault(hop.source[0], []).append(hop)
        self.at: dict[int, int] = {}
        for level in levels:
            self._note(level)

    def best(self) -> list[list[int]]:
        """The order with the fewest crossings of all that are come by from four beginnings."""
        start = [list(level) for level in self.levels]
        found, fewest = start, self._all_crossings()
        for turned in (False, True):
            for first in (0, 1):
                if not fewest:
                    break
                self._put([level[::-1] if turned else list(level) for level in start])
                for sweep in range(first, SWEEPS + first):
                    self._swept(sweep % 2 == 0)
                    if sweep % 4 == 3:
                        self._exchange()
                    crossings = self._all_crossings()
                    if crossings < fewest:
                        found, fewest = [list(level) for level in self.levels], crossings
        self._put(found)
        self._exchange()
        return self.levels

    def _put(self, levels: list[list[int]]) -> None:
        self.levels[:] = levels
        for level in self.levels:
            self._note(level)

    def _swept(self, down: bool) -> None:
        for column in range(len(self.levels)) if down else reversed(range(len(self.levels))):
            self._sort(column, down)

    def _all_crossings(self) -> int:
        return sum(self._crossings(gap) for gap in range(len(self.levels) - 1))

    def _exchange(self) -> None:
        for _ in range(ROUNDS):
            better = [self._exchanged(column) for column in range(len(self.levels))]
            if not any(better):
                break

    def _note(self, level: Sequence[int]) -> None:
        for place, cell in enumerate(level):
            self.at[cell] = place

    def _place(self, end: tuple[int, Socket]) -> float:
        return self.at[end[0]] + self.share[end]

    def _middle(self, cell: int, down: bool) -> float:
        hops = (self.left if down else self.right).get(cell, [])
        if not hops:
            return -1.0
        return sum(self._place(hop.source if down else hop.target) for hop in hops) / len(hops)

    def _sort(self, column: int, down: bool) -> None:
        level = self.levels[column]
        if not column and down:
            return
        middles = {cell: self._middle(cell, down) for cell in level}
        before = -0.5
        for cell in level:  # what hangs on nothing stays behind its neighbour
            if middles[cell] < 0:
                middles[cell] = before
            before = middles[cell]
        of_group: dict[str, list[float]] = {}
        for cell in level:
            if self.cells[cell].group:
                of_group.setdefault(self.cells[cell].group, []).append(middles[cell])
        mean = {group: sum(found) / len(found) for group, found in of_group.items()}

        def key(cell: int) -> tuple[float, str, float, int]:
            group = self.cells[cell].group
            return mean.get(group, middles[cell]), group, middles[cell], self.at[cell]

        level.sort(key=key)
        self._note(level)

    def _crossings(self, gap: int) -> int:
        if not 0 <= gap < len(self.hops):
            return 0
        pairs = sorted({(self._place(hop.source), self._place(hop.target)) for hop in self.hops[gap]})
        seen: list[float] = []
        count = 0
        for _, target in pairs:
            count += len(seen) - bisect_right(seen, target)
            insort(seen, target)
        return count

    def _exchanged(self, column: int) -> bool:
        """Exchange neighbours where fewer leads cross then: cells of one group, and whole groups."""
        level = self.levels[column]
        better = False
        blocks = [
            list(found) for _, found in groupby(level, lambda at: (self.cells[at].group, self.cells[at].group or at))
        ]
        better |= self._bubbled(column, blocks, lambda: [cell for block in blocks for cell in block])
        for block in blocks:
            if len(block) > 1:
                ones = [[cell] for cell in block]

                def whole(block: list[int] = block, ones: list[list[int]] = ones) -> list[int]:
                    block[:] = [cell for one in ones for cell in one]
                    return [cell for each in blocks for cell in each]

                better |= self._bubbled(column, ones, whole)
        return better

    def _bubbled(self, column: int, blocks: list[list[int]], whole: object) -> bool:
        assert callable(whole)
        better = False
        for at in range(len(blocks) - 1):
            upper, lower = blocks[at], blocks[at + 1]
            before = self._between(upper, lower)
            if before > self._between(lower, upper):
                blocks[at], blocks[at + 1] = lower, upper
                self.levels[column] = whole()
                self._note(self.levels[column])
                better = True
        return better

    def _between(self, upper: Sequence[int], lower: Sequence[int]) -> int:
        """How often leads of the upper cells cross those of the lower ones."""
        count = 0
        for hops, is_left in ((self.left, True), (self.right, False)):
            ups = {self._end(hop, is_left) for cell in upper for hop in hops.get(cell, ())}
            lows = sorted({self._end(hop, is_left) for cell in lower for hop in hops.get(cell, ())})
            count += sum(bisect_right(lows, up - 1e-9) for up in ups)
        return count

    def _end(self, hop: Hop, is_left: bool) -> float:
        return self._place(hop.source if is_left else hop.target)
