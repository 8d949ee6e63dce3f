"""The checks before power-up: those that apply to a rig, and no others."""

from __future__ import annotations

import pytest
from making import SAMPLES, sample
from test_sheets_leads import one, table

from rigspec.check import Report


def told(report: Report) -> str:
    return "\n".join(f"{row[1]}: {row[2]}: {row[3]}" for row in table(report, "checks", "checks").rows)


@pytest.mark.parametrize("name", SAMPLES)
def test_checks_are_numbered_and_defer_to_the_local_code(name: str) -> None:
    sheet = one(sample(name), "checks")
    rows = sheet.tables[0].rows
    assert [row[0] for row in rows] == list(range(1, len(rows) + 1))
    order = list(dict.fromkeys(row[1] for row in rows))
    assert order == ["mains", "cold", "settings", "power"]
    assert "under the local code, which comes before this sheet" in sheet.cautions[0]
    assert "signed by a licensed person" in str(rows[0][3])


def test_what_a_rig_has_is_checked_with_its_figures() -> None:
    said = told(sample("festival-stage"))
    assert "voltage of each phase to neutral at site, before gear is plugged: 207 to 253 V (230 V within 10 %)" in said
    assert "near 398 V, all three alike" in said  # 230 V times the square root of three
    assert "test button of the residual-current device of pa, backline, tower_circuit" in said
    assert "CROSSED: 3 leads, and 3 connections for which no lead is described" in said
    assert "bridged" not in said
    assert "taps" not in said


def test_what_a_rig_has_not_is_not_asked_for() -> None:
    said = told(sample("two-box-hall"))
    assert "none in this rig" in said
    for word in ("generator", "residual", "phase to phase", "processors on first", "spares"):
        assert word not in said
    assert "the bridged pair bass[1].1+2" in told(sample("bridged-sub"))
    assert "taps of all boxes on lines" in told(sample("hundred-volt-street"))


@pytest.mark.parametrize("name", SAMPLES)
def test_every_box_that_is_driven_sounds_once_at_first_sound(name: str) -> None:
    report = sample(name)
    first = next((each for each in one(report, "checks").tables if each.word == "first"), None)
    shown = [key for row in first.rows for key in str(row[1]).split(", ")] if first else []
    driven = [key for key, arrival in report.figures.trace.arrivals.items() if arrival.sink.takes != "mains"]
    assert sorted(shown) == sorted(
        key for key in driven if report.figures.trace.arrivals[key].sink.gear.word == "speaker"
    )


def test_a_check_is_made_of_the_local_voltage() -> None:
    said = told(sample("two-box-hall", ("mains 230 V 50 Hz", "mains 120 V 60 Hz; code nec")))
    assert "voltage at each outlet, before gear is plugged: 120 V within 5 %" in said
