"""Working of the figures of the mains: each part down to the gear that hangs on it."""

from __future__ import annotations

from rigspec.figures import Figures
from rigspec.figures.inlets import AT_EIGHTH
from rigspec.figures.mains import PartFigures
from rigspec.figures.mains_tree import PHASES
from rigspec.why import mains_gear as gear
from rigspec.why.derived import Derived
from rigspec.why.mains_leads import ALONG, end_step, inlet_drop
from rigspec.why.working import Step, given, numbered, taken

KIRCHHOFF = "Kirchhoff's current law; currents of one phase add by size, as though all lagged and pulsed alike"
AT_ONCE = "the peaks of all that is switched on at once add (the greatest sum that can be)"


def part_current(figures: Figures, key: str) -> Step | None:
    """The current of the most loaded phase of a part at 1/8."""
    part = figures.mains.parts.get(key)
    if part is None or part.amperes is None:
        return None
    eighth = part.amperes[AT_EIGHTH]
    phases = [_phase_current(figures, part, phase) for phase in part.node.phases]
    if len(phases) == 1:
        return phases[0]
    named = tuple(step.called(f"I_{PHASES[n]}") for step, n in zip(phases, part.node.phases, strict=True))
    formula = f"max({', '.join(step.symbol for step in named)})"
    name = f"current of the most loaded phase of {key} at 1/8"
    return Step(name, max(eighth), "current", "I", formula, "", KIRCHHOFF, rests_on=named)


def _phase_current(figures: Figures, part: PartFigures, phase: int) -> Step:
    """What flows on one phase of a part at 1/8, down to each inlet."""
    mains, node = figures.mains, part.node
    steps = []
    for plug in node.plugs:
        inlet = mains.inlets.get(plug.sink.gear.full)
        step = gear.current_step(figures, inlet, deep=False) if inlet and node.phases[0] == phase else None
        if step is not None:
            steps.append(step)
    for child in node.children:
        other = mains.parts[child]
        if phase in other.node.phases:
            steps.append(_phase_current(figures, other, phase))
    if node.draw is not None and part.volt:
        steps.append(_others(part, part.volt))
    of = f"{PHASES[phase]} of {part.key}" if node.several else part.key
    missing = [name for name in part.unknown if name in {plug.sink.gear.full for plug in node.plugs}]
    why = f"what {', '.join(missing)} draws is not given and left out" if missing else ""
    return _sum(f"current of {of} at 1/8", part.total.ampere(AT_EIGHTH, phase), "I", steps, KIRCHHOFF, part, why)


def _others(part: PartFigures, volt: float) -> Step:
    """What else hangs on a part, shared evenly by its phases."""
    node = part.node
    assert node.draw is not None  # asked before
    said, count = given("what else hangs on it", node.draw, "D"), len(node.phases)
    why = "watts count as volt-amperes" if node.draw.kind == "power" else ""
    name = f"current of what else hangs on {part.key}"
    if node.draw.kind == "current":
        return Step(name, node.draw.value, "current", "I", "D", "", KIRCHHOFF, rests_on=(said,))
    supply = gear.supply_step(node.supply)
    assert supply is not None  # its voltage is known
    phases = taken("phases", float(count), "number", "", "n", "shared evenly")
    value = node.draw.value / volt / count
    return Step(name, value, "current", "I", "D / U / n", "", KIRCHHOFF, assumed=why, rests_on=(said, supply, phases))


def _sum(
    name: str, value: float, letter: str, steps: list[Step], authority: str, part: PartFigures, why: str = ""
) -> Step:
    if not steps:
        return Step(name, value, "current", letter, span=part.node.gear.span, assumed=why or "nothing hangs on it")
    formula = " + ".join(f"{letter}{number}" for number in range(1, len(steps) + 1))
    return Step(name, value, "current", letter, formula, "", authority, assumed=why, rests_on=numbered(steps, letter))


def share(figures: Figures, key: str) -> Step | None:
    """How much of its breaker a part uses at 1/8."""
    part, ampere = figures.mains.parts.get(key), part_current(figures, key)
    if part is None or ampere is None or part.share is None or part.node.breaker is None:
        return None
    parts = (ampere.called("I"), given("rating of its breaker", part.node.breaker, "I_n"))
    return Step(
        f"share of the breaker of {key} at 1/8",
        part.share,
        "ratio",
        "",
        "I / I_n",
        "",
        "IEC 60364-4-43 (load current <= rating), from memory",
        rests_on=parts,
    )


def neutral(figures: Figures, key: str) -> Step | None:
    """The most that the neutral of a part with several phases carries at 1/8."""
    part = figures.mains.parts.get(key)
    if part is None or not part.node.several or part.amperes is None:
        return None
    name, value = f"the most that the neutral of {key} carries at 1/8", part.neutral_bound_ampere
    total, three = part.total, part.node.supply.phases == 3
    flows = [_phase_current(figures, part, phase) for phase in part.node.phases]
    if not three:
        named = tuple(step.called(f"I_{PHASES[n]}") for step, n in zip(flows, part.node.phases, strict=True))
        formula = f"abs({' - '.join(step.symbol for step in named)})"
        return Step(name, value, "current", "I_N", formula, "", "two phases half a turn apart", rests_on=named)
    parts = []
    for phase in range(3):
        on = [flows[part.node.phases.index(phase)]] if phase in part.node.phases else []
        for letter, what, each in (("S", "a sine", total.sine), ("R", "pulses", total.pulses)):
            label = f"what draws {what} on {PHASES[phase]} of {key}"
            ampere = each[AT_EIGHTH][phase]
            method = "the gear with a power factor of 0.9 and more, or of less" if on else ""
            parts.append(
                Step(
                    label,
                    ampere,
                    "current",
                    f"{letter}{phase + 1}",
                    "",
                    method,
                    "common practice, no source",
                    rests_on=tuple(on),
                )
            )
    formula = "sqrt(abs(S1^2 + S2^2 + S3^2 - S1*S2 - S2*S3 - S3*S1)) + sqrt(R1^2 + R2^2 + R3^2)"
    authority = "circuit theory: sines add as vectors, pulses that never meet by energy (IEC 60364-5-52 annex E)"
    return Step(name, value, "current", "I_N", formula, "", authority, rests_on=tuple(parts))


def drop(figures: Figures, key: str) -> Step | None:
    """The voltage lost up to the outlets of a part at 1/8, as a share."""
    part, ampere = figures.mains.parts.get(key), part_current(figures, key)
    supply = gear.supply_step(part.node.supply) if part else None
    if part is None or ampere is None or part.drop is None or supply is None:
        return None
    end = end_step(figures, part, ampere)
    if end is None:
        return None
    name = f"drop up to the outlets of {key} at 1/8"
    return Step(name, part.drop, "ratio", "d", "1 - U_end / U", "", ALONG, rests_on=(end, supply))


def inrush(figures: Figures, key: str) -> Step | None:
    """The peak on the most loaded phase of a part when all that hangs on it is switched on."""
    part = figures.mains.parts.get(key)
    if part is None or not part.total.gear:
        return None
    phases = [_phase_inrush(figures, part, phase) for phase in part.node.phases]
    if len(phases) == 1:
        return phases[0]
    named = tuple(step.called(f"I_{PHASES[n]}") for step, n in zip(phases, part.node.phases, strict=True))
    formula = f"max({', '.join(step.symbol for step in named)})"
    name = f"inrush of the most loaded phase of {key}"
    return Step(name, part.inrush_ampere, "current", "I", formula, "", AT_ONCE, rests_on=named)


def _phase_inrush(figures: Figures, part: PartFigures, phase: int) -> Step:
    mains, node = figures.mains, part.node
    steps = []
    for plug in node.plugs:
        step = gear.inrush(figures, plug.sink.gear.full) if node.phases[0] == phase else None
        if step is not None:
            steps.append(step)
    below = [mains.parts[child] for child in node.children]
    steps += [_phase_inrush(figures, other, phase) for other in below if phase in other.node.phases]
    name, value = f"inrush of {part.key}", part.total.inrush[phase]
    if node.several:
        name = f"inrush of {PHASES[phase]} of {part.key}"
    if steps and node.gear.says("sequence"):
        formula = f"max({', '.join(f'I{number}' for number in range(1, len(steps) + 1))})"
        parts = numbered(steps, "I")
        return Step(name, value, "current", "I", formula, "", "switched on one by one, as the rig says", rests_on=parts)
    lacking = [name for name in part.total.without_inrush if name in {plug.sink.gear.full for plug in node.plugs}]
    why = f"the inrush of {', '.join(lacking)} is not given and left out" if lacking else ""
    return _sum(name, value, "I", steps, AT_ONCE, part, why)


def leakage(figures: Figures, key: str) -> Step | None:
    """The standing leakage of all that hangs on a part."""
    part = figures.mains.parts.get(key)
    return None if part is None or not part.total.gear else _leaks(figures, part)


def _leaks(figures: Figures, part: PartFigures) -> Step:
    node = part.node
    found = [gear.leakage(figures, plug.sink.gear.full) for plug in node.plugs]
    steps = [step for step in found if step is not None]
    steps += [_leaks(figures, figures.mains.parts[child]) for child in node.children]
    lacking = [name for name in part.total.without_leakage if name in {plug.sink.gear.full for plug in node.plugs}]
    why = f"the leakage of {', '.join(lacking)} is not given and left out" if lacking else ""
    authority = "the leakages of all gear add up (the greatest sum that can be)"
    return _sum(f"leakage of {part.key}", part.total.leakage_ampere, "I", steps, authority, part, why)


PART = "a part of the mains"
GEAR = "gear with a mains inlet"
DERIVED: tuple[Derived, ...] = (
    Derived("current", PART, "its most loaded phase, with all gear at 1/8 of rated output", part_current),
    Derived("current", GEAR, "what it takes at 1/8 of rated output", gear.current),
    Derived("draw", GEAR, "its power from the mains at 1/8 of rated output", gear.draw),
    Derived("heat", GEAR, "what it leaves in its rack at 1/8 of rated output", gear.heat),
    Derived("share", PART, "its current at 1/8 over the rating of its breaker", share),
    Derived("neutral", PART, "the most that its neutral carries at 1/8", neutral),
    Derived("drop", PART, "the share of the mains voltage lost up to its outlets at 1/8", drop),
    Derived("drop", GEAR, "the share of the mains voltage lost up to its inlet at 1/8", inlet_drop),
    Derived("inrush", PART, "the peak when all that hangs on it is switched on", inrush),
    Derived("inrush", GEAR, "its peak when switched on", gear.inrush),
    Derived("leakage", PART, "the standing leakage of all that hangs on it", leakage),
    Derived("leakage", GEAR, "its standing leakage to earth", gear.leakage),
)
