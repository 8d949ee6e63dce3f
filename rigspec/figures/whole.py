"""All figures of a rig, worked out once."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures.bands import BandFigures, band_figures
from rigspec.figures.channel import channel_figures
from rigspec.figures.levels import LevelFigures, level_figures
from rigspec.figures.lines import LineFigures, line_figures
from rigspec.figures.mains import MainsFigures, mains_figures
from rigspec.figures.protection import ProtectionFigures, protection_figures
from rigspec.figures.rated import line_volt
from rigspec.figures.spectrum import SpectrumFigures, spectrum_figures
from rigspec.figures.supply import Together, together
from rigspec.figures.values import BoxFigures, ChannelFigures, Ground
from rigspec.load import COPPER_C, Box, Case, NetworkFigures, box_of, solve_run
from rigspec.rig import Rig, one
from rigspec.signal import Signals
from rigspec.trace import Run, trace

CELSIUS_K = 273.15


@frozen(eq=False, repr=False)
class Figures(Ground):
    """All figures of a rig, by question; each class says what it holds.

    ``together`` are the channels that draw on one supply and share bass.
    """

    bands: BandFigures
    levels: LevelFigures
    spectrum: SpectrumFigures
    lines: LineFigures
    protection: ProtectionFigures
    mains: MainsFigures
    together: tuple[Together, ...]


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
        bands=bands,
        levels=levels,
        spectrum=spectrum_figures(ground, bands),
        lines=line_figures(ground),
        protection=protection_figures(ground, levels, bands),
        mains=mains_figures(ground),
        together=tuple(together(ground)),
    )


def _ground(rig: Rig) -> Ground:
    traced = trace(rig.wiring)
    signals = Signals(rig, traced)
    for output in rig.wiring.outputs.values():
        signals.at_output(output)
    air = one(rig.facts, "air", "temperature")
    case = Case(copper_c=COPPER_C if air is None else air.value - CELSIUS_K)
    channels: dict[str, ChannelFigures] = {}
    boxes: dict[str, BoxFigures] = {}
    unknown: dict[str, str] = {}
    loads: dict[str, NetworkFigures] = {}
    runs = [run for run in traced.runs.values() if run.output.carries == "power"]
    prepared = {}
    for run in runs:
        found = _loads(run, unknown, case)
        if found is not None:
            prepared[run.output.key] = found
            loads[run.output.key] = found[1]
    for key, (hung, typical) in prepared.items():
        made = channel_figures(rig, signals, traced.runs[key], hung, typical, loads, case)
        channels[key] = made
        boxes.update({box.key: box for box in made.boxes})
    return Ground(rig, traced, signals, channels, boxes, unknown, case)


def _loads(run: Run, unknown: dict[str, str], case: Case) -> tuple[list[Box], NetworkFigures] | None:
    """The loudspeakers of a run and its network; None, with the reason kept, where a load is not known."""
    key = run.output.key
    if run.broken or run.output.gear.broken:
        unknown[key] = "a fault on the way leaves it unknown"
        return None
    arrivals = [arrival for arrival in run.arrivals if arrival.sink.gear.word == "speaker"]
    passive = [arrival for arrival in arrivals if "powered" not in arrival.sink.gear.facts]
    boxes = [box_of(arrival, line_volt(run.output.gear)) for arrival in passive]
    lacking = next((box.unknown for box in boxes if box.unknown), "")
    if lacking or any(box.gear.broken for box in boxes):
        unknown[key] = lacking or "a fault in a loudspeaker's data leaves it unknown"
        return None
    if not boxes:
        return None
    solved = solve_run(run, boxes, case)
    if solved is None:
        unknown[key] = "nothing closes the circuit"
        return None
    return boxes, solved
