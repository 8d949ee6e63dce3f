"""The impedance of loudspeakers over frequency, against the textbook and against the circuit simulator.

The relations are those of A. N. Thiele (Loudspeakers in Vented Boxes, Proc. IRE Australia, 1961) and of R. H. Small
(Direct-Radiator Loudspeaker System Analysis, JAES 1972; Closed-Box, 1972; Vented-Box, 1973), from memory.
"""

from __future__ import annotations

from itertools import pairwise
from math import inf, log, pi, sqrt
from pathlib import Path

import pytest
from simulator import Branch, Emf, Network, Tank, simulate

from rigspec.solve.impedance import (
    Curve,
    Driver,
    curve_of,
    grid_hz,
    in_sealed_box,
    real_power_watt,
    vent_peaks_hz,
)

DRIVERS = [
    Driver(5.4, 0.0, 38.0, 6.2, 0.34),
    Driver(5.2, 1.1e-3, 42.0, 5.0, 0.45),
    Driver(3.1, 0.4e-3, 95.0, 3.1, 0.9),
    Driver(6.1, 2.0e-3, 29.0, 11.0, 0.28),
]
plain = pytest.mark.parametrize(
    "driver", [Driver(d.coil_ohm, 0.0, d.resonance_hz, d.mechanical_q, d.electrical_q) for d in DRIVERS]
)


def peak_ohm(driver: Driver) -> float:
    """|Z| at the resonance without a vent and without the coil's inductance."""
    return driver.coil_ohm + driver.motion_ohm


@plain
def test_at_resonance_the_impedance_is_that_of_coil_and_motion(driver: Driver) -> None:
    expected = driver.coil_ohm * (1 + driver.mechanical_q / driver.electrical_q)
    assert driver.impedance_ohm(driver.resonance_hz) == pytest.approx(expected, rel=1e-12)
    assert peak_ohm(driver) == pytest.approx(expected, rel=1e-12)


@plain
def test_both_q_come_back_out_of_the_curve_as_they_are_measured(driver: Driver) -> None:
    """Where |Z| = Re sqrt(r), r = Zmax/Re: f1 f2 = fs^2, Qms = fs sqrt(r) / (f2 - f1), Qes = Qms / (r - 1)."""
    r = peak_ohm(driver) / driver.coil_ohm
    level = driver.coil_ohm * sqrt(r)

    def where(inner: float, outer: float) -> float:
        for _ in range(100):
            middle = sqrt(inner * outer)
            inner, outer = (middle, outer) if abs(driver.impedance_ohm(middle)) > level else (inner, middle)
        return inner

    low, high = where(driver.resonance_hz, 1.0), where(driver.resonance_hz, 1e5)
    assert low * high == pytest.approx(driver.resonance_hz**2, rel=1e-9)
    mechanical_q = driver.resonance_hz * sqrt(r) / (high - low)
    assert mechanical_q == pytest.approx(driver.mechanical_q, rel=1e-9)
    assert mechanical_q / (r - 1) == pytest.approx(driver.electrical_q, rel=1e-9)


@plain
def test_far_from_resonance_only_the_coil_is_left(driver: Driver) -> None:
    assert abs(driver.impedance_ohm(driver.resonance_hz * 1e5)) == pytest.approx(driver.coil_ohm, rel=1e-3)
    assert abs(driver.impedance_ohm(driver.resonance_hz / 1e5)) == pytest.approx(driver.coil_ohm, rel=1e-3)


def test_a_sealed_box_raises_resonance_and_q_alike_and_leaves_the_peak() -> None:
    """fc/fs = Qtc/Qts = sqrt(1 + a): with a compliance ratio of 3 all of them double (Small, Closed-Box, 1972)."""
    free = DRIVERS[1]
    boxed = in_sealed_box(free, 2 * free.resonance_hz)
    assert boxed.electrical_q == pytest.approx(2 * free.electrical_q, rel=1e-12)
    assert boxed.mechanical_q == pytest.approx(2 * free.mechanical_q, rel=1e-12)
    assert peak_ohm(boxed) == pytest.approx(peak_ohm(free), rel=1e-12)
    # The same from the circuit: the box's compliance, a third of the driver's, lies beside it.
    henry = free.coil_ohm / (2 * pi * free.resonance_hz * free.electrical_q)
    farad = free.electrical_q / (2 * pi * free.resonance_hz * free.coil_ohm)
    tank = Tank(free.motion_ohm, henry / 4, farad)
    for hz in (20.0, 60.0, 84.0, 120.0, 900.0):
        expected = free.coil_ohm + 2j * pi * hz * free.coil_henry + tank.impedance(hz)
        assert boxed.impedance_ohm(hz) == pytest.approx(expected, rel=1e-9)


VENTED = [
    Driver(5.4, 0.0, 38.0, 6.2, 0.34, 40.0, 1.6),
    Driver(5.2, 1.1e-3, 42.0, 5.0, 0.45, 35.0, 0.8, 7.0),
    Driver(6.1, 2.0e-3, 29.0, 11.0, 0.28, 42.0, 2.5, 15.0),
]


def test_a_vent_without_losses_leaves_nothing_but_the_coil_at_its_tuning() -> None:
    assert VENTED[0].impedance_ohm(40.0) == pytest.approx(5.4, rel=1e-12)


def test_the_two_peaks_of_a_vented_box_tell_resonance_and_compliance_ratio() -> None:
    """fs = fL fH / fb and a = (fH^2 - fb^2) (fb^2 - fL^2) / (fH^2 fL^2) (Small, Vented-Box, 1973)."""
    driver = VENTED[0]
    assert driver.vent_hz is not None
    low, high = vent_peaks_hz(driver)
    assert low < driver.vent_hz < high
    assert low * high / driver.vent_hz == pytest.approx(driver.resonance_hz, rel=1e-12)
    tuning = driver.vent_hz**2
    ratio = (high**2 - tuning) * (tuning - low**2) / (high**2 * low**2)
    assert ratio == pytest.approx(driver.compliance_ratio, rel=1e-12)
    # Without losses of the box the peaks are as high as that of the driver alone.
    for peak in (low, high):
        assert driver.impedance_ohm(peak) == pytest.approx(peak_ohm(driver), rel=1e-9)
        assert abs(driver.impedance_ohm(peak * 1.01)) < peak_ohm(driver)
        assert abs(driver.impedance_ohm(peak / 1.01)) < peak_ohm(driver)


def equivalent_circuit(driver: Driver) -> Network:
    """The coil; resistance, mass and compliance side by side; beside them the vented box (Small 1972, 1973)."""
    ws = 2 * pi * driver.resonance_hz
    branches = [
        Branch("coil", "1", "2", driver.coil_ohm, driver.coil_henry),
        Branch("losses", "2", "0", driver.coil_ohm * driver.mechanical_q / driver.electrical_q),
        Branch("mass", "2", "0", 0.0, 0.0, driver.electrical_q / (ws * driver.coil_ohm)),
        Branch("compliance", "2", "0", 0.0, driver.coil_ohm / (ws * driver.electrical_q)),
    ]
    if driver.vent_hz is not None:
        wb = 2 * pi * driver.vent_hz
        henry = driver.coil_ohm / (ws * driver.electrical_q) / driver.compliance_ratio
        leak_ohm = 0.0 if driver.box_q == inf else wb * henry / driver.box_q
        branches.append(Branch("box", "2", "0", leak_ohm, henry, 1 / (wb * wb * henry)))
    return Network("driver", tuple(branches), (Emf("emf", "1", "0", 1.0),))


def test_drivers_and_vented_boxes_agree_with_their_circuits_in_the_simulator(tmp_path: Path) -> None:
    drivers = [*DRIVERS, *VENTED]
    answers = simulate([equivalent_circuit(driver) for driver in drivers], "dec 24 10 20k", tmp_path)
    for driver, points in zip(drivers, answers, strict=True):
        assert len(points) > 70
        for answer in points:
            expected = 1 / answer.ampere["emf"]
            assert driver.impedance_ohm(answer.hertz) == pytest.approx(expected, rel=1e-6), (driver, answer.hertz)


# ---- measured tables


def test_a_table_is_read_along_the_straight_lines_of_double_logarithmic_paper() -> None:
    curve = curve_of([(80.0, 40.0), (20.0, 10.0), (320.0, 40.0)])
    assert curve == Curve((20.0, 80.0, 320.0), (10.0, 40.0, 40.0))
    assert [curve.impedance_ohm(hz) for hz in (20.0, 80.0, 320.0)] == [10.0, 40.0, 40.0]
    assert curve.impedance_ohm(40.0) == pytest.approx(20.0)  # an octave up, twice the ohms
    assert curve.impedance_ohm(160.0) == pytest.approx(40.0)
    assert log(curve.impedance_ohm(30.0) / 10.0) == pytest.approx(log(30.0 / 20.0))


def test_nothing_is_guessed_beyond_a_table_and_the_lower_of_two_figures_counts() -> None:
    curve = curve_of([(50.0, 9.0), (50.0, 7.0)])
    assert curve.impedance_ohm(50.0) == 7.0
    assert not curve.covers(49.0)
    with pytest.raises(ValueError, match="does not reach 51 Hz"):
        curve.impedance_ohm(51.0)
    with pytest.raises(ValueError, match="at least one point"):
        curve_of([])


def test_a_band_is_looked_at_every_twelfth_of_an_octave_and_at_its_marks() -> None:
    grid = grid_hz(35.0, 140.0, [10.0, 50.0, 200.0], steps=12)
    assert (grid[0], grid[-1]) == (35.0, 140.0)
    assert 50.0 in grid
    assert max(b / a for a, b in pairwise(grid)) <= 2 ** (1 / 12) * (1 + 1e-9)
    assert len(grid) == 25 + 1
    assert grid_hz(35.0, 140.0, [50.0], steps=0) == (35.0, 50.0, 140.0)
    assert grid_hz(50.0, 50.0, [50.0], steps=12) == (50.0,)


def test_real_power_is_what_the_resistance_takes() -> None:
    """10 V across 3 + 4j ohm: 2 A, so 12 W in the 3 ohm; V^2/|Z| would say 20 (circuit theory)."""
    assert real_power_watt(10.0, 3 + 4j) == pytest.approx(12.0)
    assert real_power_watt(10.0, 5.0) == pytest.approx(20.0)
