"""Every loudspeaker as it is heard at every place: how loud by itself, when, and how far beside its aim."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, isfinite

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.points import before_channel, before_sink
from rigspec.rig.model import Facts, delay_s, one
from rigspec.solve.sound import BANDS_HZ, OCTAVES_HZ, Field, Point, Source, beside_aim_db, level_db, off_aim_deg
from rigspec.solve.timing import PRECEDENCE_S, processor_delay_s
from rigspec.space.reach import middle_of
from rigspec.space.scene import Scene
from rigspec.space.voices import Voice, shape
from rigspec.space.where import Spot
from rigspec.text.units import show
from rigspec.text.value import Value, once

LIKE_ONE_M = 2.0
"""Boxes of one kind that stand no deeper apart than this are one row across the stage (common practice, no source)."""


@frozen(eq=False, repr=False)
class Seen(Value):
    """A loudspeaker at a point. ``level_db`` is what it gives there alone: above 100 Hz, or of a bass box all.

    It is -inf where that is not known. ``beside_db`` is what is lost beside its aim, 0 where that is not known;
    ``meant`` tells whether the place hears one of its feeds.
    """

    voice: Voice
    arrival_s: float
    level_db: float
    off_deg: tuple[float, float] | None
    beside_db: float
    meant: bool


@frozen(eq=False, repr=False)
class View(Value):
    """All loudspeakers at one place, or at the middle of an area."""

    spot: Spot
    point: Point
    seen: tuple[Seen, ...]

    @property
    def meant(self) -> list[Seen]:
        return [each for each in self.seen if each.meant]


@once
def views(scene: Scene) -> tuple[View, ...]:
    """The loudspeakers at each place, worked out once; boxes that differ in their level alone are worked out as one."""
    shapes: dict[object, tuple[bool, list[Source]]] = {}
    alike: list[object] = []
    for voice in scene.voices:
        sort = voice.at, voice.aim_deg, voice.coverage_deg, voice.band.own, *(id(part) for part, _ in voice.shares)
        alike.append(sort)
        if sort not in shapes:
            shapes[sort] = voice.bass, shape(voice)
    fields = [
        Field([source for low, found in shapes.values() if low is bass for source in found], hertz, scene.air)
        for bass, hertz in ((True, BANDS_HZ), (False, OCTAVES_HZ))
    ]
    seen = []
    for spot in scene.spots:
        point = middle_of(spot)
        meant = {id(voice) for voice in scene.meant_for(spot)}
        alone: dict[int, float] = {}
        for field in fields:
            alone.update(zip(map(id, field.sources), field.alone(point), strict=True))
        levels = {sort: level_db(sum(alone[id(each)] for each in found)) for sort, (_, found) in shapes.items()}
        pairs = zip(scene.voices, alike, strict=True)
        here = tuple(_seen(scene, voice, levels[sort], point, id(voice) in meant) for voice, sort in pairs)
        seen.append(View(spot, point, here))
    return tuple(seen)


def _seen(scene: Scene, voice: Voice, level: float, point: Point, meant: bool) -> Seen:
    nominal = voice.level_db("nominal")
    own = voice.level_db("most") if nominal is None else nominal
    off = None
    if voice.aim_deg is not None:
        off = off_aim_deg(voice.at, voice.aim_deg[0], voice.aim_deg[1] or 0.0, point)
    beside = beside_aim_db(off, voice.coverage_deg) if off is not None else 0.0
    return Seen(voice, scene.arrival_s(voice, point), -inf if own is None else own + level, off, beside, meant)


def together_db(seen: Sequence[Seen]) -> float:
    """The level of some loudspeakers together, by energy."""
    return level_db(sum(10 ** (each.level_db / 10) for each in seen if isfinite(each.level_db)))


def one_row(one: Voice, other: Voice) -> bool:
    """Are two loudspeakers of one row across the stage: of one kind, equally deep and equally high?"""
    alike = one.gear.kind is other.gear.kind and one.gear.kind is not None
    return alike and abs(one.at[1] - other.at[1]) <= LIKE_ONE_M and abs(one.at[2] - other.at[2]) <= LIKE_ONE_M


def feeds_in_common(one: Voice, other: Voice) -> set[str]:
    return {part.feed for part, _ in one.shares} & {part.feed for part, _ in other.shares}


# ---- the delay to set ------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class DelayToSet(Value):
    """The delay that brings a loudspeaker 5 to 15 ms behind another one, and the line that says it."""

    least_s: float
    most_s: float
    middle_s: float
    line: str


def delay_to_set(figures: Figures, voice: Voice, early_s: float) -> DelayToSet:
    """For a loudspeaker that arrives so much before the other; less than 0: behind it."""
    output, now_s = delay_point(figures, voice)
    wanted = [max(0.0, now_s + early_s + each) for each in PRECEDENCE_S]
    middle = processor_delay_s(max(0.0, now_s + early_s + sum(PRECEDENCE_S) / 2))
    said = show(round(middle, 4), "time")
    line = f"{output} {{ delay {said} }}" if output else f"... -> delay {said} -> ..., before {voice.band.channel}"
    return DelayToSet(wanted[0], wanted[1], middle, line)


def delay_point(figures: Figures, voice: Voice) -> tuple[str, float]:
    """The processor output at which a loudspeaker's delay is set, and what is set there; empty where there is none."""
    output = figures.rig.wiring.outputs.get(voice.band.channel)
    if voice.band.powered:
        points = before_sink(figures, voice.key)
    else:
        points = before_channel(figures, output, 0.0) if output is not None else ()
    if not points:
        fed = output.gear if output is not None and output.gear.word == "feed" else None
        return (fed.full, _delay_s(fed.facts)) if fed is not None else ("", 0.0)
    nearest = points[0].output
    return nearest.key, _delay_s(nearest.gear.ports.get(nearest.port, {}))


def _delay_s(facts: Facts) -> float:
    delay = one(facts, "delay", "time")
    length = one(facts, "delay", "length")
    return delay.value if delay is not None else delay_s(length) if length is not None else 0.0
