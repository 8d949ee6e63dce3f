"""From the wiring to connections from socket to socket; what a fault leaves hanging gets an end of its own."""

from __future__ import annotations

from collections.abc import Callable

from rigspec.draw.path_graph import Edge, PathItem, PathNode, PathRow
from rigspec.figures import Figures
from rigspec.figures.trace import Turn, by_joint
from rigspec.rig.model import LeadSpec, Output, Piece, Sink
from rigspec.sheets.leads import texts

Socket = tuple[str, str]


def lead_text(piece: Piece) -> str:
    """A lead in words: its name where it has one, its size and its length as they are written."""
    name = "" if piece.name.startswith("link to ") else piece.name
    return " ".join(each for each in (name, _size(piece.spec)) if each)


def _size(spec: LeadSpec | None) -> str:
    if spec is None:
        return "size not said"
    size = spec.area_mm2 or spec.awg
    words = [size.text if size else "size not said"]
    words += [word for word, is_so in (("solid", spec.solid), ("tinned", spec.tinned)) if is_so]
    words.append(spec.length.text if spec.length else "length not said")
    return " ".join(" ".join(words).split())


def item_of(piece: Piece) -> PathItem:
    """A piece of the wiring as it is drawn."""
    match piece.what:
        case "lead":
            turn = None
            if piece.inverted is not None:
                turn = Turn(piece.inverted, f"{piece.name or 'this lead'} is made inverted")
            ends = texts(piece.gear, "ends")
            return PathItem(lead_text(piece), piece.span, turn, place=ends[1] if len(ends) > 1 else "")
        case "invert":
            return PathItem("", piece.span, Turn(piece.span, "the two conductors are crossed"))
    return PathItem(" ".join(piece.span.text.split()), piece.span)


class Walk:
    """Follows every path but those of the mains; ``edges`` and the nodes of joints without gear are what it finds."""

    def __init__(self, figures: Figures, inlet: Callable[[Sink], Socket], outlet: Callable[[Output], Socket]) -> None:
        wiring = figures.rig.wiring
        self.inlet = inlet
        self.doubts = wiring.doubts
        self.edges: list[Edge] = []
        self.extra: dict[str, PathNode] = {}
        self.joints = by_joint(wiring)
        self.seen: set[int] = set()
        self.power = False
        # What is fed several times is wired once; the other arrivals end at joints of their own.
        self.further = {
            way.joint: wiring.sinks[key]
            for key, ways in wiring.arrivals.items()
            if key in wiring.sinks and wiring.sinks[key].takes != "mains"
            for way in ways[1:]
        }
        for output in wiring.outputs.values():
            if output.carries != "mains":
                self.power = output.carries == "power"
                self._from(output.joint, outlet(output))
            else:
                self._skip(output.joint)
        self.power = False
        for joint in [*self.joints.first, *(piece.a for piece in wiring.pieces)]:
            if joint not in self.seen:
                self._from(joint, None)

    def _skip(self, joint: int) -> None:
        todo = [joint]
        while todo:
            at = todo.pop()
            if at not in self.seen:
                self.seen.add(at)
                todo += [piece.b for piece in self.joints.leaving.get(at, ())]

    def _from(self, joint: int, source: Socket | None) -> None:
        todo: list[tuple[int, Socket | None, tuple[PathItem, ...]]] = [(joint, source, ())]
        while todo:
            at, begun, items = todo.pop()
            if at not in self.seen:
                self.seen.add(at)
                todo += self._step(at, begun, items)[::-1]

    def _edge(self, source: Socket | None, target: Socket, items: tuple[PathItem, ...]) -> None:
        if source is None:
            if not items:
                return
            source = self._bare("loose", "fed by nothing", (PathRow("1", outlet=True),))
        self.edges.append(Edge(source, target, items, self.power))

    def _bare(self, word: str, title: str, rows: tuple[PathRow, ...]) -> Socket:
        key = f"{word} {len(self.extra) + 1}"
        self.extra[key] = PathNode(key, word, title, (), rows, ())
        return key, rows[0].key

    def _step(
        self, joint: int, source: Socket | None, items: tuple[PathItem, ...]
    ) -> list[tuple[int, Socket | None, tuple[PathItem, ...]]]:
        sinks = [sink for sink in self.joints.sinks.get(joint, []) if sink.takes != "mains"]
        onward, splits = self.joints.leaving.get(joint, []), self.joints.series.get(joint, [])
        boxes = [sink for sink in sinks if sink.gear.word == "speaker"]
        if boxes:
            self._edge(source, self.inlet(boxes[0]), items)
            source, items, sinks = self.inlet(boxes[0]), (), []
        if splits:
            loops = [
                (f"{chr(ord('A') + at % 26)}, loop {number}" if len(splits) > 1 else f"loop {number}", start)
                for at, split in enumerate(splits)
                for number, start in enumerate(split.branches, 1)
            ]
            rows = [PathRow(name, inlet=not at, right=name, outlet=True) for at, (name, _) in enumerate(loops)]
            beside = len(sinks) + len(onward)
            if beside:
                rows.append(PathRow("beside", right="beside", outlet=True))
            key, _ = self._bare("series", "in series", tuple(rows))
            self._edge(source, (key, rows[0].key), items)
            found: list[tuple[int, Socket | None, tuple[PathItem, ...]]] = [(to, (key, name), ()) for name, to in loops]
            return found + (self._onward((key, "beside"), (), sinks, onward) if beside else [])
        count = len(sinks) + len(onward)
        if items and count > 1:
            meeting = self._bare("joint", "", (PathRow("1", inlet=True, outlet=True),))
            self._edge(source, meeting, items)
            source, items = meeting, ()
        if not count and not boxes and joint in self.further:
            self._edge(source, self.inlet(self.further[joint]), items)
        elif items and not count:
            self._edge(source, self._bare("open", "left open", (PathRow("1", inlet=True),)), items)
        return self._onward(source, items, sinks, onward)

    def _onward(
        self, source: Socket | None, items: tuple[PathItem, ...], sinks: list[Sink], onward: list[Piece]
    ) -> list[tuple[int, Socket | None, tuple[PathItem, ...]]]:
        for sink in sinks:
            self._edge(source, self.inlet(sink), items)
        found: list[tuple[int, Socket | None, tuple[PathItem, ...]]] = []
        for piece in onward:
            if piece.gear is not None and piece.gear.word == "panel":
                row = piece.gear.full, piece.name[len(piece.gear.full) + 1 :] or "1"
                self._edge(source, row, items)
                found.append((piece.b, row, ()))
            elif piece.what == "plug":
                unread = piece.span.text.startswith("lead") and piece.b in self.doubts
                found.append((piece.b, source, (*items, PathItem("not read", piece.span)) if unread else items))
            else:
                found.append((piece.b, source, (*items, item_of(piece))))
        return found
