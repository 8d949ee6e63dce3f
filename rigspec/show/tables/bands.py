"""Tables about bands: what reaches every loudspeaker through which filters, and what neighbours sum to."""

from __future__ import annotations

from collections.abc import Iterator

from rigspec.figures import Figures
from rigspec.figures.band import EDGE_DB, HALF_POWER_DB, BoxBand
from rigspec.figures.bands import Crossover
from rigspec.figures.signal import Passed
from rigspec.show.tables.question import Column, Question

HIGH_HZ = 400.0  # boxes that begin here or above, and mid and high ways, are marked by what is left below them
ENOUGH_DB = 10.0
FLAT_DB = 3.0


def _slope(band: BoxBand, high_pass: bool) -> float | None:
    """What the filters of one side come to, far out, on the way of the feed that they stop least."""
    slopes = [_fall(part.filters, high_pass) for part in band.parts]
    known = [slope for slope in slopes if slope is not None]
    return min(known) if known and len(known) == len(slopes) else None


def _fall(passed: tuple[Passed, ...], high_pass: bool) -> float | None:
    side = [each.slope for each in passed if each.high_pass == high_pass]
    return sum(each.value for each in side if each is not None) if side and None not in side else None


def _guarded(band: BoxBand) -> bool:
    """Is it a mid or high way, or a horn, which bass destroys?"""
    return band.own is not None and (band.way in ("mid", "high") or (not band.way and band.own.low >= HIGH_HZ))


def _below(band: BoxBand) -> float | None:
    """What is taken an octave below its band; nothing where no filter is to take it, or a feed's band ends there."""
    own = band.own
    if own is None or own.low <= 0 or not band.parts:
        return None
    filtered = any(each.high_pass for part in band.parts for each in part.filters)
    return band.attenuation_db(own.low / 2) if filtered or (_guarded(band) and band.low_hz is None) else None


def _filters(band: BoxBand) -> list[str]:
    """Every filter on the way, as it is set and where."""
    found = {each.span: f"{each.key}: {each.span.text}" for part in band.parts for each in part.filters}
    return list(found.values())


def _lack(band: BoxBand) -> float:
    """How much more should be taken an octave below the band of a way or a horn."""
    below = _below(band)
    return max(0.0, ENOUGH_DB - below) if below is not None and _guarded(band) else 0.0


def _assumes(figures: Figures) -> Iterator[tuple[str, str]]:
    for band in figures.bands.boxes.values():
        filters = [each for part in band.parts for each in part.filters]
        if any(each.slope is not None and not each.alignment for each in filters):
            yield "a filter whose alignment is not given is taken as Butterworth", band.key


BANDS = Question(
    word="bands",
    title=f"Bands that reach loudspeakers, to where filters are {EDGE_DB:.0f} dB down or the feed's own band ends",
    columns=(
        Column("speaker", "speaker", lambda b: b.key).says("the loudspeaker or its way, by its full name"),
        Column("from_hz", "from Hz", lambda b: b.edge_hz(True)).says(
            "where the band that reaches it begins, at the edge that the title of the table tells"
        ),
        Column("to_hz", "to Hz", lambda b: b.edge_hz(False)).says("where that band ends"),
        Column("from_3db_hz", "from Hz at 3 dB", lambda b: b.edge_hz(True, HALF_POWER_DB), people=False).says(
            "where filters are 3 dB down below the band"
        ),
        Column("to_3db_hz", "to Hz at 3 dB", lambda b: b.edge_hz(False, HALF_POWER_DB), people=False).says(
            "where filters are 3 dB down above the band"
        ),
        Column("low_slope_db", "dB/oct below", lambda b: _slope(b, True), 0).says(
            "what filters take in each octave far below the band"
        ),
        Column("high_slope_db", "dB/oct above", lambda b: _slope(b, False), 0).says(
            "what filters take in each octave far above the band"
        ),
        Column("own_from_hz", "made from Hz", lambda b: b.own.low if b.own else None).says(
            "where the band begins that the loudspeaker is made for"
        ),
        Column("own_to_hz", "made to Hz", lambda b: b.own.high if b.own else None).says(
            "where the band ends that the loudspeaker is made for"
        ),
        Column("octave_below_db", "oct. below dB", _below, 1).says(
            "what is taken an octave below the band that it is made for"
        ),
        Column("filters", "filters", _filters, people=False, holds="list").says(
            "every filter on the way, as it is set and where"
        ),
        Column(
            "feeds", "feeds", lambda b: list(dict.fromkeys(part.feed for part in b.parts)), people=False, holds="list"
        ).says("the feeds that reach it"),
    ),
    rows=lambda figures: [band for band in figures.bands.boxes.values() if band.parts],
    worst=_lack,
    mark=f"less than {ENOUGH_DB:g} dB are taken an octave below the band of a mid or high way, or of a horn",
    note=lambda figures: (
        ["`oct. below`: how far its filters lower what lies an octave below the band that it is made for."]
        if any(_below(band) is not None for band in figures.bands.boxes.values() if band.parts)
        else []
    ),
    assumes=_assumes,
)

# ---- crossovers -----------------------------------------------------------------------------------------------------


def _dip(crossover: Crossover) -> float | None:
    return crossover.wired.dip_db if crossover.wired else None


def _all(crossover: Crossover) -> float | None:
    whole = crossover.with_far_filters()
    return whole.dip_db if whole else None


CROSSOVERS = Question(
    word="crossovers",
    title="Where two bands meet, and what they sum to there against one of them alone",
    columns=(
        Column("upper", "upper", lambda c: c.upper.key).says("the loudspeaker or way above the crossover"),
        Column("lower", "lower", lambda c: c.lower.key).says("the loudspeaker or way below the crossover"),
        Column("feed", "feed", lambda c: c.feed).says("the feed that both play"),
        Column("meet_hz", "at Hz", lambda c: c.wired.crossover_hz if c.wired else None).says(
            "where the two filters are equally far down"
        ),
        Column("each_db", "each dB", lambda c: c.wired.each_db if c.wired else None, 2).says(
            "how far down each filter is there"
        ),
        Column("apart_deg", "deg", lambda c: c.wired.apart_deg if c.wired else None, 0).says(
            "the phase between the two there, inversions included"
        ),
        Column("sum_db", "sum dB", lambda c: c.wired.at_db if c.wired else None, 2).says("the sum of both there"),
        Column("dip_db", "least dB", _dip, 2).says("the least that the sum comes to"),
        Column("dip_hz", "least at Hz", lambda c: c.wired.dip_hz if c.wired else None).says("where it is least"),
        Column("all_filters_dip_db", "all dB", _all, 2).says(
            "the least with the phase of the filters at the far ends of both bands"
        ),
        Column("inverted_dip_db", "inverted dB", lambda c: c.other.dip_db if c.other else None, 2).says(
            "the least with one of the two inverted"
        ),
        Column("not_judged", "not judged", lambda c: c.unjudged or None).says(
            "why no sum is told; nothing where one is"
        ),
        Column("bump_db", "most dB", lambda c: c.wired.bump_db if c.wired else None, 2, people=False).says(
            "the most that the sum comes to"
        ),
        Column("low_pass_hz", "low-pass Hz", lambda c: c.low_pass.corner.value, people=False).says(
            "the corner of the low-pass that ends the lower band"
        ),
        Column("high_pass_hz", "high-pass Hz", lambda c: c.high_pass.corner.value, people=False).says(
            "the corner of the high-pass that begins the upper band"
        ),
    ),
    rows=lambda figures: figures.bands.crossovers,
    worst=lambda c: max(0.0, -(_dip(c) or 0.0) - FLAT_DB),
    mark=f"more than {FLAT_DB:g} dB are missing",
    note=lambda figures: (
        [
            "Summed are the filters that face each other; `all`: the least with the phase of those at the far ends.",
            "`inverted`: the least with one of the two inverted. -100 dB stand for a null. Of equal pairs"
            " one is listed.",
        ]
        if figures.bands.crossovers
        else []
    ),
    assumes=lambda figures: ((text, each.upper.key) for each in figures.bands.crossovers for text in each.assumes),
)

QUESTIONS: tuple[Question, ...] = (BANDS, CROSSOVERS)
