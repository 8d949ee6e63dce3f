"""Feeders of several phases against circuit theory, a circuit simulator and waveforms worked out here.

The simulator is ngspice, run live: sources a third of a turn apart, leads as resistors, gear as resistors.
"""

from __future__ import annotations

import subprocess
from math import pi, radians, sin, sqrt

import pytest

from rigspec.solve.conductor import conductor_ohm_per_m
from rigspec.solve.three_phase import directions, end_volts, neutral_ampere, neutral_bound_ampere, phase_volt


def test_three_equal_phases_leave_the_neutral_idle() -> None:
    assert neutral_ampere([16, 16, 16]) == pytest.approx(0, abs=1e-12)
    assert neutral_ampere([16, 0, 0]) == pytest.approx(16)
    assert neutral_ampere([16, 16, 0]) == pytest.approx(16)


@pytest.mark.parametrize("amps", [(10, 7, 3), (16, 12, 12), (5, 0, 9), (1, 2, 3)])
def test_the_neutral_by_the_textbook_formula(amps: tuple[float, float, float]) -> None:
    """sqrt(a^2 + b^2 + c^2 - ab - bc - ca): the vector sum of three currents a third of a turn apart (textbook)."""
    a, b, c = amps
    assert neutral_ampere(amps) == pytest.approx(sqrt(a * a + b * b + c * c - a * b - b * c - c * a))


def test_the_split_phase_of_120_over_240_volts() -> None:
    """Half a turn apart, the neutral carries the difference (NEC: a multiwire branch circuit)."""
    assert neutral_ampere([15, 11], 2) == pytest.approx(4)
    assert neutral_bound_ampere([0, 0], [15, 15], 2) == pytest.approx(0, abs=1e-9)
    first, second, _ = directions(2)
    assert 120 * abs(first - second) == pytest.approx(240)


def pulses(phase_turn: float, width_deg: float, steps: int = 7200) -> list[float]:
    """Current of a rectifier: a piece of cosine around each crest of its phase, one of each sign in a turn."""
    half = radians(width_deg) / 2
    current = []
    for step in range(steps):
        angle = (2 * pi * step / steps - phase_turn) % (2 * pi)
        if angle > pi:
            off, sign = angle - 3 * pi / 2, -1.0
        else:
            off, sign = angle - pi / 2, 1.0
        current.append(sign * sin((half - abs(off)) * pi / 2 / half) if abs(off) < half else 0.0)
    return current


def rms(current: list[float]) -> float:
    return sqrt(sum(each * each for each in current) / len(current))


@pytest.mark.parametrize("scale", [(1, 1, 1), (1, 0.5, 0.2), (1, 1, 0)])
def test_pulses_do_not_cancel_in_the_neutral(scale: tuple[float, float, float]) -> None:
    """Pulses of up to 60 degrees never meet: the neutral carries their sum by energy, sqrt(3) times of equal ones."""
    phases = [[size * each for each in pulses(n * 2 * pi / 3, 58)] for n, size in enumerate(scale)]
    neutral = [sum(each) for each in zip(*phases, strict=True)]
    sizes = [rms(phase) for phase in phases]
    assert neutral_bound_ampere([0, 0, 0], sizes) == pytest.approx(rms(neutral), rel=1e-3)
    if scale == (1, 1, 1):
        assert rms(neutral) / sizes[0] == pytest.approx(sqrt(3), rel=1e-3)


@pytest.mark.parametrize("width_deg", [70, 90, 120])
def test_wider_pulses_cancel_in_part_so_the_bound_holds(width_deg: float) -> None:
    phases = [pulses(n * 2 * pi / 3, width_deg) for n in range(3)]
    neutral = [sum(each) for each in zip(*phases, strict=True)]
    assert rms(neutral) < neutral_bound_ampere([0, 0, 0], [rms(phase) for phase in phases])


def test_sines_beside_pulses_stay_below_the_bound() -> None:
    steps = 7200
    sines = [[sqrt(2) * 5 * sin(2 * pi * step / steps - n * 2 * pi / 3) for step in range(steps)] for n in (0, 1)]
    peaks = [[8 * each for each in pulses(n * 2 * pi / 3, 50)] for n in range(3)]
    neutral = [sum(each) for each in zip(*sines, *peaks, strict=True)]
    bound = neutral_bound_ampere([5, 5, 0], [rms(peak) for peak in peaks])
    assert 0.7 * bound < rms(neutral) <= bound


def test_drop_there_and_back() -> None:
    """2 L r I: 16 A through 2 x 30 m of 2.5 mm2 class 5 (IEC 60228: 7.98 ohm/km) lose 7.66 V of 230 V, 3.33 %."""
    ohm = 30 * conductor_ohm_per_m(area_mm2=2.5).ohm_per_m
    end, *_ = end_volts([230], [16], ohm, 1)
    assert 230 - abs(end) == pytest.approx(7.6608, abs=1e-4)


def test_three_equal_phases_drop_half_as_much() -> None:
    """Balanced, no current comes back: L r I on each phase (IEC 60364-5-52 annex G: b = 1, against 2)."""
    units = directions(3)
    ends = end_volts([230 * unit for unit in units], [16, 16, 16], 0.2394, 3)
    for end in ends:
        assert 230 - abs(end) == pytest.approx(16 * 0.2394)
    alone = end_volts([230 * unit for unit in units], [16, 0, 0], 0.2394, 3)
    assert 230 - abs(alone[0]) == pytest.approx(2 * 16 * 0.2394)


@pytest.mark.parametrize("amps", [(16.0, 16.0, 16.0), (19.0, 9.0, 4.0), (23.0, 0.0, 0.0), (20.0, 18.0, 0.0)])
@pytest.mark.parametrize("ohm", [0.05, 0.4])
def test_uneven_phases_against_the_simulator(amps: tuple[float, float, float], ohm: float) -> None:
    """Gear as currents in phase with the supply, leads as four resistors."""
    lines = ["* three phases, four wires"]
    for n, amp in enumerate(amps, 1):
        angle = -120 * (n - 1)
        lines += [f"V{n} s{n} 0 dc 0 ac 230 {angle}", f"R{n} s{n} e{n} {ohm}", f"I{n} e{n} n dc 0 ac {amp} {angle}"]
    lines += [f"Rn n m {ohm}", "Vm m 0 dc 0 ac 0", ".control", "ac lin 1 50 50"]
    lines += [*(f"print vm(e{n},n)" for n in (1, 2, 3)), "print mag(i(Vm))", ".endc", ".end"]
    ran = subprocess.run(
        ["ngspice", "-b"], input="\n".join(lines) + "\n", capture_output=True, text=True, check=False, timeout=60
    )
    found = [float(line.split("=")[1]) for line in ran.stdout.splitlines() if line.startswith(("vm(", "mag("))]
    assert len(found) == 4
    assert neutral_ampere(amps) == pytest.approx(found[3], rel=1e-5, abs=1e-6)
    ends = end_volts([230 * unit for unit in directions(3)], amps, ohm, 3)
    assert [abs(end) for end in ends] == pytest.approx(found[:3], rel=1e-6)


def test_a_supply_said_between_phases_or_to_neutral() -> None:
    """IEC 60038: 230/400 V; ANSI C84.1: 120/208 V and 120/240 V."""
    assert phase_volt(230, 3, 230)[0] == 230
    assert phase_volt(400, 3, 230)[0] == pytest.approx(230.9, abs=0.1)
    assert phase_volt(400, 3, None)[0] == pytest.approx(230.9, abs=0.1)
    assert phase_volt(208, 3, 120)[0] == pytest.approx(120.1, abs=0.1)
    assert phase_volt(240, 2, 120)[0] == 120
    assert phase_volt(120, 2, 120)[0] == 120
    assert phase_volt(400, 1, 230)[0] == 400
    assert "230 V" not in phase_volt(230, 3, 230)[1]
