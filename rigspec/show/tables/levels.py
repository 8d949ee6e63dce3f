"""Tables about levels: what stands at every input and output, and what clips first."""

from __future__ import annotations

from collections.abc import Iterator
from math import isfinite

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.stages import TOLD_DB, Chain, LevelPoint, Stage
from rigspec.show.tables.question import Column, Question
from rigspec.solve.decibel import dbu_to_volt
from rigspec.text.value import Value

# ---- levels ---------------------------------------------------------------------------------------------------------


def points(figures: Figures) -> list[LevelPoint]:
    """Outputs that carry signals, each with the inputs that it drives, where a level or a loading is known."""
    levels, arrivals = figures.levels, figures.trace.arrivals
    driven: dict[str, list[LevelPoint]] = {}
    for key, point in levels.inputs.items():
        driven.setdefault(arrivals[key].output.key, []).append(point)
    found = []
    for key, point in levels.outputs.items():
        if point.loading is not None:
            found += [point, *driven.get(key, ())]
    return [point for point in found if point.level is not None or _loss(point) is not None]


def _dbu(value: float | None) -> float | None:
    return value if value is not None and isfinite(value) else None


def _worst(point: LevelPoint) -> float | None:
    """The worst nominal level with the tolerances of its feeds, where it is not the level itself."""
    level = point.level
    return _dbu(level.most_dbu) if level is not None and level.most_dbu > level.dbu + 0.005 else None


def _peak_volt(point: LevelPoint) -> float | None:
    """The peak level as the volts (rms) of its sine."""
    return None if point.peak is None else dbu_to_volt(point.peak.worst_dbu)


def _held(point: LevelPoint) -> float | None:
    """What limiters on the way take from the peaks, or else from the nominal level."""
    pairs = ((point.wanted_peak, point.peak), (point.wanted_level, point.level))
    taken = [before.worst_dbu - after.worst_dbu for before, after in pairs if before is not None and after is not None]
    return max(taken) if taken and max(taken) > 0.005 else None


def _source(point: LevelPoint) -> float | None:
    source = point.loading.source if point.loading is not None else None
    return None if source is None else source.value


def _drives(point: LevelPoint) -> float | None:
    return point.loading.load_ohm if point.loading is not None else None


def _loss(point: LevelPoint) -> float | None:
    loading = point.loading
    return loading.loss_db if loading is not None and loading.ratio is not None else None


def _level_assumes(figures: Figures) -> Iterator[tuple[str, str]]:
    for point in points(figures):
        for part in point.parts:
            for text in part.assumes:
                yield text, point.key


def _conventions(figures: Figures) -> list[str]:
    """How several shares of a signal were added, where there are some."""
    found = points(figures)
    lines = []
    levels = [point.level for point in found if point.level is not None]
    if any(level.worst_dbu > level.dbu + 0.005 for level in levels):
        lines.append("Levels add by energy, and to the worst by voltage, where feeds may be alike or a copy is late.")
    if any(level.ends for level in levels):
        lines.append("Feeds are at the middle of their tolerances, and for the worst at the high end.")
    if found:
        lines.append("Filters take nothing from a level: it is that of a tone inside the band.")
    return lines


LEVELS = Question(
    word="levels",
    title="Levels at inputs and outputs: nominal, and of a sine with the highest peaks",
    columns=(
        Column("at", "at", lambda p: p.key).says("the input or output, by its full name"),
        Column("end", "end", lambda p: p.end).says("whether that is an input or an output"),
        Column("level_dbu", "level dBu", lambda p: None if p.level is None else _dbu(p.level.dbu), 2).says(
            "the nominal level"
        ),
        Column("worst_level_dbu", "worst dBu", _worst, 2).says(
            "the same at the worst: alike where feeds may be alike, at the high ends of tolerances"
        ),
        Column("level_volt", "V", lambda p: p.volt, 3).says("the nominal level as a voltage (rms)"),
        Column("peak_dbu", "peak dBu", lambda p: None if p.peak is None else _dbu(p.peak.worst_dbu), 2).says(
            "the level of the sine that has the highest peaks, at the worst"
        ),
        Column("peak_sine_volt", "peak V", _peak_volt, people=False).says("the voltage (rms) of that sine"),
        Column("held_db", "held dB", _held, 2).says(
            "what limiters on the way take from the peaks, or else from the nominal level"
        ),
        Column("source_ohm", "source ohm", _source, 0).says("the impedance of an output"),
        Column("drives_ohm", "drives ohm", _drives, 0).says("all that an output drives, in parallel"),
        Column("loss_db", "loss dB", _loss, 2).says("what an output loses in its own impedance"),
    ),
    rows=points,
    worst=lambda point: _loss(point) or 0.0,
    mark="loses most to what it drives",
    note=_conventions,
    assumes=_level_assumes,
)

# ---- clipping -------------------------------------------------------------------------------------------------------


def chains(figures: Figures) -> list[Chain]:
    """The ways to amplifiers' outputs and powered loudspeakers on which a clip point is known."""
    halves = _bare_halves(figures)
    return [
        chain
        for chain in figures.levels.chains.values()
        if chain.key not in halves and (chain.first is not None or _all_held(chain))
    ]


def _bare_halves(figures: Figures) -> set[str]:
    """The channels of bridged pairs on which nothing hangs alone: what is plugged there goes to the pair."""
    outputs, runs = figures.rig.wiring.outputs.values(), figures.trace.runs
    pairs = [output for output in outputs if output.carries == "power" and output.bridged]
    halves = [f"{pair.gear.full}.{half}" for pair in pairs for half in pair.halves]
    return {key for key in halves if key not in runs or not runs[key].arrivals}


def _all_held(chain: Chain) -> bool:
    return bool(chain.stages) and all(stage.held for stage in chain.stages)


def stage_name(stage: Stage | None) -> str | None:
    """What a stage is called: an amplifier's channel has two of one name."""
    return None if stage is None else f"{stage.key} {stage.point.end}"


def _left(chain: Chain) -> float | None:
    """From the feed's highest peaks to the clip of the first stage; below 0 where it clips."""
    over = chain.first.over_db if chain.first is not None else None
    return None if over is None or not isfinite(over) else -over


def _over(room_db: float | None) -> float:
    """How far over the clip, where that is told."""
    return -room_db if room_db is not None and room_db < -TOLD_DB else 0.0


def _headroom(chain: Chain) -> float | None:
    rooms = [room for stage in chain.stages if (room := stage.headroom_db) is not None and isfinite(room)]
    return min(rooms, default=None)


def _notes(figures: Figures) -> list[str]:
    found = chains(figures)
    lines = []
    if any(_left(chain) is not None for chain in found):
        lines.append("Headroom is from the feeds' nominal levels to the clip, that at peaks from their highest peaks.")
    if any(chain.spread_db for chain in found):
        lines.append("The last stage on the way clips so much after the first.")
    if any(chain.reference == "gain" for chain in found):
        lines.append("Where no level of a feed is given, only the level at which it makes a stage clip is known.")
    if any(_all_held(chain) for chain in found):
        lines.append("Where nothing is named to clip first, limiters on the way never let it come to that.")
    return lines


CLIPPING = Question(
    word="clipping",
    title="What clips first on the way to each output and powered loudspeaker, all feeds raised together",
    columns=(
        Column("channel", "channel", lambda c: c.key).says("the amplifier channel or bridged pair, by its full name"),
        Column("first", "clips first", lambda c: stage_name(c.first)).says("the stage on the way that clips first"),
        Column("feed", "feed", lambda c: c.first.feed if c.first else None).says("the feed that brings it to clip"),
        Column("feed_dbu", "at dBu", lambda c: _dbu(c.first.feed_dbu) if c.first else None, 2).says(
            "the level of that feed at which it clips"
        ),
        Column("room_db", "at peaks dB", _left, 2).says("from the feeds' highest peaks to that; below 0 it clips"),
        Column("headroom_db", "headroom dB", _headroom, 2).says("from the feeds' nominal levels to that"),
        Column("spread_db", "last after dB", lambda c: c.spread_db, 2).says(
            "by how much later the last stage on the way clips"
        ),
        Column("silent", "silent", lambda c: c.silent, people=False).says(
            "why nothing is concluded; nothing where something is"
        ),
    ),
    rows=chains,
    worst=lambda chain: _over(_left(chain)),
    mark="clips at the feed's peaks",
    note=_notes,
)

# ---- every stage ----------------------------------------------------------------------------------------------------


def stages(figures: Figures) -> list[Stage]:
    """Every stage on some way, once."""
    return list({id(stage): stage for chain in figures.levels.chains.values() for stage in chain.stages}.values())


def _room(stage: Stage) -> float | None:
    return None if stage.over_db is None or not isfinite(stage.over_db) else -stage.over_db


def _stage_headroom(stage: Stage) -> float | None:
    return stage.headroom_db if stage.headroom_db is not None and isfinite(stage.headroom_db) else None


def _headroom_notes(figures: Figures) -> list[str]:
    found = stages(figures)
    lines = ["Levels of an amplifier's output stand for its voltage: +40 dBu are 77.5 V."] if found else []
    if any(stage.held for stage in found):
        lines.append("Held: limiters on the way never let it come to the clip.")
    return lines


HEADROOM = Question(
    word="headroom",
    title="Every stage that can clip: headroom from its nominal level, and headroom at the highest peaks",
    columns=(
        Column("at", "at", lambda s: s.key).says("the input or output, by its full name"),
        Column("end", "end", lambda s: s.point.end).says("whether that is an input or an output"),
        Column("clip_dbu", "clips at dBu", lambda s: s.clip_dbu, 2).says("the level at which this stage clips"),
        Column("level_dbu", "level dBu", lambda s: None if s.point.level is None else _dbu(s.point.level.dbu), 2).says(
            "the nominal level there"
        ),
        Column("headroom_db", "headroom dB", _stage_headroom, 2).says("from the nominal level to the clip"),
        Column("room_db", "at peaks dB", _room, 2).says("from the highest peaks to the clip; below 0 it clips"),
        Column("feed", "feed", lambda s: s.feed, people=False).says("the feed that brings it to clip"),
        Column("feed_dbu", "feed then dBu", lambda s: _dbu(s.feed_dbu), 2).says(
            "the level of that feed at which the stage clips"
        ),
        Column("held", "held", lambda s: "held" if s.held else None).says(
            "the word held where limiters on the way never let it come to that"
        ),
        Column("limit", "limit", lambda s: s.limit, people=False).says("what the clip point is known by"),
    ),
    rows=stages,
    worst=lambda stage: _over(_room(stage)),
    mark="clips at the feed's peaks",
    note=_headroom_notes,
)

# ---- feeds ----------------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class FeedRow(Value):
    """A feed, and the first stage of all that it makes clip."""

    feed: str
    level_dbu: float | None
    peak_dbu: float | None
    first: Stage
    clip_dbu: float

    @property
    def room_db(self) -> float | None:
        return None if self.peak_dbu is None else self.clip_dbu - self.peak_dbu


def feeds(figures: Figures) -> list[FeedRow]:
    rows = []
    for feed in figures.rig.gear:
        if feed not in figures.levels.first_of:
            continue
        stage, dbu = figures.levels.first_of[feed]
        level, peak = (figures.signals.said(feed, word) for word in ("level", "peak"))
        rows.append(FeedRow(feed, level.value if level else None, peak.value if peak else None, stage, dbu))
    return rows


FEEDS = Question(
    word="feeds",
    title="Feeds: the level at which each makes something clip, and the first of all that it reaches to do so",
    columns=(
        Column("feed", "feed", lambda f: f.feed).says("the feed"),
        Column("level_dbu", "level dBu", lambda f: f.level_dbu, 2).says("its nominal level"),
        Column("peak_dbu", "peak dBu", lambda f: f.peak_dbu, 2).says("its highest level"),
        Column("clip_dbu", "clips at dBu", lambda f: f.clip_dbu, 2).says(
            "the level of the feed at which the first of all stages clips"
        ),
        Column("room_db", "at peaks dB", lambda f: f.room_db, 2).says("from its highest level to that"),
        Column("first", "clips first", lambda f: stage_name(f.first)).says("the stage that clips first"),
    ),
    rows=feeds,
    worst=lambda row: _over(row.room_db),
    mark="clips at its peaks",
)

QUESTIONS: tuple[Question, ...] = (FEEDS, LEVELS, HEADROOM, CLIPPING)
