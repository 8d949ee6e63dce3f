"""What is taken on a window of the plan, kept by cells, so that only what is near needs to be looked at."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Generic, TypeVar

from rigspec.draw.marks import Point
from rigspec.draw.shapes import Area, bounds

CELL = 40.0  # px

Item = TypeVar("Item")


class Cells(Generic[Item]):
    """Things with the area that each takes at most."""

    def __init__(self) -> None:
        self.items: list[Item] = []
        self._areas: list[Area] = []
        self._by_cell: dict[tuple[int, int], list[int]] = {}

    def add(self, area: Area, item: Item) -> None:
        for cell in _cells(area):
            self._by_cell.setdefault(cell, []).append(len(self.items))
        self.items.append(item)
        self._areas.append(area)

    def near(self, area: Area) -> Iterator[Item]:
        """Each thing once whose area has something in common with this one, or touches it."""
        numbers = {number for cell in _cells(area) for number in self._by_cell.get(cell, ())}
        for number in sorted(numbers):
            other = self._areas[number]
            if (
                other.left <= area.right
                and area.left <= other.right
                and other.top <= area.bottom
                and area.top <= other.bottom
            ):
                yield self.items[number]

    def copy(self) -> Cells[Item]:
        made = Cells[Item]()
        made.items, made._areas = self.items[:], self._areas[:]
        made._by_cell = {cell: numbers[:] for cell, numbers in self._by_cell.items()}
        return made


def areas(found: Iterable[Area] = ()) -> Cells[Area]:
    """Areas by where they are."""
    made = Cells[Area]()
    for area in found:
        made.add(area, area)
    return made


def add_line(lines: Cells[tuple[Point, Point]], line: tuple[Point, Point]) -> None:
    lines.add(bounds(line), line)


def _cells(area: Area) -> Iterator[tuple[int, int]]:
    for x in range(int(area.left // CELL), int(area.right // CELL) + 1):
        for y in range(int(area.top // CELL), int(area.bottom // CELL) + 1):
            yield x, y
