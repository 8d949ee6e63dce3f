"""Figures of the band that reaches every loudspeaker, through which filters, and of the crossovers between bands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from attrs import frozen

from rigspec.figures.band import BoxBand, bounds
from rigspec.figures.channel import turned_inside
from rigspec.figures.crossovers import Crossover, Players, crossovers_of
from rigspec.figures.signal import Contribution
from rigspec.figures.signal.transfer import inside_powered
from rigspec.figures.trace import Arrival, Run, Turn
from rigspec.figures.values import BaseFigures
from rigspec.rig.model import one
from rigspec.text.value import Value

__all__ = ["BandFigures", "BoxBand", "Crossover", "band_figures"]


@frozen(eq=False, repr=False)
class BandFigures(Value):
    """``boxes``: the band of every loudspeaker that an output reaches, by its key, in an order of names.

    ``of_feed``: those that a feed reaches, each with its way there. ``crossovers``: where the band of one loudspeaker
    ends and that of another, or of its next way, begins.
    ``doubtful``: feeds of which not every way is known, so that nothing is concluded from what they lack.
    """

    boxes: Mapping[str, BoxBand]
    of_feed: Mapping[str, Players]
    crossovers: tuple[Crossover, ...]
    doubtful: frozenset[str]


def band_figures(ground: BaseFigures) -> BandFigures:
    """Work out the band that reaches every loudspeaker, and where two of them cross."""
    found: list[BoxBand] = []
    doubtful: set[str] = set()
    for run in ground.trace.runs.values():
        if run.output.carries != "mains":
            here = list(_of_run(ground, run))
            if run.doubt or run.output.gear.doubt or any(band.gear.doubt for band in here):
                doubtful.update(part.feed for part in ground.signals.at_output(run.output))
            found += here
    found.sort(key=lambda band: (band.gear.name, band.gear.number or 0, band.way))
    of_feed = _by_feed(found)
    crossovers = tuple(each for feed, players in of_feed.items() for each in crossovers_of(feed, players))
    return BandFigures({band.key: band for band in found}, of_feed, crossovers, frozenset(doubtful))


def _by_feed(bands: Iterable[BoxBand]) -> dict[str, Players]:
    players: dict[str, list[tuple[BoxBand, Contribution]]] = {}
    for band in bands:
        for part in band.parts:
            players.setdefault(part.feed, []).append((band, part))
    return {feed: tuple(found) for feed, found in sorted(players.items())}


def _of_run(ground: BaseFigures, run: Run) -> Iterable[BoxBand]:
    signals = ground.signals
    for arrival in run.arrivals:
        gear = arrival.sink.gear
        if gear.word != "speaker":
            continue
        inside, powered = turned_inside(gear, arrival.sink.port), gear.says("powered")
        if run.output.carries == "power" and not powered:
            yield _band(arrival, False, signals.at_output(run.output), arrival.turns + inside)
        elif run.output.carries != "power" and powered:
            yield _band(arrival, True, inside_powered(gear, signals.after(arrival)), inside)


def _band(arrival: Arrival, powered: bool, parts: tuple[Contribution, ...], turns: tuple[Turn, ...]) -> BoxBand:
    sink, way = arrival.sink, arrival.sink.port
    own = one(sink.gear.way(way) if way else sink.gear.facts, "band", "frequency")
    low_hz, high_hz = bounds(parts)
    return BoxBand(sink.key, sink.gear, way, sink.span, arrival.output.key, powered, parts, turns, own, low_hz, high_hz)
