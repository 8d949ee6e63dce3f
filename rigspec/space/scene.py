"""A rig as it is heard: its loudspeakers, its places, and what each place is meant to hear."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import isfinite

from attrs import frozen

from rigspec.figures import Figures
from rigspec.language.syntax import Ref
from rigspec.rig.asked import names_of
from rigspec.rig.model import Rig, entries
from rigspec.rig.values import Faults
from rigspec.solve.air import Air, sound_m_per_s
from rigspec.solve.sound import BANDS_HZ, Field, Point, distance_m
from rigspec.space.voices import Drive, Unheard, Voice, noise, voices_of
from rigspec.space.where import Spot, air_of, spots_of
from rigspec.text.value import Value, once

TOLERANCE_DB = 3.0
"""How far such a sum is from what is measured in the open, at best (common practice, no source)."""
LEFT_OUT = "walls, reflections, obstacles and people"


@frozen(eq=False, repr=False)
class Scene(Value):
    """Who is heard where; it holds no figures, so that it can be kept with them.

    ``unheard`` are loudspeakers of which too little is said, ``assumes`` what all rests on.
    """

    rig: Rig
    air: Air
    voices: tuple[Voice, ...]
    unheard: tuple[Unheard, ...]
    spots: tuple[Spot, ...]
    group_of: Mapping[str, str]
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
        wanted = self._wanted(spot)
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
        wanted = self._wanted(spot)
        if wanted is None:
            return list(self.unheard)
        feeds, gears = wanted
        return [each for each in self.unheard if each.gear.full in gears or each.feeds & feeds]

    def _wanted(self, spot: Spot) -> tuple[set[str], set[str]] | None:
        given = entries(spot.gear.facts, "hears")
        return _heard(self.rig, (ref for each in given for ref in each.refs)) if given else None

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
    return Scene(figures.rig, air, voices, unheard, spots, groups, tuple(dict.fromkeys(notes)))


def has_places(figures: Figures) -> bool:
    """Is there anything in a rig that sound can be heard at? Asked before anything of this room is loaded."""
    return any(gear.word in ("place", "area") for gear in figures.rig.gear.values())


def _heard(rig: Rig, refs: Iterable[Ref]) -> tuple[set[str], set[str]]:
    """The feeds and the loudspeakers that names in `hears` stand for."""
    feeds: set[str] = set()
    gears: set[str] = set()
    lists = {roster.name: roster for roster in rig.rosters if roster.name}
    names = names_of(rig, Faults())
    for ref in refs:
        roster = lists.get(ref.name) if ref.plain else None
        found = [gear.full for gear in names.find(ref)] if roster is None else [part.name for part in roster.parts]
        if roster is not None and roster.word == "group":
            gears.update(found)
        else:
            feeds.update(found)
    return feeds, gears


@frozen(eq=False, repr=False)
class Heard(Value):
    """A loudspeaker at a point: when it is there, and how loud by itself, None where that is not known."""

    voice: Voice
    arrival_s: float
    level_db: float | None


def heard_at(scene: Scene, voices: Iterable[Voice], point: Point, drive: Drive = "nominal") -> list[Heard]:
    """Loudspeakers at a point, the first to arrive first."""
    found = []
    for voice in voices:
        level = level_at(scene, [voice], point, drive)
        found.append(Heard(voice, scene.arrival_s(voice, point), level))
    return sorted(found, key=lambda each: (round(each.arrival_s, 9), each.voice.key))


def level_at(scene: Scene, voices: Iterable[Voice], point: Point, drive: Drive, end: int = 0) -> float | None:
    """The level at a point of some loudspeakers together; None where none of them is known."""
    sources = noise(voices, drive, end)
    if not sources:
        return None
    found = Field(sources, BANDS_HZ, scene.air).level_db(point)
    return found if isfinite(found) else None
