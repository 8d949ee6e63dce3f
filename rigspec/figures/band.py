"""What band reaches one loudspeaker, or one way of it."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from rigspec.figures.signal import Contribution, Passed
from rigspec.figures.trace import Turn
from rigspec.rig.model import Gear, Measure
from rigspec.solve.decibel import power_ratio_to_gain, ratio_to_gain
from rigspec.solve.filter import Filter, attenuation_db, edge_hz
from rigspec.text.source import Span
from rigspec.text.value import Value

EDGE_DB = ratio_to_gain(2.0)
"""How far filters are down at the edges of a band: half the amplitude, where Linkwitz-Riley neighbours meet."""
HALF_POWER_DB = power_ratio_to_gain(2.0)


@frozen(eq=False, repr=False)
class BoxBand(Value):
    """What band reaches a loudspeaker, or a way of one, passive or powered.

    ``parts`` are the feeds that it carries, each with the filters on its way; ``own_turns`` the turns that these do
    not hold. ``own`` is the band that the loudspeaker is made for. ``low_hz`` and ``high_hz`` are the outermost
    corners of what reaches it, of filters and of the feeds' bands; None where nothing bounds it. ``channel`` is the
    output that drives it.
    """

    key: str
    gear: Gear
    way: str
    span: Span
    channel: str
    powered: bool
    parts: tuple[Contribution, ...]
    own_turns: tuple[Turn, ...]
    own: Measure | None
    low_hz: float | None
    high_hz: float | None

    def attenuation_db(self, hz: float) -> float | None:
        """How far the filters lower a frequency on the way of the feed that they lower least; None if not known.

        Filters without a slope leave it unknown. A feed's own band counts for nothing here: it has no slope.
        """
        found = []
        for part in self.parts:
            made = made_of(part.filters)
            if made is None:
                return None
            found.append(attenuation_db(made, hz))
        return min(found, default=None)

    def edge_hz(self, high_pass: bool, down_db: float = EDGE_DB) -> float | None:
        """The lower (or upper) edge of what reaches it: where its filters are so far down, or the feed's band ends.

        That of its outermost feed; None where nothing bounds one of them, or a filter's slope is not known.
        """
        edges = [part_edge_hz(part, high_pass, down_db) for part in self.parts]
        known = [edge for edge in edges if edge is not None]
        if not known or len(known) < len(edges):
            return None
        return min(known) if high_pass else max(known)


def part_edge_hz(part: Contribution, high_pass: bool, down_db: float = EDGE_DB) -> float | None:
    """Where one feed's band ends: at its filters' edge or where its own band does, whichever is further in."""
    side = tuple(each for each in part.filters if each.high_pass == high_pass)
    made = made_of(side)
    own = part.own_low_hz if high_pass else part.own_high_hz
    filtered = None if made is None else edge_hz(made, high_pass, down_db)
    if made is None or own is None or filtered is None:
        return None if made is None else own or filtered
    return max(own, filtered) if high_pass else min(own, filtered)


def made_of(passed: Iterable[Passed]) -> tuple[Filter, ...] | None:
    """The filters on a way; None where the slope of one of them is not known."""
    made = [each.made for each in passed]
    known = tuple(each for each in made if each is not None)
    return known if len(known) == len(made) else None


def bounds(parts: Iterable[Contribution]) -> tuple[float | None, float | None]:
    """The outermost corners of several feeds' bands; None at an end where nothing bounds one of them."""
    carried = list(parts)
    lows, highs = [part.low_hz for part in carried], [part.high_hz for part in carried]
    low = None if None in lows else min((hz for hz in lows if hz is not None), default=None)
    high = None if None in highs else max((hz for hz in highs if hz is not None), default=None)
    return low, high
