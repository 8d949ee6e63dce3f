"""Ampacities against the wiring standards' tables, and against the physics behind them."""

from math import sqrt

import pytest

from rigspec.solve.ampacity import AIR, AIR_GAUGES, ampacity_ampere, conductor_c, least_size


def carries(**size: float | int | str) -> float:
    found = ampacity_ampere(**size)  # type: ignore[arg-type]
    assert found is not None
    return found.ampere


# IEC 60364-5-52 table B.52.4 (three loaded, PVC, copper, 30 degC), as a manual reproduces it in whole ampere.
@pytest.mark.parametrize(
    ("method", "printed"),
    [
        ("B2", {1.5: 15, 2.5: 20, 4: 27, 6: 34, 10: 46, 16: 62, 25: 80, 35: 99, 120: 206}),
        ("C", {1.5: 17, 2.5: 24, 4: 32, 6: 41, 10: 57, 16: 76, 25: 96, 35: 119}),
    ],
)
def test_three_loaded_conductors(method: str, printed: dict[float, int]) -> None:
    for area, ampere in printed.items():
        assert int(carries(area_mm2=area, loaded=3, method=method)) == ampere


# IEC 60364-5-52 table B.52.2 (two loaded), as a public data table reproduces it.
def test_two_loaded_conductors() -> None:
    for area, ampere in {1.5: 16.5, 2.5: 23, 4: 30, 6: 38, 10: 52, 16: 69}.items():
        assert carries(area_mm2=area, method="B2") == ampere
    for area, ampere in {1.5: 19.5, 2.5: 27, 4: 36, 6: 46, 10: 63, 16: 85}.items():
        assert carries(area_mm2=area) == ampere
    # From memory, the rest of both columns.
    for area, ampere in {25: 90, 35: 111, 50: 133, 70: 168, 95: 201, 120: 232}.items():
        assert carries(area_mm2=area, method="B2") == ampere
    for area, ampere in {25: 112, 35: 138, 50: 168, 70: 213, 95: 258, 120: 299}.items():
        assert carries(area_mm2=area) == ampere


# The same manual's columns for warm air, method B2, three loaded: it prints them to whole ampere.
@pytest.mark.parametrize(
    ("air_c", "printed"),
    [
        (40, {1.5: 13, 2.5: 17, 4: 23, 6: 30, 10: 40, 16: 54}),
        (50, {1.5: 11, 2.5: 14, 4: 19, 6: 24, 10: 33, 16: 44}),
        (55, {1.5: 9, 2.5: 12, 4: 16, 6: 21, 10: 28, 16: 38}),
    ],
)
def test_warm_air(air_c: float, printed: dict[float, int]) -> None:
    for area, ampere in printed.items():
        assert carries(area_mm2=area, loaded=3, method="B2", air_c=air_c) == pytest.approx(ampere, abs=0.6)


def test_air_factors_follow_from_the_heat_that_a_conductor_sheds() -> None:
    """The loss I^2 R is shed in proportion to the rise over the air: I ~ sqrt(conductor - air) (heat balance)."""
    for air_c, factor in AIR.items():
        assert factor == pytest.approx(sqrt((70 - air_c) / 40), abs=0.006)
    for air_c, factor in AIR_GAUGES.items():  # NEC 310.15(B)(1) rounds each row at its warmest end
        assert factor == pytest.approx(sqrt((60 - air_c) / 30), abs=0.006)


# NEC 310.16, 60 degC column; 240.4(D) for 14, 12, 10 AWG; as public pages reproduce the 2023 table.
def test_gauges() -> None:
    for awg, ampere in {14: 15, 12: 20, 10: 30, 8: 40, 6: 55, 4: 70, 2: 95, 0: 125, -3: 195}.items():
        assert carries(awg=awg) == ampere
        assert carries(awg=awg, loaded=3) == ampere
    assert carries(awg=12, air_c=40) == pytest.approx(20 * 0.82)  # NEC 310.15(B)(1), 36 to 40 degC
    assert carries(awg=12, air_c=10) == 20  # cold air does not lift the limit of 240.4(D)
    assert carries(awg=8, air_c=10) == pytest.approx(40 * 1.29)


# NEC 400.5(A)(1) for cords, two loaded, as a standard quotes it; IEC 60335-1 table 11 as a pump's manual prints it.
def test_cords() -> None:
    assert [carries(awg=awg) for awg in (18, 17, 16)] == [10, 12, 13]
    assert [carries(area_mm2=area) for area in (0.5, 0.75, 1.0)] == [3, 6, 10]
    assert carries(area_mm2=1, air_c=10) == 10  # the table knows no bonus for cold air
    assert carries(area_mm2=1, air_c=40) == pytest.approx(8.7)


def test_nothing_is_read_upward() -> None:
    assert carries(area_mm2=3) == carries(area_mm2=2.5)
    assert carries(area_mm2=1.25) == carries(area_mm2=1)
    assert carries(awg=11) == carries(awg=12)
    assert carries(awg=15) == carries(awg=16)
    assert carries(area_mm2=2.5, air_c=31) == carries(area_mm2=2.5, air_c=35)
    assert carries(area_mm2=2.5, air_c=-10) == carries(area_mm2=2.5, air_c=10)
    steps = [carries(area_mm2=0.5 + 0.1 * step) for step in range(400)]
    assert steps == sorted(steps)


def test_where_no_table_reaches() -> None:
    assert ampacity_ampere(area_mm2=0.35) is None
    assert ampacity_ampere(area_mm2=150) is None
    assert ampacity_ampere(awg=20) is None
    assert ampacity_ampere(area_mm2=2.5, air_c=61) is None
    assert ampacity_ampere(awg=12, air_c=56) is None
    for wrong in ({}, {"area_mm2": 1.5, "awg": 14}, {"area_mm2": 1.5, "loaded": 4}, {"area_mm2": 1.5, "method": "Z"}):
        with pytest.raises(ValueError, match=r"one size|no table"):
            ampacity_ampere(**wrong)  # type: ignore[arg-type]


# IEC 60364-5-52 table B.52.17 item 1; NEC 310.15(C)(1).
def test_bunched_circuits_heat_each_other() -> None:
    assert carries(area_mm2=4, bunched=4) == pytest.approx(36 * 0.65)
    assert carries(awg=12, bunched=2) == pytest.approx(20 * 0.80)  # four loaded conductors
    assert carries(awg=12, bunched=4) == pytest.approx(20 * 0.70)  # eight


def test_the_next_size_that_carries_a_current() -> None:
    assert least_size(32, area_mm2=1.5, loaded=3) == 4
    assert least_size(32.1, area_mm2=1.5, loaded=3) == 6
    assert least_size(20, awg=16) == 12
    assert least_size(120, awg=12) == 0  # 1/0 AWG
    assert least_size(500, area_mm2=1.5) is None


def test_the_source_and_what_was_taken_for_granted_are_said() -> None:
    found = ampacity_ampere(area_mm2=3, bunched=2)
    assert found is not None
    assert "IEC 60364-5-52 table B.52.2, method C" in found.source
    assert any("counts as 2.5 mm2" in text for text in found.assumes)
    assert any("lies open" in text for text in found.assumes)
    assert any("all 2 circuits" in text for text in found.assumes)
    gauge = ampacity_ampere(awg=12)
    assert gauge is not None
    assert "240.4(D)" in gauge.source


def test_a_conductor_is_as_hot_as_it_may_be_at_its_ampacity() -> None:
    """IEC 60364-5-52 rates PVC at 70 degC, the NEC column used is the one for 60 degC."""
    lead, gauge = ampacity_ampere(area_mm2=2.5), ampacity_ampere(awg=8)
    assert lead is not None
    assert gauge is not None
    assert conductor_c(lead.ampere, lead, 30) == pytest.approx(70)
    assert conductor_c(gauge.ampere, gauge, 30) == pytest.approx(60)
    assert conductor_c(0, lead, 17) == 17
    assert conductor_c(lead.ampere / 2, lead, 30) == pytest.approx(40)  # a quarter of the heat, a quarter of the rise
