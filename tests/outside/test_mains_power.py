"""What amplifiers take from the mains, against textbook laws and worked cases of the trade.

Drive levels: IEC 60065 and IEC 62368-1 Annex E test with an eighth of non-clipped output power (pink noise), as public
pages quote them. Efficiencies, idle draws and power factors are inputs here; the tests hold the laws and arithmetic.
"""

from __future__ import annotations

from math import log10, pi, sin, sqrt

import pytest

from rigspec.solve.mains import (
    EIGHTH,
    LINEAR_EFFICIENCY,
    SWITCHING_EFFICIENCY,
    THIRD,
    ampere,
    apparent_va,
    btu_per_h,
    efficiency_at,
    heat_w,
    input_w,
)


def test_drive_levels_in_decibels() -> None:
    """10 log10 of the fractions, as test reports of the trade print them: -9.03 and -4.77 dB."""
    assert 10 * log10(EIGHTH) == pytest.approx(-9.031, abs=5e-4)
    assert 10 * log10(THIRD) == pytest.approx(-4.771, abs=5e-4)


def class_b_efficiency(share: float) -> float:
    """Efficiency of an ideal class B stage with a sine at a share of full power: (pi/4) sqrt(share) (textbook)."""
    return pi / 4 * sqrt(share)


# Class B with a sine, pi/4 of the share of full voltage: the limit of 78.5 % stands in every textbook of electronics.
@pytest.mark.parametrize(
    ("share", "ratio"), [(1, 0.7854), (1 / 2, 0.5554), (1 / 3, 0.4534), (1 / 4, 0.3927), (1 / 8, 0.2777)]
)
def test_class_b(share: float, ratio: float) -> None:
    assert class_b_efficiency(share) == pytest.approx(ratio, abs=5e-5)


@pytest.mark.parametrize("share", [1.0, 0.5, 0.25, 0.125])
def test_class_b_against_its_waveform(share: float) -> None:
    """A half wave of current from each rail, averaged: the law worked out from the circuit itself."""
    rail, load, steps = 50.0, 4.0, 20_000
    volts = [rail * sqrt(share) * sin(2 * pi * (n + 0.5) / steps) for n in range(steps)]
    out = sum(v * v / load for v in volts) / steps
    taken = sum(rail * abs(v) / load for v in volts) / steps
    assert class_b_efficiency(share) == pytest.approx(out / taken, rel=1e-6)


def test_the_worst_heat_of_class_b() -> None:
    """Greatest loss at 2/pi of full voltage: 40.53 % of full power is output, as much is heat, efficiency 50 %."""

    def loss(share: float) -> float:
        return heat_w(input_w(0.0, share, class_b_efficiency(share)), share)

    worst = max((n / 10_000 for n in range(1, 10_001)), key=loss)
    assert worst == pytest.approx((2 / pi) ** 2, abs=1e-4)
    assert loss(worst) == pytest.approx(0.4053, abs=5e-5)
    assert class_b_efficiency(worst) == pytest.approx(0.5, abs=1e-4)


# Worked cases of the trade: watts of idle, of output at the drive level, efficiency at that level, power factor, volts.
@pytest.mark.parametrize(
    ("idle", "out", "efficiency", "factor", "volt", "taken", "current", "heat"),
    [
        (40, 2 * 500 / 8, 0.31, 0.7, 120, 443.2, 5.276, 318.2),
        (40, 2 * 500 / 8, 0.31, 0.7, 230, 443.2, 2.753, 318.2),
        (60, 4 * 1000 / 8, 0.80, 0.95, 230, 685.0, 3.135, 185.0),
        (60, 4 * 1000 / 8, 0.80, 0.95, 120, 685.0, 6.009, 185.0),
        (60, 4 * 1000 / 3, 0.85, 0.95, 230, 1628.6, 7.454, 295.3),
        (40, 2 * 1500 / 8, 0.80, 0.60, 120, 508.8, 7.066, 133.8),
    ],
)
def test_power_current_and_heat(
    idle: float, out: float, efficiency: float, factor: float, volt: float, taken: float, current: float, heat: float
) -> None:
    watt = input_w(idle, out, efficiency)
    assert watt == pytest.approx(taken, abs=0.06)
    assert ampere(apparent_va(watt, factor), volt) == pytest.approx(current, abs=6e-4)
    assert heat_w(watt, out) == pytest.approx(heat, abs=0.06)


def test_heat_in_american_units() -> None:
    """1 W is 3.412142 BTU/h (3600 J over 1055.056 J)."""
    assert btu_per_h(1) == pytest.approx(3600 / 1055.05585262, rel=1e-6)
    assert btu_per_h(318.2) == pytest.approx(1085.7, abs=0.1)


def test_efficiency_falls_with_the_root_of_power_in_class_ab_and_stays_in_class_d() -> None:
    """The class B law carries over to what a given efficiency becomes at less than rated output."""
    rated = 0.62
    for stage in ("class-ab", "class-h"):
        eighth = efficiency_at(EIGHTH, rated, stage)
        assert eighth.ratio / rated == pytest.approx(class_b_efficiency(EIGHTH) / class_b_efficiency(1))
        assert not eighth.assumes
        assert efficiency_at(1, rated, stage).ratio == rated
    assert efficiency_at(EIGHTH, 0.86, "full-bridge").ratio == efficiency_at(THIRD, 0.86, "half-bridge").ratio == 0.86


def test_what_stands_in_for_an_efficiency_is_the_cautious_end_and_is_said() -> None:
    linear, switching = efficiency_at(1, None, "class-ab"), efficiency_at(1, None, "half-bridge")
    assert (linear.ratio, switching.ratio) == (LINEAR_EFFICIENCY, SWITCHING_EFFICIENCY)
    assert linear.ratio < class_b_efficiency(1)  # no real stage does better than the ideal one
    assert "no efficiency is given: 50 %" in linear.assumes[0]
    unknown = efficiency_at(EIGHTH, None, "")
    assert unknown.ratio == pytest.approx(LINEAR_EFFICIENCY * sqrt(EIGHTH))
    assert any("class AB" in text for text in unknown.assumes)


# The rated apparent power of common circuits, as electricians' tables print them.
def test_apparent_power_of_common_circuits() -> None:
    for volt, amps, va in ((120, 16, 1920), (208, 16, 3328), (230, 10, 2300), (230, 16, 3680), (230, 32, 7360)):
        assert ampere(va, volt) == pytest.approx(amps)
