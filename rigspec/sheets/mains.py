"""The mains sheet: circuits with phases, breakers and leads, what hangs on them, and what they carry."""

from __future__ import annotations

from rigspec.figures.inlets import AT_EIGHTH, AT_THIRD, IDLE
from rigspec.figures.mains import InletFigures, PartFigures
from rigspec.sheets.basis import Basis
from rigspec.sheets.leads import metres, size, texts
from rigspec.sheets.sheet import BLANK, TICK, Cell, Row, Sheet, SheetMark, Table, filled

PARTS = (
    "part",
    "label",
    "from",
    "phases",
    "breaker",
    "residual",
    "lead (mm2)",
    "lead (m)",
    "lead no",
    "outlets",
    "feeds",
    "done",
)
LOADS = ("part", "phase", "idle (A)", "at 1/8 (A)", "at 1/3 (A)", "breaker (A)", "used at 1/8 (%)", "read (A)")
INLETS = ("gear", "where", "on", "phase", "lead", "at 1/8 (A)", "at 1/3 (A)", "inrush (A)", "made for", "done")
CAUTIONS = (
    "Mains work is for licensed people under the local code, which comes before this sheet.",
    "Nothing here replaces the inspection and the test of the installation before it is switched on.",
)


def sheet(basis: Basis) -> Sheet:
    """The mains sheet."""
    mains = basis.figures.mains
    parts = list(mains.parts.values())
    inlets = sorted(mains.inlets.values(), key=lambda inlet: inlet.part == "")
    tables = (
        Table("parts", "Circuits, from the supply outward", PARTS, tuple(_part(basis, part) for part in parts)),
        Table("loads", "What each circuit carries", LOADS, tuple(row for part in parts for row in _loads(part))),
        Table("inlets", "Gear on the mains", INLETS, tuple(_inlet(basis, inlet) for inlet in inlets)),
    )
    notes = [
        "Currents with all amplifiers idle, at 1/8 of rated output (programme at the edge of clipping) and at 1/3"
        " (continual clipping) into the loads of this rig; both shares are conventions.",
        *_supplies(parts),
    ]
    unknown = list(dict.fromkeys(name for part in parts for name in part.total.unknown))
    if unknown:
        notes.append(f"No draw is known of {', '.join(unknown)}: sums with it are too low.")
    if not parts and inlets:
        notes.append("The rig does not say how the mains is distributed.")
    intro = "Circuits, phases and loads. Lead numbers are those of the lead list."
    return Sheet("mains", "Mains", intro, filled(tables), tuple(notes), CAUTIONS)


def _part(basis: Basis, part: PartFigures) -> Row:
    node, gear = part.node, part.node.gear
    residual = gear.measure("residual", "current")
    lead = next((each for each in basis.pulled.leads for core in each.cores if core.far.text == f"{part.key} in"), None)
    breaker = f"{node.breaker.text} {node.curve}".strip() if node.breaker else "none said"
    return (
        part.key,
        " ".join(texts(gear, "label")),
        node.parent or _source(part),
        "+".join(node.labels),
        breaker,
        "none said" if residual is None else residual.text,
        size(node.lead) if node.lead else "",
        metres(node.lead) if node.lead else "",
        lead.number if lead and node.lead else "",
        gear.count("outlets", 0) or "",
        ", ".join([*node.children, *(plug.sink.gear.full for plug in node.plugs), *_else(part)]),
        TICK,
    )


def _else(part: PartFigures) -> list[str]:
    """What else hangs on a part, and that it is switched on one by one."""
    found = [f"and {part.node.draw.text} besides this rig"] if part.node.draw else []
    return [*found, *(["switched on one by one"] if part.node.gear.says("sequence") else [])]


def _source(part: PartFigures) -> str:
    generator = part.node.gear.measure("generator", "apparent power")
    return "the supply" if generator is None else f"generator {generator.text}"


def _supplies(parts: list[PartFigures]) -> list[str]:
    found = []
    for part in parts:
        supply = part.node.supply
        if not part.node.parent and supply.volt is not None:
            found.append(f"{part.key}: {supply.volt:g} V from each phase to neutral.")
        if not part.node.parent:
            found += [text[:1].upper() + text[1:] + "." for text in supply.assumes]
    return found


def _loads(part: PartFigures) -> list[Row]:
    """A row for each phase of a part."""
    amperes = part.amperes
    if amperes is None:
        return [(part.key, "+".join(part.node.labels), "voltage not said", "", "", "", "", "")]
    rows: list[Row] = []
    breaker = part.node.breaker
    for at, label in enumerate(part.node.labels):
        flow = amperes[AT_EIGHTH][at]
        share = None if breaker is None or not breaker.value else 100 * flow / breaker.value
        used: Cell = "" if share is None else round(share) if share <= 100 else SheetMark(f"{share:.0f} OVER")
        flows = (amperes[IDLE][at], flow, amperes[AT_THIRD][at])
        rows.append((part.key, label, *flows, breaker.value if breaker else "none said", used, BLANK))
    return rows


def _inlet(basis: Basis, inlet: InletFigures) -> Row:
    given = inlet.gear.facts.get("mains")
    made_for = " ".join(given.span.text.split()).removeprefix("mains").strip() if given else "not said"
    inrush = inlet.appliance.inrush
    eighth, third = inlet.amperes[AT_EIGHTH], inlet.amperes[AT_THIRD]
    pieces = [lead.piece for lead in inlet.leads if lead.piece is not None]
    return (
        inlet.key,
        basis.place_of(inlet.gear),
        inlet.part or "no circuit said",
        inlet.phase,
        ", ".join(basis.numbered(piece) for piece in pieces if piece in basis.pulled.of_piece),
        "not known" if eighth is None else eighth,
        "not known" if third is None else third,
        "not given" if inrush is None else inrush.value,
        made_for,
        TICK,
    )
