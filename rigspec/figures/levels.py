"""Figures of levels at every input and output, clip points and headroom."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import inf, log10
from typing import Literal

from attrs import evolve, frozen

from rigspec.figures.signal import Contribution, Feeds, Loading
from rigspec.figures.signal.limits import most_dbu
from rigspec.figures.signal.part import NOTHING_HELD
from rigspec.figures.stages import REFERENCES, Chain, LevelPoint, Stage, said_measure
from rigspec.figures.values import BaseFigures, ChannelFigures
from rigspec.language.words import SettingWord
from rigspec.rig.model import Entry, Gear, Measure, Output, Sink, entries
from rigspec.solve.decibel import volt_to_dbu
from rigspec.text.source import Span
from rigspec.text.value import Value

_FAULT = "a fault in what is said of {} leaves it open"
MOST_ON_THE_WAY = 100  # stages; what lies further up is not looked at


@frozen(eq=False, repr=False)
class LevelFigures(Value):
    """Levels and clip points.

    ``inputs`` go by the key of what takes a signal (``xo.a``, ``bass.1``, ``y``, ``left_box[1]``), ``outputs`` by the
    key of what gives one, amplifiers included (``left``, ``xo.1``, ``y.2``, ``bass.1+2``). ``chains`` go by the key of
    an amplifier's output or a powered loudspeaker. ``first_of`` gives for each feed the stage that clips first of all
    that it reaches, with the feed's level at which it does.
    """

    inputs: Mapping[str, LevelPoint]
    outputs: Mapping[str, LevelPoint]
    chains: Mapping[str, Chain]
    first_of: Mapping[str, tuple[Stage, float]]


def _at_input(sink: Sink, parts: tuple[Contribution, ...], feeds: Feeds) -> tuple[LevelPoint, Stage | None]:
    """What stands at an input, and where it clips, if that is said."""
    gear = sink.gear
    parts = _inside(gear, parts)
    point = _point(sink.key, "input", gear, sink.span, parts, None, feeds)
    word: SettingWord = "drive" if gear.word == "speaker" else "input-peak"
    said = said_measure(gear, word) if gear.word in ("speaker", "amp", "processor") else None
    if said is None or gear.doubt:
        return point, None
    control = gear.measure("attenuator", "gain") if gear.word == "speaker" else None
    clip_dbu = _dbu(said) + (abs(control.value) if control is not None else 0.0)  # so much more does it take then
    return point, _stage(point, clip_dbu, said.span, (), None, feeds)


def _at_output(
    output: Output,
    parts: tuple[Contribution, ...],
    loading: Loading | None,
    channel: ChannelFigures | None,
    feeds: Feeds,
) -> tuple[LevelPoint, Stage | None]:
    """What stands at an output, and where it clips: an amplifier's at its rated output into its load."""
    gear = output.gear
    point = _point(output.key, "output", gear, output.span, parts, loading, feeds)
    if gear.doubt:
        return point, None
    if output.carries == "power":
        if channel is None or not channel.rated_volt:
            return point, None
        said_at = _rated_at(gear, channel.load_ohm, bool(channel.halves))
        dbu = volt_to_dbu(channel.rated_volt)
        return point, _stage(point, dbu, said_at, channel.rated_assumes, channel.load_ohm, feeds)
    said = said_measure(gear, "peak") if gear.word == "processor" else None
    return point, None if said is None else _stage(point, _dbu(said), said.span, (), None, feeds)


def _point(
    key: str,
    end: Literal["input", "output"],
    gear: Gear,
    span: Span,
    parts: tuple[Contribution, ...],
    loading: Loading | None,
    feeds: Feeds,
) -> LevelPoint:
    level, peak = feeds.level(parts), feeds.level(parts, "peak")
    wanted, wanted_peak = level, peak
    if any(part.held is not NOTHING_HELD for part in parts):
        wanted = feeds.level(parts, limited=False)
        wanted_peak = feeds.level(parts, "peak", limited=False)
    return LevelPoint(key, end, gear, span, parts, level, peak, wanted, wanted_peak, most_dbu(parts), loading)


def _stage(
    point: LevelPoint,
    clip_dbu: float,
    said: Span | None,
    assumes: tuple[str, ...],
    load_ohm: float | None,
    feeds: Feeds,
) -> Stage | None:
    parts = point.parts
    if not parts:
        return None
    gain_db = feeds.gain_db(parts)
    levels = (point.wanted_peak, point.wanted_level)
    rooms = [None if level is None else clip_dbu - level.worst_dbu for level in levels]
    rooms.append(None if gain_db is None else clip_dbu - gain_db)
    feed = _loudest(parts, feeds)
    feed_dbu = None
    for word, room in zip(REFERENCES, rooms, strict=True):
        if room is not None:
            said_level = feeds.said(feed, word)
            feed_dbu = room + (said_level.value if said_level else 0.0)
            break
    held = point.most_dbu is not None and point.most_dbu <= clip_dbu + 1e-6
    peak, level, gain = rooms
    return Stage(point, clip_dbu, said, assumes, feed, feed_dbu, (peak, level, gain), held, load_ohm)


def _loudest(parts: tuple[Contribution, ...], feeds: Feeds) -> str:
    """The feed with the loudest share; the first where a level is not known."""
    loudest, most = parts[0].feed, float("-inf")
    for part in parts:
        said = feeds.said(part.feed, "peak") or feeds.said(part.feed, "level")
        if said is None or part.gain_db is None:
            return parts[0].feed
        if said.value + part.gain_db > most:
            loudest, most = part.feed, said.value + part.gain_db
    return loudest


def level_figures(ground: BaseFigures) -> LevelFigures:
    """Work out levels at every input and output, clip points and headroom; linear in the size of the wiring."""
    return _Maker(ground).made()


class _Maker:
    """Levels of one rig, made once."""

    def __init__(self, ground: BaseFigures) -> None:
        self.ground = ground
        self.inputs: dict[str, LevelPoint] = {}
        self.outputs: dict[str, LevelPoint] = {}
        self.stage_in: dict[str, Stage] = {}
        self.stage_out: dict[str, Stage] = {}
        self.ways: dict[str, tuple[tuple[Stage, ...], str]] = {}

    def made(self) -> LevelFigures:
        outputs = self.ground.rig.wiring.outputs
        for key, output in outputs.items():
            if output.carries != "mains":
                self._output(key, output)
        self._inputs()
        chains = {}
        for key, output in outputs.items():
            if output.carries == "power":
                stages, silent = self._way(output, 0)
                chains[key] = _chain(key, output.gear, output.span, stages, silent)
        for key, point in self.inputs.items():
            if point.gear.says("powered"):
                stages, silent = self._way(self.ground.trace.arrivals[key].output, 0)
                own = (self.stage_in[key],) if key in self.stage_in else ()
                chains[key] = _chain(key, point.gear, point.span, stages + own, silent or self._doubtful(key))
        return LevelFigures(self.inputs, self.outputs, chains, self._first_of(chains))

    def _inputs(self) -> None:
        for key, sink in self.ground.rig.wiring.sinks.items():
            arrival = self.ground.trace.arrivals.get(key)
            if sink.takes != "signal" or arrival is None or arrival.output.carries != "signal":
                continue
            parts = self.ground.signals.after(arrival)
            self.inputs[key], stage = _at_input(sink, parts, self.ground.signals.feeds)
            if stage is not None:
                self.stage_in[key] = stage

    def _output(self, key: str, output: Output) -> None:
        signals = self.ground.signals
        loading = signals.loading(output) if output.carries == "signal" else None
        parts = signals.at_output(output)
        channel = self.ground.channels.get(key)
        self.outputs[key], stage = _at_output(output, parts, loading, channel, signals.feeds)
        if stage is not None:
            self.stage_out[key] = stage

    # ---- the way of a signal

    def _way(self, output: Output, depth: int) -> tuple[tuple[Stage, ...], str]:
        """The stages up to an output, in the order of the signal, and why nothing is concluded about them, if so."""
        known = self.ways.get(output.key)
        if known is not None:
            return known
        self.ways[output.key] = ((), "")  # for outputs that feed themselves
        found: dict[int, Stage] = {}
        silent = self._silent(output)
        for source, key in self._sources(output) if depth < MOST_ON_THE_WAY else ():
            stages, above = self._way(source, depth + 1)
            silent = silent or above or self._doubtful(key)
            found.update((id(stage), stage) for stage in stages[-MOST_ON_THE_WAY:])
            if key in self.stage_in:
                found[id(self.stage_in[key])] = self.stage_in[key]
        own = self.stage_out.get(output.key)
        if own is not None:
            found[id(own)] = own
        way = self.ways[output.key] = (tuple(found.values()), silent)
        return way

    def _silent(self, output: Output) -> str:
        """Why nothing is concluded about what lies behind an output; empty where there is no such reason."""
        if "muted" in output.gear.ports.get(output.halves[0], {}):
            return f"{output.key} is switched off"
        return _FAULT.format(output.key) if output.gear.doubt else ""

    def _doubtful(self, key: str) -> str:
        """Why nothing is concluded about what arrives at an input; empty where there is no such reason."""
        doubts = self.ground.rig.wiring.doubts
        arrival = self.ground.trace.arrivals.get(key) if doubts else None
        if arrival is None:
            return ""
        run, joint = self.ground.trace.runs[arrival.output.key], arrival.sink.joint
        while joint in run.parent:  # the joint of the output itself is shared with all that hangs on it directly
            if joint in doubts:
                return _FAULT.format(key)
            joint = run.parent[joint].a
        return ""

    def _sources(self, output: Output) -> Iterable[tuple[Output, str]]:
        """The outputs that an output's signal comes from, each with the input by which it does."""
        if output.gear.word == "mix":
            return [(source, "") for source, _ in self.ground.signals.mixed(output.gear)]
        arrivals = self.ground.trace.arrivals
        keys = [key for key, _ in self.ground.signals.inputs(output) if key in arrivals]
        return [(arrivals[key].output, key) for key in keys if arrivals[key].output.carries == "signal"]

    def _first_of(self, chains: Mapping[str, Chain]) -> dict[str, tuple[Stage, float]]:
        """For each feed the stage that clips first of all that it reaches, with the feed's level."""
        found: dict[str, tuple[Stage, float]] = {}
        seen: set[int] = set()
        for key in sorted(chains):  # of equals the first by name, whatever the order of the text
            chain = chains[key]
            for stage in chain.stages:
                if id(stage) in seen or stage.held or chain.silent:
                    continue
                seen.add(id(stage))
                for feed in {part.feed: None for part in stage.point.parts}:
                    dbu = self._feed_dbu(stage, feed)
                    if dbu is not None and (feed not in found or dbu < found[feed][1] - 1e-9):
                        found[feed] = (stage, dbu)
        return found

    def _feed_dbu(self, stage: Stage, feed: str) -> float | None:
        if feed == stage.feed:
            return stage.feed_dbu
        for word, room in zip(REFERENCES, stage.rooms, strict=True):
            said = self.ground.signals.said(feed, word)
            if room is not None and said is not None:
                return said.value + room
        return None


def _rated_at(gear: Gear, load_ohm: float, bridged: bool) -> Span | None:
    """The rated output that comes next to a load: where an output's limit is said."""
    given = entries(gear.facts, "rated")
    found = [each for each in given if ("bridge" in each.words) is bridged] or list(given)
    singles = [each for each in found if "alone" not in each.words] or found

    def apart(each: Entry) -> float:
        said = each.get("resistance")
        seen = load_ohm if not bridged or "bridge" in each.words else load_ohm / 2
        return abs(log10(said.value / seen)) if said is not None and said.value > 0 and seen > 0 else inf

    return min(singles, key=apart).span if singles else None


def _inside(gear: Gear, parts: tuple[Contribution, ...]) -> tuple[Contribution, ...]:
    """What a powered loudspeaker makes of several feeds: it plays no more than its band, in which they may be alike."""
    band = gear.measure("band", "frequency") if gear.says("powered") and len(parts) > 1 else None
    if band is None:
        return parts
    return tuple(
        evolve(part, high_hz=band.high if part.high_hz is None else min(part.high_hz, band.high)) for part in parts
    )


def _dbu(said: Measure) -> float:
    return said.value if said.kind == "level" else volt_to_dbu(said.value)


def _chain(key: str, gear: Gear, span: Span, stages: tuple[Stage, ...], silent: str) -> Chain:
    """A chain with the stage that clips first, found from levels that are known at all its stages."""
    open_ones = [stage for stage in stages if not stage.held]
    for number, reference in enumerate(REFERENCES):
        rooms = [stage.rooms[number] for stage in open_ones]
        known = [round(room, 6) for room in rooms if room is not None]  # of equals the first on the way
        if known and len(known) == len(rooms):
            first = open_ones[known.index(min(known))]
            return Chain(key, gear, span, stages, first, reference, silent)
    return Chain(key, gear, span, stages, None, "", silent)
