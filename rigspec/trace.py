"""Follow every output through the wiring: what it reaches, with which turns, losses and delays on the way."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from attrs import frozen

from rigspec.memory import Memory, current
from rigspec.rig import Output, Piece, Series, Sink, Wiring
from rigspec.source import Span
from rigspec.value import Value


@frozen(repr=False)
class Turn(Value):
    """One place where plus and minus are exchanged, and what does it."""

    span: Span
    text: str


@frozen(eq=False, repr=False)
class Arrival(Value):
    """An output's signal or power at a sink: the turns on the way, the gain (pads are losses) and the delay."""

    output: Output
    sink: Sink
    turns: tuple[Turn, ...]
    gain_db: float
    delay_s: float


@frozen(eq=False, repr=False)
class Run(Value):
    """Everything that hangs on one output.

    ``conductors`` gives the plus and minus node of each joint that carries power. ``parent`` gives the piece by which
    each joint was reached. ``broken`` tells that a fault on the way leaves the rest unknown.
    """

    output: Output
    arrivals: tuple[Arrival, ...]
    pieces: tuple[Piece, ...]
    splits: tuple[tuple[int, tuple[int, ...]], ...]
    conductors: Mapping[int, tuple[str, str]]
    parent: Mapping[int, Piece]
    broken: bool

    def leads_to(self, joint: int) -> list[Piece]:
        """The leads between the output and a joint, in the order of the signal."""
        leads = []
        while joint in self.parent:
            piece = self.parent[joint]
            if piece.what == "lead":
                leads.append(piece)
            joint = piece.a
        return leads[::-1]


@frozen(eq=False, repr=False)
class Trace(Value):
    """The runs of all outputs, what reaches each sink, and what nothing reaches."""

    runs: Mapping[str, Run]
    arrivals: Mapping[str, Arrival]
    reached: frozenset[int]
    doubtful: frozenset[int]  # joints behind a fault: it is not known whether something reaches them

    def orphan(self, joint: int) -> bool:
        """Does surely nothing reach this joint?"""
        return joint not in self.reached and joint not in self.doubtful


@frozen(repr=False)
class _State(Value):
    plus: str
    minus: str
    turns: tuple[Turn, ...]
    gain_db: float
    delay_s: float


def trace(wiring: Wiring) -> Trace:
    """Walk from every output along the pieces; linear in the size of the wiring."""
    leaving: dict[int, list[Piece]] = {}
    for piece in wiring.pieces:
        leaving.setdefault(piece.a, []).append(piece)
    branches: dict[int, list[Series]] = {}
    for series in wiring.series:
        branches.setdefault(series.joint, []).append(series)
    at_joint: dict[int, list[Sink]] = {}
    for sink in wiring.sinks.values():
        at_joint.setdefault(sink.joint, []).append(sink)
    owner: dict[int, str] = {}
    runs = {}
    arrivals: dict[str, Arrival] = {}
    memory = current() or Memory()
    for key, output in wiring.outputs.items():
        reached, made_of, broken = _reached(output, leaving, branches, at_joint, owner, wiring.broken)
        same = ("run", broken, *map(id, made_of), *reached)
        run = memory.known(same)
        if run is None:
            run = memory.keep(same, made_of, _run(output, leaving, branches, at_joint, owner, broken))
        else:
            owner.update(dict.fromkeys(reached, key))
        runs[key] = run
        for arrival in run.arrivals:
            arrivals.setdefault(arrival.sink.key, arrival)
    doubtful = _behind(set(wiring.broken), leaving, branches)
    return Trace(runs, arrivals, frozenset(owner), frozenset(doubtful))


def _reached(
    output: Output,
    leaving: Mapping[int, list[Piece]],
    branches: Mapping[int, list[Series]],
    at_joint: Mapping[int, list[Sink]],
    owner: Mapping[int, str],
    broken: Collection[int],
) -> tuple[list[int], list[object], bool]:
    """The joints that an output reaches, all that its run is made of, and whether a fault lies on the way.

    In the order in which `_run` comes to it: where both are as they were, so is the run.
    """
    open_joints = [output.joint]
    reached: dict[int, None] = {}
    made_of: list[object] = [output]
    doubtful = False
    while open_joints:
        joint = open_joints.pop()
        if joint in owner or joint in reached:
            continue
        reached[joint] = None
        doubtful = doubtful or joint in broken
        if joint in at_joint:
            made_of += at_joint[joint]
        if joint in leaving:
            found = leaving[joint]
            made_of += found
            open_joints += [piece.b for piece in reversed(found)]
        for split in branches.get(joint, ()):
            made_of.append(split)
            open_joints += reversed(split.branches)
    return list(reached), made_of, doubtful or output.joint in broken


def _run(
    output: Output,
    leaving: Mapping[int, list[Piece]],
    branches: Mapping[int, list[Series]],
    at_joint: Mapping[int, list[Sink]],
    owner: dict[int, str],
    broken: bool,
) -> Run:
    first = _State(*terminals(output), (), 0.0, 0.0)
    open_joints: list[tuple[int, _State]] = [(output.joint, first)]
    found: list[Arrival] = []
    pieces: list[Piece] = []
    splits: list[tuple[int, tuple[int, ...]]] = []
    conductors: dict[int, tuple[str, str]] = {}
    parent: dict[int, Piece] = {}
    while open_joints:
        joint, state = open_joints.pop()
        if joint in owner:
            continue
        owner[joint] = output.key
        conductors[joint] = (state.plus, state.minus)
        found += [Arrival(output, sink, state.turns, state.gain_db, state.delay_s) for sink in at_joint.get(joint, ())]
        for piece in reversed(leaving.get(joint, ())):
            if piece.b not in owner:
                parent[piece.b] = piece
            pieces.append(piece)
            open_joints.append((piece.b, _after(piece, state)))
        for split in branches.get(joint, ()):
            splits.append((joint, split.branches))
            # One node between each two branches; a branch's own joint names it, so that no two can meet.
            nodes = [state.plus, *(f"{start}~" for start in split.branches[1:]), state.minus]
            for number, start in reversed(list(enumerate(split.branches))):
                between = _State(nodes[number], nodes[number + 1], state.turns, state.gain_db, state.delay_s)
                parent[start] = Piece("plug", joint, start, split.span)
                open_joints.append((start, between))
    return Run(output, tuple(found), tuple(pieces), tuple(splits), conductors, parent, broken)


def terminals(output: Output) -> tuple[str, str]:
    """The nodes of an output: an amplifier's channels against common, a bridged pair between its two hot poles."""
    if output.carries != "power":
        return f"{output.key}+", f"{output.key}-"
    halves = output.port.split("+")
    plus = f"{output.gear.full}.{halves[0]}"
    return plus, f"{output.gear.full}.{halves[1]}" if len(halves) == 2 else "0"


def _after(piece: Piece, state: _State) -> _State:
    """The state behind a piece."""
    match piece.what:
        case "lead":
            plus, minus, turns = f"{piece.b}+", f"{piece.b}-", state.turns
            if piece.inverted is not None:
                plus, minus = minus, plus
                turns = (*turns, Turn(piece.inverted, f"{piece.name or 'this lead'} is made inverted"))
            return _State(plus, minus, turns, state.gain_db, state.delay_s)
        case "invert":
            text = f"{piece.name} is inverted inside" if piece.name else "the two conductors are crossed"
            return _State(state.minus, state.plus, (*state.turns, Turn(piece.span, text)), state.gain_db, state.delay_s)
        case "pad" | "delay":
            gain_db, delay_s = state.gain_db + piece.gain_db, state.delay_s + piece.delay_s
            return _State(state.plus, state.minus, state.turns, gain_db, delay_s)
    return state


def _behind(start: set[int], leaving: Mapping[int, list[Piece]], branches: Mapping[int, list[Series]]) -> set[int]:
    """All joints that can be reached from some."""
    reached: set[int] = set()
    todo = list(start)
    while todo:
        joint = todo.pop()
        if joint in reached:
            continue
        reached.add(joint)
        todo += [piece.b for piece in leaving.get(joint, ())]
        for split in branches.get(joint, ()):
            todo += split.branches
    return reached
