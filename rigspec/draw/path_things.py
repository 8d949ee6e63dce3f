"""Gear as it stands on the signal path: its sockets in rows, what turns inside, loads and powers on request."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from attrs import evolve

from rigspec.draw.letters import shortened
from rigspec.draw.path_graph import Edge, Graph, PathItem, PathNode, PathRow, marked
from rigspec.draw.path_walk import Walk
from rigspec.figures import Figures
from rigspec.figures.channel import turned_inside
from rigspec.figures.signal import input_of
from rigspec.figures.trace import Turn
from rigspec.rig.model import Gear, Output, Sink, inversion
from rigspec.sheets.leads import texts
from rigspec.sheets.polarity import drivers_of
from rigspec.text.finding import Finding
from rigspec.text.units import show

LOADS, POWERS = "loads", "powers"
UNUSED = "not used"
SMALL, LONGEST = 9.0, 240.0  # px: of letters, and of a label that may be as long as its author likes
DRAWN = ("feed", "mix", "split", "processor", "amp", "panel", "speaker")


def port_of(key: str, gear: Gear) -> str:
    """The part of a socket's key behind the thing's name."""
    return key[len(gear.full) + 1 :] or "1"


def graph_of(figures: Figures, findings: Iterable[Finding], wanted: Collection[str] = ()) -> Graph:
    """The graph of a rig, with the findings marked; ``wanted`` may hold ``loads`` and ``powers``."""
    made = _Things(figures, frozenset(wanted))
    gears = {
        output.gear.full: output.gear for output in figures.rig.wiring.outputs.values() if output.gear.word == "mix"
    }
    gears |= {gear.full: gear for gear in figures.rig.gear.values() if gear.word in DRAWN}
    nodes = {full: made.node(gear) for full, gear in gears.items()}

    def inlet(sink: Sink) -> tuple[str, str]:
        port, node = port_of(sink.key, sink.gear), nodes[sink.gear.full]
        return node.key, next(row.key for row in node.rows if row.inlet and port in (row.key, row.key[3:], *_ends(row)))

    walk = Walk(figures, inlet, lambda output: (output.gear.full, port_of(output.key, output.gear)))
    edges = [*made.mixed(), *walk.edges]
    nodes |= walk.extra
    sockets = {(node.key, row.key) for node in nodes.values() for row in node.rows}
    edges = [edge for edge in edges if {edge.source, edge.target} <= sockets]
    _grouped(figures, nodes, edges)
    return marked(Graph(nodes, tuple(edges)), findings)


def _grouped(figures: Figures, nodes: dict[str, PathNode], edges: Iterable[Edge]) -> None:
    """Put things into racks, and into the places where the leads to them end."""
    racks = {part.name: f"rack {roster.name}" for roster in figures.rig.rosters_of("rack") for part in roster.parts}
    for edge in edges:
        places = [item.place for item in edge.items if item.text]
        node = nodes[edge.target[0]]
        if node.word in ("speaker", "panel") and not node.group:
            linked = nodes[edge.source[0]].group if node.word == nodes[edge.source[0]].word == "speaker" else ""
            nodes[node.key] = evolve(node, group=(places[-1] if places else "") or linked)
    for name, rack in racks.items():
        if name in nodes:
            nodes[name] = evolve(nodes[name], group=rack)


def _ends(row: PathRow) -> list[str]:
    """The channels of a bridged pair."""
    return row.key.split("+")


class _Things:
    def __init__(self, figures: Figures, wanted: frozenset[str]) -> None:
        self.figures = figures
        self.wanted = wanted
        self.outputs: dict[str, list[Output]] = {}
        self.sinks: dict[str, list[Sink]] = {}
        self.lines: dict[str, list[str]] = {}
        wiring = figures.rig.wiring
        outputs = dict(wiring.outputs)
        for made in wiring.outputs.values():
            if made.gear.word == "mix":  # what goes into mixes only is no output of the wiring
                outputs |= {each.key: each for each, _ in figures.signals.mixed(made.gear) if each.key not in outputs}
        for output in outputs.values():
            self.outputs.setdefault(output.gear.full, []).append(output)
        for sink in wiring.sinks.values():
            if sink.takes != "mains":
                self.sinks.setdefault(sink.gear.full, []).append(sink)
        for through in wiring.throughs.values():
            self.lines.setdefault(through.gear.full, []).append(through.port)

    def node(self, gear: Gear) -> PathNode:
        kind = [gear.kind.name] if gear.kind else []
        lines = [*kind, *(shortened(f"“{text}”", SMALL, LONGEST) for text in texts(gear, "label"))]
        rows: Iterable[PathRow]
        match gear.word:
            case "feed" | "mix":
                rows = [self._source(gear)]
            case "panel":
                rows = [self._line(gear, port) for port in sorted(self.lines.get(gear.full, []), key=_order)]
            case "speaker":
                rows = [self._way(gear, port) for port in self._ways(gear)]
            case "amp":
                rows = self._channels(gear)
            case _:
                rows = self._sides(gear)
        return PathNode(gear.full, gear.word, gear.full, tuple(lines), tuple(rows), (gear.full,), spans=(gear.span,))

    def mixed(self) -> Iterable[Edge]:
        """What goes into mixes, which the wiring does not hold."""
        for made in self.figures.rig.wiring.outputs.values():
            if made.gear.word == "mix":
                for output, gain_db in self.figures.signals.mixed(made.gear):
                    source = output.gear.full, port_of(output.key, output.gear)
                    yield Edge(source, (made.gear.full, "1"), (PathItem(show(gain_db, "gain")),) if gain_db else ())

    # ---- rows

    def _source(self, gear: Gear) -> PathRow:
        made = next(iter(self.outputs.get(gear.full, [])), Output(gear.full, gear, "", "signal", -1, gear.span))
        return PathRow("1", inlet=gear.word == "mix", outlet=True, turns=self._turns(made))

    def _line(self, gear: Gear, port: str) -> PathRow:
        through = self.figures.rig.wiring.throughs.get(f"{gear.full}.{port}")
        turn = inversion(gear.facts, port) or gear.ports.get(port, {}).get("inverted")
        name = through.key if through else gear.full
        turns = (Turn(turn.span, f"{name} is inverted inside"),) if turn else ()
        return PathRow(port, port, _label(gear, port), port, True, True, turns)

    def _ways(self, gear: Gear) -> list[str]:
        used = [port_of(sink.key, gear) for sink in self.sinks.get(gear.full, [])]
        ways = [way for way in gear.ways if way in used or not used]
        return [*ways, *(way for way in used if way not in ways)] or ["1"]  # faulty stock may lack a way that is used

    def _way(self, gear: Gear, port: str) -> PathRow:
        way = "" if port == "1" else port
        key = f"{gear.full}.{way}" if way else gear.full
        inside = turned_inside(gear, way)
        drivers = [(name, turn) for name, turn in drivers_of(gear, way) if turn is not None]
        said = [way] * bool(way) + [f"{name} inverted inside" for name, _ in drivers]
        watts: tuple[float, ...] = ()
        if POWERS in self.wanted and key in self.figures.boxes:
            watt = self.figures.boxes[key].rated_w
            said += ["power not known"] if watt is None else []
            watts = () if watt is None else (watt,)
        turns = (*inside, *(turn for _, turn in drivers))
        return PathRow(port, ", ".join(said), "", "", True, True, turns, (), self._against(key, len(inside)), watts)

    def _against(self, key: str, inside: int) -> str:
        arrival = self.figures.trace.arrivals.get(key)
        if arrival is None or arrival.output.carries == "mains":  # a fault has crossed the mains with the signal
            return ""
        own = len(arrival.turns) + inside
        odd = {part.feed: (len(part.turns) + own) % 2 for part in self.figures.signals.at_output(arrival.output)}
        against = [feed for feed, is_odd in odd.items() if is_odd]
        if not odd:
            return "INVERTED" if own % 2 else ""
        return "" if not against else "INVERTED" if len(against) == len(odd) else f"INVERTED: {', '.join(against)}"

    def _channels(self, gear: Gear) -> list[PathRow]:
        count = min(gear.count("channels", 2), 64)
        made = {port_of(output.key, gear): output for output in self.outputs.get(gear.full, [])}
        entered = {port_of(sink.key, gear) for sink in self.sinks.get(gear.full, [])}
        bridged = {half for port in made if "+" in port for half in port.split("+")}
        ports = {*made, *(str(n) for n in range(1, count + 1) if str(n) not in bridged or str(n) in made)}
        names = set(entered)
        rows: dict[str, PathRow] = {}
        for port in sorted(ports | entered, key=_order):
            output = made.get(port)
            if output is None:
                if port not in bridged or port not in names:
                    rows[port] = PathRow(port, port, _label(gear, port) or ("" if port in names else UNUSED), port)
                continue
            source = port_of(input_of(output), gear)
            names.discard(source if source == port.split("+")[0] else "")
            left = port if source in port.split("+") else f"{port} from {source}"
            said = [_label(gear, port), *self._shown(output)]
            rows[port] = PathRow(
                port, left, ", ".join(each for each in said if each), port, False, True, self._turns(output)
            )
        return self._entered(gear, rows, entered)

    def _entered(self, gear: Gear, rows: dict[str, PathRow], entered: Collection[str]) -> list[PathRow]:
        """The rows with their inlets; a bridged pair is entered at its first channel."""
        for port in sorted(entered, key=_order):
            at = next((each for each in rows if port in each.split("+") or port == each), None)
            key = port if port in rows else at or port
            row = rows.get(key, PathRow(key, key))
            rows[key] = evolve(row, inlet=True)
        return _shortened([rows[port] for port in sorted(rows, key=_order)])

    def _shown(self, output: Output) -> Iterable[str]:
        channel = self.figures.channels.get(output.key)
        if LOADS in self.wanted:
            if channel is not None:
                yield show(channel.load_ohm, "resistance")
            elif output.key in self.figures.unknown:
                yield "load not known"
        if POWERS in self.wanted and channel is not None:
            yield "power not known" if channel.rated_w is None else show(channel.rated_w, "power")

    def _sides(self, gear: Gear) -> list[PathRow]:
        """Inputs and outputs that have nothing to do with each other by their place: each side in its own order."""
        inlets = [port_of(sink.key, gear) for sink in self.sinks.get(gear.full, [])]
        rows = [
            PathRow(f"in {port}", "in" if gear.word == "split" else port, inlet=True)
            for port in sorted(inlets, key=_order)
        ]
        for output in sorted(self.outputs.get(gear.full, []), key=lambda each: _order(each.port)):
            port = port_of(output.key, gear)
            taken = [port_of(key, gear) for key, _ in self.figures.signals.inputs(output)]
            of = " + ".join(taken) if gear.word == "processor" else ""
            words = [_label(gear, port), f"{of} → {port}" if of else port]
            rows.append(
                PathRow(port, right="  ".join(each for each in words if each), outlet=True, turns=self._turns(output))
            )
        return rows

    def _turns(self, output: Output) -> tuple[Turn, ...]:
        """The turns that a thing makes itself between its inputs and an output."""
        signals, gear = self.figures.signals, output.gear
        parts = signals.at_output(output)
        if gear.word == "mix":
            arriving = [part for each, _ in signals.mixed(gear) for part in signals.at_output(each)]
        else:
            arriving = [part for key, _ in signals.inputs(output) for part in signals.at_sink(key)]
        before = {turn for part in arriving for turn in part.turns}
        if parts:
            return tuple(dict.fromkeys(turn for part in parts for turn in part.turns if turn not in before))
        given = [inversion(gear.facts, output.port), gear.ports.get(output.port, {}).get("inverted")]
        return tuple(Turn(each.span, f"{output.key} is inverted") for each in given if each is not None)


def _shortened(rows: Iterable[PathRow]) -> list[PathRow]:
    """Channels beside each other that are not used as one row."""
    found: list[PathRow] = []
    for row in rows:
        if found and row.middle == found[-1].middle == UNUSED and not row.inlet:
            name = f"{found[-1].left.partition('..')[0]}..{row.left}"
            found[-1] = evolve(found[-1], key=name, left=name, right="")
        else:
            found.append(evolve(row, right="") if row.middle == UNUSED else row)
    return found


def _label(gear: Gear, port: str) -> str:
    given = gear.ports.get(port, {}).get("label")
    texts = [text for each in given.entries for text in each.texts] if given else []
    return shortened(" ".join(f"“{text}”" for text in texts), SMALL, LONGEST)


def _order(port: str) -> tuple[int, str]:
    first = port.partition("+")[0]
    return (int(first), port) if first.isdecimal() else (-1, port)
