"""Decibels against published reference values."""

import math

import pytest

from rigspec.solve.conductor import conductor_ohm_per_m
from rigspec.solve.decibel import (
    dbu_to_volt,
    gain_to_power_ratio,
    gain_to_ratio,
    insertion_loss_db,
    power_ratio_to_gain,
    ratio_to_gain,
    volt_to_dbu,
)
from rigspec.text.units import quantity


@pytest.mark.parametrize(
    ("level_dbu", "volt"),
    [
        (0, 0.7745967),  # ITU-R V.574, 1 mW in 600 ohm; 0.77459 V on a public page (machineryequipmentonline.com)
        (4, 1.227653),  # follows from it
        (20, 7.74597),
        (24, 12.27653),
        (-7.7815, 0.316228),  # -10 dBV
    ],
)
def test_dbu_and_volts(level_dbu: float, volt: float) -> None:
    assert dbu_to_volt(level_dbu) == pytest.approx(volt, rel=1e-6, abs=5e-6)
    assert volt_to_dbu(volt) == pytest.approx(level_dbu, abs=5e-5)


def test_dbv_stands_above_dbu() -> None:
    """0 dBV = +2.2 dBu and -10 dBV = -7.8 dBu (public page, itwissen.info); to four places it follows from 0 dBu."""
    assert quantity(0, "dBV").value == pytest.approx(2.2185, abs=5e-5)
    assert quantity(-10, "dBV").value == pytest.approx(-7.7815, abs=5e-5)
    assert dbu_to_volt(quantity(0, "dBV").value) == pytest.approx(1, rel=1e-12)
    assert quantity(4, "dBu").value - quantity(-10, "dBV").value == pytest.approx(11.78, abs=0.005)


@pytest.mark.parametrize(
    ("ratio", "as_power_db", "as_voltage_db"),
    [
        (1, 0, 0),
        (2, 3.0103, 6.0206),  # common textbook values
        (10, 10, 20),
        (1000, 30, 60),  # 1000 W = 30 dBW, ITU-R V.574 (from memory)
        (400, 26.0206, 52.0412),  # 400 W = 26.0206 dBW
        (0.125, -9.0309, -18.0618),
    ],
)
def test_powers_go_by_10_log_and_voltages_by_20_log(ratio: float, as_power_db: float, as_voltage_db: float) -> None:
    """10 log for powers, 20 log for voltages: CCITT recommendation B.12."""
    assert power_ratio_to_gain(ratio) == pytest.approx(as_power_db, abs=5e-5)
    assert ratio_to_gain(ratio) == pytest.approx(as_voltage_db, abs=5e-5)
    assert gain_to_power_ratio(as_power_db) == pytest.approx(ratio, rel=2e-5)
    assert gain_to_ratio(as_voltage_db) == pytest.approx(ratio, rel=2e-5)


def test_one_decibel() -> None:
    """1 dB = 1.2589 in power, 1.1220 in voltage: common textbook values."""
    assert gain_to_power_ratio(1) == pytest.approx(1.2589, abs=5e-5)
    assert gain_to_ratio(1) == pytest.approx(1.1220, abs=5e-5)


def test_nothing_is_infinitely_far_below_and_a_negative_ratio_is_refused() -> None:
    assert volt_to_dbu(0) == power_ratio_to_gain(0) == -math.inf
    with pytest.raises(ValueError, match="negative"):
        ratio_to_gain(-1)


@pytest.mark.parametrize(("part", "loss_db"), [(0.05, 0.4238), (0.10, 0.8279), (0.25, 1.9382)])
def test_level_lost_in_a_lead_by_its_part_of_the_load(part: float, loss_db: float) -> None:
    """20 log(1 + x), by the voltage divider."""
    assert insertion_loss_db(part * 8, 8) == pytest.approx(loss_db, abs=6e-5)


def test_a_circuit_simulator_sees_the_same_loss() -> None:
    """ngspice: 20 V behind 0.3192 ohm leave 18.52195 V on 4 ohm."""
    assert 20 / gain_to_ratio(insertion_loss_db(0.3192, 4)) == pytest.approx(18.52195, abs=5e-6)


def test_damping_factor_25_costs_three_tenths_of_a_decibel() -> None:
    """Public page (doctorproaudio.com, longest loudspeaker cables): a total of 25 with an amplifier of 400, 0.3 dB."""
    assert insertion_loss_db(1 / 25 - 1 / 400, 1) == pytest.approx(0.3, abs=0.05)


@pytest.mark.parametrize(
    ("area_mm2", "length_m", "load_ohm", "loss_db"),
    [
        (2.5, 20, 8, 0.3398),
        (2.5, 20, 4, 0.6669),
        (2.5, 50, 4, 1.5800),
        (1.5, 30, 8, 0.8259),
        (4, 25, 4, 0.5215),
        (4, 50, 2, 1.9208),
        (6, 35.91, 4, 0.5),
        (16, 195.88, 8, 0.5),
    ],
)
def test_worked_leads_in_mm2(area_mm2: float, length_m: float, load_ohm: float, loss_db: float) -> None:
    """Worked apart from this code from IEC 60228 class 5 figures; both conductors of the lead count."""
    loop_ohm = 2 * length_m * conductor_ohm_per_m(area_mm2=area_mm2).ohm_per_m
    assert insertion_loss_db(loop_ohm, load_ohm) == pytest.approx(loss_db, abs=6e-5)


@pytest.mark.parametrize(
    ("awg", "load_ohm", "loss_db"),
    [(16, 4, 1.65), (16, 8, 0.86), (16, 16, 0.44), (18, 4, 2.49), (18, 8, 1.33), (18, 16, 0.69)],
)
def test_published_losses_of_100_ft(awg: float, load_ohm: float, loss_db: float) -> None:
    """A weak, copied public page (gxslo.avasdm.it), hence 5 percent; its wire is stranded or warm."""
    loop_ohm = 2 * quantity(100, "ft").value * conductor_ohm_per_m(awg=awg).ohm_per_m
    assert insertion_loss_db(loop_ohm, load_ohm) == pytest.approx(loss_db, rel=0.05)
