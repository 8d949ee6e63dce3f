"""The wiring while it grows, path by path: what a path has added is added again while all that it met is the same."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from itertools import repeat
from typing import Any, TypeVar

from attrs import define, field, frozen

from rigspec.memory import Memory
from rigspec.resolve.standing import the_same
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


def _three() -> tuple[dict[str, Any], dict[str, Any], dict[str, Any]]:
    return {}, {}, {}


@define(eq=False, repr=False)
class Added(Value):
    """What one path adds to the wiring, in its order; and what it met, which has to be as it was to add it again.

    ``met`` holds what stood under a key when the path first came there, None where nothing did; ``counts`` how many
    ways led to a place by then. What several paths add, one after the other, is told in the same way.
    """

    met: tuple[dict[str, Any], ...] = field(factory=_three)
    counts: tuple[dict[str, Any], ...] = field(factory=_three)
    things: tuple[dict[str, object], ...] = field(factory=_three)
    ways: tuple[dict[str, tuple[Way, ...]], ...] = field(factory=_three)
    pieces: list[Piece] = field(factory=list)
    series: list[Series] = field(factory=list)
    ends: list[Way] = field(factory=list)
    broken: list[int] = field(factory=list)

    def then(self, other: Added) -> None:
        """Take in what the next path adds. What it met of this was met here first, as it was before."""
        for met, its_met in zip((*self.met, *self.counts), (*other.met, *other.counts), strict=True):
            for key, found in its_met.items():
                met.setdefault(key, found)
        for things, its_things in zip(self.things, other.things, strict=True):
            things.update(its_things)
        for ways, its_ways in zip(self.ways, other.ways, strict=True):
            for key, more in its_ways.items():
                ways[key] = ways.get(key, ()) + more
        self.pieces += other.pieces
        self.series += other.series
        self.ends += other.ends
        self.broken += other.broken


OUTPUTS, SINKS, PASSAGES = range(3)  # the tables of things
ARRIVALS, ENTERED, LEFT = range(3)  # the tables of ways


class Growing:
    """The wiring so far. Everything is added by its methods, which note it for the path at hand."""

    def __init__(self, memory: Memory) -> None:
        self.memory = memory
        self._things: tuple[dict[str, object], ...] = _three()
        self._ways: tuple[dict[str, tuple[Way, ...]], ...] = _three()
        self._pieces: list[Piece] = []
        self._series: list[Series] = []
        self._ends: list[Way] = []
        self._broken: set[int] = set()
        self.begin()

    def begin(self) -> None:
        """From here on a path of its own is noted."""
        self.added = Added()

    def add_again(self, added: Added) -> bool:
        """Add what a path, or several, added before; False, and nothing, where it does not meet what it met then."""
        for table, met in zip(self._things, added.met, strict=True):
            if met and not the_same(table, met):
                return False
        for ways, counts in zip(self._ways, added.counts, strict=True):
            if counts and list(map(len, map(ways.get, counts, repeat(())))) != list(counts.values()):
                return False
        for table, things in zip(self._things, added.things, strict=True):
            table.update(things)
        for ways, more in zip(self._ways, added.ways, strict=True):
            if ways.keys().isdisjoint(more.keys()):
                ways.update(more)
            else:
                for key, several in more.items():
                    ways[key] = ways.get(key, ()) + several
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
            {key: arrivals.get(key, ()) for key in sinks},
            {
                key: Through(
                    key,
                    each.gear,
                    each.port,
                    each.near,
                    each.far,
                    entered.get(key, ()),
                    left.get(key, ()),
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
        self.added.met[table].setdefault(key, found)
        assert found is None or isinstance(found, sort)
        return found

    # ---- what it adds

    def _thing(self, table: int, key: str, thing: Thing) -> Thing:
        self._things[table][key] = thing
        self.added.things[table][key] = thing
        return thing

    def _way(self, table: int, key: str, way: Way) -> int:
        """One more way to or from a place; how many there are now."""
        ways = self._ways[table].get(key, ())
        self.added.counts[table].setdefault(key, len(ways))
        self._ways[table][key] = (*ways, way)
        self.added.ways[table][key] = (*self.added.ways[table].get(key, ()), way)
        return len(ways) + 1

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
