"""Figures of the band that reaches every loudspeaker, through which filters, and of the crossovers between bands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from attrs import frozen

from rigspec.figures.band import BoxBand, bounds
from rigspec.figures.channel import turned_inside
from rigspec.figures.crossovers import Crossover, crossovers_of
from rigspec.figures.values import Ground
from rigspec.rig import one
from rigspec.trace import Run
from rigspec.value import Value

__all__ = ["BandFigures", "BoxBand", "Crossover", "band_figures"]


@frozen(eq=False, repr=False)
class BandFigures(Value):
    """``boxes``: the band of every loudspeaker that an output reaches, by its key, in an order of names.

    ``crossovers``: where the band of one loudspeaker ends and that of another, or of its next way, begins.
    ``doubtful``: feeds of which not every way is known, so that nothing is concluded from what they lack.
    """

    boxes: Mapping[str, BoxBand]
    crossovers: tuple[Crossover, ...]
    doubtful: frozenset[str]


def band_figures(ground: Ground) -> BandFigures:
    """Work out the band that reaches every loudspeaker, and where two of them cross."""
    found: list[BoxBand] = []
    doubtful: set[str] = set()
    for run in ground.trace.runs.values():
        if run.output.carries != "mains":
            here = list(_of_run(ground, run))
            if run.broken or run.output.gear.broken or any(band.gear.broken for band in here):
                doubtful.update(part.feed for part in ground.signals.at_output(run.output))
            found += here
    found.sort(key=lambda band: (band.gear.name, band.gear.number or 0, band.way))
    return BandFigures({band.key: band for band in found}, crossovers_of(found), frozenset(doubtful))


def _of_run(ground: Ground, run: Run) -> Iterable[BoxBand]:
    for arrival in run.arrivals:
        gear, way = arrival.sink.gear, arrival.sink.port
        powered = "powered" in gear.facts
        if gear.word != "speaker" or powered != (run.output.carries == "signal"):
            continue
        if powered:
            parts, turns = ground.signals.after(arrival), turned_inside(gear, way)
        else:
            parts, turns = ground.signals.at_output(run.output), arrival.turns + turned_inside(gear, way)
        own = one(gear.way(way) if way else gear.facts, "band", "frequency")
        yield BoxBand(
            arrival.sink.key, gear, way, arrival.sink.span, run.output.key, powered, parts, turns, own, *bounds(parts)
        )
