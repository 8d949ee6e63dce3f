"""Where the band of one loudspeaker ends and that of another begins, and what the two sum to there."""

from __future__ import annotations

from bisect import bisect_left
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import inf, log2
from typing import TypeAlias

from attrs import frozen

from rigspec.figures.band import BoxBand, made_of
from rigspec.figures.signal import Contribution, Passed
from rigspec.solve.crossover import EVERYWHERE, CrossoverSum, crossover_sum
from rigspec.solve.filter import Filter
from rigspec.text.value import Value, gathered

WAYS = ("", "low", "mid", "high")
FURTHEST_OCTAVES = 2.0
"""Corners further apart than this are no crossover: a low-pass of a bass box and the high-pass of a fill, say."""
MOST_OVERLAP_OCTAVES = 4.0
"""So far the low-pass of a bass box, or of a low way, may lie above the high-pass of what plays above it."""
WIDE_OCTAVES = 1.0
"""Bands that overlap by more are looked at only where both loudspeakers still play by themselves."""
BEYOND_OWN = 2**0.5
"""A loudspeaker still plays half an octave beyond the ends of its own band (common practice, no source)."""
BASS_HZ = 250.0
"""A box whose own band ends here or below is a bass box (common practice, no source)."""


@frozen(eq=False, repr=False)
class Crossover(Value):
    """One feed's band ends in ``lower`` at a low-pass and begins in ``upper`` at a high-pass, near the same frequency.

    ``turned``: the two push against each other by their turns alone. ``wired`` is what the filters that face each
    other sum to with the polarities as they are, ``other`` with one of them turned. Both are None where that cannot be
    said, with the reason in ``unjudged``: a slope is not known, or the two are delayed differently. What lies at the
    far ends of the two bands is left out, as is the phase of the loudspeakers, which does as much. Where the bands
    overlap by more than an octave, the least and the most of the sum are those where both loudspeakers play by
    themselves, or half an octave beyond. ``assumes`` is what the sums rest on.
    """

    feed: str
    lower: BoxBand
    upper: BoxBand
    lower_part: Contribution
    upper_part: Contribution
    low_pass: Passed
    high_pass: Passed
    turned: bool
    wired: CrossoverSum | None
    other: CrossoverSum | None
    unjudged: str
    assumes: tuple[str, ...]

    def with_far_filters(self) -> CrossoverSum | None:
        """The same as ``wired`` with the phase of the filters at the far ends of both bands, where these are known."""
        lower, upper = made_of(self.lower_part.filters), made_of(self.upper_part.filters)
        if self.wired is None or lower is None or upper is None:
            return None
        return crossover_sum(lower, upper, self.turned, self.within)

    @property
    def within(self) -> tuple[float, float]:
        """Where the least and the most of the sum are looked for."""
        return self.heard if self.apart_octaves < -WIDE_OCTAVES else EVERYWHERE

    @property
    def heard(self) -> tuple[float, float]:
        """Where both play by themselves, or half an octave beyond their own bands."""
        return _heard(self.lower, self.upper)

    @property
    def apart_octaves(self) -> float:
        """How far the high-pass lies above the low-pass: positive for a gap, negative for an overlap."""
        return log2(self.high_pass.corner.value / self.low_pass.corner.value)


def crossover_of(crossovers: Iterable[Crossover], boxes: Mapping[str, BoxBand], key: str) -> Crossover | None:
    """The crossover above which a loudspeaker plays: its own, or that of the one that stands for its sort."""
    band = boxes.get(key)
    if band is None:
        return None
    begins = {each.span for part in band.parts for each in part.filters if each.high_pass}
    alike = [each for each in crossovers if each.high_pass.span in begins and each.upper.way == band.way]
    own = next((each for each in alike if each.upper.key == key), None)
    if own is not None or not alike:
        return own
    first = alike[0]
    inside = first.lower.gear is first.upper.gear
    lower = boxes.get(f"{band.gear.full}.{first.lower.way}") if inside else first.lower
    sides = [
        _sides([(each, part) for part in each.parts if part.feed == first.feed], high_pass=high) if each else {}
        for each, high in ((lower, False), (band, True))
    ]
    low, high = ([side for found in each.values() for side in found] for each in sides)
    return _crossover(first.feed, low[0], high[0]) if low and high and _above(low[0], high[0]) else None


@frozen(eq=False, repr=False)
class _Side(Value):
    """One feed's way to a loudspeaker, up to the corner that faces the other side."""

    band: BoxBand
    part: Contribution
    corner: Passed

    @property
    def inverted(self) -> bool:
        return (len(self.part.turns) + len(self.band.own_turns)) % 2 == 1

    @property
    def late_us(self) -> int:
        return round(self.part.delay_s * 1e6)

    @property
    def made(self) -> tuple[object, ...]:
        """What makes this side sum as it does, but for its polarity; equal sides need one look only."""
        near = [each for each in self.part.filters if each.high_pass == self.corner.high_pass]
        return self.late_us, *((each.corner.value, each.made) for each in near)


Players: TypeAlias = "tuple[tuple[BoxBand, Contribution], ...]"
"""The loudspeakers that a feed reaches, each with its way there."""


def crossovers_of(feed: str, players: Players) -> Iterator[Crossover]:
    """The crossovers between the loudspeakers of a feed: between the nearest corners, one for each pair of ways."""
    tops, bottoms = _sides(players, high_pass=False), _sides(players, high_pass=True)
    begins = {corner: min(side.part.low_hz or 0.0 for side in sides) for corner, sides in tops.items()}
    ends = {corner: max(side.part.high_hz or inf for side in sides) for corner, sides in bottoms.items()}
    pairs = list(_nearest(begins, ends, (-FURTHEST_OCTAVES, FURTHEST_OCTAVES)))
    # Bands that overlap so far that corners of others lie nearer: the low-pass of a bass box in the midst of the tops.
    met = {top for top, _ in pairs}, {bottom for _, bottom in pairs}
    deep = {top: hz for top, hz in begins.items() if top not in met[0] and any(map(_plays_low, tops[top]))}
    if deep:
        rest = {bottom: hz for bottom, hz in ends.items() if bottom not in met[1]}
        pairs += _nearest(deep, rest, (-MOST_OVERLAP_OCTAVES, 0.0))
    for top, bottom in sorted(pairs):
        yield from _between(feed, tops[top], bottoms[bottom])


def _plays_low(side: _Side) -> bool:
    """Is it a bass box, or a way that another one is to follow?"""
    band = side.band
    return band.way in ("low", "mid") or (not band.way and band.own is not None and band.own.high <= BASS_HZ)


def _sides(players: Sequence[tuple[BoxBand, Contribution]], *, high_pass: bool) -> dict[float, list[_Side]]:
    """The ways that end at a low-pass (or begin at a high-pass), by its corner; of several the innermost."""
    found: dict[float, list[_Side]] = {}
    for band, part in players:
        corners = [each for each in part.filters if each.high_pass == high_pass]
        if not corners or (part.low_hz is not None and part.high_hz is not None and part.low_hz >= part.high_hz):
            continue
        inner = (max if high_pass else min)(corners, key=lambda each: each.corner.value)
        found.setdefault(inner.corner.value, []).append(_Side(band, part, inner))
    return found


def _nearest(
    begins: Mapping[float, float], ends: Mapping[float, float], octaves: tuple[float, float]
) -> Iterator[tuple[float, float]]:
    """Pairs of a low-pass's and a high-pass's corner of which each is the other's nearest.

    ``begins`` gives for each low-pass's corner where the lowest band that ends there begins, ``ends`` for each
    high-pass's where the highest one that begins there ends: the two sides of one band are no crossover. ``octaves``
    bound how far the high-pass may lie above the low-pass; less than nothing is below it.
    """
    tops, bottoms = sorted(begins), sorted(ends)

    def meet(top: float, bottom: float) -> bool:
        return ends[bottom] > top and begins[top] < bottom and octaves[0] <= log2(bottom / top) <= octaves[1]

    for top in tops:
        bottom = _next_to(top, bottoms, meet)
        if bottom is not None and _next_to(bottom, tops, lambda hz, other: meet(other, hz)) == top:
            yield top, bottom


def _next_to(hz: float, corners: Sequence[float], meet: Callable[[float, float], bool]) -> float | None:
    """The nearest corner with which a frequency makes a crossover, looked for outward from it."""
    place = bisect_left(corners, hz)
    below = next((corners[at] for at in range(place - 1, -1, -1) if meet(hz, corners[at])), None)
    above = next((corners[at] for at in range(place, len(corners)) if meet(hz, corners[at])), None)
    found = [corner for corner in (below, above) if corner is not None]
    return min(found, key=lambda each: abs(log2(each / hz)), default=None)


def _between(feed: str, lower: Sequence[_Side], upper: Sequence[_Side]) -> Iterator[Crossover]:
    """The crossovers between the ways at one pair of corners: first inside loudspeakers, then between the others."""
    of_gear = gathered(upper, lambda side: side.band.gear.full)
    inside: set[str] = set()
    seen: set[object] = set()
    for low in lower:
        for high in of_gear.get(low.band.gear.full, ()):
            if low.band is not high.band:
                inside.add(low.band.gear.full)
            if not _above(low, high) or WAYS.index(low.band.way) > WAYS.index(high.band.way):
                continue  # ways that are swapped are told by a rule of their own
            sort = (low.made, low.inverted, high.made, high.inverted)
            if sort not in seen:
                seen.add(sort)
                yield _crossover(feed, low, high)
    # The ways of a loudspeaker belong to each other: above its low way, and below its high one, plays no other box.
    above = [side for side in upper if side.band.way in ("", "low")]
    below = [side for side in lower if side.band.way in ("", *side.band.gear.ways[-1:])]
    lows, highs = (_sorts(side for side in sides if side.band.gear.full not in inside) for sides in (below, above))
    yield from (_crossover(feed, low, high) for low, high in _in_time(lows, highs))


def _in_time(lows: Sequence[_Side], highs: Sequence[_Side]) -> list[tuple[_Side, _Side]]:
    """The ways of two sides that are delayed alike; the first of each side where none are."""
    at_time = gathered(highs, lambda high: high.late_us)
    together = [(low, high) for low in lows for high in at_time.get(low.late_us, ()) if _above(low, high)]
    return together or [(low, high) for low in lows[:1] for high in highs[:1] if _above(low, high)]


def _sorts(sides: Iterable[_Side]) -> list[_Side]:
    """One way of each sort; none where ways of a sort differ in polarity: which of them is right is not known here."""
    found: dict[object, _Side | None] = {}
    for side in sides:
        known = found.setdefault(side.made, side)
        if known is not None and known.inverted != side.inverted:
            found[side.made] = None
    return [side for side in found.values() if side is not None]


def _above(low: _Side, high: _Side) -> bool:
    """Does the second band begin and end above the first?"""
    begins, ends = low.part.low_hz or 0.0, high.part.high_hz or inf
    return low.band is not high.band and begins < high.corner.corner.value and ends > low.corner.corner.value


def _crossover(feed: str, low: _Side, high: _Side) -> Crossover:
    turned = low.inverted != high.inverted
    wired = other = None
    lower, upper = facing(low.part.filters, False), facing(high.part.filters, True)
    unjudged = ""
    if low.late_us != high.late_us:
        unjudged = "the two are delayed differently"
    elif lower is None or upper is None:
        unjudged = "the slope of a filter is not given"
    else:
        wide = log2(high.corner.corner.value / low.corner.corner.value) < -WIDE_OCTAVES
        within = _heard(low.band, high.band) if wide else EVERYWHERE
        wired, other = (crossover_sum(lower, upper, each, within) for each in (turned, not turned))
    return Crossover(
        feed,
        low.band,
        high.band,
        low.part,
        high.part,
        low.corner,
        high.corner,
        turned,
        wired,
        other,
        unjudged,
        () if wired is None else taken_for_sums(low.part.filters, high.part.filters),
    )


def _heard(lower: BoxBand, upper: BoxBand) -> tuple[float, float]:
    """Where both play by themselves, or little beyond their own bands; everywhere where these are not given."""
    return (
        upper.own.low / BEYOND_OWN if upper.own is not None else 0.0,
        lower.own.high * BEYOND_OWN if lower.own is not None else inf,
    )


def facing(passed: Iterable[Passed], high_pass: bool) -> tuple[Filter, ...] | None:
    """The filters of one side of a crossover that face the other; None where a slope is not known."""
    return made_of(each for each in passed if each.high_pass == high_pass)


def taken_for_sums(lower: Iterable[Passed], upper: Iterable[Passed]) -> tuple[str, ...]:
    """What is assumed of the filters that face each other where they are summed."""
    near = [each for each in lower if not each.high_pass] + [each for each in upper if each.high_pass]
    return alignment_taken(near)


def alignment_taken(filters: Iterable[Passed]) -> tuple[str, ...]:
    """What is said where an alignment had to be taken for a figure."""
    unsaid = any(each.made is not None and not each.alignment for each in filters)
    return ("a filter whose alignment is not given is taken as Butterworth",) if unsaid else ()
