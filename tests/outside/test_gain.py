"""Gain and loading against worked values.

They follow from circuit theory (voltage divider, V = sqrt(P Z), 20 log of voltages: CCITT recommendation
B.12) and were worked out apart from this code.
"""

from __future__ import annotations

from math import inf, sqrt

import pytest

from rigspec.solve.decibel import dbu_to_volt, gain_to_ratio, insertion_loss_db
from rigspec.solve.gain import (
    loading_loss_db,
    parallel_ohm,
    sensitivity_gain_db,
    source_ohm,
)


@pytest.mark.parametrize(
    ("watt", "load_ohm", "sensitivity_volt", "times", "gain_db"),
    [
        (1000, 8, 0.775, 115.41, 41.245),
        (1000, 8, 1.4, 63.888, 36.108),
        (500, 8, 0.775, 81.607, 38.235),
        (800, 4, 1.4, 40.406, 32.129),
    ],
)
def test_a_sensitivity_stands_for_a_gain(
    watt: float, load_ohm: float, sensitivity_volt: float, times: float, gain_db: float
) -> None:
    found_db = sensitivity_gain_db(sqrt(watt * load_ohm), sensitivity_volt)
    assert found_db == pytest.approx(gain_db, abs=5e-4)
    assert gain_to_ratio(found_db) == pytest.approx(times, rel=2e-5)


@pytest.mark.parametrize(("times", "name_db"), [(20, 26), (40, 32)])
def test_fixed_gains_are_rounded_names_of_20_and_40_times(times: float, name_db: float) -> None:
    """Common practice, no source: 26 dB on a front panel is x20, 32 dB is x40, within 0.05 dB."""
    assert sensitivity_gain_db(times, 1) == pytest.approx(name_db, abs=0.05)


@pytest.mark.parametrize(
    ("gain_db", "input_volt", "from_4_dbu_volt"),
    [(20, 8.944, 12.28), (26, 4.483, 24.49), (32, 2.247, 48.87), (38, 1.126, 97.52)],
)
def test_the_input_that_gives_1000_w_into_8_ohm(gain_db: float, input_volt: float, from_4_dbu_volt: float) -> None:
    assert sensitivity_gain_db(sqrt(8000), input_volt) == pytest.approx(gain_db, abs=0.005)
    assert dbu_to_volt(4 + gain_db) == pytest.approx(from_4_dbu_volt, abs=0.005)


@pytest.mark.parametrize(
    ("inside_ohm", "input_ohm", "inputs", "loss_db"),
    [
        (50, 10_000, 1, 0.0433),
        (150, 10_000, 1, 0.1293),
        (150, 10_000, 4, 0.5061),
        (150, 10_000, 8, 0.9844),
        (600, 600, 1, 6.0206),
        (600, 10_000, 4, 1.8684),
        (100, 20_000, 10, 0.4238),
        (200, 1_500, 1, 1.0872),  # a microphone into its input
    ],
)
def test_an_output_loses_level_in_its_own_impedance(
    inside_ohm: float, input_ohm: float, inputs: int, loss_db: float
) -> None:
    load_ohm = parallel_ohm([input_ohm] * inputs)
    assert loading_loss_db(inside_ohm, load_ohm) == pytest.approx(loss_db, abs=5e-5)


@pytest.mark.parametrize(("ratio", "loss_db"), [(5, 1.584), (10, 0.828), (20, 0.424), (50, 0.172), (100, 0.086)])
def test_the_ratio_of_load_to_source_decides_the_loss(ratio: float, loss_db: float) -> None:
    assert loading_loss_db(100, ratio * 100) == pytest.approx(loss_db, abs=5e-4)


def test_nothing_costs_nothing_and_a_short_takes_all() -> None:
    assert loading_loss_db(100, parallel_ohm([])) == 0
    assert loading_loss_db(100, parallel_ohm([10_000, 0])) == inf


@pytest.mark.parametrize(("damping", "load_ohm", "inside_ohm"), [(400, 8, 0.02), (200, 4, 0.02), (50, 8, 0.16)])
def test_damping_factor_is_load_over_what_is_inside(damping: float, load_ohm: float, inside_ohm: float) -> None:
    """IEC 60268-3, from memory."""
    assert source_ohm(damping, load_ohm) == pytest.approx(inside_ohm, rel=1e-12)


def test_a_lead_of_0_3192_ohm_leaves_little_of_a_damping_factor_of_400() -> None:
    """20 m of 2.5 mm2 there and back, IEC 60228 class 5."""
    assert 8 / (source_ohm(400, 8) + 0.3192) == pytest.approx(23.58, abs=0.005)
    assert 4 / (source_ohm(400, 8) + 0.3192) == pytest.approx(11.79, abs=0.005)


def test_what_cannot_be_is_refused() -> None:
    for damping, load_ohm in ((0, 8), (400, 0), (-1, 8)):
        with pytest.raises(ValueError, match="damping"):
            source_ohm(damping, load_ohm)
    with pytest.raises(ValueError, match="no gain"):
        sensitivity_gain_db(10, 0)


def test_a_lead_and_an_output_lose_alike() -> None:
    """One formula for both: the voltage divider."""
    assert loading_loss_db(150, 2_500) == insertion_loss_db(150, 2_500)
