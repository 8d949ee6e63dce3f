"""The mains as a tree: which part feeds which, on which phases, from which supply, and what hangs on it."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from rigspec.figures.inlets import Appliance, MainsCorner, appliances
from rigspec.figures.values import BaseFigures
from rigspec.language.words import ChoiceWord
from rigspec.rig.model import Gear, LeadSpec, Measure, Piece, Sink, choice, first, one
from rigspec.solve.breaker import VOLTAGE_TOLERANCE
from rigspec.solve.conductor import ZERO_C_KELVIN
from rigspec.solve.three_phase import phase_volt
from rigspec.text.value import Value

PHASES = ("L1", "L2", "L3")
TABLE_AIR_C = 30.0  # the air for which ampacities are tabulated


@frozen(eq=False, repr=False)
class Supply(Value):
    """Where a tree of the mains begins. ``volt`` is that of each phase to neutral, None where nobody says it."""

    part: str
    phases: int
    volt: float | None
    measure: Measure | None
    assumes: tuple[str, ...]

    def volt_at(self, ends: MainsCorner, tolerance: float) -> float | None:
        """The voltage at an end: as low as its tolerance allows at the bad one, since power taken stays the same.

        Where no tolerance is said the standard's counts at the bad end alone: at the mild one it is as said.
        """
        if self.volt is None or not ends.end:
            return self.volt
        measure = self.measure
        if measure is None or measure.low == measure.high:
            low = ends.supply and ends.end > 0 and ends.only is None
            return self.volt * (1 - tolerance) if low else self.volt
        return self.volt * ends.of(measure, -1) / measure.value


@frozen(eq=False, repr=False)
class Plug(Value):
    """One inlet on a path of the mains: where it is, and the leads from the outlet to it."""

    sink: Sink
    outlet: str
    pieces: tuple[Piece, ...]


@frozen(eq=False, repr=False)
class MainsNode(Value):
    """A part of the mains in its place. ``phases`` are the phases it has: 0, 1 and 2 for L1, L2 and L3.

    ``several``: its lead has more than one phase. ``unsaid``: it hangs on several phases and says neither which nor how
    many. ``absent`` is the phase that it names and that what feeds it has not, or how many it asks for.
    """

    gear: Gear
    parent: str
    children: tuple[str, ...]
    supply: Supply
    phases: tuple[int, ...]
    unsaid: bool
    absent: str
    breaker: Measure | None
    curve: str
    lead: LeadSpec | None
    draw: Measure | None
    plugs: tuple[Plug, ...]

    @property
    def several(self) -> bool:
        return len(self.phases) > 1

    @property
    def labels(self) -> tuple[str, ...]:
        """The phases as people call them; one `L` where no phase has a name."""
        if not self.several and self.supply.phases == 1 and not self.gear.says("phase"):
            return ("L",)
        return tuple(PHASES[each] for each in self.phases)


@frozen(eq=False, repr=False)
class Plan(Value):
    """The mains before any end of a range is taken. ``nodes`` stand from the supplies outward.

    ``guards`` gives for each part the nearest part with a breaker, itself or above, "" where there is none;
    ``plugged_at`` the gear at its outlets, as ``gear`` describes it.
    ``air_c`` is the air's temperature; ``code`` whose rules apply, ``code_said`` whether the rig says so.
    """

    nodes: Mapping[str, MainsNode]
    guards: Mapping[str, str]
    gear: Mapping[str, Appliance]
    plugged_at: Mapping[str, tuple[Appliance, ...]]
    mains: Measure | None
    code: ChoiceWord
    code_said: bool
    tolerance: float
    air_c: float
    air_said: bool


def plan_of(ground: BaseFigures) -> Plan:
    """Put the parts of the mains in order; parts that run in a circle are left out."""
    rig = ground.rig
    parts = {gear.full: gear for gear in rig.gear.values() if gear.word == "mains"}
    children: dict[str, list[str]] = {}
    for gear in parts.values():
        children.setdefault(gear.parent, []).append(gear.full)
    plugs = _plugs(ground) if parts else {}
    mains = one(rig.facts, "mains", "voltage")
    code = choice(rig.facts, "code") or "iec"
    nodes: dict[str, MainsNode] = {}
    guards: dict[str, str] = {}
    todo = children.get("", [])[::-1]
    while todo:
        name = todo.pop()
        below = tuple(children.get(name, ()))
        parent, hung = nodes.get(parts[name].parent), tuple(plugs.get(name, ()))
        phased = any(_named_phase(parts[child]) or parts[child].count("phases", 0) > 1 for child in below)
        node = _node(parts[name], None if parent is None else _above(parent), below, phased, hung, mains)
        nodes[name] = node
        guards[name] = name if node.breaker else guards.get(node.parent, "")
        todo += below[::-1]
    air = one(rig.facts, "air", "temperature")
    gear_on = appliances(ground)
    return Plan(
        nodes,
        guards,
        gear_on,
        {
            name: tuple([gear_on[plug.sink.gear.full] for plug in node.plugs if plug.sink.gear.full in gear_on])
            for name, node in nodes.items()
        },
        mains,
        code,
        "code" in rig.facts,
        VOLTAGE_TOLERANCE[code],
        TABLE_AIR_C if air is None else air.value - ZERO_C_KELVIN,
        air is not None,
    )


def inexact(plan: Plan) -> list[Measure]:
    """What is given as a range or with a tolerance of all that hangs on the mains, each place once."""
    measures: list[Measure | None] = []
    specs: list[LeadSpec | None] = []
    for node in plan.nodes.values():
        measures += (node.supply.measure, node.draw)
        specs.append(node.lead)
        for plug in node.plugs:
            specs += [piece.spec for piece in plug.pieces]
    for spec in specs:
        if spec is not None:
            measures += (spec.area_mm2, spec.awg, spec.length)
    for each in plan.gear.values():
        measures += (each.draw, each.idle, each.efficiency, each.factor, each.inrush, each.leakage)
    return list({measure.span: measure for measure in measures if measure and measure.low != measure.high}.values())


def _plugs(ground: BaseFigures) -> dict[str, list[Plug]]:
    """What hangs on each part by a path; the first path counts where several lead to one inlet."""
    found: dict[str, list[Plug]] = {}
    for key, run in ground.trace.runs.items():
        if run.output.carries != "mains":
            continue
        for arrival in run.arrivals:
            sink = arrival.sink
            if sink.takes == "mains" and ground.trace.arrivals[sink.key] is arrival:
                found.setdefault(run.output.gear.full, []).append(Plug(sink, key, tuple(run.leads_to(sink.joint))))
    return found


@frozen(eq=False, repr=False)
class _Above(Value):
    """What a part is told by the one that feeds it. ``nameless``: a supply that never speaks of phases."""

    supply: Supply
    phases: tuple[int, ...]
    nameless: bool


def _above(node: MainsNode) -> _Above:
    return _Above(node.supply, node.phases, node.labels == ("L",) and not node.parent)


def _node(
    gear: Gear,
    above: _Above | None,
    children: tuple[str, ...],
    phased: bool,
    plugs: tuple[Plug, ...],
    mains: Measure | None,
) -> MainsNode:
    """A part in its place; ``phased``: a part that it feeds says its phases."""
    phases, unsaid, absent = _phases(gear, above, phased)
    held, draw = first(gear.facts, "lead"), first(gear.facts, "draw")
    return MainsNode(
        gear,
        gear.parent if above else "",
        children,
        above.supply if above else _supply(gear, phases, mains),
        phases,
        unsaid,
        absent,
        one(gear.facts, "breaker", "current"),
        choice(gear.facts, "breaker"),
        _spec(held.get("area"), held.get("gauge"), held.get("length"), held.words) if held else None,
        draw.measures[0] if draw and draw.measures else None,
        plugs,
    )


def _spec(area: Measure | None, awg: Measure | None, length: Measure | None, words: tuple[str, ...]) -> LeadSpec | None:
    if length is None or (area is None and awg is None):
        return None
    return LeadSpec(area, awg, length, "solid" in words, "tinned" in words)


def _supply(gear: Gear, phases: tuple[int, ...], mains: Measure | None) -> Supply:
    said = gear.measure("supply", "voltage")
    count = max(len(phases), 1)
    if said is None:
        assumes = (f"the supply of {gear.full} is not said: the rig's own mains, {mains.text}",) if mains else ()
        return Supply(gear.full, count, mains.value if mains else None, mains, assumes)
    volt, note = phase_volt(said.value, count, mains.value if mains else None)
    return Supply(gear.full, count, volt, said, (f"{gear.full}: {note}",) if note else ())


def _phases(gear: Gear, above: _Above | None, phased: bool) -> tuple[tuple[int, ...], bool, str]:
    """The phases that a part has, whether it should have said which, and what it names and cannot have."""
    own = _named_phase(gear)
    count = gear.count("phases", 0)
    if above is None:
        if count > 1:
            return tuple(range(min(count, 3))), False, ""
        return (PHASES.index(own) if own else 0,), False, ""
    if own:
        wanted = PHASES.index(own)
        if wanted in above.phases:
            return (wanted,), False, ""
        # A supply that never speaks of phases may stand for any one of them, but for one alone.
        return above.phases[:1], False, "" if above.nameless and wanted == 0 else own
    if count > 1:
        if count <= len(above.phases):
            return above.phases[:count], False, ""
        return above.phases, False, f"{count} phases"
    if len(above.phases) == 1:
        return above.phases, False, ""
    return (above.phases if phased else above.phases[:1]), True, ""


def _named_phase(gear: Gear) -> str:
    return choice(gear.facts, "phase")
