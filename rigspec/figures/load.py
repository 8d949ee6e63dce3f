"""The loudspeaker side of one output as an electrical network, solved at one volt."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from functools import lru_cache

from attrs import frozen

from rigspec.figures.trace import Arrival, Run
from rigspec.rig.model import Gear, LeadSpec, Measure, Piece, entries, one
from rigspec.solve.conductor import ConductorResistance, conductor_ohm_per_m
from rigspec.solve.decibel import ratio_to_gain
from rigspec.solve.impedance import LEAST_OF_RATED
from rigspec.solve.line import exact_volt
from rigspec.solve.network import CircuitSource, Element, UnsolvableNetwork, solve
from rigspec.text.source import Span
from rigspec.text.value import Content, Value

COPPER_C = 20.0
"""The temperature of leads where the rig says nothing of its air."""


@frozen(eq=False, repr=False)
class Corner(Content):
    """Which end is taken of every figure that is given as a range or with a tolerance.

    ``copper``: -1 the shortest and thickest leads, 1 the longest and thinnest, 0 the middle. ``impedance``: -1 the
    lowest, 1 the highest impedance of every loudspeaker, 0 as given. ``only``: nothing but the figure that stands at
    this place is moved, to see what it alone decides. ``copper_c`` is the temperature of the leads.
    """

    copper: int = 0
    impedance: int = 0
    only: Span | None = None
    copper_c: float = COPPER_C

    def of(self, measure: Measure, end: int) -> float:
        """The figure, or its low (-1) or high (1) end where this case moves it."""
        if end == 0 or (self.only is not None and measure.span != self.only):
            return measure.value
        return measure.low if end < 0 else measure.high


TYPICAL = Corner()


@frozen(eq=False, repr=False)
class Box(Value):
    """A loudspeaker, or one way of one, as a load."""

    key: str
    gear: Gear
    way: str
    arrival: Arrival
    impedance_ohm: float | None
    impedance: Measure | None  # where it was said: the impedance, or the tap
    tapped: bool
    unknown: str = ""
    least: Measure | None = None  # where the stock says how low its impedance falls

    def least_ohm(self, case: Corner = TYPICAL) -> float:
        """How low its impedance falls over frequency: as its data sheet says, else to 80 % of the rated one."""
        return LEAST_OF_RATED * self.ohm(case) if self.least is None else case.of(self.least, case.impedance)

    def ohm(self, case: Corner = TYPICAL) -> float:
        """The rated impedance, with the end of its tolerance that the case takes; a tap's tolerance is of its power."""
        assert self.impedance_ohm is not None
        if self.impedance is None or not case.impedance or self.impedance.low == self.impedance.high:
            return self.impedance_ohm
        end = -case.impedance if self.tapped else case.impedance
        share = case.of(self.impedance, end) / self.impedance.value
        return self.impedance_ohm / share if self.tapped else self.impedance_ohm * share


@frozen(eq=False, repr=False)
class NetworkFigures(Value):
    """One output's network at 1 V across its terminals.

    ``load_ohm`` is what the output sees, ``box_volt`` the voltage at each box, ``lead_ohm`` each lead's resistance
    there and back, ``lead_ampere`` its current and ``lead_loss_db`` the level between its two ends.
    """

    load_ohm: float
    box_volt: Mapping[str, float]
    lead_ohm: Mapping[Piece, float]
    lead_ampere: Mapping[Piece, float]
    lead_loss_db: Mapping[Piece, float]
    assumes: tuple[str, ...]


def box_of(arrival: Arrival, line_volt: float | None) -> Box:
    """The load that a loudspeaker puts on a line: its impedance, or the power its transformer is set to."""
    sink = arrival.sink
    gear, way = sink.gear, sink.port
    facts = gear.way(way) if way else gear.facts
    tap = gear.measure("tap", "power")
    if tap is not None:
        made_for = tap_volt(gear)
        volt = exact_volt(made_for.value) if made_for else line_volt
        if volt is None:
            return Box(sink.key, gear, way, arrival, None, tap, True, f"the line voltage of {gear.full} is not given")
        if tap.value <= 0:
            return Box(sink.key, gear, way, arrival, None, tap, True, f"the tap of {gear.full} is no power")
        return Box(sink.key, gear, way, arrival, volt * volt / tap.value, tap, True)
    impedance = one(facts, "impedance", "resistance")
    if impedance is None and gear.says("taps"):
        return Box(sink.key, gear, way, arrival, None, None, True, f"no tap of {gear.full} is set")
    if impedance is None:
        return Box(sink.key, gear, way, arrival, None, None, False, f"the impedance of {sink.key} is not given")
    if impedance.value <= 0:
        return Box(sink.key, gear, way, arrival, None, impedance, False, f"the impedance of {sink.key} is no load")
    least = next((each.get("resistance") for each in entries(facts, "impedance") if "least" in each.words), None)
    return Box(sink.key, gear, way, arrival, impedance.value, impedance, False, least=least)


def tap_volt(gear: Gear) -> Measure | None:
    """The line voltage that a box's taps are said for."""
    return next((m for each in entries(gear.facts, "taps") if (m := each.get("voltage"))), None)


@lru_cache(maxsize=512)
def _per_m(
    area_mm2: float | None, awg: float | None, solid: bool, tinned: bool, copper_c: float
) -> ConductorResistance:
    return conductor_ohm_per_m(area_mm2=area_mm2, awg=awg, solid=solid, tinned=tinned, temperature_c=copper_c)


def conductor_ohm(spec: LeadSpec, case: Corner = TYPICAL) -> float:
    """One conductor of a lead from end to end, with the ends of ranges and the warmth that the case takes."""
    assert spec.length is not None  # the binder lets no lead without a length through
    return conductor(spec, case).ohm_per_m * case.of(spec.length, case.copper)


def loop_ohm(spec: LeadSpec, case: Corner = TYPICAL) -> float:
    """A lead there and back."""
    return 2 * conductor_ohm(spec, case)


def conductor(spec: LeadSpec, case: Corner = TYPICAL) -> ConductorResistance:
    """What each metre of one conductor has; of a range of sizes the middle, unless the case takes an end."""
    thin, thick = _size(spec, case, 1), _size(spec, case, -1)
    if thin is thick:
        return thin
    assumes = tuple(dict.fromkeys(thin.assumes + thick.assumes))
    return ConductorResistance((thin.ohm_per_m + thick.ohm_per_m) / 2, thin.source, assumes)


def _size(spec: LeadSpec, case: Corner, end: int) -> ConductorResistance:
    """The resistance of a size that is given as a range, at its thinner (1) or thicker (-1) end or both in the middle.

    The middle of two sizes is the middle of their resistances, which is what a lead is judged by.
    """
    size = spec.area_mm2 or spec.awg
    assert size is not None  # the binder lets no lead without a size through
    moved = case.only is None or case.only == size.span
    towards = case.copper if case.copper and moved else end
    if spec.area_mm2 is not None:
        value, awg = (size.low if towards > 0 else size.high), None
        return _per_m(value, awg, spec.solid, spec.tinned, case.copper_c)
    return _per_m(None, size.high if towards > 0 else size.low, spec.solid, spec.tinned, case.copper_c)


def solve_run(
    run: Run, boxes: Sequence[Box], case: Corner = TYPICAL, *, copper: bool = True, at_least: bool = False
) -> NetworkFigures | None:
    """The network of one run at one volt; None where nothing loads it or it cannot be solved.

    ``at_least`` takes every loudspeaker where its impedance is least.
    """
    nodes: dict[str, int] = {}
    elements: list[tuple[int, int, float]] = []
    leads: list[tuple[Piece, float]] = []
    assumes: dict[str, None] = {}

    def node(name: str) -> int:
        return nodes.setdefault(name, len(nodes))

    for piece in run.pieces:
        if piece.what != "lead" or piece.spec is None or piece.a not in run.conductors:
            continue
        ohm = conductor_ohm(piece.spec, case) if copper else 0.0
        assumes.update(dict.fromkeys(conductor(piece.spec, case).assumes))
        plus, minus = run.conductors[piece.a]
        elements.append((node(plus), node(f"{piece.b}+"), ohm))
        elements.append((node(minus), node(f"{piece.b}-"), ohm))
        leads.append((piece, 2 * ohm))
    for box in boxes:
        plus, minus = run.conductors[box.arrival.sink.joint]
        elements.append((node(plus), node(minus), box.least_ohm(case) if at_least else box.ohm(case)))
    plus, minus = run.conductors[run.output.joint]
    solved = _solved(tuple(elements), node(plus), node(minus))
    if solved is None:
        return None
    seen_ohm, node_volt, element_volt, element_ampere = solved

    def volt(joint: int) -> float:
        plus, minus = run.conductors[joint]
        return abs(node_volt[nodes[plus]] - node_volt[nodes[minus]])

    first_box = 2 * len(leads)
    return NetworkFigures(
        seen_ohm,
        {box.key: element_volt[first_box + number] for number, box in enumerate(boxes)},
        dict(leads),
        {piece: element_ampere[2 * number] for number, (piece, _) in enumerate(leads)},
        {piece: _loss_db([volt(piece.a), volt(piece.b)]) for piece, _ in leads},
        tuple(assumes),
    )


@lru_cache(maxsize=4096)
def _solved(
    elements: tuple[tuple[int, int, float], ...], plus: int, minus: int
) -> tuple[float, tuple[complex, ...], tuple[float, ...], tuple[float, ...]] | None:
    """A network of numbered nodes at one volt: what is seen, the volts of nodes, volts and amperes of elements.

    Channels that are built alike, and those that an edit leaves alone, are solved once. None where nothing answers.
    """
    network = [Element(f"{number:06}", f"{a}", f"{b}", ohm) for number, (a, b, ohm) in enumerate(elements)]
    try:
        solution = solve(network, [CircuitSource("emf", f"{plus}", f"{minus}", 1.0, 0.0)], f"{minus}")
    except UnsolvableNetwork:
        return None
    seen = solution.sources["emf"].seen_ohm
    if seen is None:
        return None
    states = [solution.elements[element.name] for element in network]
    return (
        abs(seen),
        tuple(solution.voltage_volt[f"{number}"] for number in range(len(solution.voltage_volt))),
        tuple(abs(state.voltage_volt) for state in states),
        tuple(abs(state.current_ampere) for state in states),
    )


def before_ohm(run: Run, box: Box, solved: NetworkFigures, source_ohm: float) -> float | None:
    """What a loudspeaker sees when it looks back: the amplifier's output and the copper on its way, in ohms.

    Other boxes on the same leads are left out, as in the usual reckoning of a damping factor; None where a box hangs
    in series with others, which damp it by their own impedance.
    """
    if run.splits:
        return None
    return source_ohm + sum(solved.lead_ohm.get(piece, 0.0) for piece in run.leads_to(box.arrival.sink.joint))


def _loss_db(volts: Sequence[float]) -> float:
    """The level lost between two pairs of nodes; 0 where nothing is left to lose."""
    return max(ratio_to_gain(volts[0] / volts[1]), 0.0) if min(volts) > 0 else 0.0
