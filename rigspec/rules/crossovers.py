"""Rules about crossovers: neighbouring bands add up where they meet, with their polarities as they are."""

from __future__ import annotations

from collections.abc import Iterable
from math import log2

from rigspec.figures import Figures
from rigspec.figures.bands import Crossover
from rigspec.figures.crossovers import WIDE_OCTAVES, facing
from rigspec.figures.trace import Turn
from rigspec.rules.bounds import at_least, at_most
from rigspec.rules.corners import filter_words, hertz, moved
from rigspec.rules.polarity import clashing
from rigspec.rules.pushing import meant_against, undone, without_hop
from rigspec.rules.rule import Rule
from rigspec.solve.crossover import CrossoverSum, crossover_sum
from rigspec.text.finding import Edit, Finding, Fix, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show

DIP_DB = 3.0  # less is hardly heard beside what boxes and places do (common practice, no source)
NULL_DB = 6.0
WORTH_DB = 3.0  # what turning one side must bring before it is proposed
NOTHING_DB = 40.0  # deeper than this a null is called one: no two real boxes match better
GAP_OCTAVES = 1 / 3  # corners further apart than this leave a gap, which a rule of its own judges
ASSUMED = "both are heard equally loud and from equally far, and nothing but these filters shifts their phase"


def crossover_null(figures: Figures) -> Iterable[Finding]:
    """Neighbouring bands cancel where they meet, and would not if one were turned, or if they overlapped less."""
    meant = meant_against(figures) | _in_doubt(figures)
    crossovers = [each for each in figures.bands.crossovers if not {each.lower.gear.full, each.upper.gear.full} & meant]
    nulls = [each for each in crossovers if cancels(each)]
    told = clashing(figures) if nulls else frozenset()
    said: set[str | tuple[Span, Span]] = set()
    for each in nulls:
        lower, upper = each.lower.key, each.upper.key
        place = each.low_pass.span, each.high_pass.span
        # One turned way that meets several others is told once, and so are sides that share their settings.
        if not {lower, upper} & told and not {lower, upper, place} & said:
            yield _null(figures, each)
        said |= {lower, upper, place}


def _in_doubt(figures: Figures) -> set[str]:
    """The loudspeakers that have a way behind a fault: what they meet is not known."""
    doubtful = figures.trace.doubtful
    return {sink.gear.full for sink in figures.rig.wiring.sinks.values() if sink.joint in doubtful}


def cancels(each: Crossover) -> bool:
    """Is so much missing where two bands meet that both might as well not play it?"""
    if each.wired is None or each.other is None or each.wired.dip_db >= -NULL_DB:
        return False
    if each.apart_octaves >= GAP_OCTAVES * 0.999 and each.other.dip_db < -DIP_DB:
        return False  # a gap whichever way round, which turning does not fill
    return _wide(each) or each.other.dip_db - each.wired.dip_db >= WORTH_DB


def _wide(each: Crossover) -> bool:
    return each.apart_octaves < -WIDE_OCTAVES


def overlap(each: Crossover) -> tuple[float, float] | None:
    """What both ways play, by their filters and up to half an octave beyond their own bands; None up to an octave."""
    low_hz, high_hz = each.heard
    first, last = max(each.high_pass.corner.value, low_hz), min(each.low_pass.corner.value, high_hz)
    return (first, last) if last > 0 < first and log2(last / first) > WIDE_OCTAVES * 1.001 else None


def depth(summed: CrossoverSum) -> str:
    """A dip in words that can be compared."""
    if summed.dip_db < -NOTHING_DB:
        return f"nothing is left at {hertz(summed.dip_hz)}"
    return f"{show(summed.dip_db, 'gain')} at {hertz(summed.dip_hz)}"


def _left(summed: CrossoverSum) -> str:
    """What turning one of two ways would leave."""
    return "nothing is missing" if summed.dip_db > -0.05 else f"no more is missing than {depth(summed)}"


def _null(figures: Figures, each: Crossover) -> Finding:
    assert each.wired is not None
    assert each.other is not None
    upper = f"{filter_words(each.high_pass)} from {hertz(each.high_pass.corner.value)}"
    turns = _turns(each)
    return Finding(
        "crossover-null",
        each.high_pass.span,
        f"{each.lower.key} and {each.upper.key} cancel where {'both play' if _wide(each) else 'they meet'}:"
        f" {depth(each.wired)}",
        label=f"{upper}, {'inverted against' if each.turned else 'with the same polarity as'} {each.lower.key}",
        related=(
            Label(each.low_pass.span, f"{each.lower.key} ends here: {filter_words(each.low_pass)}"),
            *(Label(turn.span, f"on the way to {key}: {turn.text}") for key, turn in turns),
            Label(each.upper.span, f"{each.upper.key} hangs here"),
            Label(each.lower.span, f"{each.lower.key} hangs here"),
        ),
        computed=f"{depth(each.wired)}; the two are {each.wired.apart_deg:.0f} deg apart where they meet",
        allowed=f"a dip of {show(NULL_DB, 'gain')}; with one of the two inverted {_left(each.other)}{_rises(each)}",
        assumes=(ASSUMED, *each.assumes),
        help=_together(each) if _wide(each) else _cure(each, turns),
        choices=() if _wide(each) else _choices(figures, each, turns),
        subject=each.upper.key,
    )


def _turns(each: Crossover) -> list[tuple[str, Turn]]:
    """The turns that one of the two ways has and the other has not."""
    sides = ((each.lower, each.lower_part), (each.upper, each.upper_part))
    lower, upper = (part.turns + band.own_turns for band, part in sides)
    both = {turn.span for turn in lower} & {turn.span for turn in upper}  # taking out one of these turns both
    found = [(each.lower.key, turn) for turn in lower if turn.span not in both]
    return found + [(each.upper.key, turn) for turn in upper if turn.span not in both]


def _rises(each: Crossover) -> str:
    """What bands that overlap far come to where they are turned to help each other."""
    assert each.other is not None
    return f", and they rise by up to {show(each.other.bump_db, 'gain')} instead" if _wide(each) else ""


def _together(each: Crossover) -> str:
    """How near the corners of bands that overlap far have to come, by halving; an octave is the most."""
    lower, upper = facing(each.lower_part.filters, False) or (), facing(each.upper_part.filters, True) or ()
    high_hz, low_hz = each.high_pass.corner.value, each.low_pass.corner.value

    def sound(octaves: float) -> bool:
        nearer = moved(lower, each.low_pass, high_hz * 2**octaves)
        return crossover_sum(nearer, upper, each.turned).dip_db >= -DIP_DB

    if not sound(0.0):
        return f"invert one of the two, and set both corners to {hertz(high_hz)}"
    near, far = (WIDE_OCTAVES, WIDE_OCTAVES) if sound(WIDE_OCTAVES) else (0.0, WIDE_OCTAVES)
    for _ in range(20):
        middle = (near + far) / 2
        near, far = (middle, far) if sound(middle) else (near, middle)
    most, least = at_most(high_hz * 2**near, "frequency"), at_least(low_hz / 2**near, "frequency")
    return (
        f"bring the corners together: the low-pass of {each.low_pass.key} to {most} or lower, or the high-pass of"
        f" {each.high_pass.key} to {least} or higher"
    )


def _cure(each: Crossover, turns: list[tuple[str, Turn]]) -> str:
    if each.turned:
        return "; or ".join(undone(turn, each.high_pass.span) for _, turn in turns)
    return f"invert one of the two, such as {each.high_pass.key}: `inverted` beside its high-pass"


def _choices(figures: Figures, each: Crossover, turns: list[tuple[str, Turn]]) -> tuple[Fix, ...]:
    """Take out the one crossing of a path; or write `inverted` beside the high-pass where nothing turns that output."""
    if each.turned:
        hop = turns[0][1].span if len(turns) == 1 and turns[0][1].span.text == "invert" else None
        edit = without_hop(hop) if hop else None
        return (Fix(f"take out `invert` in line {hop.line}", (edit,)),) if hop and edit else ()
    output, span = figures.rig.wiring.outputs[each.high_pass.key], each.high_pass.span
    if output.gear.word != "processor" or "inverted" in output.gear.ports.get(output.port, {}):
        return ()
    return (Fix(f"switch {output.key} inverted", (Edit(Span(span.source, span.end, span.end), "; inverted"),)),)


def crossover_dip(figures: Figures) -> Iterable[Finding]:
    """The filters of a crossover do not fit each other, so that they leave a dip."""
    said: set[tuple[Span, Span]] = set()
    doubtful = _in_doubt(figures)
    for each in figures.bands.crossovers:
        place = each.low_pass.span, each.high_pass.span
        if each.wired is None or each.other is None or place in said or cancels(each):
            continue
        if {each.lower.gear.full, each.upper.gear.full} & doubtful:
            continue
        if each.wired.dip_db < -DIP_DB and each.apart_octaves < GAP_OCTAVES * 0.999 and not overlap(each):
            said.add(place)
            yield _dip(each, each.wired, each.other)


def _dip(each: Crossover, wired: CrossoverSum, other: CrossoverSum) -> Finding:
    low, high = filter_words(each.low_pass), filter_words(each.high_pass)
    return Finding(
        "crossover-dip",
        each.high_pass.span,
        f"the filters of {each.lower.key} and {each.upper.key} do not add up where they meet: {depth(wired)}",
        label=f"begins with {high} at {hertz(each.high_pass.corner.value)}",
        related=(
            Label(each.low_pass.span, f"ends with {low} at {hertz(each.low_pass.corner.value)}"),
            Label(each.upper.span, f"{each.upper.key} hangs here"),
            Label(each.lower.span, f"{each.lower.key} hangs here"),
        ),
        computed=depth(wired),
        allowed=f"a dip of {show(DIP_DB, 'gain')}",
        assumes=(ASSUMED, *each.assumes),
        help=_fitting(each, wired, other),
        subject=each.upper.key,
    )


def _fitting(each: Crossover, wired: CrossoverSum, other: CrossoverSum) -> str:
    orders = []
    if filter_words(each.low_pass) != filter_words(each.high_pass):
        orders.append("give both sides the same slope and alignment")
    if other.dip_db - wired.dip_db >= WORTH_DB:
        orders.append(f"invert one of them: then {_left(other)}")
    if abs(each.apart_octaves) > 0.01:
        orders.append(f"set both corners to {hertz(each.high_pass.corner.value)}")
    return "; or ".join(orders) or "take a slope whose two sides agree, such as 24 dB/octave linkwitz-riley"


_X = (
    "feed f { level -8 dBu; peak -4 dBu }\nprocessor x is cross\namp a is twin\nspeaker h is two-way\nf -> x.a\n"
    "x.1 -> a.1 -> h.low\nx.2 -> a.2 -> h.high\n"
)


def _example(low: str, high: str) -> str:
    return f"{_X}x.1 {{ from a; low-pass 1.2 kHz {low} }}\nx.2 {{ from a; high-pass 1.2 kHz {high} }}\n"


RULES = (
    Rule(
        name="crossover-null",
        severity=Severity.WARNING,
        summary="two neighbouring bands cancel where they meet",
        reason="the two cancel wherever both are heard about equally loud, at the very frequency that both are to"
        " carry",
        limit="the sum of the two filters, with the inversions on both ways, lies no more than 6 dB down,"
        " if turning one"
        " mends it or the two overlap by more than an octave",
        authority="filter theory; S. Linkwitz, JAES 24 (1976), from memory",
        cure="invert one of the two, or take out the inversion that one of them has; bring corners together that"
        " overlap far",
        bad=_example("12 dB/octave linkwitz-riley", "12 dB/octave linkwitz-riley"),
        good=_example("12 dB/octave linkwitz-riley", "12 dB/octave linkwitz-riley; inverted"),
        check=crossover_null,
    ),
    Rule(
        name="crossover-dip",
        severity=Severity.ADVICE,
        summary="the filters of a crossover do not fit each other",
        reason="unlike slopes, alignments or corners shift the phase unlike, and a part of what meets cancels",
        limit="the sum of the two filters lies no more than 3 dB down",
        authority="filter theory; the 3 dB: common practice, no source",
        cure="give both sides the same slope, alignment and corner",
        bad=_example("24 dB/octave linkwitz-riley", "12 dB/octave linkwitz-riley"),
        good=_example("24 dB/octave linkwitz-riley", "24 dB/octave linkwitz-riley"),
        check=crossover_dip,
    ),
)
