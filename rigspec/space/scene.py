"""A rig as it is heard: its loudspeakers, its places, and what each place is meant to hear."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite

from attrs import frozen

from rigspec.figures import Figures
from rigspec.rig.asked import names_of
from rigspec.rig.model import Rig, entries, one
from rigspec.rig.values import Faults
from rigspec.solve.air import Air, sound_m_per_s
from rigspec.solve.sound import BANDS_HZ, Field, Point, distance_m
from rigspec.space.voices import Drive, Unheard, Voice, noise, voices_of
from rigspec.space.where import Spot, air_of, spots_of
from rigspec.text.value import Value, once

TOLERANCE_DB = 3.0
"""How far such a sum is from what is measured in the open, at best (common practice, no source)."""
AS_DISTANCE = "a delay written as a distance is set for 20 degC, as processors are that are not told otherwise"
LEFT_OUT = "walls, reflections, obstacles and people"


@frozen(eq=False, repr=False)
class Scene(Value):
    """Who is heard where; it holds no figures, so that it can be kept with them.

    ``unheard`` are loudspeakers of which too little is said, ``assumes`` what all rests on.
    """

    air: Air
    voices: tuple[Voice, ...]
    unheard: tuple[Unheard, ...]
    spots: tuple[Spot, ...]
    group_of: Mapping[str, str]
    wanted: Mapping[str, tuple[set[str], set[str]]]  # by place: the feeds and the loudspeakers that it is to hear
    assumes: tuple[str, ...]

    @property
    def sound_m_per_s(self) -> float:
        return sound_m_per_s(self.air.air_c)

    def arrival_s(self, voice: Voice, point: Point) -> float:
        """When the sound of a loudspeaker is at a point, counted from the feed."""
        return distance_m(voice.at, point) / self.sound_m_per_s + voice.late_s

    def called(self, voice: Voice) -> str:
        """What a loudspeaker is called beside others: its group, or its row."""
        return self.group_of.get(voice.gear.full) or voice.gear.name

    def meant_for(self, spot: Spot) -> tuple[Voice, ...]:
        """The loudspeakers that carry what a place is meant to hear; all of them where it does not say."""
        wanted = self.wanted.get(spot.name)
        if wanted is None:
            return self.voices
        feeds, gears = wanted
        return tuple(
            voice
            for voice in self.voices
            if voice.gear.full in gears or any(part.feed in feeds for part, _ in voice.shares)
        )

    def lost_to(self, spot: Spot) -> list[Unheard]:
        """The loudspeakers that a place is meant to hear of which too little is said."""
        wanted = self.wanted.get(spot.name)
        if wanted is None:
            return list(self.unheard)
        feeds, gears = wanted
        return [each for each in self.unheard if each.gear.full in gears or each.feeds & feeds]

    def spot(self, name: str) -> Spot | None:
        return next((spot for spot in self.spots if spot.name == name), None)


@once
def scene(figures: Figures) -> Scene:
    """The rig as it is heard, worked out once for all that ask."""
    air, assumes = air_of(figures.rig)
    voices, unheard = voices_of(figures)
    spots = spots_of(figures.rig)
    groups = {part.name: roster.name for roster in figures.rig.rosters_of("group") for part in roster.parts}
    notes = [*assumes, *(text for spot in spots for text in spot.assumes)]
    notes += [text for voice in voices for text in voice.assumes]
    notes += [AS_DISTANCE] if abs(air.air_c - 20) > 0.5 and _distances(figures.rig) else []
    return Scene(air, voices, unheard, spots, groups, _wanted(figures.rig, spots), tuple(dict.fromkeys(notes)))


def _distances(rig: Rig) -> bool:
    """Is any delay written as a distance?"""
    every = (facts for gear in rig.gear.values() for facts in (gear.facts, *gear.ports.values()))
    return any(one(facts, "delay", "length") is not None for facts in every)


def _wanted(rig: Rig, spots: Iterable[Spot]) -> dict[str, tuple[set[str], set[str]]]:
    """What places are meant to hear: the feeds and the loudspeakers that names in `hears` stand for."""
    lists = {roster.name: roster for roster in rig.rosters if roster.name}
    names = names_of(rig, Faults())
    wanted: dict[str, tuple[set[str], set[str]]] = {}
    for spot in spots:
        feeds: set[str] = set()
        gears: set[str] = set()
        for ref in (ref for each in entries(spot.gear.facts, "hears") for ref in each.refs):
            roster = lists.get(ref.name) if ref.plain else None
            found = [gear.full for gear in names.find(ref)] if roster is None else [part.name for part in roster.parts]
            (gears if roster is not None and roster.word == "group" else feeds).update(found)
            wanted[spot.name] = feeds, gears
    return wanted


def level_at(scene: Scene, voices: Iterable[Voice], point: Point, drive: Drive, end: int = 0) -> float | None:
    """The level at a point of some loudspeakers together; None where none of them is known."""
    sources = noise(voices, drive, end)
    if not sources:
        return None
    found = Field(sources, BANDS_HZ, scene.air).level_db(point)
    return found if isfinite(found) else None
