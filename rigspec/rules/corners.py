"""Bands in words, the places that bound them, and the corner or slope that would be enough."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve

from rigspec.figures import Figures
from rigspec.figures.band import BoxBand
from rigspec.figures.signal import Contribution, Passed
from rigspec.solve.filter import MOST_ORDER, POLE_DB, Filter, ImpossibleFilter, attenuation_db, edge_hz
from rigspec.text.finding import Label
from rigspec.text.units import show

UNBOUND = "where a feed has no `band` and no filter stands on the way, everything comes through"


def hertz(hz: float) -> str:
    return show(hz, "frequency")


def band_words(low_hz: float | None, high_hz: float | None) -> str:
    """A band as it reads after "gets"."""
    if low_hz is None:
        return "everything" if high_hz is None else f"what is below {hertz(high_hz)}"
    if high_hz is None:
        return f"what is above {hertz(low_hz)}"
    return f"{hertz(low_hz)} to {hertz(high_hz)}"


def filter_words(passed: Passed) -> str:
    """A filter as it is set: ``12 dB/octave linkwitz-riley``."""
    slope = passed.slope.text if passed.slope else "no slope given"
    return " ".join(text for text in (slope, passed.alignment) if text)


def filter_label(passed: Passed) -> Label:
    return Label(passed.span, f"the {passed.word} of {passed.key}")


def band_labels(figures: Figures, band: BoxBand, parts: Iterable[Contribution] | None = None) -> list[Label]:
    """The filters and the feeds' bands that bound what reaches a loudspeaker, each place once."""
    labels: dict[Label, None] = {}
    for part in band.parts if parts is None else parts:
        own = figures.rig.gear[part.feed].measure("band", "frequency")
        if own is not None:
            labels[Label(own.span, f"the band of {part.feed}")] = None
        labels.update(dict.fromkeys(filter_label(each) for each in part.filters))
    return list(labels)


def corner_for(passed: Passed, hz: float, down_db: float) -> float | None:
    """The corner at which this filter, slope and alignment kept, is so far down at a frequency."""
    if passed.made is None:
        return None
    reached = edge_hz((passed.made,), passed.high_pass, down_db)
    return None if reached is None else passed.made.corner_hz * hz / reached


def moved(filters: Iterable[Filter], passed: Passed, corner_hz: float) -> tuple[Filter, ...]:
    """Filters with the one that was passed set to another corner."""
    return tuple(evolve(each, corner_hz=corner_hz) if each == passed.made else each for each in filters)


def slope_for(passed: Passed, hz: float, down_db: float) -> float | None:
    """The least slope, corner and alignment kept, with which this filter is so far down at a frequency."""
    made = passed.made
    for order in range(1, MOST_ORDER + 1) if made else ():
        steeper = Filter(made.high_pass, made.corner_hz, order * POLE_DB, made.alignment) if made else None
        try:
            if steeper and attenuation_db([steeper], hz) >= down_db:
                return steeper.slope_db
        except ImpossibleFilter:
            continue
    return None
