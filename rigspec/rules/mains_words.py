"""What the rules about the mains share: what was assumed, where things hang, and what decides."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from rigspec.figures.inlets import AT_EIGHTH, MainsCorner
from rigspec.figures.mains import InletFigures, MainsFigures, MainsLead, PartFigures, Solved, solved
from rigspec.figures.mains_tree import inexact
from rigspec.rig.model import Gear
from rigspec.rules.certainty import MOST_TRIED, Dominant, dominant
from rigspec.solve.ampacity import least_size
from rigspec.solve.conductor import ZERO_C_KELVIN
from rigspec.text.finding import Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show

LOCAL = "local code and licensed practice come first"
EIGHTH = "all gear at 1/8 of its rated output into its load: a convention for programme at the edge of clipping"
MOST_SAID = 3  # assumptions and takers that one finding lists
_PERCENT = {0.10: "10 % (IEC 60038)", 0.05: "5 % (ANSI C84.1)"}


def below(mains: MainsFigures, part: str) -> list[InletFigures]:
    """All gear that hangs on a part or on what it feeds, the greatest draw first."""
    todo, found = [part], []
    while todo:
        node = mains.plan.nodes[todo.pop()]
        todo += node.children
        found += [mains.inlets[full] for plug in node.plugs if (full := plug.sink.gear.full) in mains.inlets]
    return sorted(found, key=lambda inlet: (-round(inlet.amperes[AT_EIGHTH] or 0.0, 6), natural(inlet.key)))


def natural(name: str) -> tuple[str, int]:
    """Order by name, members of a row by number, so that nothing hangs on where things are declared."""
    row, _, number = name.partition("[")
    return row, int(number.rstrip("]") or 0)


def rests_on(mains: MainsFigures, part: str, *, drive: str = EIGHTH) -> tuple[str, ...]:
    """What the current of a part rests on: the drive level, the code, and what stood in for the gear's data."""
    found = below(mains, part)
    texts = [text for inlet in found for text in inlet.appliance.assumes]
    notes = [*([drive] if drive else []), *dict.fromkeys(texts[:MOST_SAID])]
    if len(texts) > MOST_SAID:
        notes.append(f"{len(texts) - MOST_SAID} more figures of gear on {part} stood in for data that is not given")
    lacking = mains.parts[part].unknown
    if lacking:
        notes.append(f"what {listed(lacking)} draws is not given: the current is at least this much")
    return tuple(notes)


def at_most(mains: MainsFigures, part: str) -> Severity | None:
    """The drive level is an assumption; where gear's own data stand in too, two of them carry the current of a part."""
    return Severity.WARNING if any(inlet.appliance.guessed for inlet in below(mains, part)) else None


def code_note(mains: MainsFigures) -> tuple[str, ...]:
    """Which code was taken where the rig names none."""
    return () if mains.plan.code_said else ("the rig names no code: that of IEC 60364 is taken",)


def listed(names: Iterable[str]) -> str:
    """A few names in words, in their natural order."""
    several = sorted(dict.fromkeys(names), key=natural)
    if len(several) > MOST_SAID:
        return f"{', '.join(several[: MOST_SAID - 1])} and {len(several) - MOST_SAID + 1} more"
    return " and ".join([", ".join(several[:-1]), several[-1]] if len(several) > 1 else several)


def takers(mains: MainsFigures, part: str, drive: int = AT_EIGHTH) -> list[Label]:
    """Where the gear hangs that takes most of a part's current."""
    labels = []
    for inlet in below(mains, part)[:MOST_SAID]:
        ampere = inlet.amperes[drive]
        if inlet.plug is not None and ampere:
            labels.append(Label(inlet.plug.sink.span, f"{inlet.key} takes {show(ampere, 'current')}"))
    return labels


def breaker_text(gear: Gear) -> str:
    """The breaker of a part as its author wrote it: ``16 A C``."""
    given = gear.facts["breaker"]
    entry = given.entries[0]
    return " ".join([*(measure.text for measure in entry.measures), *entry.words])


def decides(mains: MainsFigures, figure: Callable[[Solved], float]) -> Dominant:
    """Which inexact figure moves a figure of the mains most; the supply's own tolerance where nothing else does."""

    def move(end: int, span: Span) -> float:
        return figure(solved(mains.plan, MainsCorner(end, span)))

    measures = inexact(mains.plan)[:MOST_TRIED]
    found = dominant((each, abs(move(1, each.span) - move(-1, each.span))) for each in measures)
    if found.text:
        return found
    return Dominant(f"the mains, up to {_PERCENT[mains.plan.tolerance]} low, decides most")


def figure_of(part: str, get: Callable[[PartFigures], float | None]) -> Callable[[Solved], float]:
    """A figure of one part, wherever it is worked out; nothing counts as 0."""
    return lambda found: get(found.parts[part]) or 0.0


def size_for(mains: MainsFigures, lead: MainsLead, ampere: float) -> str:
    """The thinnest size above a lead's own that carries a current, as text."""
    spec = lead.spec
    size = least_size(
        ampere,
        area_mm2=spec.area_mm2.low if spec.area_mm2 else None,
        awg=spec.awg.high if spec.awg and not spec.area_mm2 else None,
        air_c=mains.plan.air_c,
        loaded=lead.loaded,
    )
    return "a lead that carries it" if size is None else show(size, "area" if spec.area_mm2 else "gauge")


def air_note(mains: MainsFigures) -> str:
    """The air that ampacities and warm copper are reckoned for."""
    said = "as the rig says" if mains.plan.air_said else "for which ampacities are tabulated: the rig says no other"
    return f"air of {show(mains.plan.air_c + ZERO_C_KELVIN, 'temperature')}, {said}"
