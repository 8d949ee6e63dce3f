"""Lines of one level over a grid of values, as on a map: marching squares, joined into polylines."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rigspec.draw.marks import Point

# Which sides of a cell a line runs between, by which of its corners lie above the level: left upper, right upper, right
# lower, left lower count 1, 2, 4, 8. Sides are upper 0, right 1, lower 2, left 3. Where two corners across lie above,
# the cell is cut at both of these.
_SIDES: dict[int, tuple[tuple[int, int], ...]] = {
    1: ((3, 0),),
    2: ((0, 1),),
    3: ((3, 1),),
    4: ((1, 2),),
    5: ((3, 0), (1, 2)),
    6: ((0, 2),),
    7: ((3, 2),),
    8: ((2, 3),),
    9: ((2, 0),),
    10: ((0, 1), (2, 3)),
    11: ((2, 1),),
    12: ((1, 3),),
    13: ((1, 0),),
    14: ((0, 3),),
}


def contour(
    xs: Sequence[float], ys: Sequence[float], values: Sequence[Sequence[float]], level: float
) -> list[list[Point]]:
    """The lines along which ``values[row][column]`` at ``ys[row]`` and ``xs[column]`` pass a level."""
    return _joined(list(_segments(xs, ys, values, level)))


def _segments(
    xs: Sequence[float], ys: Sequence[float], values: Sequence[Sequence[float]], level: float
) -> Iterator[tuple[Point, Point]]:
    for row in range(len(ys) - 1):
        for column in range(len(xs) - 1):
            corners = (
                (xs[column], ys[row], values[row][column]),
                (xs[column + 1], ys[row], values[row][column + 1]),
                (xs[column + 1], ys[row + 1], values[row + 1][column + 1]),
                (xs[column], ys[row + 1], values[row + 1][column]),
            )
            case = sum(1 << number for number, (_, _, value) in enumerate(corners) if value >= level)
            for one, other in _SIDES.get(case, ()):
                yield _on_side(corners, one, level), _on_side(corners, other, level)


def _on_side(corners: Sequence[tuple[float, float, float]], side: int, level: float) -> Point:
    """Where the level lies on a side, on the straight line between its ends; the same from both cells beside it."""
    a, b = sorted((corners[side], corners[(side + 1) % 4]))
    share = (level - a[2]) / (b[2] - a[2])
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])


def _joined(segments: list[tuple[Point, Point]]) -> list[list[Point]]:
    """Segments that meet, as lines; each end meets one other at most, or two where a saddle lies."""
    at: dict[Point, list[int]] = {}
    for number, ends in enumerate(segments):
        for end in ends:
            at.setdefault(end, []).append(number)
    left = set(range(len(segments)))
    lines: list[list[Point]] = []
    while left:
        first = min(left)
        left.discard(first)
        line = list(segments[first])
        for _ in range(2):  # on from one end, then from the other
            while True:
                following = next((number for number in at[line[-1]] if number in left), None)
                if following is None:
                    break
                left.discard(following)
                one, other = segments[following]
                line.append(other if one == line[-1] else one)
            line.reverse()
        lines.append(line)
    return lines
