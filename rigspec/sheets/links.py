"""The rig as the crew plugs it: every connection from socket to socket, with the leads and crossings on it."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.trace import by_joint
from rigspec.rig.model import Gear, Output, Piece, Sink
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class End(Value):
    """A socket, or the place where leads meet: ``gear`` is None for a junction and for an end that is left open."""

    text: str
    gear: Gear | None = None
    loose: bool = False

    @property
    def gear_word(self) -> str:
        return self.gear.word if self.gear is not None else ""


@frozen(eq=False, repr=False)
class SheetLink(Value):
    """One connection. ``carries`` is signal, power or mains, "" where nothing feeds it.

    ``items`` are what lies on it in the order of the signal: leads, crossings, pads, delays.
    """

    carries: str
    source: End
    target: End
    items: tuple[Piece, ...]

    @property
    def leads(self) -> tuple[Piece, ...]:
        return tuple(piece for piece in self.items if piece.what == "lead")

    @property
    def turns(self) -> int:
        """How often plus and minus are exchanged on it."""
        return sum(piece.what == "invert" or piece.inverted is not None for piece in self.items)


@frozen(eq=False, repr=False)
class Junction(Value):
    """A place without gear where leads meet. ``circuits`` are those in series there, with how many loops each has."""

    name: str
    circuits: tuple[int, ...]


@frozen(eq=False, repr=False)
class Plugging(Value):
    """All connections of a rig, in the order of its text, and the junctions on them."""

    links: tuple[SheetLink, ...]
    junctions: tuple[Junction, ...]


class _Walk:
    def __init__(self, figures: Figures) -> None:
        wiring = figures.rig.wiring
        self.joints = by_joint(wiring)
        self.seen: set[int] = set()
        self.links: list[SheetLink] = []
        self.junctions: list[Junction] = []
        outputs = sorted(wiring.outputs.values(), key=lambda output: ("signal", "power", "mains").index(output.carries))
        for output in outputs:
            self.walk(output.joint, End(_out(output), output.gear), output.carries)
        nothing = End("nothing feeds this", None, True)
        for joint in self.joints.first:
            self.walk(joint, nothing, "")
        for piece in wiring.pieces:  # what runs in a circle has no beginning
            self.walk(piece.a, nothing, "")

    def walk(self, joint: int, source: End, carries: str) -> None:
        todo: list[tuple[int, End, tuple[Piece, ...]]] = [(joint, source, ())]
        while todo:
            at, begun, items = todo.pop()
            if at not in self.seen:
                self.seen.add(at)
                todo += self._step(at, begun, items, carries)[::-1]

    def _step(
        self, joint: int, source: End, items: tuple[Piece, ...], carries: str
    ) -> list[tuple[int, End, tuple[Piece, ...]]]:
        """Emit what ends at a joint; what goes on from there."""
        sinks, onward = self.joints.sinks.get(joint, []), self.joints.leaving.get(joint, [])
        splits = self.joints.series.get(joint, [])
        box = next((sink for sink in sinks if sink.gear.word == "speaker" and sink.takes != "mains"), None)
        if box is not None:
            if not source.loose:
                self.links.append(SheetLink(carries, source, End(box.key, box.gear), items))
            source, items, sinks = End(f"{box.key} link", box.gear), (), []
        count = len(sinks) + len(onward) + len(splits)
        if splits or (items and count > 1):
            circuits = tuple(len(split.branches) for split in splits)
            junction = Junction(f"junction {len(self.junctions) + 1}", circuits)
            self.junctions.append(junction)
            self.links.append(SheetLink(carries, source, End(junction.name), items))
            source, items = End(junction.name), ()
        self.links += [SheetLink(carries, source, End(_in(sink), sink.gear), items) for sink in sinks]
        if items and not count and box is None:
            self.links.append(SheetLink(carries, source, End("left open", None, True), items))
        found: list[tuple[int, End, tuple[Piece, ...]]] = []
        for piece in onward:
            if piece.gear is not None and piece.gear.word == "panel":
                inside = ", CROSSED inside" if piece.what == "invert" else ""
                if not source.loose:
                    self.links.append(SheetLink(carries, source, End(f"{piece.name} in{inside}", piece.gear), items))
                found.append((piece.b, End(f"{piece.name} out", piece.gear), ()))
            else:
                found.append((piece.b, source, items if piece.what == "plug" else (*items, piece)))
        for circuit, split in enumerate(splits):
            name = f"{source.text}, circuit {chr(ord('A') + circuit % 26)}" if len(splits) > 1 else source.text
            for number, start in enumerate(split.branches, 1):
                found.append((start, End(f"{name}, loop {number} of {len(split.branches)}"), ()))
        return found


def _out(output: Output) -> str:
    match output.gear.word:
        case "feed" | "mix":
            return f"{output.gear.word} {output.key}"
        case "mains":
            return f"{output.key} outlet"
        case "amp" if output.bridged:
            return f"{output.key} out, between the hot poles"
    return f"{output.key} out"


def _in(sink: Sink) -> str:
    return sink.key if sink.takes == "mains" else f"{sink.key} in"


def plugging(figures: Figures) -> Plugging:
    """Follow every path from socket to socket; linear in the size of the wiring."""
    walk = _Walk(figures)
    return Plugging(tuple(walk.links), tuple(walk.junctions))
