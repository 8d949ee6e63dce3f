"""Every lead as a thing to pull: its number, its ends, its size, what is on it, and where it is crossed."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from attrs import evolve, frozen

from rigspec.figures import Figures
from rigspec.language.words import SettingWord
from rigspec.rig.model import Gear, Kind, LeadSpec, Measure, Piece, one
from rigspec.sheets.links import End, Plugging, SheetLink, plugging
from rigspec.sheets.sheet import number
from rigspec.text.value import Value

OF_CARRIES = {"signal": "S", "power": "P", "mains": "M", "": "R"}


@frozen(eq=False, repr=False)
class Core(Value):
    """One pair of a lead in use: the connection it serves, and what is at its two ends."""

    piece: Piece | None
    link: SheetLink | None
    near: End
    far: End
    crossings: tuple[str, ...] = ()  # where it is crossed: "made crossed", "near end", "far end"


@frozen(eq=False, repr=False)
class SheetLead(Value):
    """One lead. ``number`` is its number on all sheets: S signal, P loudspeaker, M mains, R in reserve."""

    number: str
    carries: str
    spec: LeadSpec | None
    kind: Kind | None
    gear: Gear | None
    cores: tuple[Core, ...]

    @property
    def crossings(self) -> tuple[str, ...]:
        """Where it is crossed, with the pair if it has several."""
        pairs = self.gear.count("pairs", 1) if self.gear else 1
        return tuple(
            f"pair {core.piece.name.rpartition('.')[2]}: {text}" if core.piece is not None and pairs > 1 else text
            for core in self.cores
            for text in core.crossings
        )

    @property
    def label(self) -> str:
        """The text for its label: its number, its own label or name, and where it runs."""
        own = texts(self.gear, "label") if self.gear else ()
        name = own[0] if own else self.gear.full if self.gear else ""
        if not name:
            name = f"{self.cores[0].near.text} to {self.cores[0].far.text}" if self.cores else ""
        return f"{self.number} {name}".strip()

    @property
    def ends(self) -> tuple[str, str]:
        """Both ends: the places its `ends` names, and the sockets."""
        said = texts(self.gear, "ends") if self.gear else ()
        found = []
        for side in (0, 1):
            sockets = dict.fromkeys((core.far if side else core.near).text for core in self.cores)
            place = said[side] if len(said) > side else ""
            found.append(": ".join(each for each in (place, "; ".join(sockets)) if each) or "in reserve")
        return found[0], found[1]

    @property
    def connectors(self) -> tuple[str, str]:
        """What is on its ends, "" where nobody says."""
        facts = self.gear.facts if self.gear else self.kind.facts if self.kind else {}
        given = facts.get("connectors")
        said = [text for each in given.entries for text in each.texts] if given else []
        if len(said) == 1:
            return said[0], said[0]
        return (said[0], said[1]) if len(said) > 1 else ("", "")

    @property
    def weight_kg(self) -> float | None:
        """What it weighs, None where nobody says."""
        said = one(self.gear.facts if self.gear else self.kind.facts if self.kind else {}, "weight", "mass")
        return None if said is None else said.value

    @property
    def kind_name(self) -> str:
        return self.kind.name if self.kind else ""


def texts(gear: Gear | None, word: SettingWord) -> tuple[str, ...]:
    """The texts of a setting of a thing."""
    given = gear.facts.get(word) if gear else None
    return tuple(text for each in given.entries for text in each.texts) if given else ()


def metres(spec: LeadSpec | None) -> str:
    """The length in metres, with what was written where that is in another unit."""
    if spec is None or spec.length is None:
        return "not said"
    length = spec.length
    shown = number(length.value) if length.low == length.high else f"{number(length.low)} to {number(length.high)}"
    return shown if length.text.rstrip().endswith(" m") or length.text.endswith("0m") else f"{shown} ({length.text})"


def size(spec: LeadSpec | None) -> str:
    """The size of each conductor: mm2 as a bare number, a gauge with its unit."""
    said: Measure | None = (spec.area_mm2 or spec.awg) if spec else None
    if spec is None or said is None:
        return "not said"
    if said.kind == "gauge":
        shown = said.text
    else:
        shown = number(said.value) if said.low == said.high else f"{number(said.low)} to {number(said.high)}"
    made = [word for word, is_so in (("solid", spec.solid), ("tinned", spec.tinned)) if is_so]
    return " ".join([shown, *made])


@frozen(eq=False, repr=False)
class Pulled(Value):
    """All leads of a rig, by the piece of the wiring too, and the connections that no lead is described for."""

    plugging: Plugging
    leads: tuple[SheetLead, ...]
    of_piece: Mapping[Piece, SheetLead]
    core_of: Mapping[Piece, Core]
    bare: tuple[SheetLink, ...]


def pulled(figures: Figures) -> Pulled:
    """Number all leads: those of paths, the feeds of the mains, and named ones that nothing uses."""
    found = plugging(figures)
    made: dict[object, SheetLead] = {}
    for link in found.links:
        for core in _cores(link):
            assert core.piece is not None
            gear = core.piece.gear
            key: object = gear.full if gear else core.piece
            lead = made.get(key)
            if lead is None:
                spec = core.piece.spec
                kind = gear.kind if gear else spec.kind if spec else None
                made[key] = SheetLead("", link.carries, spec, kind, gear, (core,))
            else:
                made[key] = evolve(lead, cores=(*lead.cores, core), carries=lead.carries or link.carries)
    for part in figures.mains.parts.values():
        if part.node.lead is not None:
            above = figures.mains.parts[part.node.parent].node.gear if part.node.parent else None
            near = End(f"{above.full} outlet" if above else "the supply", above)
            core = Core(None, None, near, End(f"{part.key} in", part.node.gear))
            made[f"feed of {part.key}"] = SheetLead("", "mains", part.node.lead, None, None, (core,))
    for gear in figures.rig.gear.values():
        if gear.word == "lead" and gear.full not in made:
            made[gear.full] = SheetLead("", "", _spec(gear), gear.kind, gear, ())
    leads = tuple(_numbered(made.values()))
    of_piece = {core.piece: lead for lead in leads for core in lead.cores if core.piece is not None}
    core_of = {core.piece: core for lead in leads for core in lead.cores if core.piece is not None}
    bare = tuple(link for link in found.links if not link.leads)
    return Pulled(found, leads, of_piece, core_of, bare)


def _numbered(leads: Iterable[SheetLead]) -> Iterator[SheetLead]:
    ordered = sorted(leads, key=lambda lead: list(OF_CARRIES).index(lead.carries))
    counts: dict[str, int] = {}
    for lead in ordered:
        letter = OF_CARRIES[lead.carries]
        counts[letter] = counts.get(letter, 0) + 1
        yield evolve(lead, number=f"{letter}{counts[letter]}")


def _cores(link: SheetLink) -> Iterator[Core]:
    """The leads of a connection, each with its ends and its crossings; a crossing belongs to the lead before it."""
    leads = [number for number, piece in enumerate(link.items) if piece.what == "lead"]
    for place, at in enumerate(leads):
        piece = link.items[at]
        near = link.source if place == 0 else End(f"coupler on this way from {link.source.text}")
        far = link.target if place == len(leads) - 1 else End(f"coupler on this way to {link.target.text}")
        after = leads[place + 1] if place + 1 < len(leads) else len(link.items)
        crossings = ["made crossed"] * (piece.inverted is not None)
        if place == 0:
            crossings += ["near end"] * sum(each.what == "invert" for each in link.items[:at])
        crossings += ["far end"] * sum(each.what == "invert" for each in link.items[at + 1 : after])
        yield Core(piece, link, near, far, tuple(crossings))


def _spec(gear: Gear) -> LeadSpec | None:
    given = gear.facts.get("size")
    entry = given.entries[0] if given and given.entries else None
    if entry is None:
        return None
    words = entry.words
    length = gear.measure("length", "length")
    return LeadSpec(entry.get("area"), entry.get("gauge"), length, "solid" in words, "tinned" in words, gear.kind)
