"""Lead labels and the pull list: each lead once, with its ends; totals by kind; what no lead is described for."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from rigspec.rig.model import one
from rigspec.sheets.basis import Basis, turned
from rigspec.sheets.channels import spares
from rigspec.sheets.leads import SheetLead, metres, size
from rigspec.sheets.patch import CARRIES
from rigspec.sheets.sheet import TICK, Cell, Row, Sheet, SheetMark, Table, filled
from rigspec.text.value import Content

LEADS = ("lead", "label text", "name", "near end", "far end", "size (mm2)", "length (m)", "kind", "polarity", "done")
KINDS = ("kind", "size (mm2)", "in use", "in reserve", "crossed", "total (m)", "total (kg)")
SPARES = ("lead", "label text", "kind", "what is free", "said to be a spare")
TOTALS = ("kind", "size (mm2)", "length (m)", "in use", "in reserve", "crossed", "total (m)")
MORE = ("from", "to", "for", "polarity", "done")


def sheet(basis: Basis) -> Sheet:
    """The lead list."""
    leads = basis.pulled.leads
    owned = owned_rows(basis, leads)
    tables = (
        Table("leads", "Leads to pull", LEADS, tuple(map(_row, leads))),
        Table("totals", "Totals by kind and length", TOTALS, tuple(map(_total_row, totals(leads)))),
        Table("kinds", "Totals by kind", KINDS, tuple(map(_kind_row, totals(leads, by_length=False)))),
        Table("spares", "Spares: leads and pairs with nothing on them", SPARES, tuple(_spare_rows(basis, leads))),
        Table("owned", "Against what the company owns", ("kind", "taken", "owned", "left over"), owned),
        Table("more", "Connections that the rig describes no lead for: bring one each", MORE, _bare_rows(basis)),
    )
    notes = (
        "Put the label text on both ends. Near is the end towards the feed.",
        "Name: what the lead is called in the rig and on the other sheets, where it is called anything.",
        "Sizes are of each conductor; a gauge is written with AWG.",
        "A crossing stands at the lead that it lies next to; make it in that plug or by an adapter there.",
    )
    cautions = []
    if any(lead.crossings for lead in leads) or any(link.turns for link in basis.pulled.bare):
        cautions.append(
            "Leads marked CROSSED have plus and minus exchanged. Tape both ends, and keep them apart from all others."
        )
    intro = "Each lead of the rig once. Whatever is needed more is not in the rig."
    return Sheet("leads", "Lead labels and pull list", intro, filled(tables), notes, tuple(cautions))


def _bare_rows(basis: Basis) -> tuple[Row, ...]:
    return tuple(
        (link.source.text, link.target.text, CARRIES[link.carries].lower(), turned(link.turns), TICK)
        for link in basis.pulled.bare
    )


def _row(lead: SheetLead) -> Row:
    near, far = lead.ends
    crossings = lead.crossings
    label = f"{lead.label} CROSSED" if crossings else lead.label
    polarity = SheetMark(f"CROSSED: {', '.join(crossings)}") if crossings else "straight"
    kind = " ".join([lead.kind_name, *_pairs(lead)])
    name = lead.gear.full if lead.gear else ""
    return lead.number, label, name, near, far, size(lead.spec), metres(lead.spec), kind, polarity, TICK


def _pairs(lead: SheetLead) -> list[str]:
    pairs = lead.gear.count("pairs", 1) if lead.gear else 1
    return [f"{pairs} pairs"] if pairs > 1 else []


@frozen(eq=False, repr=False)
class Total(Content):
    """Leads that are alike: how many are in use and in reserve, how many are crossed, and their lengths together."""

    kind: str
    size: str
    length: str
    used: int
    reserve: int
    turned: int
    total_m: float | None
    total_kg: float | None


def totals(leads: tuple[SheetLead, ...], *, by_length: bool = True) -> list[Total]:
    """Leads counted by kind and size, and by length if that is asked, in the order in which the kinds first come."""
    found: dict[tuple[str, str, str], list[SheetLead]] = {}
    for lead in leads:
        use = " for mains" if lead.carries == "mains" and not lead.kind else ""
        kind = " ".join([lead.kind_name or f"no kind said{use}", *_pairs(lead)])
        found.setdefault((kind, size(lead.spec), metres(lead.spec) if by_length else ""), []).append(lead)
    made = []
    for (kind, thick, long), alike in found.items():
        lengths = [lead.spec.length.high for lead in alike if lead.spec and lead.spec.length]
        total = sum(lengths) if len(lengths) == len(alike) else None
        weights = [weight for lead in alike if (weight := lead.weight_kg) is not None]
        heavy = sum(weights) if len(weights) == len(alike) else None
        used = sum(bool(lead.cores) for lead in alike)
        crossed = sum(bool(lead.crossings) for lead in alike)
        made.append(Total(kind, thick, long, used, len(alike) - used, crossed, total, heavy))
    return made


def _total_row(total: Total) -> Row:
    return total.kind, total.size, total.length, *_counted(total)


def _kind_row(total: Total) -> Row:
    return total.kind, total.size, *_counted(total), "not given" if total.total_kg is None else total.total_kg


def _counted(total: Total) -> Row:
    crossed: Cell = SheetMark(f"{total.turned} CROSSED") if total.turned else 0
    return total.used, total.reserve, crossed, "not said" if total.total_m is None else total.total_m


def _spare_rows(basis: Basis, leads: tuple[SheetLead, ...]) -> Iterable[Row]:
    """Leads that nothing uses, and the free pairs of those in use."""
    spare = spares(basis)
    for lead in leads:
        pairs = lead.gear.count("pairs", 1) if lead.gear else 1
        used = {core.piece.name.rpartition(".")[2] for core in lead.cores if core.piece is not None}
        free = [str(pair) for pair in range(1, pairs + 1) if str(pair) not in used]
        if lead.gear is None or (lead.cores and (pairs == 1 or not free)):
            continue
        what = f"pairs {', '.join(free)}" if lead.cores else "the whole lead"
        told = [pair for pair in free if f"{lead.gear.full}.{pair}" in spare]
        said = "yes" if lead.gear.full in spare or told == free else f"only {', '.join(told)}" if told else "no"
        kind = " ".join([lead.kind_name, *_pairs(lead)])
        yield lead.number, lead.label, kind, what, said


def owned_rows(basis: Basis, leads: tuple[SheetLead, ...]) -> tuple[Row, ...]:
    """Kinds of leads of which the stock says how many there are; whatever their lengths."""
    taken_of: dict[str, int] = {}
    kinds = {lead.kind.name: lead.kind for lead in leads if lead.kind is not None}  # one may not be in the stock
    for lead in leads:
        if lead.kind is not None:
            taken_of[lead.kind.name] = taken_of.get(lead.kind.name, 0) + 1
    rows: list[Row] = []
    for name, taken in taken_of.items():
        owned = one(kinds[name].facts, "owned", "number")
        if owned is not None:
            left = int(owned.value) - taken
            rows.append((name, taken, int(owned.value), left if left >= 0 else SheetMark(f"{-left} TOO FEW")))
    return tuple(rows)
