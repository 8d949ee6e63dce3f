"""One output with all that hangs on it as elements of a SPICE netlist, under names that no rig can break.

Nodes and elements are called by number, so that no two meet and none is taken for something else, whatever the rig
calls its things; comments say which is which.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from math import isfinite, pi

from attrs import define, field, frozen

from rigspec.figures import ChannelFigures, LeadFigures
from rigspec.figures.load import Box
from rigspec.figures.trace import Run
from rigspec.rig.model import Piece
from rigspec.show.cells import prose
from rigspec.show.tables.leads import lead_name
from rigspec.solve.impedance import Driver
from rigspec.text.value import Value

LONGEST_NAME = 24  # characters of a rig's own name that become part of one in the netlist
TIE_OHM = 1e9
_other = re.compile(r"[^a-z0-9]+")


def plain(text: str) -> str:
    """Words of a rig on one line, in ASCII: what no comment of a netlist can be ended or misread by."""
    return prose(text).encode("ascii", "backslashreplace").decode("ascii")


def legal(stem: str, number: int, name: str) -> str:
    """A name for SPICE: unique by its stem and number, with as much of the rig's own as is legal there."""
    own = _other.sub("_", name.lower()).strip("_")[:LONGEST_NAME].strip("_")
    return f"{stem}_{number}_{own}" if own else f"{stem}_{number}"


@frozen(eq=False, repr=False)
class PlacedElement(Value):
    """A lead or a loudspeaker by its number in the netlist, with the pairs of nodes at its ends.

    ``near`` and ``far`` are plus and minus; of a loudspeaker ``near`` is its plus and its minus terminal, a turn inside
    it taken into account, and ``far`` the same.
    """

    number: int
    near: tuple[str, str]
    far: tuple[str, str]


@define
class Circuit:
    """The elements of one output. ``mark`` begins the names of all its nodes.

    With ``ampere`` a current stands in place of the voltage, so that the voltage across the output is what it sees.
    """

    channel: ChannelFigures
    run: Run
    number: int
    mark: str
    lines: list[str] = field(factory=list)
    leads: list[tuple[LeadFigures, PlacedElement]] = field(factory=list)
    boxes: list[tuple[Box, PlacedElement]] = field(factory=list)
    _nodes: dict[str, str] = field(factory=dict)
    _ends: list[tuple[str, str]] = field(factory=list)
    _inner: int = 0

    @property
    def poles(self) -> tuple[str, str]:
        """The nodes of the output's two poles."""
        return self._pair(self.run.conductors[self.run.output.joint])

    def _pair(self, conductors: tuple[str, str]) -> tuple[str, str]:
        return self._node(conductors[0]), self._node(conductors[1])

    def _node(self, conductor: str) -> str:
        return "0" if conductor == "0" else self._nodes.setdefault(conductor, f"{self.mark}_{len(self._nodes) + 1}")

    def _within(self) -> str:
        self._inner += 1
        return f"{self.mark}x{self._inner}"

    def element(self, name: str, a: str, b: str, value: str) -> None:
        self._ends.append((a, b))
        self.lines.append(f"{name} {a} {b} {value}")

    def say(self, text: str) -> None:
        self.lines.append(f"* {plain(text)}")

    # ---- what is in it

    def voltage(self, kind: str, volt: float) -> None:
        """The output as a source: ``kind`` is dc or ac. A bridged pair is two, one for each hot pole over common."""
        hot, cold = self.poles
        name = f"Vout{self.mark}"
        rest = "" if kind == "dc" else "dc 0 "
        if cold == "0":
            self.element(name, hot, "0", f"{rest}{kind} {volt!r}")
            return
        self.element(name, hot, "0", f"{rest}{kind} {volt / 2!r}")
        self.element(f"{name}b", "0", cold, f"{rest}{kind} {volt / 2!r}")

    def current(self) -> None:
        """One ampere through the output, in place of its voltage."""
        hot, cold = self.poles
        self.element(f"Iout{self.mark}", cold, hot, "dc 0 ac 1")
        if cold != "0":
            self.element(f"Vout{self.mark}b", cold, "0", "dc 0")

    def add_leads(self, first: int, told: bool) -> None:
        """Every lead with both its conductors, and a source of no volts that measures its current."""
        figures = {lead.piece: lead for lead in self.channel.leads}
        for number, lead in enumerate(figures.values(), first):
            piece, ohm = lead.piece, lead.loop_ohm / 2
            near = self._pair(self.run.conductors[piece.a])
            far = self._node(f"{piece.b}+"), self._node(f"{piece.b}-")
            if told:
                self.say(_about_lead(number, lead))
            meter = f"Vlead{number}{self.mark}"
            if ohm:
                inside = self._within()
                self.element(meter, near[0], inside, "dc 0")
                self.element(f"Rlead{number}{self.mark}go", inside, far[0], repr(ohm))
                self.element(f"Rlead{number}{self.mark}back", far[1], near[1], repr(ohm))
            else:
                self.element(meter, near[0], far[0], "dc 0")
                self.element(f"Vlead{number}{self.mark}back", far[1], near[1], "dc 0")
            self.leads.append((lead, PlacedElement(number, near, self._pair(self.run.conductors[piece.b]))))

    def add_boxes(self, first: int, ohms: Sequence[float | Driver], told: bool) -> None:
        """Every loudspeaker as its rated impedance, or as the circuit of its driver."""
        for number, (box, law) in enumerate(zip(self.channel.boxes, ohms, strict=True), first):
            plus, minus = self._pair(self.run.conductors[box.box.arrival.sink.joint])
            inside = len(box.own_turns) - len(box.box.arrival.turns)
            if inside % 2:
                plus, minus = minus, plus
            if told:
                turns = [f"{turn.text} ({turn.span.path} line {turn.span.line})" for turn in box.own_turns]
                turned = f"; inverted or crossed by: {'; '.join(turns)}" if turns else ""
                self.say(f"loudspeaker {number}: {box.key}, plus {plus}, minus {minus}{turned}")
            name = f"box{number}{self.mark}"
            if isinstance(law, Driver):
                self._driver(name, plus, minus, law)
            else:
                self.element(f"R{name}", plus, minus, repr(law))
            self.boxes.append((box.box, PlacedElement(number, (plus, minus), (plus, minus))))

    def _driver(self, name: str, plus: str, minus: str, driver: Driver) -> None:
        """Coil, then motion: resistance, inductance and capacitance side by side, with the vent beside them."""
        motion = self._within()
        coil = motion
        if driver.coil_henry:
            coil = self._within()
            self.element(f"L{name}coil", coil, motion, repr(driver.coil_henry))
        self.element(f"R{name}coil", plus, coil, repr(driver.coil_ohm))
        turning = 2 * pi * driver.resonance_hz
        ohm = driver.motion_ohm
        self.element(f"R{name}loss", motion, minus, repr(ohm))
        self.element(f"C{name}mass", motion, minus, repr(driver.mechanical_q / (turning * ohm)))
        self.element(f"L{name}give", motion, minus, repr(ohm / (turning * driver.mechanical_q)))
        if driver.vent_hz is None:
            return
        henry = driver.coil_ohm / (turning * driver.electrical_q * driver.compliance_ratio)
        tuning = 2 * pi * driver.vent_hz
        air, mouth = self._within(), minus
        self.element(f"L{name}air", motion, air, repr(henry))
        if isfinite(driver.box_q):
            mouth = self._within()
            self.element(f"R{name}leak", mouth, minus, repr(tuning * henry / driver.box_q))
        self.element(f"C{name}vent", air, mouth, repr(1 / (tuning * tuning * henry)))

    def tie(self) -> None:
        """Tie what hangs in the air to common, so that its voltages are determined: nothing flows there."""
        for number, node in enumerate(_loose(self._ends), 1):
            self.say("nothing closes a circuit here: tied to common, so that its voltages are determined")
            self.element(f"Rtie{number}{self.mark}", node, "0", repr(TIE_OHM))


def _loose(ends: Iterable[tuple[str, str]]) -> Iterator[str]:
    """One node of each part that no element joins to the common node."""
    beside: dict[str, list[str]] = {}
    for a, b in ends:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    seen: set[str] = set()
    for start in ("0", *beside):
        if start in seen:
            continue
        if start != "0":
            yield start
        todo = [start]
        while todo:
            node = todo.pop()
            if node not in seen:
                seen.add(node)
                todo += beside.get(node, ())


def _about_lead(number: int, lead: LeadFigures) -> str:
    piece = lead.piece
    turned = "" if piece.inverted is None else "; plus and minus exchanged at its far end"
    return f"lead {number}: {lead_name(lead)}, {_place(piece)}{turned}"


def _place(piece: Piece) -> str:
    return f"{piece.span.path} line {piece.span.line}"


def laws_of(drivers: Mapping[str, Driver], channel: ChannelFigures) -> list[float | Driver]:
    """What each loudspeaker of an output is taken as: its driver where that is given, else its rated impedance."""
    return [drivers.get(box.key, box.box.ohm()) for box in channel.boxes]
