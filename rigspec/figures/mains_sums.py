"""What hangs below each part of the mains, summed by phase from the ends of the tree to its beginning."""

from __future__ import annotations

from attrs import define, field

from rigspec.figures.inlets import AT_EIGHTH, DRIVES, IDLE, Appliance, Draws, MainsCorner, MainsDraw
from rigspec.figures.mains_tree import MainsNode, Plan
from rigspec.solve.three_phase import neutral_ampere, neutral_bound_ampere
from rigspec.text.value import Value


@define(eq=False, repr=False)
class PartSum(Value):
    """The sums of one part; lists by phase (L1, L2, L3), for each drive level where it says so.

    ``sine`` and ``pulses`` are currents in ampere of gear that draws a sine and of gear that draws pulses: currents of
    one phase add by size, as though all lagged and pulsed alike. ``inrush`` is what flows when all is switched on at
    once, or the greatest piece where a part switches on in sequence. ``unknown`` names the gear of which no draw is
    known, ``without_idle``, ``without_inrush`` and ``without_leakage`` that of which only this is not.
    """

    sine: list[list[float]] = field(factory=lambda: [[0.0] * 3 for _ in DRIVES])
    pulses: list[list[float]] = field(factory=lambda: [[0.0] * 3 for _ in DRIVES])
    power_w: list[float] = field(factory=lambda: [0.0] * len(DRIVES))
    apparent_va: list[float] = field(factory=lambda: [0.0] * len(DRIVES))
    heat_w: list[float] = field(factory=lambda: [0.0] * len(DRIVES))
    inrush: list[float] = field(factory=lambda: [0.0] * 3)
    leakage_ampere: float = 0.0
    gear: int = 0
    unknown: list[str] = field(factory=list)
    without_idle: list[str] = field(factory=list)
    without_inrush: list[str] = field(factory=list)
    without_leakage: list[str] = field(factory=list)

    def ampere(self, drive: int, phase: int) -> float:
        return self.sine[drive][phase] + self.pulses[drive][phase]

    def neutral(self, drive: int, phases: int) -> float:
        """The vector sum of the phases: what the neutral carries while all currents are sines."""
        return neutral_ampere([self.ampere(drive, each) for each in range(3)], phases)

    def neutral_bound(self, drive: int, phases: int) -> float:
        """The most the neutral carries, with the third harmonics of rectifiers (see solve/three_phase.py)."""
        return neutral_bound_ampere(self.sine[drive], self.pulses[drive], phases)

    def add(self, other: PartSum, *, in_turn: bool) -> None:
        """Take in what hangs on a part below."""
        for mine, theirs in ((self.sine, other.sine), (self.pulses, other.pulses)):
            for drive, flows in enumerate(theirs):
                for phase, flow in enumerate(flows):
                    mine[drive][phase] += flow
        for drive in range(len(DRIVES)):
            self.power_w[drive] += other.power_w[drive]
            self.apparent_va[drive] += other.apparent_va[drive]
            self.heat_w[drive] += other.heat_w[drive]
        for phase, surge in enumerate(other.inrush):
            self.inrush[phase] = max(self.inrush[phase], surge) if in_turn else self.inrush[phase] + surge
        self.leakage_ampere += other.leakage_ampere
        self.gear += other.gear
        self.unknown += other.unknown
        self.without_idle += other.without_idle
        self.without_inrush += other.without_inrush
        self.without_leakage += other.without_leakage

    def add_draw(self, drive: int, draw: MainsDraw, volt: float | None, pulsed: bool, phases: tuple[int, ...]) -> None:
        """Take in what one piece of gear draws, shared evenly by its phases."""
        self.power_w[drive] += draw.power_w
        self.apparent_va[drive] += draw.apparent_va
        self.heat_w[drive] += draw.heat_w
        if volt:
            flows = (self.pulses if pulsed else self.sine)[drive]
            for phase in phases:
                flows[phase] += draw.apparent_va / volt / len(phases)


def sums_of(plan: Plan, ends: MainsCorner) -> dict[str, PartSum]:
    """The sums of all parts. ``plan.nodes`` run from the supplies outward, so their reverse runs back."""
    sums: dict[str, PartSum] = {}
    for name in reversed(list(plan.nodes)):
        node = plan.nodes[name]
        below = tuple([sums[child] for child in node.children if child in sums])
        sums[name] = _sum(node, plan.plugged_at[name], node.supply.volt_at(ends, plan.tolerance), ends, below)
    return sums


def _sum(
    node: MainsNode, gear: tuple[Appliance, ...], volt: float | None, ends: MainsCorner, below: tuple[PartSum, ...]
) -> PartSum:
    """What hangs on a part itself, and on the parts ``below``."""
    total = PartSum()
    in_turn = node.gear.says("sequence")
    for part in below:
        total.add(part, in_turn=in_turn)
    for appliance in gear:
        _take(total, appliance, appliance.draws(node.supply.volt, ends), node.phases[0], volt, ends, in_turn)
    _others(total, node, volt, ends)
    return total


def _take(
    total: PartSum, appliance: Appliance, drawn: Draws, phase: int, volt: float | None, ends: MainsCorner, in_turn: bool
) -> None:
    full = appliance.gear.full
    total.gear += 1
    for drive, draw in enumerate(drawn):
        if draw is not None:
            total.add_draw(drive, draw, volt, appliance.pulsed, (phase,))
    if drawn[AT_EIGHTH] is None:
        total.unknown.append(full)
    elif drawn[IDLE] is None:
        total.without_idle.append(full)
    if appliance.inrush is None:
        total.without_inrush.append(full)
    else:
        surge = ends.of(appliance.inrush)
        total.inrush[phase] = max(total.inrush[phase], surge) if in_turn else total.inrush[phase] + surge
    if appliance.leakage is None:
        total.without_leakage.append(full)
    else:
        total.leakage_ampere += ends.of(appliance.leakage)


def _others(total: PartSum, node: MainsNode, volt: float | None, ends: MainsCorner) -> None:
    """What else hangs on a part: at every drive level, shared evenly by its phases, a sine, watts as volt-amperes."""
    if node.draw is None:
        return
    va = ends.of(node.draw)
    if node.draw.kind == "current":
        va *= (node.supply.volt or 0.0) * len(node.phases)
    draw = MainsDraw(va, va, 0.0, va)
    for drive in range(len(DRIVES)):
        total.add_draw(drive, draw, volt, False, node.phases)
