"""The patch list: what is plugged where, in the order of the signal, and once more by rack and place."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.rig import Gear
from rigspec.sheets.basis import Basis, turned
from rigspec.sheets.leads import texts
from rigspec.sheets.links import Junction, Link
from rigspec.sheets.sheet import TICK, Cell, Row, Sheet, Table
from rigspec.units import show

CARRIES = {
    "signal": "Signal",
    "power": "Loudspeakers",
    "mains": "Mains",
    "": "Fed by nothing",
}


def sheet(basis: Basis) -> Sheet:
    """The patch list."""
    links = basis.pulled.plugging.links
    tables = [
        Table(
            word or "unfed",
            title,
            ("from", "from is in", "to", "to is in", "lead", "plugs", "polarity", "on the way", "done"),
            tuple(_row(basis, link) for link in links if link.carries == word),
        )
        for word, title in CARRIES.items()
        if any(link.carries == word for link in links)
    ]
    tables += [*_by_place(basis), *_stands(basis)]
    notes = [
        "Lead numbers are those of the lead list: S signal, P loudspeaker, M mains, R in reserve.",
        "Sockets: out and in of gear, or the two sides of a panel; link is a loudspeaker's second socket.",
        *_labelled(basis),
        *map(_junction, basis.pulled.plugging.junctions),
    ]
    if any("between the hot poles" in link.source.text for link in links):
        notes.append("Between the hot poles: plus is that of the first channel named, minus that of the second.")
    cautions = ["Plug and unplug loudspeakers with the amplifier off."]
    if any(link.turns for link in links):
        cautions.append("Where it says TURNED plus and minus are exchanged on purpose. Do not put that right.")
    intro = "Every connection from socket to socket, in the order of the signal; then the same by rack and place."
    return Sheet("patch", "Patch list", intro, tuple(tables), tuple(notes), tuple(cautions))


def crossed_where(basis: Basis, link: Link) -> str:
    """Where the crossings of a connection are: by lead, or without one."""
    found = []
    for piece in link.leads:
        found += [f"{basis.numbered(piece)} {text}" for text in basis.pulled.core_of[piece].crossings]
    if link.turns and not found:
        return "cross it in the lead or an adapter"
    return ", ".join(found)


def _row(basis: Basis, link: Link) -> Row:
    way = [crossed_where(basis, link)]
    for piece in link.items:
        if piece.what == "pad":
            way.append(f"pad {show(-piece.gain_db, 'gain')}")
        elif piece.what == "delay":
            way.append(f"delay {show(piece.delay_s, 'time')}")
    return (
        link.source.text,
        basis.place(link.source),
        link.target.text,
        basis.place(link.target),
        basis.numbers(link),
        _plugs(basis, link),
        turned(link.turns),
        "; ".join(each for each in way if each),
        TICK,
    )


def _plugs(basis: Basis, link: Link) -> str:
    """What is on the first and the last end of the leads of a connection, where the stock says it."""
    if not link.leads:
        return ""
    first, last = (basis.pulled.of_piece[link.leads[at]].connectors for at in (0, -1))
    if not (first[0] or last[1]):
        return "not said"
    return first[0] if first[0] == last[1] else f"{first[0] or 'not said'} to {last[1] or 'not said'}"


def _junction(junction: Junction) -> str:
    if not junction.circuits:
        return f"{junction.name.capitalize()}: all that meets there is in parallel, plus to plus and minus to minus."
    loops = " and ".join(map(str, junction.circuits))
    each = " in each circuit" if len(junction.circuits) > 1 else ""
    return (
        f"{junction.name.capitalize()}: {loops} loads in series{each}."
        " Plus goes to plus of loop 1, minus of each loop to plus of the next, minus of the last loop back to minus."
    )


def _labelled(basis: Basis) -> Iterable[str]:
    """The labels on lines of panels and on pairs of leads."""
    for gear in basis.figures.rig.gear.values():
        if gear.word in ("panel", "lead"):
            for port, facts in gear.ports.items():
                given = facts.get("label")
                for text in [text for each in given.entries for text in each.texts] if given else ():
                    yield f'{gear.full}.{port} is labelled "{text}".'


def _stands(basis: Basis) -> list[Table]:
    """Where each loudspeaker stands and points, as far as the rig says it."""
    rows: list[Row] = []
    for gear in basis.figures.rig.gear.values():
        if gear.word == "speaker" and ("at" in gear.facts or "aim" in gear.facts):
            at, aim = _measures(gear, "at", 3), _measures(gear, "aim", 2)
            rows.append((gear.full, gear.kind.name if gear.kind else "", *at, *aim, " ".join(texts(gear, "label"))))
    heads = ("loudspeaker", "kind", "across (m)", "along (m)", "up (m)", "aim across (deg)", "aim up (deg)", "label")
    return [Table("stands", "Where loudspeakers stand and point", heads, tuple(rows))] if rows else []


def _measures(gear: Gear, word: str, count: int) -> list[Cell]:
    given = gear.facts.get(word)
    found: list[Cell] = [each.measures[0].value for each in given.entries if each.measures] if given else []
    return [*found, *([""] * count)][:count]


def _by_place(basis: Basis) -> list[Table]:
    """All plugs at each rack and place, so that whoever stands there sees all that belongs there."""
    rows: dict[str, list[Row]] = {}
    for link in basis.pulled.plugging.links:
        crossing = turned(link.turns)
        ends = ((link.source, "to", link.target), (link.target, "from", link.source))
        for here, word, there in ends:
            if not here.loose and here.gear is not None:
                row = (here.text, basis.numbers(link), f"{word} {there.text}", basis.place(there), crossing, TICK)
                rows.setdefault(basis.place(here), []).append(row)
    racks = sorted(rows, key=lambda place: not place.startswith("rack "))  # racks first, else as in the text
    heads = ("place", "socket", "lead", "goes", "other end is at", "polarity", "done")
    found = tuple((place, *row) for place in racks for row in rows[place])
    return [Table("places", "By rack and place", heads, found)] if found else []
