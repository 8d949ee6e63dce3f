"""All figures of a rig, worked out once."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from attrs import frozen

from rigspec.figures.bands import BandFigures, band_figures
from rigspec.figures.channel import ChannelLoad, channel_figures
from rigspec.figures.levels import LevelFigures, level_figures
from rigspec.figures.lines import LineFigures, line_figures
from rigspec.figures.load import COPPER_C, Box, Corner, box_of, solve_run
from rigspec.figures.mains import MainsFigures, mains_figures
from rigspec.figures.protection import ProtectionFigures, protection_figures
from rigspec.figures.rated import line_volt
from rigspec.figures.signal import Signals
from rigspec.figures.spectrum import SpectrumFigures, spectrum_figures
from rigspec.figures.supply import SharedSupply, together
from rigspec.figures.trace import Run, trace
from rigspec.figures.values import BaseFigures, ChannelFigures
from rigspec.rig.doubt import Doubt
from rigspec.rig.model import Output, Rig, one
from rigspec.solve.conductor import ZERO_C_KELVIN


@frozen(eq=False, repr=False)
class Figures(BaseFigures):
    """All figures of a rig, by question; each class says what it holds.

    ``together`` are the channels that draw on one supply and share bass.
    """

    bands: BandFigures
    levels: LevelFigures
    spectrum: SpectrumFigures
    lines: LineFigures
    protection: ProtectionFigures
    mains: MainsFigures
    together: tuple[SharedSupply, ...]


def figures(rig: Rig) -> Figures:
    """Work out a rig. Nothing is guessed: what cannot be known is None, and what stood in for it is said."""
    ground = _ground(rig)
    bands = band_figures(ground)
    levels = level_figures(ground)
    return Figures(
        rig=ground.rig,
        trace=ground.trace,
        signals=ground.signals,
        channels=ground.channels,
        boxes=ground.boxes,
        unknown=ground.unknown,
        case=ground.case,
        aside=ground.aside,
        bands=bands,
        levels=levels,
        spectrum=spectrum_figures(ground, bands),
        lines=line_figures(ground),
        protection=protection_figures(ground),
        mains=mains_figures(ground),
        together=tuple(together(ground)),
    )


def _ground(rig: Rig) -> BaseFigures:
    traced = trace(rig.wiring)
    signals = Signals(rig, traced)
    for output in rig.wiring.outputs.values():
        signals.at_output(output)
    air = one(rig.facts, "air", "temperature")
    case = Corner(copper_c=COPPER_C if air is None else air.value - ZERO_C_KELVIN)
    unknown: dict[str, str] = {}
    hung: dict[str, ChannelLoad] = {}
    for key, run in traced.runs.items():
        if run.output.carries != "power":
            continue
        found = _hung(run, case, "air" in rig.facts)
        if isinstance(found, str):
            unknown[key] = found
        elif found is not None:
            hung[key] = found
    beside = [key for key, each in hung.items() if _in_doubt(each.run, each.boxes)]
    unknown.update(dict.fromkeys(beside, "a fault in a setting of its amplifier or of a loudspeaker leaves it unknown"))
    solved = {key: _channel(each, hung, signals) for key, each in hung.items()}
    channels = {key: each for key, each in solved.items() if key not in beside}
    boxes = {box.key: box for channel in channels.values() for box in channel.boxes}
    return BaseFigures(rig, traced, signals, channels, boxes, unknown, case, {key: solved[key] for key in beside})


def _channel(hung: ChannelLoad, others: Mapping[str, ChannelLoad], signals: Signals) -> ChannelFigures:
    output = hung.run.output
    ((source, _),) = signals.inputs(output)
    parts, arriving = signals.at_output(output), signals.at_sink(source)
    in_doubt = not arriving and signals.in_doubt(source)
    return channel_figures(hung, _beside(output, others), parts, arriving, in_doubt, signals.feeds)


def _hung(run: Run, case: Corner, air_said: bool) -> ChannelLoad | str | None:
    """The loudspeakers of a run and its network; the reason where a load is not known, None where there is none."""
    if run.doubt or run.output.gear.doubt not in (None, Doubt.BESIDE):
        return "a fault on the way leaves it unknown"
    arrivals = [arrival for arrival in run.arrivals if arrival.sink.gear.word == "speaker"]
    passive = [arrival for arrival in arrivals if not arrival.sink.gear.says("powered")]
    boxes = tuple(box_of(arrival, line_volt(run.output.gear)) for arrival in passive)
    lacking = next((box.unknown for box in boxes if box.unknown), "")
    if lacking or any(box.gear.doubt not in (None, Doubt.BESIDE) for box in boxes):
        return lacking or "a fault in a loudspeaker's data leaves it unknown"
    if not boxes:
        return None
    solved = solve_run(run, boxes, case)
    return "nothing closes the circuit" if solved is None else ChannelLoad(run, boxes, solved, case, air_said)


def _in_doubt(run: Run, boxes: Iterable[Box]) -> bool:
    return bool(run.output.gear.doubt or any(box.gear.doubt for box in boxes))


def _beside(output: Output, hung: Mapping[str, ChannelLoad]) -> tuple[tuple[str, float], ...]:
    """What the halves of a bridged pair carry beside what hangs across the bridge, in ohms."""
    halves = output.halves
    if len(halves) != 2:
        return ()
    alone = ((half, hung.get(f"{output.gear.full}.{half}")) for half in halves)
    return tuple((half, each.typical.load_ohm) for half, each in alone if each is not None)
