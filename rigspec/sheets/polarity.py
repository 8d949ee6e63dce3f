"""The polarity sheet: which way every cone must move on a positive pulse at each feed, and every turn on its way."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures.channel import turned_inside
from rigspec.figures.trace import Arrival, Turn
from rigspec.rig.model import Gear, Sink
from rigspec.sheets.basis import Basis
from rigspec.sheets.links import End, SheetLink
from rigspec.sheets.sheet import TICK, Cell, Row, Sheet, SheetMark, Table, filled
from rigspec.text.source import Span

HEADS = (
    "loudspeaker",
    "driver",
    "feed",
    "cone moves",
    "inversions",
    "inverted or crossed by, with line of the rig",
    "seen",
)


def sheet(basis: Basis) -> Sheet:
    """The polarity sheet."""
    crossings = Crossings(basis)
    rows = [
        row
        for arrival in basis.figures.trace.arrivals.values()
        if arrival.sink.gear.word == "speaker" and arrival.sink.takes != "mains"
        for row in _rows(basis, crossings, arrival)
    ]
    tables = (Table("drivers", "Every driver, feed by feed", HEADS, tuple(rows)),)
    notes = [
        "OUT: away from the magnet, towards the listener. IN: towards the magnet. A positive pulse is plus on pin 2 of"
        " a balanced plug (AES14), and plus on the plus pole of a loudspeaker moves its cone OUT"
        " (IEC 60268-5, from memory).",
        "Feed one pulse at a time, at a low level, and mute what you do not look at.",
        "Filters and delays hide the first movement: use a polarity meter without them, or look at a bass by eye.",
        "The inversions of a feed that comes inverted count from plus at the desk.",
    ]
    for roster in basis.figures.rig.rosters_of("group"):
        against = [part.name for part in roster.parts if part.against]
        if against:
            notes.append(f"Group {roster.name}: {', '.join(against)} are meant to push against the others.")
    intro = "Give each feed a positive pulse and look at every cone. Tick each that moves as it must."
    return Sheet("polarity", "Polarity sheet", intro, filled(tables), tuple(notes))


def drivers_of(gear: Gear, way: str) -> list[tuple[str, Turn | None]]:
    """The drivers of a loudspeaker or a way, each with what turns it inside; one without a name where none is said."""
    given = (gear.way(way) if way else gear.facts).get("drivers") or gear.facts.get("drivers")
    if given is None or (way and "drivers" not in gear.way(way)):
        return [(way or "cone", None)]
    return [
        (ref.name, Turn(each.span, f"{ref.name} is inverted inside {gear.full}") if "inverted" in each.words else None)
        for each in given.entries
        for ref in each.refs
    ]


def _rows(basis: Basis, crossings: Crossings, arrival: Arrival) -> Iterable[Row]:
    sink = arrival.sink
    own = (*arrival.turns, *turned_inside(sink.gear, sink.port))
    parts = basis.figures.signals.at_output(arrival.output)
    for driver, inside in drivers_of(sink.gear, sink.port):
        if not parts:
            yield sink.key, driver, "no feed that is known", "", "", "", ""
        seen: dict[tuple[str, tuple[Turn, ...]], None] = {}
        for part in parts:
            turns = (*part.turns, *own, *([inside] if inside else []))
            seen[part.feed, turns] = None
        for feed, turns in seen:
            yield sink.key, driver, feed, direction(len(turns)), len(turns), _told(basis, crossings, sink, turns), TICK


def direction(turns: int) -> Cell:
    """Which way a cone moves after so many turns."""
    return SheetMark("IN") if turns % 2 else "OUT"


def _told(basis: Basis, crossings: Crossings, sink: Sink, turns: Iterable[Turn]) -> str:
    """Each turn with its line, and with its file where that is not the rig's own."""
    own, told = basis.figures.rig.source.path, []
    for turn in turns:
        file = "" if turn.span.path == own else f" of {turn.span.path}"
        told.append(f"{crossings.where(turn, sink)} (line {turn.span.line}{file})")
    return "; ".join(told)


class Crossings:
    """Where each crossing is, as the crew finds it: by lead, or by the sockets between which it is."""

    def __init__(self, basis: Basis) -> None:
        self.at: dict[Span, list[tuple[SheetLink, str]]] = {}
        self.before: dict[str, dict[str, None]] = {}
        for link in basis.pulled.plugging.links:
            here = self.before.setdefault(_name(link.target), {})
            here[_name(link.source)] = None
            for piece in link.items:
                if piece.what == "invert" or piece.inverted is not None:
                    leads = ", ".join(dict.fromkeys(basis.numbered(lead) for lead in link.leads))
                    way = f"{leads + ', ' if leads else ''}{link.source.text} to {link.target.text}"
                    self.at.setdefault(piece.inverted or piece.span, []).append((link, f"crossed: {way}"))

    def where(self, turn: Turn, sink: Sink) -> str:
        """The place of a turn on the way to a loudspeaker; its own words where it is none of a connection."""
        found = self.at.get(turn.span, [])
        if len(found) > 1:  # one hop of the text that stands for several
            behind = self._upstream(sink.gear.full)
            found = [each for each in found if _name(each[0].target) in behind]
        return " or ".join(way for _, way in found) or turn.text

    def _upstream(self, name: str) -> set[str]:
        """A thing, and all from which its signal may come."""
        seen: set[str] = set()
        todo = [name]
        while todo:
            at = todo.pop()
            if at not in seen:
                seen.add(at)
                todo += self.before.get(at, ())
        return seen


def _name(end: End) -> str:
    """What stands at an end: the thing, or the junction without the words for its circuits and loops."""
    return end.gear.full if end.gear is not None else end.text.partition(",")[0]
