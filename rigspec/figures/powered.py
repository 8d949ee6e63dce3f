"""Powered loudspeakers as boxes: what is asked of every loudspeaker is asked of them too."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from rigspec.figures.channel import turned_inside
from rigspec.figures.load import Box
from rigspec.figures.values import BoxFigures
from rigspec.figures.whole import Figures
from rigspec.text.value import once


@once
def powered_boxes(figures: Figures) -> Mapping[str, BoxFigures]:
    """Each powered loudspeaker that something reaches. Loads and powers are inside and nobody's; signals are not."""
    found = {}
    for key, arrival in figures.trace.arrivals.items():
        gear = arrival.sink.gear
        if gear.word != "speaker" or arrival.sink.takes != "signal" or "powered" not in gear.facts:
            continue
        found[key] = BoxFigures(
            box=Box(key, gear, arrival.sink.port, arrival, None, None, False),
            channel=arrival.output.key,
            share_volt=1.0,
            least_power=1.0,
            most_power=1.0,
            loss_db=0.0,
            loss_low_db=0.0,
            loss_high_db=0.0,
            damping=None,
            rated_w=None,
            nominal_w=None,
            peak_w=None,
            nominal_wanted_w=None,
            peak_wanted_w=None,
            parts=figures.signals.at_sink(key),
            in_doubt=figures.signals.in_doubt(key),
            own_turns=turned_inside(gear, arrival.sink.port),
            continuous=None,
            peak=None,
        )
    return found


@once
def players(figures: Figures) -> Sequence[BoxFigures]:
    """All loudspeakers, passive and powered, in an order that does not depend on the order of statements."""
    found = (*figures.boxes.values(), *powered_boxes(figures).values())
    return sorted(found, key=lambda box: (box.box.gear.name, box.box.gear.number or 0, box.box.way))


@once
def players_by_key(figures: Figures) -> Mapping[str, BoxFigures]:
    """All loudspeakers, passive and powered, by their keys."""
    return {box.key: box for box in players(figures)}
