"""Crossover filters: Butterworth, Linkwitz-Riley and Bessel high-passes and low-passes, and what two of them sum to.

A filter of n poles falls by 6n dB an octave far from its corner, so its slope tells its order. All are taken as analog
prototypes; a digital processor comes close to them well below its own highest frequency.

- Butterworth: flat to its corner, where it is 3.01 dB down (S. Butterworth, 1930).
- Linkwitz-Riley: two Butterworth filters of half the order in a row, 6.02 dB down at the corner, so its slope is a
  multiple of 12 dB an octave (S. Linkwitz, Journal of the Audio Engineering Society 24, 1976).
- Bessel: the flattest delay (W. E. Thomson, 1949). Of its normalisations this one is taken: 3.01 dB down at the
  stated corner. A Bessel high-pass is the low-pass with frequency turned over; its delay is not flat.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from math import factorial, inf, log10, pi, sin, sqrt

from attrs import frozen

from rigspec.text.value import Content

BUTTERWORTH, LINKWITZ_RILEY, BESSEL = "butterworth", "linkwitz-riley", "bessel"
ALIGNMENTS = (BUTTERWORTH, LINKWITZ_RILEY, BESSEL)

FURTHEST = 1e9  # ratio of a frequency to a corner from which on nothing changes: far beyond every figure of sound
POLE_DB = 6.0  # what one pole adds to the slope, in dB an octave: 20 log 2 = 6.02, rounded as everybody says it
MOST_ORDER = 16  # 96 dB an octave; steeper ones are made otherwise


class ImpossibleFilter(ValueError):
    """No such filter can be made; ``nearest`` are the slopes beside it, in dB an octave, that can."""

    def __init__(self, why: str, nearest: tuple[float, ...]) -> None:
        super().__init__(why)
        self.nearest = nearest


@frozen(eq=False, repr=False)
class Filter(Content):
    """One filter: which side it stops, its corner, its slope in dB an octave and its alignment."""

    high_pass: bool
    corner_hz: float
    slope_db: float
    alignment: str


def order_of(slope_db: float, alignment: str) -> int:
    """How many poles a filter has.

    Raises ImpossibleFilter, which says which slopes are possible: multiples of 6 dB an octave, for Linkwitz-Riley of
    12, up to 96. ValueError for an alignment that is not known.
    """
    if alignment not in ALIGNMENTS:
        raise ValueError(f"unknown alignment {alignment}: {', '.join(ALIGNMENTS)} are possible")
    step = 2 * POLE_DB if alignment == LINKWITZ_RILEY else POLE_DB
    most = MOST_ORDER * POLE_DB
    below = min(max(slope_db // step * step, step), most)
    if slope_db == below:
        return round(slope_db / POLE_DB)
    nearest = (below, below + step) if step < slope_db < most else (below,)
    possible = " and ".join(f"{slope:g}" for slope in nearest) + (" are" if len(nearest) > 1 else " is")
    what = {BUTTERWORTH: "a Butterworth", LINKWITZ_RILEY: "a Linkwitz-Riley", BESSEL: "a Bessel"}[alignment]
    said = f"{what} filter falls by a multiple of {step:g} dB an octave, from {step:g} to {most:g}"
    raise ImpossibleFilter(f"{said}, and not by {slope_db:g}: {possible} possible", nearest)


def response(filter: Filter, hz: float) -> complex:
    """The transfer function at a frequency above 0: 1 far inside the pass band. Raises as `order_of` does."""
    polynomial = _polynomial(order_of(filter.slope_db, filter.alignment), filter.alignment)
    # A high-pass is the low-pass with frequency turned over: s becomes 1/s.
    s = _ratio(filter, hz) * (-1j if filter.high_pass else 1j)
    total = 0j
    for coefficient in reversed(polynomial):
        total = total * s + coefficient
    return 1 / total


def _ratio(filter: Filter, hz: float) -> float:
    """How far into its stop band a frequency lies: 1 at the corner."""
    return min(filter.corner_hz / hz if filter.high_pass else hz / filter.corner_hz, FURTHEST)


def together(filters: Sequence[Filter], hz: float) -> complex:
    """The transfer function of filters in a row; 1 for none."""
    total = 1 + 0j
    for each in filters:
        total *= response(each, hz)
    return total


def attenuation_db(filters: Sequence[Filter], hz: float) -> float:
    """How far filters in a row lower a frequency, in dB: the sum of what each does; never negative."""
    return sum(_lowered_db(each, hz) for each in filters)


def _lowered_db(filter: Filter, hz: float) -> float:
    """The same of one filter: in closed form but for Bessel filters, which have none."""
    order = order_of(filter.slope_db, filter.alignment)
    ratio = _ratio(filter, hz)
    if filter.alignment == BUTTERWORTH:
        return 10 * log10(1 + ratio ** (2 * order))
    if filter.alignment == LINKWITZ_RILEY:
        return 20 * log10(1 + ratio**order)
    return max(0.0, -level_db(response(filter, hz)))


def level_db(value: complex) -> float:
    """The level of a complex amplitude against 1, in dB; -inf for none."""
    return 20 * log10(abs(value)) if value else -inf


@lru_cache(maxsize=1024)
def edge_hz(filters: tuple[Filter, ...], high_pass: bool, down_db: float) -> float | None:
    """Where the high-passes (or the low-passes) among filters in a row are together so far down; None without any.

    Only those of that side count, so that a narrow band has its two edges too.
    """
    side = [each for each in filters if each.high_pass == high_pass]
    if not side:
        return None
    corners = [each.corner_hz for each in side]
    low, high = min(corners) / 1000, max(corners) * 1000
    for _ in range(60):  # the interval halves each time: 1e6 : 1 becomes one part in 1e12
        middle = sqrt(low * high)
        inside = attenuation_db(side, middle) < down_db
        if inside == high_pass:
            high = middle
        else:
            low = middle
    return sqrt(low * high)


# ---- the three alignments, as polynomials in s with the corner at 1, lowest power first ---------------------------


@lru_cache(maxsize=64)
def _polynomial(order: int, alignment: str) -> tuple[float, ...]:
    """The denominator of the low-pass, 1 at s = 0; its numerator is 1."""
    if alignment == BUTTERWORTH:
        return _butterworth(order)
    if alignment == LINKWITZ_RILEY:
        return _product(_butterworth(order // 2), _butterworth(order // 2))
    return _bessel(order)


def _butterworth(order: int) -> tuple[float, ...]:
    """Poles evenly on the left half of the unit circle: each pair is s^2 + 2 s sin(angle) + 1."""
    total: tuple[float, ...] = (1.0, 1.0) if order % 2 else (1.0,)
    for pair in range(order // 2):
        total = _product(total, (1.0, 2 * sin(pi * (2 * pair + 1) / (2 * order)), 1.0))
    return total


def _bessel(order: int) -> tuple[float, ...]:
    """The reverse Bessel polynomial, its frequency scaled so that it is half the power down at 1."""
    plain = [
        factorial(2 * order - k) // (2 ** (order - k) * factorial(k) * factorial(order - k)) for k in range(order + 1)
    ]
    low, high = 0.1, 100.0  # the half-power frequency lies between 1 (one pole) and 5.5 (sixteen)
    for _ in range(100):
        scale = (low + high) / 2
        power = abs(sum(a * (1j * scale) ** k for k, a in enumerate(plain)) / plain[0]) ** 2
        low, high = (scale, high) if power < 2 else (low, scale)
    return tuple(a / plain[0] * scale**k for k, a in enumerate(plain))


def _product(one: Sequence[float], other: Sequence[float]) -> tuple[float, ...]:
    total = [0.0] * (len(one) + len(other) - 1)
    for i, a in enumerate(one):
        for j, b in enumerate(other):
            total[i + j] += a * b
    return tuple(total)
