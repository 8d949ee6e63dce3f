"""What is promised of places and areas: how loud, how even, and who arrives when."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from math import isfinite
from typing import TYPE_CHECKING

from rigspec.figures import Figures
from rigspec.rig.model import Expectation, ListMember, Measure
from rigspec.rules.found import Answers, Found
from rigspec.rules.space_words import listening
from rigspec.text.finding import few

if TYPE_CHECKING:
    from rigspec.space.scene import Scene
    from rigspec.space.where import Spot

OF_PLACES = ("evenness", "arrival")
LEAST = (">", ">=", "≥")


def of_places(figures: Figures, expectation: Expectation) -> bool:
    """Is a promise about what is heard at places? A level in dB SPL, an evenness, an arrival."""
    what, value = expectation.statement.figure, expectation.value
    return what in OF_PLACES or (what == "level" and isinstance(value, Measure) and value.kind == "sound level")


def answers(figures: Figures, expectation: Expectation) -> Answers:
    """What is computed for such a promise; in words why not."""
    places = [part for part in expectation.subjects if _is_place(figures, part)]
    if not places or not listening(figures):
        said = "it does not say at which place: `at desk`, or `of lawn` for an area"
        return [(part.key, said) for part in expectation.subjects]
    from rigspec.space.scene import scene

    heard = scene(figures)
    if expectation.statement.figure == "arrival":
        return list(_arrivals(figures, heard, expectation, places))
    return [(part.key, _at(heard, expectation, part.name)) for part in places]


def _is_place(figures: Figures, part: ListMember) -> bool:
    gear = figures.rig.gear.get(part.name)
    return gear is not None and gear.word in ("place", "area")


def _at(heard: Scene, expectation: Expectation, name: str) -> Found | str:
    """The level of a place, or the end of an area's that the promise is about; or how even it is."""
    from rigspec.space.reach import level_range
    from rigspec.space.scene import LEFT_OUT, TOLERANCE_DB, level_at

    spot = heard.spot(name)
    if spot is None:
        return f"{name} does not say where it is"
    meant = heard.meant_for(spot)
    lacking = _lacking(heard, spot)
    if lacking:
        return lacking
    found = level_range(heard, spot, "nominal")
    if found is None:
        silent = [voice.key for voice in meant if voice.level_db("nominal") is None]
        return f"the nominal level of {few(silent, 3)} is not known" if silent else f"nothing is heard at {name}"
    assumes = (f"free field, +-{TOLERANCE_DB:g} dB, without {LEFT_OUT}", *heard.assumes)
    if expectation.statement.figure == "evenness":
        even = found.evenness_db
        return Found(even, even, even, assumes) if isfinite(even) else f"{name} has a silent point"
    least = expectation.statement.comparison in LEAST
    point, level = (found.softest, found.least_db) if least else (found.loudest, found.most_db)
    doubtful = isfinite(level) and any(voice.low_db or voice.high_db for voice in meant)
    ends = [level_at(heard, meant, point, "nominal", end) for end in (-1, 1)] if doubtful else []
    low, high = (min(known), max(known)) if (known := [end for end in ends if end is not None]) else (level, level)
    where = f" at {point[0]:.0f} m across, {point[1]:.0f} m along" if len(spot.points) > 1 else ""
    return Found(level, min(low, level), max(high, level), assumes, where)


def _lacking(heard: Scene, spot: Spot) -> str:
    """Why nothing can be said of a place: nothing reaches it, or boxes of which too little is said are left out."""
    meant = heard.meant_for(spot)
    lost = heard.lost_to(spot)
    if lost:
        first = lost[0]
        return f"{first.gear.full} is left out of it: {first.why}"
    return "" if meant else f"no loudspeaker carries what {spot.name} is to hear"


def _arrivals(
    figures: Figures, heard: Scene, expectation: Expectation, places: Sequence[ListMember]
) -> Iterator[tuple[str, Found | str]]:
    """The first of some loudspeakers at each place, in all or after the first of others."""
    from rigspec.space.reach import middle_of

    things = [part.name for part in expectation.subjects if not _is_place(figures, part)]
    after = [part.name for part in expectation.after]
    named = _said(expectation, "of")
    for place in places:
        key = (
            f"{named} at {place.name}" if not after else f"{named} after {_said(expectation, 'after')} at {place.name}"
        )
        spot = heard.spot(place.name)
        if spot is None:
            yield key, f"{place.name} does not say where it is"
            continue
        point = middle_of(spot)
        times = []
        for names in (things, after):
            found = [heard.arrival_s(voice, point) for voice in heard.voices if voice.gear.full in names]
            times.append(min(found, default=None))
        first, other = times
        if first is None or (after and other is None):
            lost = things if first is None else after
            yield key, f"it is not known when {few(sorted(lost), 3) or 'what'} arrives: it needs `at` and a feed"
            continue
        value = first - (other or 0.0)
        yield key, Found(value, value, value, heard.assumes)


def _said(expectation: Expectation, word: str) -> str:
    items = [item.span.text for clause in expectation.statement.clauses if clause.word == word for item in clause.items]
    return ", ".join(items)
