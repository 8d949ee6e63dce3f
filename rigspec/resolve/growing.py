"""The wiring while it grows, path by path: what a path has added is added again while all that it met is the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TypeVar

from attrs import define, field, frozen

from rigspec.memory import Memory
from rigspec.rig import Gear, Output, Piece, Series, Sink, Through, Way, Wiring
from rigspec.source import Span
from rigspec.value import Value

Thing = TypeVar("Thing")


@frozen(eq=False, repr=False)
class Passage(Value):
    """A panel line or a lead's pair."""

    key: str
    gear: Gear
    port: str
    near: int
    far: int


@define(eq=False, repr=False)
class Added(Value):
    """What one path adds to the wiring, in its order; and what it met, which has to be as it was to add it again.

    ``met`` holds what stood under a key when the path first came there, None where nothing did; ``counts`` how many
    ways led to a place by then.
    """

    met: list[tuple[int, str, object]] = field(factory=list)
    counts: list[tuple[int, str, int]] = field(factory=list)
    things: list[tuple[int, str, object]] = field(factory=list)
    ways: list[tuple[int, str, Way]] = field(factory=list)
    pieces: list[Piece] = field(factory=list)
    series: list[Series] = field(factory=list)
    ends: list[Way] = field(factory=list)
    broken: list[int] = field(factory=list)


OUTPUTS, SINKS, PASSAGES = range(3)  # the tables of things
ARRIVALS, ENTERED, LEFT = range(3)  # the tables of ways


class Growing:
    """The wiring so far. Everything is added by its methods, which note it for the path at hand."""

    def __init__(self, memory: Memory) -> None:
        self.memory = memory
        self._things: tuple[dict[str, object], ...] = ({}, {}, {})
        self._ways: tuple[dict[str, list[Way]], ...] = ({}, {}, {})
        self._pieces: list[Piece] = []
        self._series: list[Series] = []
        self._ends: list[Way] = []
        self._broken: set[int] = set()
        self.begin()

    def begin(self) -> None:
        """From here on a path of its own is noted."""
        self.added = Added()
        self._seen: set[tuple[int, str]] = set()
        self._counted: set[tuple[int, str]] = set()

    def add_again(self, added: Added) -> bool:
        """Add what a path added before; False, and nothing, where it does not meet what it met then."""
        things, ways = self._things, self._ways
        for table, key, found in added.met:
            if things[table].get(key) is not found:
                return False
        for table, key, count in added.counts:
            if len(ways[table].get(key, ())) != count:
                return False
        for table, key, thing in added.things:
            things[table][key] = thing
        for table, key, way in added.ways:
            ways[table].setdefault(key, []).append(way)
        self._pieces += added.pieces
        self._series += added.series
        self._ends += added.ends
        self._broken.update(added.broken)
        return True

    def wiring(self) -> Wiring:
        outputs: Mapping[str, Output] = self._things[OUTPUTS]  # type: ignore[assignment]  # each table has its sort
        sinks: Mapping[str, Sink] = self._things[SINKS]  # type: ignore[assignment]
        passages: Mapping[str, Passage] = self._things[PASSAGES]  # type: ignore[assignment]
        arrivals, entered, left = self._ways
        return Wiring(
            outputs,
            sinks,
            {key: tuple(arrivals.get(key, ())) for key in sinks},
            {
                key: Through(
                    key,
                    each.gear,
                    each.port,
                    each.near,
                    each.far,
                    tuple(entered.get(key, ())),
                    tuple(left.get(key, ())),
                )
                for key, each in passages.items()
            },
            tuple(self._pieces),
            tuple(self._series),
            tuple(self._ends),
            frozenset(self._broken),
        )

    # ---- what a path meets

    def _met(self, table: int, key: str, sort: type[Thing]) -> Thing | None:
        """What stands under a key."""
        found = self._things[table].get(key)
        if (table, key) not in self._seen:
            self._seen.add((table, key))
            self.added.met.append((table, key, found))
        assert found is None or isinstance(found, sort)
        return found

    # ---- what it adds

    def _thing(self, table: int, key: str, thing: Thing) -> Thing:
        self._things[table][key] = thing
        self.added.things.append((table, key, thing))
        return thing

    def _way(self, table: int, key: str, way: Way) -> int:
        """One more way to or from a place; how many there are now."""
        ways = self._ways[table].setdefault(key, [])
        if (table, key) not in self._counted:
            self._counted.add((table, key))
            self.added.counts.append((table, key, len(ways)))
        ways.append(way)
        self.added.ways.append((table, key, way))
        return len(ways)

    def _wire(self, piece: Piece) -> int:
        """One more piece; the joint behind it."""
        self._pieces.append(piece)
        self.added.pieces.append(piece)
        return piece.b

    def _in_series(self, joint: int, starts: Sequence[int], span: Span) -> None:
        series = Series(joint, tuple(starts), span)
        self._series.append(series)
        self.added.series.append(series)

    def _end(self, way: Way) -> None:
        self._ends.append(way)
        self.added.ends.append(way)

    def _break(self, joint: int) -> None:
        """Nothing is concluded about what lies behind this joint."""
        self._broken.add(joint)
        self.added.broken.append(joint)

    def _joint(self) -> int:
        self.memory.joints += 1
        return self.memory.joints

    def _dead(self) -> int:
        joint = self._joint()
        self._break(joint)
        return joint

    def _plug(self, a: int, b: int, span: Span) -> None:
        self._wire(Piece("plug", a, b, span))
