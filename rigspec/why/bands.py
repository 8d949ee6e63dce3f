"""Working of the figures of bands: where filters end what reaches a loudspeaker, and what neighbours sum to."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from rigspec.figures import Figures
from rigspec.figures.band import EDGE_DB, made_of, part_edge_hz
from rigspec.figures.crossovers import Crossover, crossover_of
from rigspec.figures.signal import Contribution, Passed
from rigspec.solve.filter import BESSEL, BUTTERWORTH, LINKWITZ_RILEY, attenuation_db, edge_hz, order_of
from rigspec.why.derived import Derived
from rigspec.why.working import Step, given, numbered, taken

_AUTHORITY = {
    BUTTERWORTH: "S. Butterworth, 1930 (from memory)",
    LINKWITZ_RILEY: "S. Linkwitz, JAES 24, 1976: two Butterworth filters of half the order (from memory)",
    BESSEL: "W. E. Thomson, 1949 (from memory)",
}
_EDGE = "half the amplitude, where neighbours of a Linkwitz-Riley crossover meet (common practice, no source)"
_HALVED = "found by halving: the frequency at which the filters together are so far down"


def _alignment(passed: Passed) -> str:
    return passed.alignment or BUTTERWORTH


def _settings(passed: Passed) -> list[Step]:
    """The corner and the number of poles of a filter, as it is set."""
    assert passed.slope is not None
    alignment = _alignment(passed)
    name = f"{passed.word} of {passed.key}"
    slope = given(f"slope of the {name}", passed.slope, "S")
    pole = taken("slope of one pole", 6.0, "slope", "", "S_1", "20 log 2, rounded as everybody says it")
    order = order_of(passed.slope.value, alignment)
    poles = Step(f"poles of the {name}", order, "number", "n", "S / S_1", "", "filter theory", rests_on=(slope, pole))
    none = "none is given: it is taken as Butterworth"
    word = Step(f"alignment of the {name}", alignment, "number", assumed=none)
    return [given(f"corner of the {name}", passed.corner, "f_c"), poles, *(() if passed.alignment else (word,))]


def _lowered(passed: Passed, frequency: Step) -> Step:
    """How far one filter lowers a frequency."""
    assert passed.made is not None
    assert isinstance(frequency.value, float)
    value = attenuation_db([passed.made], frequency.value)
    alignment = _alignment(passed)
    ratio = "f_c / f" if passed.high_pass else "f / f_c"
    formula = {
        BUTTERWORTH: f"10 * log10(1 + ({ratio})^(2 * n))",
        LINKWITZ_RILEY: f"20 * log10(1 + ({ratio})^n)",
    }.get(alignment, "")
    method = "" if formula else "the Bessel polynomial of n poles, 3.01 dB down at the corner"
    rests = (*_settings(passed), frequency.called("f"))
    name = f"attenuation by the {passed.word} of {passed.key}"
    return Step(name, value, "gain", "A", formula, method, _AUTHORITY[alignment], passed.span, rests_on=rests)


# ---- how far down what lies below a loudspeaker's band is ------------------------------------------------------------


def attenuation(figures: Figures, key: str) -> Step | None:
    band = figures.bands.boxes.get(key)
    if band is None or band.own is None or band.own.low <= 0 or not band.parts:
        return None
    if figures.rig.wiring.sinks[key].joint in figures.trace.doubtful and not any(part.filters for part in band.parts):
        return None  # behind a fault it is not known that no filter stands on the way
    begins = given(f"band of {key}", band.own, "f_1")
    hz = band.own.low / 2
    least = band.attenuation_db(hz)
    if least is None:
        return None
    low = Step(f"lower end of the band of {key}", band.own.low, "frequency", "f_1", span=begins.span)
    frequency = Step(
        "an octave below it", hz, "frequency", "f", "f_1 / 2", "", "an octave is a factor of 2", rests_on=(low,)
    )
    ways = [_through(part, frequency) for part in band.parts]
    if len(ways) == 1:
        return evolve(ways[0], name=f"attenuation of {key} an octave below its band")
    steps = numbered(ways, "A")
    formula = f"min({', '.join(step.symbol for step in steps)})"
    name = f"attenuation an octave below the band of {key}, of the feed that is lowered least"
    return Step(name, least, "gain", "A", formula, "", "what is lowered least reaches the box", rests_on=steps)


def _through(part: Contribution, frequency: Step) -> Step:
    """How far the filters on one feed's way lower a frequency."""
    if len(part.filters) == 1:
        return _lowered(part.filters[0], frequency)
    steps = numbered([_lowered(each, frequency) for each in part.filters], "A")
    assert isinstance(frequency.value, float)
    total = attenuation_db(made_of(part.filters) or (), frequency.value)
    name = f"attenuation of {part.feed} an octave below the band"
    if not steps:
        return taken(name, total, "gain", "no filter stands on the way, so everything comes through", "A")
    formula = " + ".join(step.symbol for step in steps)
    return Step(name, total, "gain", "A", formula, "", "filters in a row: decibels add", rests_on=steps)


# ---- the edges of what reaches a loudspeaker -------------------------------------------------------------------------


def low_edge(figures: Figures, key: str) -> Step | None:
    return _edge(figures, key, high_pass=True)


def high_edge(figures: Figures, key: str) -> Step | None:
    return _edge(figures, key, high_pass=False)


def _edge(figures: Figures, key: str, *, high_pass: bool) -> Step | None:
    band = figures.bands.boxes.get(key)
    value = band.edge_hz(high_pass) if band is not None else None
    if band is None or value is None:
        return None
    edges = [_edge_of(figures, part, high_pass) for part in band.parts]
    name = f"{'lower' if high_pass else 'upper'} edge of what reaches {key}"
    if len(edges) == 1:
        return evolve(edges[0], name=name)
    steps = numbered(edges, "f")
    formula = f"{'min' if high_pass else 'max'}({', '.join(step.symbol for step in steps)})"
    return Step(name, value, "frequency", "f", formula, "", "the outermost feed counts", rests_on=steps)


def _edge_of(figures: Figures, part: Contribution, high_pass: bool) -> Step:
    """Where one feed's band ends: at its filters' edge, at the end of its own band, or at the inner of the two."""
    value = part_edge_hz(part, high_pass)
    assert value is not None
    filters = [each for each in part.filters if each.high_pass == high_pass]
    measure = figures.rig.gear[part.feed].measure("band", "frequency")
    own = None
    if measure is not None:
        name = f"{'lower' if high_pass else 'upper'} end of the band of {part.feed}"
        own = Step(name, measure.low if high_pass else measure.high, "frequency", "f_b", span=measure.span)
    filtered = _filters_edge(filters, high_pass) if filters else None
    if own is None or filtered is None:
        step = filtered or own
        assert step is not None
        return step
    name = f"{'lower' if high_pass else 'upper'} edge of {part.feed}"
    formula = f"{'max' if high_pass else 'min'}(f_b, f_f)"
    return Step(
        name,
        value,
        "frequency",
        "f",
        formula,
        "",
        "the inner of the two bounds it",
        rests_on=(own, filtered.called("f_f")),
    )


def _filters_edge(filters: Sequence[Passed], high_pass: bool) -> Step:
    """Where filters of one side are together as far down as an edge: in closed form for one, by halving for several."""
    made = made_of(filters)
    assert made is not None
    value = edge_hz(made, high_pass, EDGE_DB)
    assert value is not None
    down = taken("how far filters are down at an edge", EDGE_DB, "gain", "", "D", _EDGE)
    first = filters[0]
    alignment = _alignment(first)
    if len(filters) > 1 or alignment == BESSEL:
        rests = [step for each in filters for step in _settings(each)]
        symbols = [step.called("") for step in rests]
        authority = _AUTHORITY[alignment]
        return Step(
            f"{EDGE_DB:.0f} dB edge", value, "frequency", "f", "", _HALVED, authority, rests_on=(*symbols, down)
        )
    power = "(1 / (2 * n))" if alignment == BUTTERWORTH else "(1 / n)"
    decade = "10" if alignment == BUTTERWORTH else "20"
    factor = f"(10^(D / {decade}) - 1)^{power}"
    formula = f"f_c / {factor}" if high_pass else f"f_c * {factor}"
    name = f"{EDGE_DB:.0f} dB edge of the {first.word} of {first.key}"
    rests_on = (*_settings(first), down)
    return Step(name, value, "frequency", "f", formula, "", _AUTHORITY[alignment], first.span, rests_on=rests_on)


# ---- what two neighbours sum to --------------------------------------------------------------------------------------


def crossover(figures: Figures, key: str) -> Step | None:
    found = crossover_of(figures.bands.crossovers, figures.bands.boxes, key)
    if found is None or found.wired is None:
        return None
    wired = found.wired
    meets = Step(
        f"where {found.lower.key} and {key} are equally far down",
        wired.crossover_hz,
        "frequency",
        method="found by halving between the corners",
        authority="filter theory",
        rests_on=tuple(step.called("") for step in _both(found)),
    )
    there = Step(
        "their sum there",
        wired.at_db,
        "gain",
        method=f"each {-wired.each_db:.2f} dB down, {wired.apart_deg:.1f} deg apart, added as complex numbers",
        authority="filter theory",
        rests_on=(meets, _polarity(found)),
    )
    lowest = Step("where the least is left", wired.dip_hz, "frequency", authority="the search for the least")
    equal = "both are heard equally loud and from equally far, and nothing but these filters shifts their phase"
    assumed = Step("the two loudspeakers", "alike", "number", assumed=equal)
    taken_too = tuple(Step("filters", "as far as known", "number", assumed=text) for text in found.assumes)
    method = "the least of the sum of the filters that face each other, as complex numbers, near the corners"
    name = f"what the crossover of {found.lower.key} and {key} leaves at least"
    authority = "S. Linkwitz, JAES 24, 1976 (from memory)"
    rests_on = (there, lowest, assumed, *taken_too)
    return Step(name, wired.dip_db, "gain", "L_dB", "", method, authority, found.high_pass.span, rests_on=rests_on)


def _both(found: Crossover) -> list[Step]:
    facing = [each for each in found.lower_part.filters if not each.high_pass]
    facing += [each for each in found.upper_part.filters if each.high_pass]
    return [step for each in facing for step in _settings(each)]


def _polarity(found: Crossover) -> Step:
    turns = (*found.lower_part.turns, *found.lower.own_turns, *found.upper_part.turns, *found.upper.own_turns)
    word = "the two are inverted against each other" if found.turned else "the two have the same polarity"
    places = tuple(Step(turn.text, "an inversion", "number", span=turn.span) for turn in dict.fromkeys(turns))
    method = "the inversions on both ways, counted" if places else ""
    return Step(
        "polarity", word, "number", method=method, authority="an even number of inversions is none", rests_on=places
    )


_SPEAKER = "a loudspeaker or a way of one"

DERIVED: tuple[Derived, ...] = (
    Derived(
        "low-edge",
        _SPEAKER,
        "the lower edge of what reaches it: its filters are 6 dB down, or its feed begins",
        low_edge,
    ),
    Derived("high-edge", _SPEAKER, "the upper edge of what reaches it, likewise", high_edge),
    Derived(
        "attenuation", _SPEAKER, "how far filters lower what lies an octave below the band it is made for", attenuation
    ),
    Derived(
        "crossover",
        _SPEAKER,
        "the least that is left where its band meets that of the way below: 0 dB is flat, a negative figure a dip",
        crossover,
    ),
)
