"""Levels at single inputs and outputs, and the stages at which a signal on its way can clip."""

from __future__ import annotations

from typing import Literal

from attrs import frozen

from rigspec.figures.signal import Contribution, Level, Loading
from rigspec.language.words import SettingWord
from rigspec.rig.model import Gear, Measure
from rigspec.solve.decibel import dbu_to_volt
from rigspec.text.source import Span
from rigspec.text.units import show
from rigspec.text.value import Value

REFERENCES: tuple[SettingWord, ...] = ("peak", "level", "gain")
"""What headroom at peaks is measured from: the feeds' highest levels; else nominal ones; else feeds at 0 dBu."""


TOLD_DB = 0.1
"""How far over a clip is told: no control of an amplifier is set more finely (common practice, no source)."""


@frozen(eq=False, repr=False)
class LevelPoint(Value):
    """What stands at an input or an output.

    ``level`` is nominal, ``peak`` that of a sine with the highest peaks, both with what limiters on the way take;
    ``wanted_level`` and ``wanted_peak`` are without that. Each is None where a feed's level or a gain is not known.
    ``most_dbu`` is the most that peak limiters let come here, None where some way has none. ``loading`` is what an
    output drives; None for inputs and for outputs of power. Filters take nothing from a level: it is that of a tone
    inside the band.
    """

    key: str
    end: Literal["input", "output"]
    gear: Gear
    span: Span
    parts: tuple[Contribution, ...]
    level: Level | None
    peak: Level | None
    wanted_level: Level | None
    wanted_peak: Level | None
    most_dbu: float | None = None
    loading: Loading | None = None

    @property
    def volt(self) -> float | None:
        """The nominal level in volts (rms)."""
        return None if self.level is None else dbu_to_volt(self.level.dbu)

    @property
    def unknown(self) -> str:
        """Why the level is not known; empty where it is."""
        if self.level is not None:
            return ""
        if not self.parts:
            return f"no signal that is known arrives at {self.key}"
        lacking = [part for part in self.parts if part.gain_db is None]
        if lacking:
            return lacking[0].unknown or f"a gain on the way to {self.key} is not known"
        return f"no `level` of {' and '.join(dict.fromkeys(part.feed for part in self.parts))} is given"


@frozen(eq=False, repr=False)
class Stage(Value):
    """A point at which a signal can clip, and where it does.

    ``said`` is where its limit is said. ``feed`` is the one that is loudest here, and ``feed_dbu`` its level at which
    the stage clips, with all other feeds as far above or below it as they are said to be. ``rooms`` are dB from the
    feeds' ``peak``, from their ``level``, and from feeds at 0 dBu to the clip, without limiters; below 0 where it
    clips. ``held``: limiters on the way never let it come to that. ``load_ohm`` is what an amplifier's output sees.
    """

    point: LevelPoint
    clip_dbu: float
    said: Span | None
    assumes: tuple[str, ...]
    feed: str
    feed_dbu: float | None
    rooms: tuple[float | None, float | None, float | None]
    held: bool
    load_ohm: float | None = None

    @property
    def key(self) -> str:
        return self.point.key

    @property
    def limit(self) -> str:
        """What clips, in words."""
        if self.load_ohm is not None:
            return f"its rated output into {show(self.load_ohm, 'resistance')}"
        if self.point.gear.word == "speaker":
            return "the level of its full output"
        return "the most its input takes" if self.point.end == "input" else "the most its output gives"

    @property
    def headroom_db(self) -> float | None:
        """From the nominal level, as it is behind all limiters, to the clip; None where it is not known."""
        return None if self.point.level is None else self.clip_dbu - self.point.level.dbu

    @property
    def over_db(self) -> float | None:
        """How far the feeds' highest peaks, as they are behind all limiters, go beyond the clip: below 0 within it."""
        return None if self.point.peak is None else self.point.peak.worst_dbu - self.clip_dbu

    @property
    def most_over_db(self) -> float | None:
        """The same at the highest that the tolerances of the feeds' peaks leave."""
        return None if self.point.peak is None else self.point.peak.most_dbu - self.clip_dbu


@frozen(eq=False, repr=False)
class Chain(Value):
    """The stages on the way to an amplifier's output or to a powered loudspeaker, in the order of the signal.

    ``first`` is the one that clips first as all feeds are raised together; None where none does or nothing is known.
    ``reference`` says from which levels that was found. ``silent`` says why nothing is concluded: an output on the way
    is switched off, or a fault in the text leaves it open.
    """

    key: str
    gear: Gear
    span: Span
    stages: tuple[Stage, ...]
    first: Stage | None
    reference: str
    silent: str

    @property
    def last(self) -> Stage | None:
        """The stage at its end: the amplifier's output, or the full output of a powered loudspeaker, if it is known."""
        final = self.stages[-1] if self.stages else None
        return final if final is not None and final.key == self.key and final.point.gear is self.gear else None

    def later_db(self, stage: Stage) -> float | None:
        """How many dB after the first a stage clips; None where it never does or it is not known."""
        if self.first is None or stage.held:
            return None
        number = REFERENCES.index(self.reference)
        room, least = stage.rooms[number], self.first.rooms[number]
        return None if room is None or least is None else room - least

    @property
    def spread_db(self) -> float | None:
        """By how much the first and the last stage to clip differ."""
        found = [late for stage in self.stages if (late := self.later_db(stage)) is not None]
        return max(found) if len(found) > 1 else None


def said_measure(gear: Gear, word: SettingWord) -> Measure | None:
    """A clip point as it is said, as a level or a voltage."""
    return gear.measure(word, "level") or gear.measure(word, "voltage")
