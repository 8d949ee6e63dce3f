"""Crossover filters against a general signal library, textbook values, and what the literature says of their sums."""

import cmath
import math

import pytest
from scipy import signal

from rigspec.solve.crossover import crossover_sum
from rigspec.solve.filter import (
    ALIGNMENTS,
    Filter,
    ImpossibleFilter,
    attenuation_db,
    edge_hz,
    level_db,
    order_of,
    response,
    together,
)

SLOPES = tuple(range(6, 54, 6))
POSSIBLE = [(slope, name) for slope in SLOPES for name in ALIGNMENTS if name != "linkwitz-riley" or slope % 12 == 0]
BUTTERWORTH, LINKWITZ_RILEY, BESSEL = "butterworth", "linkwitz-riley", "bessel"


def by_library(slope: int, name: str, high_pass: bool, corner_hz: float, hz: float) -> complex:
    """The same filter as scipy.signal makes it; a Linkwitz-Riley one is two Butterworth ones of half the order."""
    order, kind = slope // 6, "highpass" if high_pass else "lowpass"
    corner = 2 * math.pi * corner_hz
    if name == BESSEL:
        made = signal.bessel(order, corner, kind, analog=True, output="zpk", norm="mag")
    else:
        half = order // 2 if name == LINKWITZ_RILEY else order
        made = signal.butter(half, corner, kind, analog=True, output="zpk")
    value = complex(signal.freqs_zpk(*made, worN=[2 * math.pi * hz])[1][0])
    return value**2 if name == LINKWITZ_RILEY else value


@pytest.mark.parametrize(("slope", "name"), [*POSSIBLE, (72, BUTTERWORTH), (96, LINKWITZ_RILEY), (96, BESSEL)])
@pytest.mark.parametrize("high_pass", [False, True])
def test_every_filter_is_the_one_of_scipy(slope: int, name: str, high_pass: bool) -> None:
    """Level and phase, two decades around two corners, within one part in a million."""
    for corner_hz in (95.0, 1200.0):
        for ratio in (0.1, 0.25, 0.5, 0.8, 0.95, 1.0, 1.1, 1.5, 2.0, 4.0, 10.0):
            hz = corner_hz * ratio
            theirs = by_library(slope, name, high_pass, corner_hz, hz)
            ours = Filter(high_pass, corner_hz, slope, name)
            assert cmath.isclose(response(ours, hz), theirs, rel_tol=1e-6)
            assert attenuation_db([ours], hz) == pytest.approx(-20 * math.log10(abs(theirs)), abs=1e-5)


@pytest.mark.parametrize(
    ("order", "power_at_twice"),
    # |H|^2 = 1 / (1 + x^2n), S. Butterworth, "On the theory of filter amplifiers", 1930 (from memory)
    [(1, 5), (2, 17), (3, 65), (4, 257), (8, 65537)],
)
def test_butterworth_falls_as_its_inventor_says(order: int, power_at_twice: int) -> None:
    low = (Filter(False, 100.0, 6.0 * order, BUTTERWORTH),)
    assert attenuation_db(low, 100.0) == pytest.approx(10 * math.log10(2), abs=1e-9)
    assert attenuation_db(low, 200.0) == pytest.approx(10 * math.log10(power_at_twice), abs=1e-9)


@pytest.mark.parametrize("slope", [12, 24, 36, 48])
def test_linkwitz_riley_is_6_db_down_at_its_corner(slope: int) -> None:
    """S. Linkwitz, "Active crossover networks for noncoincident drivers", JAES 24 (1976) (from memory)."""
    for high_pass in (False, True):
        assert attenuation_db((Filter(high_pass, 80.0, slope, LINKWITZ_RILEY),), 80.0) == pytest.approx(
            6.0206, abs=1e-4
        )


@pytest.mark.parametrize(
    ("order", "factor"),
    # By how much Bessel's own frequency is below the -3 dB one: filter handbooks' tables (from memory).
    [(1, 1.0), (2, 1.3617), (3, 1.7557), (4, 2.1139), (5, 2.4274), (6, 2.7034)],
)
def test_bessel_is_3_db_down_at_its_corner_and_delays_flatly(order: int, factor: float) -> None:
    """Deep in the pass band the delay of the low-pass is 1 in Bessel's own scale: the factor over the corner."""
    low = Filter(False, 1 / (2 * math.pi), 6.0 * order, BESSEL)
    corner = low.corner_hz
    assert attenuation_db([low], corner) == pytest.approx(3.0103, abs=1e-4)
    slow = 0.02
    delay = -cmath.phase(response(low, corner * slow)) / slow
    assert delay == pytest.approx(factor, rel=1e-3)


@pytest.mark.parametrize(("slope", "name"), POSSIBLE)
def test_far_out_every_filter_falls_by_its_slope(slope: int, name: str) -> None:
    """20 log 2 = 6.02 dB an octave for each pole."""
    low = (Filter(False, 100.0, slope, name),)
    fall = attenuation_db(low, 64_000.0) - attenuation_db(low, 32_000.0)
    assert fall == pytest.approx(slope / 6 * 20 * math.log10(2), abs=0.01)


@pytest.mark.parametrize(
    ("slope", "name", "says", "nearest"),
    [
        (18, LINKWITZ_RILEY, "12 and 24 are possible", (12, 24)),
        (6, LINKWITZ_RILEY, "12 is possible", (12,)),
        (20, BUTTERWORTH, "18 and 24 are possible", (18, 24)),
        (3, BESSEL, "6 is possible", (6,)),
        (120, BUTTERWORTH, "96 is possible", (96,)),
    ],
)
def test_what_cannot_be_made_is_refused_with_what_can(slope: int, name: str, says: str, nearest: tuple[int]) -> None:
    with pytest.raises(ImpossibleFilter, match=says) as refused:
        order_of(slope, name)
    assert refused.value.nearest == nearest
    with pytest.raises(ValueError, match="butterworth, linkwitz-riley, bessel are possible"):
        order_of(24, "steep")


def test_the_edges_of_a_band() -> None:
    """A Butterworth filter is 3.01 dB down at its corner, and 10 log(1 + x^2n) dB where x is the ratio to it."""
    band = (Filter(True, 40.0, 24.0, BUTTERWORTH), Filter(False, 90.0, 24.0, BUTTERWORTH))
    assert edge_hz(band, True, 10 * math.log10(2)) == pytest.approx(40.0, rel=1e-9)
    assert edge_hz(band, False, 10 * math.log10(2)) == pytest.approx(90.0, rel=1e-9)
    down_10_db = 9 ** (1 / 8)  # 1 + x^8 = 10
    assert edge_hz(band, False, 10.0) == pytest.approx(90.0 * down_10_db, rel=1e-9)
    assert edge_hz(band, True, 10.0) == pytest.approx(40.0 / down_10_db, rel=1e-9)
    assert edge_hz(band[:1], False, 6.0) is None
    # Two Butterworth filters in a row are a Linkwitz-Riley one: 6.02 dB down at the common corner.
    assert edge_hz((band[1], band[1]), False, 20 * math.log10(2)) == pytest.approx(90.0, rel=1e-9)


def pair(slope: float, name: str, low_hz: float = 100.0, high_hz: float = 100.0) -> tuple[tuple[Filter], tuple[Filter]]:
    return (Filter(False, low_hz, slope, name),), (Filter(True, high_hz, slope, name),)


@pytest.mark.parametrize(
    ("slope", "name", "turned", "at_db"),
    [
        # Butterworth of order n: low and high are n * 90 degrees apart, each 3.01 dB down (any filter handbook).
        (6, BUTTERWORTH, False, 0.0),
        (6, BUTTERWORTH, True, 0.0),
        (12, BUTTERWORTH, True, 3.0103),
        (18, BUTTERWORTH, False, 0.0),
        (18, BUTTERWORTH, True, 0.0),
        (24, BUTTERWORTH, False, 3.0103),
        (36, BUTTERWORTH, True, 3.0103),
        (48, BUTTERWORTH, False, 3.0103),
        # Linkwitz 1976: even orders sum to one; 12 and 36 dB an octave with one side turned.
        (12, LINKWITZ_RILEY, True, 0.0),
        (24, LINKWITZ_RILEY, False, 0.0),
        (36, LINKWITZ_RILEY, True, 0.0),
        (48, LINKWITZ_RILEY, False, 0.0),
    ],
)
def test_what_two_equal_filters_sum_to(slope: float, name: str, turned: bool, at_db: float) -> None:
    summed = crossover_sum(*pair(slope, name), turned)
    assert summed.crossover_hz == pytest.approx(100.0, rel=1e-9)
    assert summed.at_db == pytest.approx(at_db, abs=1e-3)
    assert summed.each_db == pytest.approx(-6.0206 if name == LINKWITZ_RILEY else -3.0103, abs=1e-3)
    if at_db == 0.0:  # these are flat everywhere, not only at the corner
        assert summed.dip_db == pytest.approx(0.0, abs=1e-6)
        assert summed.bump_db == pytest.approx(0.0, abs=1e-6)
    else:
        assert summed.bump_db == pytest.approx(at_db, abs=1e-6)


@pytest.mark.parametrize(
    ("slope", "name", "turned"),
    [
        (12, LINKWITZ_RILEY, False),  # "the 12 dB network needs one driver turned" (Linkwitz 1976, from memory)
        (12, BUTTERWORTH, False),
        (24, LINKWITZ_RILEY, True),
        (24, BUTTERWORTH, True),
        (36, LINKWITZ_RILEY, False),
        (48, LINKWITZ_RILEY, True),
    ],
)
def test_the_wrong_polarity_leaves_nothing_at_the_corner(slope: float, name: str, turned: bool) -> None:
    summed = crossover_sum(*pair(slope, name), turned)
    assert summed.dip_db == -100  # no deeper null is told apart
    assert summed.dip_hz == pytest.approx(100.0, rel=1e-6)
    assert summed.apart_deg == pytest.approx(180.0, abs=1e-6)


def test_sums_are_the_sums_of_scipys_filters() -> None:
    """Unequal slopes, alignments and corners: the deepest and highest place on a fine grid of scipy's own filters."""
    cases = [
        ((24, LINKWITZ_RILEY, 80.0), (12, BUTTERWORTH, 100.0)),
        ((18, BUTTERWORTH, 120.0), (24, LINKWITZ_RILEY, 90.0)),
        ((48, LINKWITZ_RILEY, 1200.0), (24, BESSEL, 1200.0)),
        ((24, LINKWITZ_RILEY, 80.0), (24, LINKWITZ_RILEY, 160.0)),
    ]
    for low, high in cases:
        lower, upper = (Filter(False, low[2], *low[:2]),), (Filter(True, high[2], *high[:2]),)
        corners = sorted((low[2], high[2]))
        first, last = corners[0] / 2**1.5, corners[1] * 2**1.5
        grid = [first * (last / first) ** (n / 800) for n in range(801)]
        for turned in (False, True):
            summed = crossover_sum(lower, upper, turned)
            sign = -1 if turned else 1
            levels = [
                level_db(by_library(*low[:2], False, low[2], hz) + sign * by_library(*high[:2], True, high[2], hz))
                for hz in grid
            ]
            assert summed.dip_db == pytest.approx(min(levels), abs=0.02)
            assert summed.bump_db == pytest.approx(max(levels), abs=0.02)


def test_a_far_filter_counts_with_its_phase_only() -> None:
    """A low band's own high-pass turns the phase at the crossover, and does not count as a dip two octaves lower."""
    lower, upper = pair(24, LINKWITZ_RILEY, 1000.0, 1000.0)
    subsonic = Filter(True, 400.0, 24.0, BUTTERWORTH)
    summed = crossover_sum((*lower, subsonic), upper, False)
    # At 2.5 times its corner a 24 dB/octave Butterworth high-pass is inverted by this angle.
    angle = math.degrees(cmath.phase(by_library(24, BUTTERWORTH, True, 400.0, 1000.0)))
    assert summed.apart_deg == pytest.approx(angle, abs=1e-6)
    assert summed.at_db == pytest.approx(20 * math.log10(math.cos(math.radians(angle) / 2)), abs=1e-6)
    assert summed.dip_db > -10
    assert abs(together((*lower, subsonic), 400.0)) == pytest.approx(
        abs(by_library(24, BUTTERWORTH, True, 400.0, 400.0) * by_library(24, LINKWITZ_RILEY, False, 1000.0, 400.0))
    )


def test_a_crossover_has_two_sides() -> None:
    lower, upper = pair(24, LINKWITZ_RILEY)
    with pytest.raises(ValueError, match="a low-pass on its lower side"):
        crossover_sum(upper, lower, False)


def test_the_least_of_a_sum_is_looked_for_where_both_are_heard() -> None:
    """Two octaves of overlap have two such places, the same distance above one corner as below the other."""
    low, high = (24, LINKWITZ_RILEY, 400.0), (24, LINKWITZ_RILEY, 90.0)
    lower, upper = (Filter(False, low[2], *low[:2]),), (Filter(True, high[2], *high[:2]),)
    for first, last in ((64.0, 170.0), (200.0, 600.0)):
        summed = crossover_sum(lower, upper, False, (first, last))
        grid = [first * (last / first) ** (n / 2000) for n in range(2001)]
        levels = [
            level_db(by_library(*low[:2], False, low[2], hz) + by_library(*high[:2], True, high[2], hz)) for hz in grid
        ]
        assert summed.dip_db == pytest.approx(min(levels), abs=0.02)
        assert summed.dip_hz == pytest.approx(grid[levels.index(min(levels))], rel=2e-3)
