"""What two neighbouring bands sum to near their crossover: a null, a dip, nothing, or a bump."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from math import atan2, degrees, inf, log2, sqrt

from attrs import frozen

from rigspec.solve.filter import Filter, level_db, together
from rigspec.text.value import Value

FLOOR_DB = -100.0
"""What is given for a null: nothing that is built cancels better."""
STEPS_PER_OCTAVE = 8
EVERYWHERE = (0.0, inf)
OCTAVES_BEYOND = 1.5


@frozen(eq=False, repr=False)
class CrossoverSum(Value):
    """What two bands sum to, in dB against one of them inside its band, where both are equally loud.

    ``crossover_hz``: where both bands are equally far down, by ``each_db``; ``at_db`` is their sum there, and
    ``apart_deg`` the angle between them, 0 to 180. ``dip_db`` at ``dip_hz`` is the least of the sum from one and a
    half octaves below the lower corner to as much above the upper one, ``bump_db`` the most; a null is given as -100.
    """

    crossover_hz: float
    each_db: float
    at_db: float
    apart_deg: float
    dip_hz: float
    dip_db: float
    bump_db: float


@lru_cache(maxsize=1024)
def crossover_sum(
    lower: tuple[Filter, ...], upper: tuple[Filter, ...], turned: bool, within: tuple[float, float] = EVERYWHERE
) -> CrossoverSum:
    """What the filters of a lower and of an upper band make of one signal; ``turned``: one band is upside down.

    The lower band needs a low-pass, the upper one a high-pass (ValueError without). The far filters of each band, the
    high-pass of the lower and the low-pass of the upper one, count with their phase only: how far they lower the
    outer ends of the two bands is no matter of this crossover. Nothing but the filters is seen: the bands arrive
    equally loud and at the same time (S. Linkwitz, 1976, treats the sum of such filters). ``within`` bounds where the
    least and the most are looked for: where both bands are heard. Where it leaves nothing it bounds nothing.
    """
    tops = [each.corner_hz for each in lower if not each.high_pass]
    bottoms = [each.corner_hz for each in upper if each.high_pass]
    if not tops or not bottoms:
        raise ValueError("a crossover needs a low-pass on its lower side and a high-pass on its upper one")
    corners = min(tops), max(bottoms)
    sign = -1.0 if turned else 1.0

    def each(hz: float) -> tuple[complex, complex]:
        return _near(lower, False, hz), sign * _near(upper, True, hz)

    def summed(hz: float) -> float:
        return max(level_db(sum(each(hz))), FLOOR_DB)

    crossover_hz = _equal_hz(each, min(corners) / 8, max(corners) * 8)
    first, last = min(corners) / 2**OCTAVES_BEYOND, max(corners) * 2**OCTAVES_BEYOND
    heard = max(first, within[0]), min(last, within[1])
    first, last = heard if heard[0] < heard[1] else (first, last)
    count = int(STEPS_PER_OCTAVE * log2(last / first)) + 1
    marks = {hz for hz in (crossover_hz, *corners) if first < hz < last}
    places = sorted({*(first * (last / first) ** (n / count) for n in range(count + 1)), *marks})
    levels = [summed(hz) for hz in places]
    low, high = levels.index(min(levels)), levels.index(max(levels))
    dip_hz, dip_db = _extreme(summed, places, low, -1.0)
    _, bump_db = _extreme(summed, places, high, 1.0)
    one, other = each(crossover_hz)
    apart = other / one if one else 0j
    return CrossoverSum(
        crossover_hz,
        level_db(one),
        summed(crossover_hz),
        abs(degrees(atan2(apart.imag, apart.real))),
        dip_hz,
        dip_db,
        bump_db,
    )


def _near(filters: tuple[Filter, ...], high_pass: bool, hz: float) -> complex:
    """One band at a frequency near its end: the filters of that end, and the phase alone of the others."""
    here = together([each for each in filters if each.high_pass == high_pass], hz)
    far = together([each for each in filters if each.high_pass != high_pass], hz)
    return here * far / abs(far) if abs(far) > 0 else here


def _equal_hz(each: Callable[[float], tuple[complex, complex]], first: float, last: float) -> float:
    """Where the two bands are equally loud, by halving: over the interval one only falls and the other only rises."""
    for _ in range(50):
        middle = sqrt(first * last)
        one, other = each(middle)
        first, last = (middle, last) if abs(one) > abs(other) else (first, middle)
    return sqrt(first * last)


def _extreme(summed: Callable[[float], float], places: list[float], here: int, sign: float) -> tuple[float, float]:
    """The place and level of the highest (sign 1) or lowest (-1) sum beside a place, by thirds; the ends stay ends."""
    best = places[here], summed(places[here])
    if best[1] <= FLOOR_DB or here in (0, len(places) - 1):
        return best
    low, high = places[here - 1], places[here + 1]
    for _ in range(20):
        a, b = low * (high / low) ** (1 / 3), low * (high / low) ** (2 / 3)
        if sign * summed(a) < sign * summed(b):
            low = a
        else:
            high = b
    middle = sqrt(low * high)
    return max(best, (middle, summed(middle)), key=lambda found: sign * found[1])
