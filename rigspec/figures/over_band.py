"""Figures in a band that somebody asks for: known where a stock gives impedance as it is, and the least load always."""

from __future__ import annotations

from attrs import evolve, frozen

from rigspec.figures.lines import taps_alone
from rigspec.figures.load import solve_run
from rigspec.figures.spectrum import (
    BEYOND,
    ChannelSpectrum,
    Extreme,
    Prepared,
    loads_over,
    nominal,
    prepare,
    uncovered,
    work_out,
)
from rigspec.figures.values import ChannelFigures
from rigspec.figures.whole import Figures
from rigspec.text.value import Value

Band = tuple[float, float]
IN_A_BAND = ("load", "impedance", "least-impedance", "loss", "power")


@frozen(eq=False, repr=False)
class OverBand(Value):
    """The least and the greatest that a figure is in a band, None for an end of which nothing is known.

    ``hz`` of an end is 0 where it holds for the whole band. ``box`` is the loudspeaker that decides a least load.
    """

    low: Extreme | None
    high: Extreme | None
    assumes: tuple[str, ...]
    box: str = ""


def over_band(figures: Figures, word: str, key: str, band: Band) -> OverBand | str:
    """A figure of a channel or a loudspeaker in a band, or in words why it is not known there.

    ``power`` is that of a loudspeaker's rating: the voltage there squared over its rated impedance, with the voltage of
    the amplifier's rated output held over the band.
    """
    channel, box = figures.channels.get(key), figures.boxes.get(key)
    if channel is None and box is None:
        return f"{key} is no channel and no loudspeaker with figures"
    if word not in IN_A_BAND:
        return f"this version computes no {word} in a band"
    if channel is not None and word == "least-impedance":
        return least_load(figures, channel, band) or "nothing closes the circuit"
    if channel is not None:
        if word != "load":
            return f"this version computes no {word} of a channel in a band"
        whole = _over(figures, channel, band)
        if whole is None:
            alone = taps_alone(each.box for each in channel.boxes)
            lacking = alone[0] if alone else f"no loudspeaker on {key} has a `curve` or a `driver`"
            return f"{lacking}, so its load is one figure for all frequencies"
        return OverBand(whole.least, whole.most, whole.assumes, whole.least_box)
    if word == "load":
        return f"this version computes no {word} of a loudspeaker"
    return _of_box(figures, word, key, band)


def least_load(figures: Figures, channel: ChannelFigures, band: Band | None = None) -> OverBand | None:
    """The least that a channel sees: by curves and drivers in the band, else with every loudspeaker at 80 % of rated.

    Without a band it is the one that reaches its loudspeakers. Leads and tolerances are taken at their low ends.
    """
    whole = figures.spectrum.channels.get(channel.key) if band is None else _over(figures, channel, band)
    if whole is not None:
        return OverBand(whole.least, None, whole.assumes, whole.least_box)
    case = evolve(figures.case, copper=-1, impedance=-1)
    boxes = [box.box for box in channel.boxes]
    solved = solve_run(figures.trace.runs[channel.key], boxes, case, at_least=True)
    return (
        None if solved is None else OverBand(Extreme(solved.load_ohm, 0.0), None, (*nominal(boxes), *taps_alone(boxes)))
    )


def _asked(figures: Figures, channel: ChannelFigures, band: Band) -> Prepared | None:
    """A channel prepared for the band that is asked for, whatever reaches its loudspeakers."""
    prepared = prepare(figures, figures.bands, channel)
    return None if prepared is None else evolve(prepared, bands=(band,) * len(prepared.bands))


def _over(figures: Figures, channel: ChannelFigures, band: Band) -> ChannelSpectrum | None:
    prepared = _asked(figures, channel, band)
    return None if prepared is None else work_out(prepared)


def _of_box(figures: Figures, word: str, key: str, band: Band) -> OverBand | str:
    box = figures.boxes[key]
    channel = figures.channels[box.channel]
    prepared = _asked(figures, channel, band)
    number = channel.boxes.index(box)
    law = None if prepared is None else prepared.laws[number]
    if word == "least-impedance" and law is None:
        return OverBand(Extreme(box.box.least_ohm(), 0.0), None, (*nominal([box.box]), *taps_alone([box.box])))
    if prepared is None or (law is None and word == "impedance"):
        asked = [box] if word == "impedance" else channel.boxes
        alone = taps_alone(each.box for each in asked)
        whose = key if word == "impedance" else f"any loudspeaker on {channel.key}"
        lacking = f"no `curve` and no `driver` of {whose} is given"
        return f"{alone[0] if alone else lacking}, so its {word} is one figure for all frequencies"
    whole = work_out(prepared)
    found = next(each for each in whole.boxes if each.key == key)
    match word:
        case "loss":
            return OverBand(None, found.loss, whole.assumes)
        case "power":
            if found.rating_watt is None:
                return f"no `rated` power of {channel.gear.full} at this load is given"
            held = "the voltage of the amplifier's rated output is held over the band"
            return OverBand(None, found.rating_watt, (*whole.assumes, held))
    typical, lowest = loads_over(prepared, whole.hertz)
    ends = [
        sorted((abs(ohm), hz) for ohm, hz in zip(side[number], whole.hertz, strict=True)) for side in (lowest, typical)
    ]
    assert law is not None
    beyond = uncovered(law, *band)
    own = tuple(dict.fromkeys((*law.assumes, *([BEYOND] if beyond else []))))
    least, most = Extreme(*ends[0][0]), None if beyond else Extreme(*ends[1][-1])
    return OverBand(least, None if word == "least-impedance" else most, own)
