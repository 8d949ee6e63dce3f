"""Breakers, residual-current devices and generators against the standards' figures.

IEC 60898-1, IEC 61008-1, ISO 8528-1 and the clauses of IEC 60364 are from memory; those of the NEC stand in public
pages.
"""

from __future__ import annotations

import pytest

from rigspec.solve.breaker import (
    CORD_GAUGE,
    DROP,
    RATINGS_AMPERE,
    RESIDUAL_MAY_TRIP,
    RESIDUAL_STANDING,
    THERMAL,
    VOLTAGE_TOLERANCE,
    allowed_ampere,
    cord_serves,
    counted_ampere,
    generator_share,
    holds_ampere,
    next_rating,
    trips_ampere,
    unevenness,
)


# IEC 60898-1: B above 3 up to 5, C above 5 up to 10, D above 10 up to 20 times rated current.
@pytest.mark.parametrize(("curve", "holds", "trips"), [("B", 48, 80), ("C", 80, 160), ("D", 160, 320)])
def test_instant_trips_of_16_ampere(curve: str, holds: float, trips: float) -> None:
    assert holds_ampere(16, curve) == holds
    assert trips_ampere(16, curve) == trips


# NEC 210.20(A): the rating is at least 125 % of a continuous load, so it may carry 80 %. Electricians' tables.
@pytest.mark.parametrize(("rating", "most"), [(15, 12), (20, 16), (30, 24)])
def test_continuous_loads_by_the_nec_alone(rating: float, most: float) -> None:
    assert counted_ampere(most, "nec") == pytest.approx(rating)
    assert counted_ampere(most, "iec") == most


# Worked cases of the trade: load current and what it counts for with a quarter more.
@pytest.mark.parametrize(("load", "counts"), [(5.276, 6.596), (2.753, 3.441), (7.454, 9.317), (7.066, 8.832)])
def test_a_quarter_more(load: float, counts: float) -> None:
    assert counted_ampere(load, "nec") == pytest.approx(counts, abs=2e-3)


def test_usual_ratings() -> None:
    """NEC 240.6(A): 15, 20, 25 ... 60 A; IEC 60898-1: 6, 10, 13, 16 ... 63 A."""
    assert RATINGS_AMPERE["nec"][:9] == (15, 20, 25, 30, 35, 40, 45, 50, 60)
    assert RATINGS_AMPERE["iec"][:10] == (6, 10, 13, 16, 20, 25, 32, 40, 50, 63)
    assert next_rating(16, "iec") == 16
    assert next_rating(16.1, "iec") == 20
    assert next_rating(16.1, "nec") == 20
    assert next_rating(1000, "iec") is None


def test_the_greatest_breaker_on_a_lead() -> None:
    """IEC 60364-4-43: I_n <= I_z. NEC 240.4(B) lets the next usual rating stand; 240.4(D) not for 14, 12 and 10 AWG."""
    assert allowed_ampere(19.5, "iec", None) == 19.5
    assert allowed_ampere(55, "nec", 6) == 60
    assert allowed_ampere(20, "nec", 12) == 20


def test_cords_on_american_circuits() -> None:
    """NEC 240.5(B): 16 AWG on 20 A, 14 AWG on 30 A, 12 AWG on 40 and 50 A, from memory."""
    assert cord_serves(20, 16)
    assert cord_serves(20, 12)
    assert not cord_serves(20, 18)
    assert cord_serves(30, 14)
    assert not cord_serves(30, 16)
    assert not cord_serves(60, 12)


def test_shares_and_limits_of_the_standards() -> None:
    assert RESIDUAL_STANDING == 0.3  # IEC 60364-5-53 531.3.2: 9 mA of 30 mA
    assert RESIDUAL_MAY_TRIP == 0.5  # IEC 61008-1: it does not trip below half its rating
    assert DROP == 0.05  # IEC 60364-5-52 annex G: 3 % for lighting, 5 % for other uses
    assert VOLTAGE_TOLERANCE == {"iec": 0.10, "nec": 0.05}  # IEC 60038: 230 V +/- 10 %; ANSI C84.1: 114 to 126 V
    assert 230 * (1 - VOLTAGE_TOLERANCE["iec"]) == pytest.approx(207)
    assert 120 * (1 - VOLTAGE_TOLERANCE["nec"]) == pytest.approx(114)
    assert THERMAL["iec"] == (1.13, 1.45)  # IEC 60898-1 table 7, one hour up to 63 A


def test_generators() -> None:
    """A generator of 60 kVA gives 48 kW at its rated power factor of 0.8 and 20 kVA on each of three phases."""
    assert generator_share(30_000, 20_000, [10_000] * 3, 60_000) == pytest.approx(0.5)
    assert generator_share(49_000, 48_000, [49_000 / 3] * 3, 60_000) == pytest.approx(1.0)
    assert generator_share(22_000, 15_000, [20_000, 1000, 1000], 60_000) == pytest.approx(1.0)
    assert generator_share(3000, 2000, [3000], 6000) == pytest.approx(0.5)


def test_unevenness() -> None:
    """The most loaded phase over the mean, less one: NEMA MG 1 reckons voltage unbalance so."""
    assert unevenness([10, 10, 10]) == 0
    assert unevenness([12, 9, 9]) == pytest.approx(0.2)
    assert unevenness([9, 0, 0]) == pytest.approx(2)
    assert unevenness([0, 0, 0]) == 0


def test_the_thinnest_cord_behind_each_breaker() -> None:
    """NEC 240.5(B), supply cords of listed cord sets, from memory: 16 AWG at 20 A, 14 at 30 A, 12 at 50 A."""
    assert CORD_GAUGE == {20: 16, 30: 14, 50: 12}
