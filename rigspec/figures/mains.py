"""Figures of the mains as a tree, from supply or generator to every inlet."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TypeAlias

from attrs import field, frozen

from rigspec.figures.inlets import AT_EIGHTH, BAD, DRIVES, MILD, TYPICAL, Appliance, Draws, MainsCorner
from rigspec.figures.load import Corner, conductor_ohm
from rigspec.figures.mains_sums import PartSum, sums_of
from rigspec.figures.mains_tree import MainsNode, Plan, Plug, inexact, plan_of
from rigspec.figures.values import BaseFigures
from rigspec.rig.model import Gear, LeadSpec, Piece
from rigspec.solve.ampacity import Ampacity, ampacity_ampere, conductor_c
from rigspec.solve.conductor import warm_ohm
from rigspec.solve.three_phase import directions, end_volts
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class MainsLead(Value):
    """A lead of the mains: the feed of a part, or a loose one on the way from an outlet to gear.

    ``cold_ohm`` is one conductor's resistance at 20 degC, ``ohm`` that at ``warm_c``, as the current at 1/8 makes it.
    ``ampere`` and ``third_ampere`` are its current at 1/8 and 1/3 of rated power. ``capacity`` is what it carries for
    ever, None where no table reaches. ``spec`` says its size and length, ``piece`` is None for the feed of a part,
    ``serves`` the gear or the part at its end.
    """

    part: str
    piece: Piece | None
    spec: LeadSpec
    loaded: int
    cold_ohm: float
    warm_c: float
    ohm: float
    ampere: float
    third_ampere: float
    capacity: Ampacity | None
    serves: tuple[str, ...]


@frozen(eq=False, repr=False)
class InletFigures(Value):
    """What one piece of gear takes from the mains, and where it gets it.

    ``draws`` and ``amperes`` hold what it takes idle, at 1/8 and at 1/3 of rated output; None where it cannot be known.
    ``part`` is the part of the mains that feeds it, "" where nothing does; ``phase`` is the one it counts on.
    ``volt`` is the voltage of its supply, ``end_volt`` what reaches its inlet with everything at 1/8.
    """

    appliance: Appliance
    part: str
    plug: Plug | None
    phase: str
    volt: float | None
    draws: Draws
    end_volt: float | None
    leads: tuple[MainsLead, ...]

    @property
    def gear(self) -> Gear:
        return self.appliance.gear

    @property
    def key(self) -> str:
        return self.gear.full

    @property
    def amperes(self) -> tuple[float | None, ...]:
        volt = self.volt
        return tuple(None if draw is None or not volt else draw.apparent_va / volt for draw in self.draws)

    @property
    def drop(self) -> float | None:
        """The share of the supply's voltage that is lost on the way, with everything at 1/8."""
        return None if self.end_volt is None or not self.volt else 1 - self.end_volt / self.volt


@frozen(eq=False, repr=False)
class PartFigures(Value):
    """One part of the mains with all that hangs on it.

    ``volt`` is what the supply gives each phase, ``end_volts`` what is left of it on its phases at its outlets, with
    everything at 1/8 of rated output; ``drop`` is the share lost up to there on the worst phase. ``unknown`` names the
    gear below it of which no draw is known: then all sums are lower bounds.
    """

    node: MainsNode
    total: PartSum
    lead: MainsLead | None
    volt: float | None
    end_volts: tuple[float, ...] | None

    @property
    def key(self) -> str:
        return self.node.gear.full

    @property
    def amperes(self) -> tuple[tuple[float, ...], ...] | None:
        """The current of each phase of this part, for each drive level; None where the voltage is not known."""
        if self.volt is None:
            return None
        return tuple(tuple(self.total.ampere(drive, each) for each in self.node.phases) for drive in range(len(DRIVES)))

    def ampere(self, drive: int = AT_EIGHTH) -> float | None:
        """The current of its most loaded phase."""
        found = self.amperes
        return None if found is None else max(found[drive])

    @property
    def unknown(self) -> tuple[str, ...]:
        return tuple(self.total.unknown)

    @property
    def inrush_ampere(self) -> float:
        """The peak of its most loaded phase when all that hangs on it is switched on at once."""
        return max(self.total.inrush[each] for each in self.node.phases)

    @property
    def neutral_ampere(self) -> float:
        """The vector sum of its phases at 1/8; of one phase alone, its current."""
        return self.total.neutral(AT_EIGHTH, self.node.supply.phases)

    @property
    def neutral_bound_ampere(self) -> float:
        """The most that its neutral carries at 1/8, with the third harmonics of supplies without correction."""
        return self.total.neutral_bound(AT_EIGHTH, self.node.supply.phases)

    @property
    def share(self) -> float | None:
        """The current at 1/8 over the rating of its own breaker."""
        ampere, breaker = self.ampere(), self.node.breaker
        return None if ampere is None or breaker is None else ampere / breaker.value

    @property
    def drop(self) -> float | None:
        return None if self.end_volts is None or not self.volt else 1 - min(self.end_volts) / self.volt


@frozen(eq=False, repr=False)
class Solved(Value):
    """The mains worked out with one end of all ranges and tolerances."""

    parts: Mapping[str, PartFigures]
    inlets: Mapping[str, InletFigures]
    leads: tuple[MainsLead, ...]


@frozen(eq=False, repr=False)
class MainsFigures(Solved):
    """Figures of the mains as a tree, from supply or generator to every inlet.

    ``parts`` go by the full name of a part of the mains (``bass_circuit[1]``), ``inlets`` by that of the gear
    (``bass[1]``): all gear that takes mains, whether a part feeds it or not. ``leads`` are all feeds and loose leads.
    ``bad`` and ``mild`` are the same with every range, every tolerance and the supply's own at its bad or mild end.
    """

    plan: Plan
    bad: Solved
    mild: Solved = field(repr=False)


def mains_figures(ground: BaseFigures) -> MainsFigures:
    """Work out the mains as a tree, from supply or generator to every inlet."""
    plan = plan_of(ground)
    typical = solved(plan, TYPICAL)
    if not plan.nodes:
        return MainsFigures(typical.parts, typical.inlets, typical.leads, plan, typical, typical)
    mild = solved(plan, MILD) if inexact(plan) else typical
    return MainsFigures(typical.parts, typical.inlets, typical.leads, plan, solved(plan, BAD), mild)


def solved(plan: Plan, ends: MainsCorner) -> Solved:
    """All parts, inlets and leads, with these ends of what is given inexactly; linear in their number."""
    sums = sums_of(plan, ends)
    leads: list[MainsLead] = []
    inlets: dict[str, InletFigures] = {}
    parts: dict[str, PartFigures] = {}
    volts: dict[str, Phasors | None] = {}
    for name, node in plan.nodes.items():
        before = volts.get(node.parent)
        made = _in_place(node, plan.plugged_at[name], sums[name], before, ends, plan.tolerance, plan.air_c)
        parts[name], volts[name] = made.part, made.volts
        leads += made.leads
        for inlet in made.inlets:
            inlets[inlet.key] = inlet
    volt = plan.mains.value if plan.mains else None
    found = {
        name: inlets[name]
        if name in inlets
        else InletFigures(appliance, "", None, "", volt, appliance.draws(volt, ends), None, ())
        for name, appliance in plan.gear.items()
    }
    return Solved(parts, found, tuple(leads))


Phasors: TypeAlias = "tuple[complex, ...]"
"""The voltages of L1, L2 and L3."""


@frozen(eq=False, repr=False)
class _Placed(Value):
    """A part, the voltages at its outlets, all leads from it and to it, and what hangs on its outlets."""

    part: PartFigures
    volts: Phasors | None
    leads: tuple[MainsLead, ...]
    inlets: tuple[InletFigures, ...]


def _in_place(
    node: MainsNode,
    gear: tuple[Appliance, ...],
    total: PartSum,
    before: Phasors | None,
    ends: MainsCorner,
    tolerance: float,
    air_c: float,
) -> _Placed:
    """Everything about one part; ``before`` are the voltages at the outlet that feeds it."""
    part, volts = _part(node, total, before, ends, tolerance, air_c)
    plugged = _plugged(node, gear, ends, part.volt, part.end_volts[0] if part.end_volts else None, air_c)
    feed = () if part.lead is None else (part.lead,)
    return _Placed(part, volts, (*feed, *plugged.leads), plugged.inlets)


def _part(
    node: MainsNode, total: PartSum, before: Phasors | None, ends: MainsCorner, tolerance: float, air_c: float
) -> tuple[PartFigures, Phasors | None]:
    """A part and the voltages at its outlets; ``before`` are those at the outlet that feeds it."""
    feed = None
    if node.lead is not None:
        eighth, third = (max(total.ampere(drive, each) for each in node.phases) for drive in (1, 2))
        name = node.gear.full
        loaded = 3 if len(node.phases) == 3 else 2
        feed = _lead(air_c, ends, node.lead, eighth, third, name, None, loaded, (name,))
    volt, phases = node.supply.volt_at(ends, tolerance), node.supply.phases
    if not node.parent:
        before = None if volt is None else _of_supply(volt, phases)
    volts = before
    if before is not None and feed is not None:
        flows = [total.ampere(AT_EIGHTH, each) for each in range(3)]
        volts = end_volts(before, flows, feed.ohm, phases)
    at_end = None if volts is None else tuple(abs(volts[each]) for each in node.phases)
    return PartFigures(node, total, feed, volt, at_end), volts


def _of_supply(volt: float, phases: int) -> Phasors:
    return tuple(volt * unit for unit in directions(phases))


def _lead(
    air_c: float,
    ends: MainsCorner,
    spec: LeadSpec,
    eighth_ampere: float,
    third_ampere: float,
    part: str,
    piece: Piece | None,
    loaded: int,
    serves: tuple[str, ...],
) -> MainsLead:
    cold_ohm = conductor_ohm(spec, Corner(copper=ends.end, only=ends.only))
    thin = MainsCorner(1 if not ends.end else ends.end, ends.only)
    capacity = ampacity_ampere(
        area_mm2=thin.of(spec.area_mm2, -1) if spec.area_mm2 else None,
        awg=thin.of(spec.awg) if spec.awg and not spec.area_mm2 else None,
        air_c=air_c,
        loaded=loaded,
    )
    warm_c = air_c if capacity is None else conductor_c(eighth_ampere, capacity, air_c)
    if capacity is not None:  # what gets hotter than it may is overloaded, which is said elsewhere
        warm_c = min(warm_c, max(capacity.hottest_c, air_c))
    ohm = warm_ohm(cold_ohm, warm_c)
    return MainsLead(part, piece, spec, loaded, cold_ohm, warm_c, ohm, eighth_ampere, third_ampere, capacity, serves)


@frozen(eq=False, repr=False)
class _Plugged(Value):
    """What hangs on the outlets of a part, and the loose leads to it, each with all that hangs behind it."""

    leads: tuple[MainsLead, ...]
    inlets: tuple[InletFigures, ...]


def _plugged(
    node: MainsNode,
    gear: tuple[Appliance, ...],
    ends: MainsCorner,
    volt: float | None,
    end_volt: float | None,
    air_c: float,
) -> _Plugged:
    name = node.gear.full
    of = {each.gear.full: each for each in gear}
    plugs = [plug for plug in node.plugs if plug.sink.gear.full in of]
    gear = tuple(of[plug.sink.gear.full] for plug in plugs)
    drawn = [each.draws(node.supply.volt, ends) for each in gear]
    carried: dict[Piece, list[float]] = {}
    serves: dict[Piece, list[str]] = {}
    for plug, draws in zip(plugs, drawn, strict=True):
        for piece in plug.pieces:
            flow = carried.setdefault(piece, [0.0, 0.0])
            serves.setdefault(piece, []).append(plug.sink.gear.full)
            for number, draw in enumerate(draws[1:]):
                flow[number] += draw.apparent_va / volt if draw and volt else 0.0
    leads = {
        piece: _lead(air_c, ends, piece.spec, flow[0], flow[1], name, piece, 2, tuple(serves[piece]))
        for piece, flow in carried.items()
        if piece.spec is not None
    }
    inlets = []
    for plug, appliance, draws in zip(plugs, gear, drawn, strict=True):
        on_way = tuple(leads[piece] for piece in plug.pieces if piece in leads)
        lost = sum(2 * lead.ohm * lead.ampere for lead in on_way)
        at_inlet = None if end_volt is None else max(end_volt - lost, 0.0)
        inlets.append(InletFigures(appliance, name, plug, node.labels[0], volt, draws, at_inlet, on_way))
    return _Plugged(tuple(leads.values()), tuple(inlets))
