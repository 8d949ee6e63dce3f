"""Tables about the mains: each part with all that hangs on it, and what each piece of gear takes."""

from __future__ import annotations

from collections.abc import Callable

from rigspec.figures import Figures
from rigspec.figures.inlets import AT_EIGHTH, AT_THIRD, IDLE, MainsDraw
from rigspec.figures.mains import InletFigures, PartFigures
from rigspec.rules.mains_words import listed
from rigspec.show.tables.question import Cell, Column, Question
from rigspec.solve.breaker import counted_ampere, generator_share, holds_ampere
from rigspec.solve.mains import btu_per_h

_CONVENTIONS = (
    "Conventions: 1/8 of rated output into the loads of this rig is programme at the edge of clipping (IEC 62368-1"
    " annex E, from memory), 1/3 is continual clipping."
)


def _parts(figures: Figures) -> list[PartFigures]:
    return list(figures.mains.parts.values())


def _inlets(figures: Figures) -> list[InletFigures]:
    """Gear that takes mains, once anything of it is known."""
    known = [inlet for inlet in figures.mains.inlets.values() if inlet.part or not inlet.appliance.unknown]
    return sorted(known, key=lambda inlet: inlet.part == "")


def _at(drive: int) -> Callable[[PartFigures], Cell]:
    return lambda part: part.ampere(drive)


def _phases(drive: int) -> Callable[[PartFigures], tuple[str, ...]]:
    def told(part: PartFigures) -> tuple[str, ...]:
        amperes = part.amperes
        flows = amperes[drive] if amperes else ()
        return tuple(f"{label} {flow:.2f}" for label, flow in zip(part.node.labels, flows, strict=False))

    return told


def _sum(word: str, drive: int = AT_EIGHTH) -> Callable[[PartFigures], Cell]:
    def get(part: PartFigures) -> Cell:
        found: list[float] = getattr(part.total, word)
        return found[drive]

    return get


def _on(part: PartFigures) -> Cell:
    labels = part.node.labels
    return labels[0] if len(labels) == 1 else f"{labels[0]}-{labels[-1][1:]}"


def _breaker(part: PartFigures) -> Cell:
    breaker = part.node.breaker
    return None if breaker is None else f"{breaker.value:g} {part.node.curve}".strip()


def _used(part: PartFigures) -> float | None:
    return None if part.share is None else 100 * part.share


def _lead(part: PartFigures) -> float | None:
    lead = part.lead
    return None if lead is None or lead.capacity is None else 100 * lead.ampere / lead.capacity.ampere


def _neutral(part: PartFigures) -> float | None:
    if not part.node.several or part.amperes is None:
        return None
    return part.neutral_bound_ampere


def _inrush(part: PartFigures) -> float | None:
    return part.inrush_ampere or None


def _holds(part: PartFigures) -> float | None:
    node = part.node
    return holds_ampere(node.breaker.value, node.curve) if node.breaker and node.curve else None


def _leaks(part: PartFigures) -> float | None:
    return 1000 * part.total.leakage_ampere or None


def _generator(part: PartFigures) -> float | None:
    size = part.node.gear.measure("generator", "apparent power")
    if size is None or part.amperes is None or part.volt is None:
        return None
    phases = [ampere * part.volt for ampere in part.amperes[AT_EIGHTH]]
    total = part.total
    share = generator_share(total.apparent_va[AT_EIGHTH], total.power_w[AT_EIGHTH], phases, size.value)
    return 100 * share


def _percent(value: float | None) -> float | None:
    return None if value is None else 100 * value


def _worst(part: PartFigures) -> float:
    return max(_used(part) or 0.0, _lead(part) or 0.0, _generator(part) or 0.0)


def _notes(figures: Figures) -> list[str]:
    mains = figures.mains
    if mains.plan.code == "nec":
        counted = counted_ampere(1.0, "nec")
        code = f"By the NEC a continuous load counts {counted:g} times against its breaker; `used` does not hold that."
    else:
        said = "" if mains.plan.code_said else " (the rig names no code)"
        code = f"Code: IEC 60364{said}. Leads lie open (IEC 60364-5-52 method C)."
    notes = [
        f"Amperes are those of the most loaded phase, inrush is all that is switched on at once. {code}",
        _CONVENTIONS,
    ]
    if any(part.node.several for part in mains.parts.values()):
        notes.append("N: the most the neutral carries while supplies without correction draw pulses (circuit theory).")
    for part in mains.parts.values():
        size, used = part.node.gear.measure("generator", "apparent power"), _generator(part)
        if size is not None and used is not None:
            notes.append(f"The generator of {part.key} is loaded with {used:.0f} % of {size.text} at 1/8.")
    unknown = [name for part in mains.parts.values() if not part.node.parent for name in part.total.unknown]
    for what, names in (
        ("No draw is known of", unknown),
        ("No inrush is given for", _lacking(figures, "without_inrush")),
        ("No leakage is given for", _lacking(figures, "without_leakage")),
    ):
        if names:
            notes.append(f"{what} {listed(names)}: sums with it are lower bounds.")
    curveless = [
        key for key, part in mains.parts.items() if part.node.breaker and not part.node.curve and part.inrush_ampere > 0
    ]
    if curveless:
        notes.append(f"No curve is given for the breaker of {listed(curveless)}: its inrush is not judged.")
    return [*notes, *_stood_in(figures)]


def _lacking(figures: Figures, word: str) -> list[str]:
    roots = [part for part in figures.mains.parts.values() if not part.node.parent]
    return [name for part in roots for name in getattr(part.total, word)]


def _stood_in(figures: Figures) -> list[str]:
    """What stood in for data of the supplies that nobody gives."""
    supplies = {part.node.supply.part: part.node.supply for part in figures.mains.parts.values()}
    return [text[:1].upper() + text[1:] + "." for supply in supplies.values() for text in supply.assumes]


def _inlet_notes(figures: Figures) -> list[str]:
    found = dict.fromkeys(text for inlet in _inlets(figures) for text in inlet.appliance.assumes)
    return [_CONVENTIONS, *(text[:1].upper() + text[1:] + "." for text in found)]


def _drawn(drive: int, get: Callable[[MainsDraw], float]) -> Callable[[InletFigures], Cell]:
    def cell(inlet: InletFigures) -> Cell:
        draw = inlet.draws[drive]
        return None if draw is None else get(draw)

    return cell


def _flow(drive: int) -> Callable[[InletFigures], Cell]:
    return lambda inlet: inlet.amperes[drive]


_MARK = "the fullest breaker, lead or generator"

QUESTIONS: tuple[Question, ...] = (
    Question(
        word="mains",
        title="Mains: what hangs on each part, with all amplifiers idle, at 1/8 and at 1/3 of rated output",
        columns=(
            Column("part", "part", lambda p: p.key).says("the part of the mains, by its full name"),
            Column("from", "from", lambda p: p.node.parent, people=False).says("the part that feeds it"),
            Column("phases", "on", _on).says("the phases that it has"),
            Column("breaker", "breaker", _breaker).says("its breaker as it is written, with its curve"),
            Column("breaker_ampere", "", lambda p: p.node.breaker.value if p.node.breaker else None, people=False).says(
                "what its breaker is rated for"
            ),
            Column("idle_ampere", "idle A", _at(IDLE), 1).says(
                "the current on its worst phase with all amplifiers idle"
            ),
            Column("eighth_ampere", "1/8 A", _at(AT_EIGHTH), 1).says("the same at 1/8 of their rated output"),
            Column("third_ampere", "1/3 A", _at(AT_THIRD), 1).says("the same at 1/3 of their rated output"),
            Column("phases_eighth_ampere", "", _phases(AT_EIGHTH), people=False, holds="list").says(
                "the current of each phase at 1/8, in ampere"
            ),
            Column("phases_third_ampere", "", _phases(AT_THIRD), people=False, holds="list").says(
                "the current of each phase at 1/3, in ampere"
            ),
            Column("used_percent", "used %", _used, 0).says("the current at 1/8 in percent of its breaker"),
            Column("lead_percent", "lead %", _lead, 0).says("the current at 1/8 in percent of what its lead carries"),
            Column(
                "lead_ampere",
                "",
                lambda p: p.lead.capacity.ampere if p.lead and p.lead.capacity else None,
                people=False,
            ).says("what its lead carries"),
            Column("generator_percent", "", _generator, people=False).says(
                "the power at 1/8 in percent of its generator"
            ),
            Column("neutral_ampere", "N A", _neutral, 1).says("the current in its neutral at 1/8"),
            Column("drop_percent", "drop %", lambda p: _percent(p.drop), 1).says(
                "the voltage lost up to its end at 1/8, on the worst phase"
            ),
            Column("end_volt", "", lambda p: min(p.end_volts) if p.end_volts else None, people=False).says(
                "the least voltage at its end at 1/8"
            ),
            Column("inrush_ampere", "inrush A", _inrush, 0).says(
                "the peak current where all that hangs on it is switched on"
            ),
            Column("holds_ampere", "holds A", _holds, 0).says(
                "the peak current that its breaker holds without tripping"
            ),
            Column("leakage_milliampere", "leak mA", _leaks, 1).says("the current to earth of all that hangs on it"),
            Column("eighth_va", "", _sum("apparent_va"), people=False).says(
                "the apparent power of all that hangs on it at 1/8"
            ),
            Column("third_va", "", _sum("apparent_va", AT_THIRD), people=False).says("the same at 1/3"),
            Column("eighth_watt", "", _sum("power_w"), people=False).says(
                "the real power of all that hangs on it at 1/8"
            ),
            Column("heat_watt", "", _sum("heat_w"), people=False).says("the heat of all that hangs on it at 1/8"),
            Column("unknown", "", lambda p: tuple(p.unknown), people=False, holds="list").says(
                "gear on it whose draw is not known"
            ),
        ),
        rows=_parts,
        worst=_worst,
        mark=_MARK,
        note=_notes,
    ),
    Question(
        word="draws",
        title="Draws: what each piece of gear takes from the mains idle, at 1/8 and at 1/3 of rated output",
        columns=(
            Column("gear", "gear", lambda i: i.key).says("the gear, by its full name"),
            Column("part", "on", lambda i: i.part).says("the part of the mains that it hangs on"),
            Column("phase", "phase", lambda i: i.phase).says("the phase that it hangs on"),
            Column("idle_watt", "", _drawn(IDLE, lambda d: d.power_w), people=False).says(
                "its real power with no signal"
            ),
            Column("idle_ampere", "idle A", _flow(IDLE), 2).says("its current with no signal"),
            Column("eighth_watt", "1/8 W", _drawn(AT_EIGHTH, lambda d: d.power_w), 0).says(
                "its real power at 1/8 of its rated output"
            ),
            Column("eighth_va", "1/8 VA", _drawn(AT_EIGHTH, lambda d: d.apparent_va), 0).says(
                "its apparent power there"
            ),
            Column("eighth_ampere", "1/8 A", _flow(AT_EIGHTH), 2).says("its current there"),
            Column("third_watt", "1/3 W", _drawn(AT_THIRD, lambda d: d.power_w), 0).says(
                "its real power at 1/3 of its rated output"
            ),
            Column("third_va", "", _drawn(AT_THIRD, lambda d: d.apparent_va), people=False).says(
                "its apparent power there"
            ),
            Column("third_ampere", "1/3 A", _flow(AT_THIRD), 2).says("its current there"),
            Column("heat_watt", "heat W", _drawn(AT_EIGHTH, lambda d: d.heat_w), 0).says("its heat at 1/8"),
            Column("heat_btu_per_hour", "BTU/h", _drawn(AT_EIGHTH, lambda d: btu_per_h(d.heat_w)), 0).says(
                "the same for cooling plants that are sized in it"
            ),
            Column("volt", "V", lambda i: i.end_volt, 1).says("the mains voltage at its inlet at 1/8"),
            Column("drop_percent", "drop %", lambda i: _percent(i.drop), 1).says("the voltage lost up to there"),
        ),
        rows=_inlets,
        worst=lambda i: i.amperes[AT_EIGHTH] or 0.0,
        mark="the greatest draw at 1/8",
        note=_inlet_notes,
    ),
)
