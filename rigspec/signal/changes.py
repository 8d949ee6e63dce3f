"""Which outputs may carry another signal than before: all that lies behind something that has changed.

What stands at an output depends on its own run, on what arrives at its gear, on the lists that name it, and on what
loads the outputs before it. Whatever is not behind a change keeps the signal that was worked out for it.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

from rigspec.difference import differing
from rigspec.rig import Output, Rig, Roster, Sink
from rigspec.signal.loading import passes
from rigspec.trace import Trace
from rigspec.value import Value


@frozen(eq=False, repr=False)
class Wired(Value):
    """A rig and its trace."""

    rig: Rig
    trace: Trace


def behind_changes(old: Wired, new: Wired) -> frozenset[str]:
    """The keys of all outputs, of either, whose signal or loading may differ from one to the other."""
    runs = _differing_runs(old, new)
    gear = {sink.gear.full for sink in touched_sinks(old, new) if sink.takes != "mains"}
    return frozenset(_Spreading(old, new).from_(runs, gear, _listed(old, new)))


def _differing_runs(old: Wired, new: Wired) -> list[str]:
    before, now = old.trace.runs, new.trace.runs
    return [key for key, run in now.items() if before.get(key) is not run] + [key for key in before if key not in now]


def touched_sinks(old: Wired, new: Wired) -> Iterator[Sink]:
    """Sinks, of either, that are not in the other, and those that are in doubt in one of the two alone."""
    before, now = (tuple(side.rig.wiring.sinks.values()) for side in (old, new))
    yield from (sink for side in differing(before, now) for sink in side)
    doubtful = old.trace.doubtful ^ new.trace.doubtful
    if doubtful:
        yield from (sink for sink in now if sink.joint in doubtful)


def _listed(old: Wired, new: Wired) -> set[str]:
    """What is named in stereo pairs and mixes that are not as they were, and the mixes themselves."""
    names: set[str] = set()
    for roster in _rosters_apart(old.rig.rosters, new.rig.rosters):
        names.add(roster.name)
        names.update(part.key for part in roster.parts)
    # What is used in mixes only has no output of its own in the wiring, whose run would tell.
    for roster in new.rig.rosters_of("mix"):
        if any(old.rig.gear.get(part.name) is not new.rig.gear.get(part.name) for part in roster.parts):
            names.add(roster.name)
    return names


def _rosters_apart(old: tuple[Roster, ...], new: tuple[Roster, ...]) -> Iterator[Roster]:
    """Pairs and mixes of one side alone; all where some have changed places: the last pair that names a feed counts."""
    before, now = ({id(each): each for each in side if each.word in ("stereo", "mix")} for side in (old, new))
    moved = [each for each in before if each in now] != [each for each in now if each in before]
    yield from (side[each] for side in (before, now) for each in side if moved or each not in before or each not in now)


class _Spreading:
    """From outputs that have changed to all that they reach, in the old wiring or in the new one."""

    def __init__(self, old: Wired, new: Wired) -> None:
        self.sides = old, new
        self.outputs_of: dict[str, set[str]] = {}
        self.mixes_with: dict[str, set[str]] = {}
        for side in self.sides:
            for key, output in side.rig.wiring.outputs.items():
                self.outputs_of.setdefault(output.gear.full, set()).add(key)
            for roster in side.rig.rosters_of("mix"):
                for part in roster.parts:
                    self.outputs_of.setdefault(part.name, set()).add(part.key)  # of a mix only, it is not in the wiring
                    self.mixes_with.setdefault(part.key, set()).add(roster.name)

    def from_(self, runs: Iterable[str], gear: Iterable[str], names: Iterable[str]) -> set[str]:
        todo = [*runs, *names]
        for each in gear:
            todo += self.outputs_of.get(each, ())
        found: set[str] = set()
        while todo:
            key = todo.pop()
            if key not in found:
                found.add(key)
                todo += self._from(key)
        return found

    def _from(self, key: str) -> Iterator[str]:
        """What depends on an output: all outputs of the gear that it reaches, what it drives through, what mixes it."""
        yield from self.mixes_with.get(key, ())
        for side in self.sides:
            run = side.trace.runs.get(key)
            for arrival in run.arrivals if run is not None and run.output.carries != "mains" else ():
                yield from self.outputs_of.get(arrival.sink.gear.full, ())
            output = side.rig.wiring.outputs.get(key)
            if output is not None:
                yield from self._beside(output, side.trace)

    def _beside(self, output: Output, trace: Trace) -> Iterator[str]:
        """The channels of its amplifier, which may be halves of one bridge; and what drives it through a passive split,
        which it loads."""
        if output.gear.word == "amp":
            yield from self.outputs_of[output.gear.full]
        if passes(output.gear):
            source = trace.arrivals.get(output.gear.full)
            if source is not None:
                yield source.output.key
