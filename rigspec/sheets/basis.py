"""What all sheets are made from: the figures, the leads with their numbers, and where each thing is."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import frozen

from rigspec.figures import Figures
from rigspec.rig.model import Gear, Piece
from rigspec.sheets.leads import Pulled, SheetLead, pulled, texts
from rigspec.sheets.links import End, SheetLink
from rigspec.sheets.sheet import Cell, SheetMark
from rigspec.text.units import show
from rigspec.text.value import Value

UNSAID = "not said"
CROSS_IT = "cross it once, at its far end"


@frozen(eq=False, repr=False)
class Basis(Value):
    """``racks`` gives the rack of each thing that a rack lists."""

    figures: Figures
    pulled: Pulled
    racks: Mapping[str, str]

    def place(self, end: End) -> str:
        """Where a socket is: a rack, a row of loudspeakers, a panel, a part of the mains."""
        return self.place_of(end.gear) if end.gear is not None else "on the way"

    def place_of(self, gear: Gear) -> str:
        if gear.full in self.racks:
            return f"rack {self.racks[gear.full]}"
        match gear.word:
            case "speaker":
                return f"loudspeakers {gear.name}"
            case "panel":
                return " ".join(["panel", gear.full, *(f'"{text}"' for text in texts(gear, "label"))])
            case "mains":
                return " ".join(["mains", gear.full, *(f'"{text}"' for text in texts(gear, "label"))])
            case "feed" | "mix":
                return "feeds"
        return f"{gear.word} {gear.full}, in no rack"

    def numbers(self, link: SheetLink) -> str:
        """The numbers of the leads of a connection."""
        return ", ".join(map(self.numbered, link.leads)) or "none said"

    def numbered(self, piece: Piece) -> str:
        """The number of a lead, with its pair where it has several."""
        lead: SheetLead = self.pulled.of_piece[piece]
        several = lead.gear is not None and lead.gear.count("pairs", 1) > 1
        name = piece.name if several else ""
        return f"{lead.number} pair {name.rpartition('.')[2]}" if several else lead.number

    def plugs(self, link: SheetLink) -> tuple[str, str]:
        """What is on the first and the last end of the leads of a connection, as far as somebody says it."""
        if not link.leads:
            return UNSAID, UNSAID
        first, last = (self.pulled.of_piece[link.leads[at]].connectors for at in (0, -1))
        return first[0] or UNSAID, last[1] or UNSAID

    def crossed_where(self, link: SheetLink) -> str:
        """Where the crossings of a connection are: by lead, or without one."""
        found = [
            f"{self.numbered(piece)} {text}" for piece in link.leads for text in self.pulled.core_of[piece].crossings
        ]
        if link.turns and not found:
            return CROSS_IT
        return ", ".join(found)

    def on_the_way(self, link: SheetLink) -> str:
        """What lies on a connection besides its leads: crossings, pads, delays."""
        way = [self.crossed_where(link)]
        for piece in link.items:
            if piece.what == "pad":
                way.append(f"pad {show(-piece.gain_db, 'gain')}")
            elif piece.what == "delay":
                said, time = " ".join(piece.span.text.split()), show(piece.delay_s, "time")
                way.append(said if said.endswith(time) else f"{said}, {time}")
        return "; ".join(each for each in way if each)


def turned(count: int) -> Cell:
    """What to show for so many crossings on one way."""
    if not count:
        return "straight"
    return SheetMark("CROSSED" if count == 1 else "CROSSED TWICE" if count == 2 else f"CROSSED {count} TIMES")


def basis(figures: Figures) -> Basis:
    """Everything that sheets are made from, worked out once."""
    racks = {part.name: roster.name for roster in figures.rig.rosters_of("rack") for part in roster.parts}
    return Basis(figures, pulled(figures), racks)
