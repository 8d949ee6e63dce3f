"""Working of the figures of levels: what stands where, where it clips, and how much room is left."""

from __future__ import annotations

from math import isfinite

from rigspec.figures import Figures
from rigspec.figures.stages import Chain, Stage, said_measure
from rigspec.language.words import SettingWord
from rigspec.why.channels import rated_voltage
from rigspec.why.derived import Derived
from rigspec.why.signal_way import DECIBEL, SignalStep, SignalWay, channel_gain, clip_step
from rigspec.why.working import Step, given, numbered

HEADROOM = "headroom is the level at which a stage clips over its nominal level: common practice, no source"


def level(figures: Figures, key: str) -> Step | None:
    """The nominal level at an input, or else at an output that is not an amplifier's."""
    way = SignalWay(figures, SignalStep())
    if key in figures.levels.inputs:
        return way.input(key)
    output = figures.rig.wiring.outputs.get(key)
    if output is not None and output.carries == "power":
        ((source, _),) = figures.signals.inputs(output)
        return way.input(source)
    return way.output(key)


def gain(figures: Figures, key: str) -> Step | None:
    output = figures.rig.wiring.outputs.get(key)
    return channel_gain(output) if output is not None and output.gear.word == "amp" else None


def headroom(figures: Figures, key: str) -> Step | None:
    """The least headroom on the way to an amplifier's output or a powered loudspeaker; of another stage its own."""
    way = SignalWay(figures, SignalStep())
    chain = figures.levels.chains.get(key)
    if chain is None:
        own = _stage(figures, key)
        return _room(figures, way, own) if own is not None else None
    found = [(stage.headroom_db, _room(figures, way, stage)) for stage in chain.stages]
    rooms = [step for db, step in found if db is not None and step is not None]
    if not rooms:
        return None
    least = min(db for db, step in found if db is not None and step is not None)
    parts = numbered(rooms, "H")
    formula = parts[0].symbol if len(parts) == 1 else "min(" + ", ".join(part.symbol for part in parts) + ")"
    return Step(f"headroom on the way to {key}", least, "gain", "H", formula, "", HEADROOM, rests_on=parts)


def _room(figures: Figures, way: SignalWay, stage: Stage) -> Step | None:
    """The headroom of one stage."""
    here = _at(way, stage)
    if here is None or stage.headroom_db is None or not isfinite(stage.headroom_db):
        return None
    parts = (_clip(figures, stage), here.called("L"))
    name = f"headroom of {_called(stage)}"
    return Step(name, stage.headroom_db, "gain", "H", "C - L", "", HEADROOM, rests_on=parts)


def clip_level(figures: Figures, key: str) -> Step | None:
    """The feed's level at which a stage clips; of an amplifier's output the first stage on the way to it."""
    chain = figures.levels.chains.get(key)
    stage = chain.first if chain is not None else _stage(figures, key)
    if stage is None:
        found = figures.levels.first_of.get(key) if chain is None else None
        if found is None or found[0].feed != key:
            return None
        stage = found[0]
    if stage.feed_dbu is None or stage.held:
        return None
    number = next(number for number, room in enumerate(stage.rooms) if room is not None)
    name = f"level of {stage.feed} at which {_called(stage)} clips{_first(chain)}"
    clip = _clip(figures, stage)
    if number == 2:
        return _by_gain(figures, stage, clip, name)
    word: SettingWord = "peak" if number == 0 else "level"
    here = _at(SignalWay(figures, SignalStep(word, limited=False, worst=True)), stage)
    said = figures.signals.said(stage.feed, word)
    if here is None or said is None:
        return None
    what = "peak level" if word == "peak" else "level"
    parts = (given(f"{what} of {stage.feed}", said, "L_feed"), clip, here.called("L"))
    return Step(name, stage.feed_dbu, "level", "L", "L_feed + C - L", "", DECIBEL, rests_on=parts)


def _by_gain(figures: Figures, stage: Stage, clip: Step, name: str) -> Step | None:
    gain_db = figures.signals.gain_db(stage.point.parts)
    if gain_db is None or stage.feed_dbu is None:
        return None
    whole = Step(
        f"gain from {stage.feed} to {stage.key}",
        gain_db,
        "gain",
        "G",
        method="everything on its way; no level of it is given",
        authority=DECIBEL,
    )
    return Step(name, stage.feed_dbu, "level", "L", "C - G", "", DECIBEL, rests_on=(clip, whole))


def _first(chain: Chain | None) -> str:
    return f", the first on the way to {chain.key}" if chain is not None and len(chain.stages) > 1 else ""


def _called(stage: Stage) -> str:
    return f"the {stage.point.end} {stage.key}"


def _at(way: SignalWay, stage: Stage) -> Step | None:
    return way.input(stage.key) if stage.point.end == "input" else way.output(stage.key)


def _clip(figures: Figures, stage: Stage) -> Step:
    gear = stage.point.gear
    if stage.point.end == "output" and gear.word == "amp":
        voltage = rated_voltage(figures, stage.key)
        return clip_step(_called(stage), stage.clip_dbu, None, voltage)
    word: SettingWord = "drive" if gear.word == "speaker" else "input-peak" if stage.point.end == "input" else "peak"
    return clip_step(_called(stage), stage.clip_dbu, said_measure(gear, word), None)


def _stage(figures: Figures, key: str) -> Stage | None:
    """The stage at an input or an output that is on the way to something."""
    for chain in figures.levels.chains.values():
        for stage in chain.stages:
            if stage.key == key:
                return stage
    return None


AMP = "an amplifier channel or a bridged pair"
PLACE = "an input or an output"
DERIVED = (
    Derived("level", PLACE, "its nominal level; of an amplifier channel that at its input", level),
    Derived("gain", AMP, "its gain with its control", gain),
    Derived("headroom", PLACE, "the least on the way to it, from nominal level to clip", headroom),
    Derived("clip-level", PLACE, "the feed's level at which the first stage on the way to it clips", clip_level),
)
