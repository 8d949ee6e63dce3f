"""Groups of bass boxes that are said to be an array: what each member needs, what is set, and where they are loud."""

from __future__ import annotations

from collections.abc import Sequence
from math import inf, sqrt

from attrs import evolve, frozen

from rigspec.figures import Figures
from rigspec.rig.model import Rig, Roster, one
from rigspec.solve.arrays import (
    Setting,
    curved,
    end_fire,
    far_wave,
    forward_m,
    gradient,
    half_wave_hz,
    half_wave_m,
    in_step,
    null_angles_deg,
    second_front_deg,
    spacings_m,
)
from rigspec.solve.sound import THIRDS_HZ, level_db, wave_at_1_m
from rigspec.space.intents import Intent, intent_of
from rigspec.space.scene import Scene, scene
from rigspec.space.views import delay_point
from rigspec.space.voices import Voice, passed
from rigspec.space.where import at_of
from rigspec.text.units import show
from rigspec.text.value import Value, gathered

NOMINAL = ("31.5", "40", "50", "63", "80", "100")
REJECTION_DB = 6.0
"""Less than this between front and rear is no array that looks anywhere (common practice, no source)."""
WRONG_S = 0.0005
"""A delay that is off by more than half a millisecond is a slip: 16 degrees at 90 Hz (common practice, no source)."""


@frozen(eq=False, repr=False)
class Member(Value):
    """Boxes of an array in one spot, what they need against the one that needs least, and what is set, likewise."""

    voices: tuple[Voice, ...]
    at: tuple[float, float]
    needs: Setting
    has: Setting

    @property
    def key(self) -> str:
        return self.voices[0].key

    @property
    def off_s(self) -> float:
        """How much delay is lacking; less than 0 where there is too much."""
        return self.needs.delay_s - self.has.delay_s


@frozen(eq=False, repr=False)
class Pattern(Value):
    """How loud an array is far away at one frequency, against its front: dB at its rear and its louder side.

    ``front_db`` is against one box alone. Rear and side are -inf where there is nothing.
    """

    hz: float
    front_db: float
    rear_db: float
    side_db: float
    round_db: tuple[float, ...]

    @property
    def name(self) -> str:
        """The tone by the nominal name of its third-octave."""
        return min(NOMINAL, key=lambda name: abs(float(name) - self.hz))


@frozen(eq=False, repr=False)
class ArrayFigures(Value):
    """An array: its members from the rear to the front, its pattern as it is set and as it would be as needed.

    ``band_hz`` is what reaches all of its boxes. For a spaced line ``spacing_m`` is the widest step, and ``widest_m``
    what the top of the band allows; 0 for others.
    """

    roster: Roster
    intent: Intent
    members: tuple[Member, ...]
    lacking: str
    band_hz: tuple[float, float]
    patterns: tuple[Pattern, ...]
    needed: tuple[Pattern, ...]
    spacing_m: float
    widest_m: float
    alone_hz: float
    nulls_deg: tuple[float, ...]
    again_deg: float | None

    @property
    def in_band(self) -> list[Pattern]:
        """The patterns in its band."""
        low, high = self.band_hz
        return [each for each in self.patterns if low / 2 ** (1 / 6) <= each.hz <= high * 2 ** (1 / 6)]

    @property
    def called(self) -> str:
        return f"{self.roster.name}, {self.intent.word}"

    @property
    def rejection_db(self) -> float:
        """How much softer its rear is than its front, over its band taken together as noise."""
        return rejection_db(self.in_band)

    @property
    def possible_db(self) -> float:
        """The same if every member were set as it needs."""
        low, high = self.band_hz
        return rejection_db([each for each in self.needed if low / 2 ** (1 / 6) <= each.hz <= high * 2 ** (1 / 6)])

    @property
    def off(self) -> list[Member]:
        """The members whose delay or polarity is not what they need, the farthest off first."""
        found = [each for each in self.members if abs(each.off_s) > WRONG_S or each.needs.inverted != each.has.inverted]
        return sorted(found, key=lambda each: (each.needs.inverted == each.has.inverted, -abs(each.off_s), each.key))

    @property
    def directed(self) -> bool:
        """Is it meant to be softer behind than in front?"""
        return self.intent.word in ("end-fire", "gradient")


def rejection_db(patterns: Sequence[Pattern]) -> float:
    """Front over rear of several tones, as noise; 0 where there are none."""
    front = sum(10 ** (each.front_db / 10) for each in patterns)
    rear = sum(10 ** ((each.front_db + each.rear_db) / 10) for each in patterns)
    return level_db(front / rear) if front > 0 and rear > 0 else 0.0 if not front > 0 else inf


LEAST_DEPTH_M = 0.3
ROUND_DEG = tuple(range(0, 360, 5))


def arrays(figures: Figures, heard: Scene) -> tuple[ArrayFigures, ...]:
    """Every group that says what array it is meant to be."""
    found = []
    for roster in figures.rig.rosters_of("group"):
        intent = intent_of(roster)
        if intent is not None:
            found.append(_array(heard, roster, intent))
    return tuple(found)


def _array(heard: Scene, roster: Roster, intent: Intent) -> ArrayFigures:
    names = [part.name for part in roster.parts]
    voices = [voice for voice in heard.voices if voice.gear.full in names]
    missing = sorted(set(names) - {voice.gear.full for voice in voices})
    nothing = ArrayFigures(roster, intent, (), "", (0.0, 0.0), (), (), 0.0, 0.0, inf, (), None)
    if missing or len(voices) < 2:
        return evolve(nothing, lacking=f"it is not known where {missing[0]} stands" if missing else "it has one box")
    spots = list(gathered(voices, lambda voice: (voice.at[0], voice.at[1])).items())
    places = [at for at, _ in spots]
    metre = heard.sound_m_per_s
    needs = _needed(intent, places, metre)
    lates = [found[0].late_s for _, found in spots]
    has = [Setting(late - min(lates), each[1][0].inverted) for late, each in zip(lates, spots, strict=True)]
    needs, has = _matched(needs, has)
    members = tuple(
        Member(tuple(found), at, need, own) for (at, found), need, own in zip(spots, needs, has, strict=True)
    )
    band = max(voice.range_hz[0] for voice in voices), min(voice.range_hz[1] for voice in voices)
    patterns = [_patterns(members, intent, metre, as_needed) for as_needed in (False, True)]
    if intent.word == "gradient" and _depth(places, intent) < LEAST_DEPTH_M:
        return evolve(nothing, lacking="its boxes all stand equally deep, and how deep they sound is not known")
    steps = spacings_m(places) if intent.word in ("spaced", "curved", "side-by-side") else []
    spacing = max(steps, default=0.0)
    top = min(band[1], THIRDS_HZ[-1])
    alike = len(steps) > 0 and max(steps) - min(steps) < 0.1
    return ArrayFigures(
        roster,
        intent,
        members,
        "",
        band,
        patterns[0],
        patterns[1],
        spacing,
        half_wave_m(top, metre) if spacing else 0.0,
        half_wave_hz(spacing, metre) if spacing else inf,
        tuple(null_angles_deg(len(places), spacing, top, metre)) if alike and spacing else (),
        second_front_deg(spacing, top, metre) if alike and spacing else None,
    )


def _depth(places: Sequence[tuple[float, float]], intent: Intent) -> float:
    forward = [forward_m(at, intent.toward_deg) for at in places]
    return max(forward) - min(forward)


def _needed(intent: Intent, places: Sequence[tuple[float, float]], metre: float) -> list[Setting]:
    match intent.word:
        case "end-fire":
            return end_fire(places, intent.toward_deg, metre)
        case "gradient":
            return gradient(places, intent.toward_deg, metre)
        case "curved":
            return curved(places, intent.toward_deg, intent.angle_deg, metre)
        case _:
            return in_step(places)


def _matched(needs: Sequence[Setting], has: Sequence[Setting]) -> tuple[list[Setting], list[Setting]]:
    """Both counted alike: polarity against the members that need none, delay from the least; as they fit best."""
    normal = [own.inverted for need, own in zip(needs, has, strict=True) if not need.inverted]
    inverted = sum(normal) * 2 > len(normal)
    own = [Setting(each.delay_s, each.inverted != inverted) for each in has]
    apart = [need.delay_s - each.delay_s for need, each in zip(needs, own, strict=True)]
    agreeing = {shift: sum(abs(each - shift) <= WRONG_S for each in apart) for shift in apart}
    shift = min(agreeing, key=lambda each: (-agreeing[each], each > 1e-9, abs(each)))  # no delay below nothing is asked
    moved = [Setting(each.delay_s + shift, each.inverted) for each in own]
    least = min(min(each.delay_s for each in moved), 0.0)
    return [Setting(n.delay_s - least, n.inverted) for n in needs], [
        Setting(each.delay_s - least, each.inverted) for each in moved
    ]


def _patterns(members: Sequence[Member], intent: Intent, metre: float, as_needed: bool) -> tuple[Pattern, ...]:
    """The pattern far away at each third-octave, as it is set or as it is needed."""
    places = [member.at for member in members]
    found = []
    for hz in THIRDS_HZ:
        waves = [_wave(member, hz, as_needed) for member in members]
        alone = max(abs(each) / len(member.voices) for each, member in zip(waves, members, strict=True))
        if not alone:
            continue
        levels = [
            level_db(abs(far_wave(places, waves, hz, intent.toward_deg + angle, metre)) ** 2) for angle in ROUND_DEG
        ]
        front = levels[0]
        at = {angle: level - front for angle, level in zip(ROUND_DEG, levels, strict=True)}
        beside = tuple(level - front for level in levels)
        found.append(Pattern(hz, front - level_db(alone**2), at[180], max(at[90], at[270]), beside))
    return tuple(found)


def _wave(member: Member, hz: float, as_needed: bool) -> complex:
    """What the boxes of a spot give together, against each other's spots."""
    total = 0j
    for voice in member.voices:
        level = voice.level_db("nominal")
        level = voice.level_db("most") if level is None else level
        part = max(voice.shares, key=lambda share: share[1])[0]
        through = passed(part.filters, (hz,))[0]
        setting = member.needs if as_needed else member.has
        late = setting.delay_s + (0.0 if as_needed else voice.late_s - member.voices[0].late_s)
        inverted = setting.inverted != (not as_needed and voice.inverted != member.voices[0].inverted)
        total += through * wave_at_1_m(level or 0.0, hz, late, inverted)
    return total


def line_to_set(figures: Figures, member: Member) -> str:
    """The line that would set what a member needs."""
    voice = member.voices[0]
    output, now_s = delay_point(figures, voice)
    turn = member.needs.inverted != member.has.inverted
    late = abs(member.off_s) > WRONG_S
    if not output:
        now_s = min(part.delay_s for part, _ in voice.shares)
    delay = show(round(max(0.0, now_s + member.off_s), 4), "time")
    if output:
        words = [*([f"delay {delay}"] if late else []), *(["inverted"] if turn and member.needs.inverted else [])]
        words += ["not inverted"] if turn and not member.needs.inverted else []
        return f"{output} {{ {'; '.join(words)} }}"
    way = [*(["invert"] if turn else []), *([f"delay {delay}"] if late else [])]
    return f"... -> {' -> '.join(way)} -> {voice.band.channel}"


def best_spacing_m(figures: Figures, array: ArrayFigures) -> float:
    """How far boxes of an array that looks somewhere stand apart at best: a quarter of a wave in mid-band."""
    metre = scene(figures).sound_m_per_s
    return half_wave_m(sqrt(array.band_hz[0] * array.band_hz[1]), metre) / 2


def rear_of(rig: Rig, roster: Roster) -> list[str]:
    """The boxes of a gradient array that stand or look behind, and are to be inverted."""
    intent = intent_of(roster)
    toward = intent.toward_deg if intent is not None else 0.0
    found = {part.name: (at_of(gear), gear) for part in roster.parts if (gear := rig.gear.get(part.name)) is not None}
    forward = {name: forward_m((at[0], at[1]), toward) for name, (at, _) in found.items() if at is not None}
    if not forward:
        return []
    middle = (max(forward.values()) + min(forward.values())) / 2
    if max(forward.values()) - min(forward.values()) >= LEAST_DEPTH_M:
        return [name for name, metres in forward.items() if metres < middle]
    aims = {name: one(gear.facts, "aim", "angle") for name, (_, gear) in found.items()}
    return [name for name, aim in aims.items() if aim is not None and abs((aim.value - toward + 180) % 360 - 180) > 90]
