"""What an ohm-meter reads: direct-current resistance of every joint of a run of loudspeakers, from its far ends inward.

A run is a tree of leads, boxes, and circuits in series, so its resistance follows by adding in series and in parallel.
It rises with every resistance in it (Rayleigh's monotonicity law): the lowest reading is that with all resistances at
their low ends, the highest that with all at their high ends, and the range is exact.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from math import inf

from attrs import evolve, frozen

from rigspec.figures.load import Corner, loop_ohm, tap_volt
from rigspec.figures.trace import Run
from rigspec.rig.model import Gear, LeadSpec, Piece, Sink, one
from rigspec.text.value import Content, gathered

LEAST_OF_RATED, MOST_OF_RATED = 0.60, 0.85
"""A voice coil's resistance over the rated impedance (common practice, no source)."""


@frozen(eq=False, repr=False)
class Ohms(Content):
    """A reading from ``low_ohm`` to ``high_ohm``; both infinite where nothing closes the circuit."""

    low_ohm: float
    high_ohm: float

    def behind(self, other: Ohms) -> Ohms:
        """This in series with another."""
        return Ohms(self.low_ohm + other.low_ohm, self.high_ohm + other.high_ohm)

    def beside(self, other: Ohms) -> Ohms:
        """This in parallel with another."""
        return Ohms(_parallel(self.low_ohm, other.low_ohm), _parallel(self.high_ohm, other.high_ohm))

    def meets(self, other: Ohms) -> bool:
        """Is there a reading that both may give?"""
        return self.low_ohm <= other.high_ohm and other.low_ohm <= self.high_ohm


OPEN = Ohms(inf, inf)
NONE = Ohms(0.0, 0.0)


def _parallel(one: float, other: float) -> float:
    if one == inf or other == inf:
        return min(one, other)
    return one * other / (one + other) if one + other > 0 else 0.0


@frozen(eq=False, repr=False)
class Behind(Content):
    """What hangs behind a joint.

    ``expected``: with all boxes; ``missing``: without the last one; ``doubled``: with a second like it beside it. Each
    is None where a box has a line transformer, or nothing is known of it; ``unknown`` says of which. ``boxes`` are
    their keys, the last one last.
    """

    expected: Ohms | None
    missing: Ohms | None
    doubled: Ohms | None
    boxes: tuple[str, ...]
    unknown: tuple[str, ...]


NOTHING = Behind(OPEN, OPEN, OPEN, (), ())


def coil(gear: Gear, way: str) -> Ohms | None:
    """The resistance of a loudspeaker or a way at direct current; None where it cannot be known."""
    facts = gear.way(way) if way else gear.facts
    if gear.says("taps") or gear.says("tap") or gear.doubt:
        return None
    driver = facts.get("driver")
    given = one(driver.inner, "dc-resistance", "resistance") if driver and driver.inner else None
    if given is not None:
        return Ohms(given.low, given.high)
    rated = one(facts, "impedance", "resistance")
    if rated is None or rated.low <= 0:
        return None
    return Ohms(LEAST_OF_RATED * rated.low, MOST_OF_RATED * rated.high)


def rated(gear: Gear, way: str) -> Ohms | None:
    """What a loudspeaker is on a line as its tap says it, the line voltage squared over the power; else as rated."""
    tap, volt = gear.measure("tap", "power"), tap_volt(gear)
    if tap is None:
        impedance = None if gear.says("taps") else one(gear.way(way) if way else gear.facts, "impedance", "resistance")
        return None if impedance is None or impedance.low <= 0 else Ohms(impedance.low, impedance.high)
    return None if volt is None or tap.low <= 0 else Ohms(volt.low**2 / tap.high, volt.high**2 / tap.low)


def copper(spec: LeadSpec, case: Corner) -> Ohms:
    """A lead there and back, from its shortest and thickest to its longest and thinnest."""
    return Ohms(loop_ohm(spec, evolve(case, copper=-1)), loop_ohm(spec, evolve(case, copper=1)))


class Direct:
    """Every joint of one run, and its ``pieces`` in the order of the signal; linear in its size.

    ``of`` gives what each loudspeaker reads: `coil` for a meter with direct current, `rated` for one with a tone.
    """

    def __init__(self, run: Run, case: Corner, of: Callable[[Gear, str], Ohms | None] = coil) -> None:
        self.case = case
        self.of = of
        # At each joint they stand the other way round than in the text.
        self.onward = gathered(reversed(run.pieces), lambda piece: piece.a)
        self.splits = gathered(run.splits, lambda split: split.joint)
        self.sinks: dict[int, Sink] = {
            arrival.sink.joint: arrival.sink for arrival in run.arrivals if arrival.sink.gear.word == "speaker"
        }
        self.behind: dict[int, Behind] = {}
        self.pieces: list[Piece] = []
        order: list[int] = []
        todo = [run.output.joint]
        seen: set[int] = set()
        entered = {piece.b: piece for piece in run.pieces}
        while todo:
            joint = todo.pop()
            if joint in seen:
                continue
            seen.add(joint)
            order.append(joint)
            if joint in entered:
                self.pieces.append(entered[joint])
            starts = [start for split in self.splits.get(joint, ()) for start in split.branches]
            todo += [*(piece.b for piece in self.onward.get(joint, ())), *starts][::-1]
        for joint in reversed(order):
            self.behind[joint] = self._joint(joint)

    def through(self, piece: Piece) -> Behind:
        """What a meter sees at the near end of a piece: the piece itself and all behind it."""
        far = self.behind.get(piece.b, NOTHING)
        if piece.what != "lead" or piece.spec is None:
            return far
        return _chain([Behind(loop := copper(piece.spec, self.case), loop, loop, (), ()), far])

    def _joint(self, joint: int) -> Behind:
        found = []
        sink = self.sinks.get(joint)
        if sink is not None:
            ohms = self.of(sink.gear, sink.port)
            twice = None if ohms is None else ohms.beside(ohms)
            missing = None if ohms is None else OPEN
            found.append(Behind(ohms, missing, twice, (sink.key,), () if ohms else (sink.key,)))
        found += [self.through(piece) for piece in self.onward.get(joint, ())]
        for split in self.splits.get(joint, ()):
            found.append(_chain([self.behind.get(start, NOTHING) for start in split.branches]))
        return _side_by_side(found)


def _chain(links: Sequence[Behind]) -> Behind:
    return _together(links, series=True)


def _side_by_side(links: Sequence[Behind]) -> Behind:
    return _together(links, series=False) if links else NOTHING


def _together(links: Sequence[Behind], *, series: bool) -> Behind:
    """Several in series or in parallel; the last box is that of the last link that has one."""
    last = max((at for at, link in enumerate(links) if link.boxes), default=-1)
    sums: Mapping[str, Ohms | None] = {
        word: _sum([getattr(link, word if at == last else "expected") for at, link in enumerate(links)], series)
        for word in ("expected", "missing", "doubled")
    }
    return Behind(
        sums["expected"],
        sums["missing"],
        sums["doubled"],
        tuple(key for link in links for key in link.boxes),
        tuple(key for link in links for key in link.unknown),
    )


def _sum(ohms: Sequence[Ohms | None], series: bool) -> Ohms | None:
    total = NONE if series else OPEN
    for each in ohms:
        if each is None:
            return None
        total = total.behind(each) if series else total.beside(each)
    return total
