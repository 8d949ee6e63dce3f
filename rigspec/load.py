"""The loudspeaker side of one output as an electrical network, solved at one volt."""

from __future__ import annotations

from collections.abc import Mapping
from functools import lru_cache

from attrs import frozen

from rigspec.rig import Gear, LeadSpec, Measure, Piece, one
from rigspec.solve.conductor import ConductorResistance, conductor_ohm_per_m
from rigspec.solve.decibel import ratio_to_gain
from rigspec.solve.network import Element, Solution, Source, UnsolvableNetwork, solve
from rigspec.trace import Arrival, Run
from rigspec.value import Value

COPPER_C = 20.0
TYPICAL, SHORTEST, LONGEST = "typical", "shortest", "longest"


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
        volt = made_for.value if made_for else line_volt
        if volt is None:
            return Box(sink.key, gear, way, arrival, None, tap, True, f"the line voltage of {gear.full} is not given")
        if tap.value <= 0:
            return Box(sink.key, gear, way, arrival, None, tap, True, f"the tap of {gear.full} is no power")
        return Box(sink.key, gear, way, arrival, volt * volt / tap.value, tap, True)
    impedance = one(facts, "impedance", "resistance")
    if impedance is None and "taps" in gear.facts:
        return Box(sink.key, gear, way, arrival, None, None, True, f"no tap of {gear.full} is set")
    if impedance is None:
        return Box(sink.key, gear, way, arrival, None, None, False, f"the impedance of {sink.key} is not given")
    if impedance.value <= 0:
        return Box(sink.key, gear, way, arrival, None, impedance, False, f"the impedance of {sink.key} is no load")
    return Box(sink.key, gear, way, arrival, impedance.value, impedance, False)


def tap_volt(gear: Gear) -> Measure | None:
    """The line voltage that a box's taps are said for."""
    taps = gear.facts.get("taps")
    return next((m for each in taps.entries if (m := each.get("voltage"))), None) if taps else None


@lru_cache(maxsize=512)
def _per_m(area_mm2: float | None, awg: float | None, solid: bool, tinned: bool) -> ConductorResistance:
    return conductor_ohm_per_m(area_mm2=area_mm2, awg=awg, solid=solid, tinned=tinned, temperature_c=COPPER_C)


def lead_conductor(spec: LeadSpec, case: str = TYPICAL) -> tuple[float, float, tuple[str, ...]]:
    """Ohms of one conductor, its metres, and what was assumed. ``case`` picks an end of what is given as a range."""
    assert spec.length is not None  # the binder lets no lead without a length through
    length_m = {TYPICAL: spec.length.value, SHORTEST: spec.length.low, LONGEST: spec.length.high}[case]
    area, awg = spec.area_mm2, spec.awg
    low, high = (area.low, area.high) if area is not None else (awg.high, awg.low) if awg is not None else (1.0, 1.0)
    thin, thick = (
        _per_m(size if area else None, None if area else size, spec.solid, spec.tinned) for size in (low, high)
    )
    assumes = tuple(dict.fromkeys(thin.assumes + thick.assumes))
    per_m = {
        TYPICAL: (thin.ohm_per_m + thick.ohm_per_m) / 2,
        SHORTEST: thick.ohm_per_m,
        LONGEST: thin.ohm_per_m,
    }[case]
    return per_m * length_m, length_m, assumes


def solve_run(
    run: Run, boxes: list[Box], case: str = TYPICAL, *, copper: bool = True, share_of_rated: float = 1.0
) -> NetworkFigures | None:
    """The network of one run at one volt; None where nothing loads it or it cannot be solved.

    ``share_of_rated`` scales every loudspeaker's impedance, for the least that a rated impedance may hide.
    """
    elements: list[Element] = []
    leads: list[tuple[Piece, float]] = []
    assumes: dict[str, None] = {}
    for piece in run.pieces:
        if piece.what != "lead" or piece.spec is None or piece.a not in run.conductors:
            continue
        ohm, _, assumed = lead_conductor(piece.spec, case)
        assumes.update(dict.fromkeys(assumed))
        ohm = ohm if copper else 0.0
        plus, minus = run.conductors[piece.a]
        elements.append(Element(f"{piece.b}+", plus, f"{piece.b}+", ohm))
        elements.append(Element(f"{piece.b}-", minus, f"{piece.b}-", ohm))
        leads.append((piece, 2 * ohm))
    for box in boxes:
        assert box.impedance_ohm is not None
        plus, minus = run.conductors[box.arrival.sink.joint]
        elements.append(Element(f"box {box.key}", plus, minus, box.impedance_ohm * share_of_rated))
    plus, minus = run.conductors[run.output.joint]
    try:
        solution = solve(elements, [Source("emf", plus, minus, 1.0, 0.0)], minus)
    except UnsolvableNetwork:
        return None
    seen = solution.sources["emf"].seen_ohm
    if seen is None:
        return None
    return NetworkFigures(
        abs(seen),
        {box.key: abs(solution.elements[f"box {box.key}"].voltage_volt) for box in boxes},
        dict(leads),
        {piece: abs(solution.elements[f"{piece.b}+"].current_ampere) for piece, _ in leads},
        {piece: _loss_db(solution, run.conductors[piece.a], run.conductors[piece.b]) for piece, _ in leads},
        tuple(assumes),
    )


def _loss_db(solution: Solution, near: tuple[str, str], far: tuple[str, str]) -> float:
    """The level lost between two pairs of nodes; 0 where nothing is left to lose."""
    volts = [abs(solution.voltage_volt[plus] - solution.voltage_volt[minus]) for plus, minus in (near, far)]
    return max(ratio_to_gain(volts[0] / volts[1]), 0.0) if min(volts) > 0 else 0.0
