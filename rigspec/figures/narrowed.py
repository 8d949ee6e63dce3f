"""Figures of which only what may have changed is gone through: what a rule has to look at again.

A rule goes through things and looks up others that matter for them. In narrowed figures it goes through those alone
that a change may concern, while everything can still be looked up by its key. So a rule that had nothing to say before,
and has nothing to say of these, has nothing to say: see `Rule.apart`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TypeVar

from attrs import evolve

from rigspec.figures.mains import MainsFigures
from rigspec.figures.whole import Figures
from rigspec.rig import Expectation, Rig
from rigspec.signal.changes import Wired, touched_sinks
from rigspec.trace import Run

Thing = TypeVar("Thing")

OF_ITS_OWN = frozenset(
    {"load", "least-load", "impedance", "least-impedance", "power", "voltage", "loss", "level", "damping", "polarity"}
)
"""Figures of a thing that rest on itself and on what lies before it: others may rest on what lies behind or beside."""


class Narrow(Mapping[str, Thing]):
    """A mapping that is looked up as a whole and gone through in part."""

    def __init__(self, whole: Mapping[str, Thing], part: list[str]) -> None:
        self.whole = whole
        self._part = part

    def __getitem__(self, key: str) -> Thing:
        return self.whole[key]

    def __contains__(self, key: object) -> bool:
        return key in self.whole

    def __iter__(self) -> Iterator[str]:
        return iter(self._part)

    def __len__(self) -> int:
        return len(self._part)


def whole(things: Mapping[str, Thing]) -> Mapping[str, Thing]:
    """All of them, for a rule that asks whether there is any at all."""
    return things.whole if isinstance(things, Narrow) else things


def narrowed(now: Figures, before: Figures) -> Figures | None:
    """The figures of a rig, narrowed to what may differ from those of an earlier one.

    None where that may be anything.
    """
    changed = now.signals.changed
    if changed is None or _world(now) != _world(before):
        return None
    gear = _concerned(now, before, changed)
    arrivals, boxes, chains = now.trace.arrivals, now.bands.boxes, now.levels.chains
    channels = [key for key in now.channels if key in changed]
    here = [key for key, arrival in arrivals.items() if arrival.sink.gear.full in gear]
    runs = [key for key, run in now.trace.runs.items() if run.output.gear.full in gear]
    protection = now.protection
    return evolve(
        now,
        rig=_rig(now.rig, before.rig, gear),
        trace=evolve(now.trace, runs=Narrow(now.trace.runs, runs), arrivals=Narrow(arrivals, here)),
        channels=Narrow(now.channels, channels),
        boxes=Narrow(now.boxes, [box.key for key in channels for box in now.channels[key].boxes]),
        levels=evolve(
            now.levels,
            outputs=Narrow(now.levels.outputs, [key for key in now.levels.outputs if key in changed]),
            chains=Narrow(chains, [key for key, chain in chains.items() if chain.gear.full in gear]),
        ),
        bands=evolve(now.bands, boxes=Narrow(boxes, [key for key, band in boxes.items() if band.gear.full in gear])),
        protection=evolve(protection, channels=Narrow(protection.channels, channels)),
        mains=_mains(now.mains, before.mains),
    )


def _mains(now: MainsFigures, before: MainsFigures) -> MainsFigures:
    """The parts of the mains that are not what they were: what a part is made of is the same at all ends of it."""
    parts = [key for key, part in now.parts.items() if before.parts.get(key) is not part]
    bad, mild = (evolve(each, parts=Narrow(each.parts, parts)) for each in (now.bad, now.mild))
    return evolve(now, parts=Narrow(now.parts, parts), bad=bad, mild=mild)


def _rig(rig: Rig, old: Rig, gear: set[str]) -> Rig:
    wiring = rig.wiring
    outputs = [key for key, output in wiring.outputs.items() if output.gear.full in gear]
    sinks = [key for key, sink in wiring.sinks.items() if sink.gear.full in gear]
    known = set(map(id, old.expectations))
    return evolve(
        rig,
        gear=Narrow(rig.gear, [key for key in rig.gear if key in gear]),
        wiring=evolve(wiring, outputs=Narrow(wiring.outputs, outputs), sinks=Narrow(wiring.sinks, sinks)),
        rosters=tuple(
            each for each in rig.rosters if each.word == "spare" or any(part.name in gear for part in each.parts)
        ),
        expectations=tuple(
            each
            for each in rig.expectations
            if id(each) not in known or each.statement.figure not in OF_ITS_OWN or _speaks_of(each, gear)
        ),
    )


def _speaks_of(expectation: Expectation, gear: set[str]) -> bool:
    return any(part.name in gear for part in expectation.subjects)


def _world(figures: Figures) -> tuple[bool, ...]:
    """What decides for some rules whether they judge anything at all."""
    outputs = figures.rig.wiring.outputs.values()
    return (
        "*" in figures.rig.silent,
        any(output.gear.broken for output in outputs),
        any(output.carries == "signal" for output in outputs),
        bool(figures.rig.gear),
    )


def _concerned(now: Figures, before: Figures, changed: frozenset[str]) -> set[str]:
    """The full names of all gear that a change may concern: what is not as it was, and all that is behind a change."""
    rig, old = now.rig, before.rig
    found = {full for full, each in rig.gear.items() if old.gear.get(full) is not each}
    for key in changed:
        for side in (now, before):
            run = side.trace.runs.get(key)
            if run is not None:
                found.add(run.output.gear.full)
                found.update(_reached(run))
    found.update(sink.gear.full for sink in touched_sinks(Wired(old, before.trace), Wired(rig, now.trace)))
    led = old.wiring.arrivals
    found.update(rig.wiring.sinks[key].gear.full for key, ways in rig.wiring.arrivals.items() if led.get(key) != ways)
    known, passed = old.wiring.throughs, rig.wiring.throughs
    found.update((known.get(key) or passed[key]).gear.full for key in known.keys() ^ passed.keys())
    silent = rig.silent ^ old.silent
    if silent:
        found |= _behind(now, {full for full, each in rig.gear.items() if each.name in silent})
    apart = set(map(id, rig.rosters)) ^ set(map(id, old.rosters))
    found.update(part.name for each in (*rig.rosters, *old.rosters) if id(each) in apart for part in each.parts)
    crossed = set(map(id, now.bands.crossovers)) ^ set(map(id, before.bands.crossovers))
    for each in (*now.bands.crossovers, *before.bands.crossovers) if crossed else ():
        if id(each) in crossed:
            found.update((each.lower.gear.full, each.upper.gear.full))
    return found


def _behind(now: Figures, gear: set[str]) -> set[str]:
    """Some gear and all that lies behind it: what a signal lacks there may be lacking before."""
    leading: dict[str, set[str]] = {}
    for run in now.trace.runs.values():
        leading.setdefault(run.output.gear.full, set()).update(_reached(run))
    for roster in now.rig.rosters_of("mix"):
        for part in roster.parts:
            leading.setdefault(part.name, set()).add(roster.name)
    found: set[str] = set()
    todo = list(gear)
    while todo:
        full = todo.pop()
        if full not in found:
            found.add(full)
            todo += leading.get(full, ())
    return found


def _reached(run: Run) -> Iterator[str]:
    """What an output comes to, and the leads and panels on the way there."""
    yield from (arrival.sink.gear.full for arrival in run.arrivals)
    yield from (piece.gear.full for piece in run.pieces if piece.gear is not None)
