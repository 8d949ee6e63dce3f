"""What several signals are together, against textbook sums of levels (10 log of powers, 20 log of voltages)."""

from __future__ import annotations

from math import cos, log10, pi

import pytest

from rigspec.solve.decibel import gain_to_ratio, ratio_to_gain
from rigspec.solve.summing import BASS_HZ, IN_STEP, Share, together_volt


def levels(*shares: Share) -> tuple[float, float]:
    whole, worst = together_volt(shares)
    return ratio_to_gain(whole), ratio_to_gain(worst)


def share(level_db: float, feed: str = "f", alike: str = "", **more: float) -> Share:
    return Share(gain_to_ratio(level_db), feed, alike or feed, **more)


@pytest.mark.parametrize(
    ("count", "alike_db", "unlike_db"),
    [(2, 6.021, 3.010), (3, 9.542, 4.771), (4, 12.041, 6.021), (6, 15.563, 7.782), (8, 18.062, 9.031)],
)
def test_equal_signals(count: int, alike_db: float, unlike_db: float) -> None:
    one_feed = levels(*[share(0)] * count)
    assert one_feed == pytest.approx((alike_db, alike_db), abs=5e-4)
    unrelated = levels(*[share(0, f"f{number}") for number in range(count)])
    assert unrelated == pytest.approx((unlike_db, unlike_db), abs=5e-4)
    partly_alike = levels(*[share(0, f"f{number}", "pair") for number in range(count)])
    assert partly_alike == pytest.approx((unlike_db, alike_db), abs=5e-4)


def test_90_and_84_db() -> None:
    """93.529 dB in step, 90.973 dB by energy, 83.959 dB against each other: textbook values."""
    assert levels(share(90), share(84)) == pytest.approx((93.529, 93.529), abs=5e-4)
    assert levels(share(90), share(84, "g")) == pytest.approx((90.973, 90.973), abs=5e-4)
    turned = Share(-gain_to_ratio(84), "f", "f")
    assert levels(share(90), turned) == pytest.approx((83.959, 83.959), abs=5e-4)


def test_a_feed_that_meets_itself_upside_down_leaves_nothing() -> None:
    assert together_volt([Share(1, "f", "f"), Share(-1, "f", "f")]) == (0, 0)


def test_the_sides_of_a_stereo_pair_are_alike_in_bass() -> None:
    bass = [share(0, "left", "pair", high_hz=BASS_HZ), share(0, "right", "pair", high_hz=BASS_HZ)]
    assert levels(*bass) == pytest.approx((6.021, 6.021), abs=5e-4)
    one_bounded = [share(0, "left", "pair", high_hz=95), share(0, "right", "pair")]
    assert levels(*one_bounded) == pytest.approx((6.021, 6.021), abs=5e-4)
    full = [share(0, "left", "pair", high_hz=BASS_HZ + 1), share(0, "right", "pair", high_hz=BASS_HZ + 1)]
    assert levels(*full) == pytest.approx((3.010, 6.021), abs=5e-4)


def test_bass_ends_at_120_hz() -> None:
    """Common practice, no source: where both sides of a pair are said to carry the same."""
    assert BASS_HZ == 120


def test_a_turned_side_adds_by_energy_and_never_to_less_than_that_at_the_worst() -> None:
    turned = Share(-1, "right", "pair")
    assert levels(share(0, "left", "pair"), turned) == pytest.approx((3.010, 3.010), abs=5e-4)


def test_a_delayed_copy_adds_by_voltage_in_deep_bass_only() -> None:
    delay_s = 1 / 343.2  # a metre
    assert levels(share(0, high_hz=20), share(0, delay_s=delay_s, high_hz=20))[0] == pytest.approx(6.021, abs=5e-4)
    whole, worst = levels(share(0), share(0, delay_s=delay_s))
    assert (whole, worst) == pytest.approx((3.010, 6.021), abs=5e-4)


def test_what_counts_as_in_step_loses_at_most_0_3_db() -> None:
    """Two equal signals with a phase between them: 20 log(2 cos(phase / 2)); 60 degrees give 4.77 dB (textbook)."""
    assert 20 * log10(2 * cos(pi / 6)) == pytest.approx(4.77, abs=5e-3)
    assert 20 * log10(cos(pi * IN_STEP)) == pytest.approx(-0.30, abs=5e-3)
    edge = IN_STEP / 1000
    assert levels(share(0, high_hz=1000), share(0, delay_s=edge * 0.99, high_hz=1000))[0] > 6
    assert levels(share(0, high_hz=1000), share(0, delay_s=edge * 1.01, high_hz=1000))[0] < 3.1
