"""Each rack and each place by itself: what is there, and every plug that belongs there."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.rig.model import Gear, members
from rigspec.sheets.basis import CROSS_IT, UNSAID, Basis, turned
from rigspec.sheets.channels import spares
from rigspec.sheets.leads import SheetLead, metres, size, texts
from rigspec.sheets.links import End, SheetLink
from rigspec.sheets.sheet import TICK, Row, Table
from rigspec.text.value import gathered

HEADS = ("socket", "goes", "other end is at", "lead", "lead is", "plug here", "polarity", "on the way", "done")
JUNCTIONS = "on the way"


def by_place(basis: Basis) -> list[Table]:
    """A table for each rack, then for each other place in the order of the text."""
    rows: dict[str, list[Row]] = {}
    for link in basis.pulled.plugging.links:
        for leaving in (True, False):
            here = link.source if leaving else link.target
            if not here.loose:
                rows.setdefault(basis.place(here), []).append(_row(basis, link, leaving))
    for lead in basis.pulled.leads:
        for core in lead.cores:
            if core.link is None:  # the feed of a part of the mains
                _feed(basis, lead, core.near, core.far, rows)
    for gear, port in _spares(basis):
        at = basis.place_of(gear)
        rows.setdefault(at, []).append((f"{gear.full}{port}", "nothing: it is a spare", *[""] * 6, TICK))
    there = gathered(basis.figures.rig.gear.values(), lambda gear: basis.place_of(gear))
    places = sorted(rows, key=lambda place: (not place.startswith("rack "), place == JUNCTIONS))
    return [_table(place, rows[place], there.get(place, [])) for place in places]


def _table(place: str, rows: list[Row], gears: list[Gear]) -> Table:
    rack = place.startswith("rack ")
    title = "On the way: junctions" if place == JUNCTIONS else f"At {place}"
    return Table("places", title, HEADS, tuple(rows), place, _holds(gears), rack)


def _row(basis: Basis, link: SheetLink, leaving: bool) -> Row:
    here, there = (link.source, link.target) if leaving else (link.target, link.source)
    leads = [basis.pulled.of_piece[piece] for piece in link.leads]
    return (
        here.text,
        f"to {there.text}" if leaving else f"from {there.text}",
        "" if there.loose else "here" if basis.place(there) == basis.place(here) else basis.place(there),
        basis.numbers(link),
        "; ".join(map(_made, leads)),
        basis.plugs(link)[0 if leaving else 1],
        turned(link.turns),
        _way(basis, link, leaving),
        TICK,
    )


def _way(basis: Basis, link: SheetLink, leaving: bool) -> str:
    """What lies on a connection, with crossings told as they are seen from this end of it."""
    here, other = "crossed here", "crossed at the other end"
    near, far = (here, other) if leaving else (other, here)
    way = basis.on_the_way(link).replace(CROSS_IT, far.replace("crossed", "cross it once,"))
    if link.leads:
        first, last = basis.numbered(link.leads[0]), basis.numbered(link.leads[-1])
        way = way.replace(f"{first} near end", f"{first} {near}").replace(f"{last} far end", f"{last} {far}")
    return way


def _made(lead: SheetLead) -> str:
    """What a lead is: its kind, size and length."""
    thick, long = size(lead.spec), metres(lead.spec)
    thick = thick if thick[-1].isalpha() else f"{thick} mm2"
    return ", ".join(each for each in (lead.kind_name, thick, long if long == UNSAID else f"{long} m") if each)


def _feed(basis: Basis, lead: SheetLead, near: End, far: End, rows: dict[str, list[Row]]) -> None:
    for here, word, there in ((near, "to", far), (far, "from", near)):
        if here.gear is not None:
            where = basis.place(there) if there.gear is not None else ""
            row = (here.text, f"{word} {there.text}", where, lead.number, _made(lead), UNSAID, "straight", "", TICK)
            rows.setdefault(basis.place(here), []).append(row)


def _spares(basis: Basis) -> Iterable[tuple[Gear, str]]:
    """Spare things and ports, but for leads: those stand on the lead list."""
    gear = basis.figures.rig.gear
    for key in sorted(spares(basis)):
        name, dot, port = (key, "", "") if key in gear else key.rpartition(".")
        if name in gear and gear[name].word != "lead":
            yield gear[name], dot + port


def _holds(gears: list[Gear]) -> str:
    """What is there, with kinds and labels."""
    rows: dict[tuple[str, str, str], list[Gear]] = {}
    for gear in gears:
        kind = gear.kind.name if gear.kind else ""
        rows.setdefault((gear.name, kind, " ".join(texts(gear, "label"))), []).append(gear)
    found = [
        " ".join([members(alike), *([f"({kind})"] if kind else []), *([f'"{label}"'] if label else [])])
        for (_, kind, label), alike in rows.items()
    ]
    return f"Here: {', '.join(found)}." if found else ""
