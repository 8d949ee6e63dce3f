"""The patch list: what is plugged where, in the order of the signal, and once more by rack and place."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.sheets.basis import Basis, turned
from rigspec.sheets.by_place import by_place
from rigspec.sheets.links import Junction, SheetLink
from rigspec.sheets.sheet import TICK, Row, Sheet, Table

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
    tables += by_place(basis)
    notes = [
        "Lead numbers are those of the lead list: S signal, P loudspeaker, M mains, R in reserve.",
        "Plugs: what the stock or the rig says is on the ends of a lead; `not said` where neither does, and wherever no"
        " lead is described. Look at the gear before you pack.",
        "Sockets: out and in of gear, or the two sides of a panel; link is a loudspeaker's second socket.",
        *_labelled(basis),
        *map(_junction, basis.pulled.plugging.junctions),
    ]
    if any("between the hot poles" in link.source.text for link in links):
        notes.append("Between the hot poles: plus is that of the first channel named, minus that of the second.")
    cautions = ["Plug and unplug loudspeakers with the amplifier off."]
    if any(link.turns for link in links):
        cautions.append(
            "Where it says CROSSED plus and minus are exchanged on purpose, once, in the plug or by an adapter at the"
            " end that is said. Do not put that right, and do not do it at the other end too."
        )
    intro = (
        "Every connection from socket to socket, in the order of the signal. Then each rack and each place by itself:"
        " what leaves it and what comes to it, so that every connection stands at both its ends."
    )
    return Sheet("patch", "Patch list", intro, tuple(tables), tuple(notes), tuple(cautions))


def _row(basis: Basis, link: SheetLink) -> Row:
    return (
        link.source.text,
        basis.place(link.source),
        link.target.text,
        basis.place(link.target),
        basis.numbers(link),
        _plugs(*basis.plugs(link)),
        turned(link.turns),
        basis.on_the_way(link),
        TICK,
    )


def _plugs(first: str, last: str) -> str:
    return first if first == last else f"{first} to {last}"


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
