"""Leads in the gap between two columns: level, upright on a track of their own, level again.

Which track comes first decides what crosses, and whether a lead that comes to a height lies on one that leaves it.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from rigspec.text.value import Content

NEAR = 5.0  # px: level lines nearer than that look like one
ON_TOP = 1000  # what it costs where two leads lie on each other, in crossings


@frozen(eq=False, repr=False)
class Net(Content):
    """All that leaves one socket across a gap: at which height it comes, and to which heights it goes."""

    source: float
    targets: tuple[float, ...]

    @property
    def straight(self) -> bool:
        return all(abs(target - self.source) < 0.25 for target in self.targets)

    @property
    def low(self) -> float:
        return min(self.source, *self.targets)

    @property
    def high(self) -> float:
        return max(self.source, *self.targets)


def tracks(nets: Sequence[Net]) -> tuple[list[int], int]:
    """The track of each net from left to right (0 for straight ones), and how many there are."""
    bent = [at for at, net in enumerate(nets) if not net.straight]
    bent.sort(key=lambda at: _eager(nets[at]))
    for _ in range(len(bent)):
        moved = False
        for place in range(len(bent) - 1):
            a, b = bent[place], bent[place + 1]
            if _cost(nets[b], nets[a]) < _cost(nets[a], nets[b]):
                bent[place], bent[place + 1] = b, a
                moved = True
        if not moved:
            break
    found = [0] * len(nets)
    placed: list[int] = []
    for at in bent:
        net = nets[at]
        taken = [
            found[other] + 1
            for other in placed
            if nets[other].low - 2 * NEAR <= net.high and net.low <= nets[other].high + 2 * NEAR
        ]
        found[at] = max(taken, default=0)
        placed.append(at)
    return found, max((found[at] + 1 for at in bent), default=0)


def lying_on(nets: Sequence[Net], found: Sequence[int]) -> list[tuple[int, int]]:
    """Nets of which the first comes at the height to which the second goes, with its track not before that one's."""
    at_height: dict[int, list[int]] = {}
    for at, net in enumerate(nets):
        for target in net.targets:
            at_height.setdefault(round(target / NEAR), []).append(at)
    wrong = []
    for at, net in enumerate(nets):
        if net.straight:
            continue
        for near in (-1, 0, 1):
            for other in at_height.get(round(net.source / NEAR) + near, ()):
                close = any(abs(target - net.source) < NEAR for target in nets[other].targets)
                if other != at and close and not nets[other].straight and found[at] >= found[other]:
                    wrong.append((at, other))
    return wrong


def _eager(net: Net) -> tuple[int, float]:
    """Leads that go down take their tracks from the lowest on, those that go up from the highest on."""
    down = sum(net.targets) / len(net.targets) > net.source
    return (0, -net.source) if down else (1, net.source)


def _cost(left: Net, right: Net) -> int:
    """Crossings of two nets with the track of one left of the other's."""
    cost = int(left.low < right.source < left.high)  # the right one's beginning crosses the left one's upright part
    cost += sum(right.low < target < right.high for target in left.targets)
    on_top = any(abs(target - right.source) < NEAR for target in left.targets)
    return cost + ON_TOP * on_top
