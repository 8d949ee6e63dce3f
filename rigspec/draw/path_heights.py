"""How high each thing stands: in its order, with room between, and so that most leads run straight."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

from attrs import frozen

from rigspec.draw.path_order import Order
from rigspec.text.value import Value

Socket = tuple[str, str]
SWEEPS = 10
WIDEST = 48.0  # px of a band across the drawing in which nothing stands; more than the widest gap between two things


@frozen(eq=False, repr=False)
class Room(Value):
    """A cell's height, and how far below its top the line of each socket lies."""

    height: float
    sockets: Mapping[Socket, float]


def heights(order: Order, rooms: Sequence[Room], gap: Callable[[int, int], float]) -> list[float]:
    """The top of each cell, the highest at 0. ``gap`` gives the least room between two cells below each other."""
    tops = [0.0] * len(order.cells)
    left: dict[int, list[tuple[float, tuple[int, Socket]]]] = {}
    right: dict[int, list[tuple[float, tuple[int, Socket]]]] = {}
    for hops in order.hops:
        for hop in hops:
            at, to = rooms[hop.source[0]].sockets[hop.source[1]], rooms[hop.target[0]].sockets[hop.target[1]]
            left.setdefault(hop.target[0], []).append((to, hop.source))
            right.setdefault(hop.source[0], []).append((at, hop.target))
    for column in order.columns:
        y = 0.0
        for place, cell in enumerate(column):
            y += gap(column[place - 1], cell) if place else 0.0
            tops[cell] = y
            y += rooms[cell].height
    for sweep in range(SWEEPS):
        onward = sweep % 2 == 0
        for column in order.columns if onward else reversed(order.columns):
            wanted = {cell: _wanted(cell, left, right, tops, rooms, onward) for cell in column}
            _put(column, wanted, rooms, gap, tops)
    return _closed(tops, rooms)


def _closed(tops: Sequence[float], rooms: Sequence[Room]) -> list[float]:
    """The tops, the highest at 0, without bands in which nothing stands: only upright leads become shorter."""
    moved = [0.0] * len(tops)
    reached = cut = min(tops, default=0.0)
    for cell in sorted(range(len(tops)), key=lambda at: tops[at]):
        cut += max(tops[cell] - reached - WIDEST, 0.0)
        reached = max(reached, tops[cell] + rooms[cell].height)
        moved[cell] = round((tops[cell] - cut) * 2) / 2
    return moved


def _wanted(
    cell: int,
    left: Mapping[int, list[tuple[float, tuple[int, Socket]]]],
    right: Mapping[int, list[tuple[float, tuple[int, Socket]]]],
    tops: Sequence[float],
    rooms: Sequence[Room],
    onward: bool,
) -> float | None:
    """The top at which a cell's leads run straightest: the middle one of all that its leads ask for."""
    ends = (left if onward else right).get(cell) or (right if onward else left).get(cell) or []
    tops_wanted = sorted(tops[end[0]] + rooms[end[0]].sockets[end[1]] - own for own, end in ends)
    return tops_wanted[(len(tops_wanted) - 1) // 2] if tops_wanted else None


def _put(
    column: Sequence[int],
    wanted: Mapping[int, float | None],
    rooms: Sequence[Room],
    gap: Callable[[int, int], float],
    tops: list[float],
) -> None:
    """The tops nearest to what is wanted in order (least squares, by pooling adjacent violators)."""
    offset, offsets = 0.0, []
    for place, cell in enumerate(column):
        offset += rooms[column[place - 1]].height + gap(column[place - 1], cell) if place else 0.0
        offsets.append(offset)
    pools: list[tuple[float, float, int]] = []  # sum of weighted wishes, weight, count
    for place, cell in enumerate(column):
        wish = wanted[cell]
        weight = 1e-6 if wish is None else 1.0
        pools.append((((tops[cell] if wish is None else wish) - offsets[place]) * weight, weight, 1))
        while len(pools) > 1 and pools[-2][0] / pools[-2][1] >= pools[-1][0] / pools[-1][1]:
            last = pools.pop()
            before = pools.pop()
            pools.append((before[0] + last[0], before[1] + last[1], before[2] + last[2]))
    place = 0
    for total, weight, count in pools:
        for _ in range(count):
            tops[column[place]] = total / weight + offsets[place]
            place += 1
