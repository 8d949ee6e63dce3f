"""What each loudspeaker gives at 1 m: from its sensitivity and the power it gets, or from what it gives at its most."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from math import inf, isfinite, log2, log10, sqrt
from typing import Literal, TypeAlias

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.band import BoxBand
from rigspec.figures.crossovers import BEYOND_OWN
from rigspec.figures.signal import Contribution, Level, Passed
from rigspec.rig.model import Entry, Facts, Gear, Measure, first, one
from rigspec.solve.decibel import dbu_to_volt, gain_to_ratio, volt_to_dbu
from rigspec.solve.filter import together
from rigspec.solve.sound import BANDS_HZ, OCTAVES_HZ, THIRDS_HZ, Point, Source, wave_at_1_m
from rigspec.space.where import at_of, measures
from rigspec.text.value import Value

Drive: TypeAlias = Literal["nominal", "peaks", "most"]
DRIVES: tuple[Drive, ...] = ("nominal", "peaks", "most")
PEAK_OF_SINE_DB = 10 * log10(2)
GROUND_DB = 6.0206  # a hard ground doubles the pressure of what stands on it (image source, wave theory)
EVERYWHERE_DEG = 1e9  # an angle so wide that it takes nothing
REFERENCE_VOLT = 2.83
ALIKE = "loudspeakers without coverage and aim are taken as equal in all directions"
UPRIGHT = "an aim that gives no angle up is taken to reach all heights alike"
AS_STOOD = "a sensitivity that does not say free-field or half-space is taken for the box as it stands"
ONE_WATT = "a sensitivity that does not say of what is taken for 1 W at 1 m"
FULL_AT_DRIVE = "a powered box gives its peak level at its `drive`"


@frozen(eq=False, repr=False)
class Voice(Value):
    """A loudspeaker, or a way of it, as it is heard.

    ``levels_db`` are what it gives at 1 m on its axis with the feeds at their nominal level (a mean), at their peaks,
    and at the most that it can be given (both the highest peaks); None where that is not known. ``low_db`` and
    ``high_db`` are how far tolerances may move that. ``shares`` are the feeds it carries, each with its part of the
    amplitude; ``pair_of`` gives the stereo pair of each feed that has one. ``late_s`` is what lies between the feed and
    the box in time, of the feed that comes first.
    """

    band: BoxBand
    at: Point
    aim_deg: tuple[float, float | None] | None
    coverage_deg: tuple[float, float] | None
    levels_db: tuple[float | None, float | None, float | None]
    low_db: float
    high_db: float
    shares: tuple[tuple[Contribution, float], ...]
    pair_of: Mapping[str, str]
    assumes: tuple[str, ...]

    @property
    def key(self) -> str:
        return self.band.key

    @property
    def gear(self) -> Gear:
        return self.band.gear

    def level_db(self, drive: Drive) -> float | None:
        return self.levels_db[DRIVES.index(drive)]

    @property
    def late_s(self) -> float:
        return min(part.delay_s + part.latency_s for part, _ in self.shares)

    @property
    def inverted(self) -> bool:
        """Does a positive pulse of the feed that counts most come out as a negative one?"""
        part = max(self.shares, key=lambda each: each[1])[0]
        return (len(part.turns) + len(self.band.own_turns)) % 2 == 1

    @property
    def range_hz(self) -> tuple[float, float]:
        """Where it plays: its own band, cut by what reaches it."""
        own, low, high = self.band.own, self.band.low_hz, self.band.high_hz
        return (
            max(own.low if own else 20.0, low or 0.0),
            min(own.high if own else 20_000.0, high or inf),
        )

    @property
    def bass(self) -> bool:
        """Does it play nothing but bass?"""
        return self.range_hz[1] <= 250.0


@frozen(eq=False, repr=False)
class Unheard(Value):
    """A loudspeaker that cannot be placed in the sum, and why; the feeds that it carries."""

    gear: Gear
    why: str
    feeds: frozenset[str]


def voices_of(figures: Figures) -> tuple[tuple[Voice, ...], tuple[Unheard, ...]]:
    """Every loudspeaker that something reaches, as it is heard; and those of which too little is said."""
    voices: list[Voice] = []
    unheard: dict[str, Unheard] = {}
    for band in figures.bands.boxes.values():
        if not band.parts or band.gear.doubt:
            continue
        found = _voice(figures, band)
        if isinstance(found, str):
            unheard.setdefault(band.gear.full, Unheard(band.gear, found, frozenset(part.feed for part in band.parts)))
        elif found is not None:
            voices.append(found)
    return tuple(voices), tuple(unheard.values())


def _voice(figures: Figures, band: BoxBand) -> Voice | str | None:
    gear = band.gear
    at = at_of(gear)
    if at is None:
        return "it does not say where it stands: `at`"
    given = _powered(figures, band) if band.powered else _passive(figures, band)
    if isinstance(given, str) or given is None:
        return given
    levels, (low, high), shares, notes = given
    aims = [each.value for each in measures(gear, "aim", "angle")]
    aim = (aims[0], aims[1] if len(aims) > 1 else None) if aims else None
    wide = [each.value for each in measures(gear, "coverage", "angle")]
    bass = band.own is not None and band.own.high <= 250.0
    coverage = None
    if wide and aim is not None and not bass:
        up = wide[1] if len(wide) > 1 and aim[1] is not None else EVERYWHERE_DEG
        coverage = (max(wide[0], 1.0), max(up, 1.0))
        notes += (UPRIGHT,) if aim[1] is None and len(wide) > 1 else ()
    elif not bass:
        notes += (ALIKE,)
    pair_of = figures.signals.feeds.pair_of
    return Voice(band, at, aim, coverage, levels, low, high, shares, pair_of, notes)


_Given: TypeAlias = (
    "tuple[tuple[float | None, float | None, float | None], tuple[float, float], "
    "tuple[tuple[Contribution, float], ...], tuple[str, ...]]"
)


def _passive(figures: Figures, band: BoxBand) -> _Given | str | None:
    """What a box gives at 1 m from its sensitivity and the watts it gets."""
    box = figures.boxes.get(band.key)
    if box is None:
        return None
    facts = band.gear.way(band.way) if band.way else band.gear.facts
    said = _sensitivity(facts) or _sensitivity(band.gear.facts)
    if said is None:
        return f"the sensitivity of {band.key} is not given"
    entry, sound = said
    ohm = box.box.impedance_ohm or 8.0
    at_1_w, notes = _at_one_watt(entry, sound, ohm, band.gear)
    loss = band.gear.measure("insertion-loss", "gain")
    at_1_w -= abs(loss.value) if loss is not None and box.box.tapped else 0.0
    stands = [2 * box.rated_w] if box.rated_w else []
    stands += [box.peak.value] if box.peak is not None else []
    caps = [part.cap.dbu for part in band.parts if part.cap is not None]
    if caps and len(caps) == len(band.parts):
        stands.append(2 * (dbu_to_volt(max(caps)) * box.share_volt) ** 2 / ohm)
    watts = (box.nominal_w, box.peak_w, min(stands, default=None))
    levels = tuple(None if not watt else at_1_w + 10 * log10(watt) for watt in watts)
    channel = figures.channels[box.channel]
    ends = _ends(channel.level, sound)
    return (levels[0], levels[1], levels[2]), ends, _shares(figures, band.parts), notes


def _sensitivity(facts: Facts) -> tuple[Entry, Measure] | None:
    entry = first(facts, "sensitivity")
    sound = entry.get("sound level") if entry is not None else None
    return (entry, sound) if entry is not None and sound is not None else None


def _at_one_watt(entry: Entry, sound: Measure, ohm: float, gear: Gear) -> tuple[float, tuple[str, ...]]:
    """The level at 1 m from 1 W, for the box where it stands."""
    watt, volt, metres = entry.get("power"), entry.get("voltage"), entry.get("length")
    level = sound.value
    if volt is not None and volt.value > 0:
        level -= 10 * log10(volt.value**2 / ohm)
    elif watt is not None and watt.value > 0:
        level -= 10 * log10(watt.value)
    level += 20 * log10(metres.value) if metres is not None and metres.value > 0 else 0.0
    notes = () if volt is not None or watt is not None else (ONE_WATT,)
    gained, assumed = ground_db(entry, gear)
    return level + gained, (*notes, *assumed)


def ground_db(entry: Entry, gear: Gear) -> tuple[float, tuple[str, ...]]:
    """What a box gains on the ground against its figure for free field, or loses in the air against that for half."""
    on_ground = gear.says("on")
    if "half-space" in entry.words:
        return (0.0 if on_ground else -GROUND_DB), ()
    if "free-field" in entry.words:
        return (GROUND_DB if on_ground else 0.0), ()
    return 0.0, (AS_STOOD,)


def _ends(level: Level | None, sound: Measure | None) -> tuple[float, float]:
    """How far the tolerances of feeds and sensitivity may move a level, down and up."""
    low = (level.low.dbu - level.dbu) if level is not None and isfinite(level.dbu) else 0.0
    high = (level.high.dbu - level.dbu) if level is not None and isfinite(level.dbu) else 0.0
    if sound is not None:
        low, high = low + sound.low - sound.value, high + sound.high - sound.value
    return (low, high) if isfinite(low) and isfinite(high) else (0.0, 0.0)


def _shares(figures: Figures, parts: Sequence[Contribution]) -> tuple[tuple[Contribution, float], ...]:
    """Each feed's part of the amplitude, with the squares of all making one."""
    dbu = []
    for part in parts:
        said = figures.signals.said(part.feed, "level")
        dbu.append((said.value if said else 0.0) + (part.gain_db or 0.0) - part.held_db("level"))
    loudest = max(dbu)
    ratios = [gain_to_ratio(each - loudest) if isfinite(each) else 0.0 for each in dbu]
    whole = sqrt(sum(each * each for each in ratios)) or 1.0
    return tuple((part, ratio / whole) for part, ratio in zip(parts, ratios, strict=True))


def _powered(figures: Figures, band: BoxBand) -> _Given | str | None:
    """What a powered box gives: from its sensitivity at its input, or from its peak level at its drive."""
    gear = band.gear
    point = figures.levels.inputs.get(band.key)
    most, said = gear.measure("peak-level", "sound level"), _sensitivity(gear.facts)
    drive = gear.measure("drive", "level") or gear.measure("drive", "voltage")
    volt = said[0].get("voltage") if said is not None else None
    notes: tuple[str, ...] = ()
    if said is not None and volt is not None and volt.value > 0:
        gained, notes = ground_db(said[0], gear)
        metres = said[0].get("length")
        at_0_dbu = said[1].value - volt_to_dbu(volt.value) + gained
        at_0_dbu += 20 * log10(metres.value) if metres is not None and metres.value > 0 else 0.0
    elif most is not None and drive is not None:
        dbu = drive.value if drive.kind == "level" else volt_to_dbu(drive.value)
        at_0_dbu, notes = most.value - PEAK_OF_SINE_DB - dbu, (FULL_AT_DRIVE,)
    elif most is not None:
        return (None, None, most.value), (0.0, 0.0), _shares(figures, band.parts), ()
    else:
        return f"neither a sensitivity at its input nor the peak level of {gear.full} is given"
    control = one(gear.facts, "attenuator", "gain")
    at_0_dbu -= abs(control.value) if control is not None else 0.0
    level, peak = (None, None) if point is None else (point.level, point.peak)
    top = most.value if most is not None else inf
    nominal = None if level is None else min(at_0_dbu + level.dbu, top - PEAK_OF_SINE_DB)
    peaks = None if peak is None else min(at_0_dbu + peak.worst_dbu + PEAK_OF_SINE_DB, top)
    measure = said[1] if said is not None and volt is not None else most
    ends = _ends(level, measure)
    known = tuple(None if each is None or not isfinite(each) else each for each in (nominal, peaks, top))
    return (known[0], known[1], known[2]), ends, _shares(figures, band.parts), notes


# ---- as sources of the sum ------------------------------------------------------------------------------------------


def noise(voices: Iterable[Voice], drive: Drive, end: int = 0) -> list[Source]:
    """Voices as sources of noise that is alike in each octave that reaches them; -1 and 1 are the ends of doubt."""
    found = []
    for voice in voices:
        level = voice.level_db(drive)
        if level is not None:
            level += voice.low_db if end < 0 else voice.high_db if end > 0 else 0.0
            found += _sources(voice, level, BANDS_HZ, _spread(voice))
    return found


def shape(voice: Voice) -> list[Source]:
    """A voice as noise of 0 dB at 1 m on its axis, a box that plays more than bass above 100 Hz only."""
    first = 0 if voice.bass else len(THIRDS_HZ)
    return _sources(voice, 0.0, BANDS_HZ[first:], _spread(voice)[first:])


def tone(voices: Iterable[Voice], drive: Drive, hz: float) -> list[Source]:
    """Voices as sources of one tone at the level that is said of the feeds; what does not play it is left out."""
    found = []
    for voice in voices:
        level, own = voice.level_db(drive), voice.band.own
        plays = own is None or own.low / BEYOND_OWN <= hz <= own.high * BEYOND_OWN
        if level is not None and plays:
            found += _sources(voice, level, (hz,), (1.0,))
    return found


def _sources(voice: Voice, level_db: float, hertz: Sequence[float], amplitudes: Sequence[float]) -> list[Source]:
    """One source for each programme that a voice carries: a feed, or a stereo pair, whose sides are alike in bass."""
    inverted = len(voice.band.own_turns) % 2 == 1
    waves: dict[str, list[complex]] = {}
    for part, ratio in voice.shares:
        programme = voice.pair_of.get(part.feed, part.feed)
        sums = waves.setdefault(programme, [0j] * len(hertz))
        late = part.delay_s + part.latency_s
        passes = passed(part.filters, tuple(hertz))
        for number, (hz, amplitude) in enumerate(zip(hertz, amplitudes, strict=True)):
            if amplitude:
                wave = wave_at_1_m(level_db, hz, late, part.inverted != inverted)
                sums[number] += ratio * amplitude * passes[number] * wave
    aim = voice.aim_deg or (0.0, None)
    return [
        Source(voice.at, tuple(sums), voice.coverage_deg, aim[0], aim[1] or 0.0, programme)
        for programme, sums in waves.items()
    ]


@lru_cache(maxsize=256)
def passed(filters: tuple[Passed, ...], hertz: tuple[float, ...]) -> tuple[complex, ...]:
    """What the filters on a way let through of each tone; one without a slope cuts at its corner."""
    made = [each.made for each in filters if each.made is not None]
    walls = [(each.corner.value, each.high_pass) for each in filters if each.made is None]
    return tuple(
        0j if any((hz < corner) == high_pass for corner, high_pass in walls) else together(made, hz) for hz in hertz
    )


_EDGES = [(hz / 2 ** (1 / 6), hz * 2 ** (1 / 6)) for hz in THIRDS_HZ]
_EDGES += [(max(hz / 2**0.5, _EDGES[-1][1]), hz * 2**0.5) for hz in OCTAVES_HZ]


def _spread(voice: Voice) -> list[float]:
    """The amplitude of each band, so that what is left behind the filters is the whole, and its noise is pink."""
    own, part = voice.band.own, max(voice.shares, key=lambda each: each[1])[0]
    low = max((hz for hz in (own.low if own else 20.0, part.own_low_hz) if hz), default=20.0)
    high = min((hz for hz in (own.high if own else 20_000.0, part.own_high_hz) if hz), default=20_000.0)
    octaves = [max(0.0, log2(min(top, high) / max(bottom, low))) if top > low else 0.0 for bottom, top in _EDGES]
    let = [abs(each) ** 2 for each in passed(part.filters, BANDS_HZ)]
    whole = sum(width * power for width, power in zip(octaves, let, strict=True))
    return [sqrt(width / whole) if whole > 0 else 0.0 for width in octaves]
