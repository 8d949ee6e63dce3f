"""Follow every output through the wiring: what it reaches, with which turns, losses and delays on the way."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from rigspec.rig.doubt import Doubt
from rigspec.rig.model import Output, Piece, Series, Sink, Wiring
from rigspec.text.source import Span
from rigspec.text.value import Content, Value, gathered


@frozen(eq=False, repr=False)
class Turn(Content):
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
    each joint was reached. ``doubt`` says why the rest is not known, if there is a fault on the way.
    """

    output: Output
    arrivals: tuple[Arrival, ...]
    pieces: tuple[Piece, ...]
    splits: tuple[Series, ...]
    conductors: Mapping[int, tuple[str, str]]
    parent: Mapping[int, Piece]
    doubt: Doubt | None

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


@frozen(eq=False, repr=False)
class _State(Content):
    plus: str
    minus: str
    turns: tuple[Turn, ...]
    gain_db: float
    delay_s: float


@frozen(eq=False, repr=False)
class Joints(Value):
    """A wiring by its joints: the pieces that lead on from each, the series there, and what it goes into."""

    leaving: Mapping[int, list[Piece]]
    series: Mapping[int, list[Series]]
    sinks: Mapping[int, list[Sink]]

    @property
    def first(self) -> list[int]:
        """The joints that something leads on from and nothing leads to."""
        entered = {piece.b for pieces in self.leaving.values() for piece in pieces}
        entered.update(start for each in self.series.values() for series in each for start in series.branches)
        return sorted({*self.leaving, *self.series} - entered)


def by_joint(wiring: Wiring) -> Joints:
    """The wiring by its joints, in the order of the text."""
    leaving = gathered(wiring.pieces, lambda piece: piece.a)
    series = gathered(wiring.series, lambda each: each.joint)
    sinks = gathered(wiring.sinks.values(), lambda sink: sink.joint)
    return Joints(leaving, series, sinks)


def trace(wiring: Wiring) -> Trace:
    """Walk from every output along the pieces; linear in the size of the wiring.

    No two outputs come to one joint, because each is entered once: what is fed again ends beside it (`Wiring`).
    """
    joints = by_joint(wiring)
    runs = {key: _run(output, joints, wiring.doubts) for key, output in wiring.outputs.items()}
    arrivals = {arrival.sink.key: arrival for run in runs.values() for arrival in run.arrivals}
    reached = frozenset().union(*(run.conductors for run in runs.values()))
    return Trace(runs, arrivals, reached, frozenset(_behind(set(wiring.doubts), joints)))


def _run(output: Output, joints: Joints, doubts: Mapping[int, Doubt]) -> Run:
    first = _State(*terminals(output), (), 0.0, 0.0)
    open_joints: list[tuple[int, _State]] = [(output.joint, first)]
    found: list[Arrival] = []
    pieces: list[Piece] = []
    splits: list[Series] = []
    conductors: dict[int, tuple[str, str]] = {}
    parent: dict[int, Piece] = {}
    while open_joints:
        joint, state = open_joints.pop()
        if joint in conductors:
            continue
        conductors[joint] = (state.plus, state.minus)
        here = joints.sinks.get(joint, ())
        found += [Arrival(output, sink, state.turns, state.gain_db, state.delay_s) for sink in here]
        for piece in reversed(joints.leaving.get(joint, ())):
            if piece.b not in conductors:
                parent[piece.b] = piece
            pieces.append(piece)
            open_joints.append((piece.b, _after(piece, state)))
        for split in joints.series.get(joint, ()):
            splits.append(split)
            # One node between each two branches; a branch's own joint names it, so that no two can meet.
            nodes = [state.plus, *(f"{start}~" for start in split.branches[1:]), state.minus]
            for number, start in reversed(list(enumerate(split.branches))):
                between = _State(nodes[number], nodes[number + 1], state.turns, state.gain_db, state.delay_s)
                parent[start] = Piece("plug", joint, start, split.span)
                open_joints.append((start, between))
    doubt = next((doubts[joint] for joint in conductors if joint in doubts), None) if doubts else None
    return Run(output, tuple(found), tuple(pieces), tuple(splits), conductors, parent, doubt)


def terminals(output: Output) -> tuple[str, str]:
    """The nodes of an output: an amplifier's channels against common, a bridged pair between its two hot poles."""
    if output.carries != "power":
        return f"{output.key}+", f"{output.key}-"
    halves = output.halves
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
        case "plug":
            return state


def _behind(start: set[int], joints: Joints) -> set[int]:
    """All joints that can be reached from some."""
    reached: set[int] = set()
    todo = list(start)
    while todo:
        joint = todo.pop()
        if joint in reached:
            continue
        reached.add(joint)
        todo += [piece.b for piece in joints.leaving.get(joint, ())]
        for split in joints.series.get(joint, ()):
            todo += split.branches
    return reached
