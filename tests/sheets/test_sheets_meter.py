"""The meter sheet: readings against the network solver, against sums by hand, and beside what was measured."""

from __future__ import annotations

from math import inf

import pytest
from attrs import evolve
from checking import checked, laws
from hypothesis import given
from making import SAMPLES, reported, sample
from model import Rig
from rigs import rigs
from test_sheets_leads import one, rows_by, table

from rigspec.check import Report
from rigspec.figures.load import Box, Corner, solve_run
from rigspec.figures.trace import Run
from rigspec.sheets.direct import Direct, Ohms, coil
from rigspec.sheets.sheet import SheetMark

USE = 'use "stock/house.rig"\nfeed f { level 4 dBu }\namp a is twin-400\nspeaker s[1..2] is twelve-two\n'


def as_coils(report: Report, run: Run, end: int) -> list[Box] | None:
    """The boxes of a run with what they read at direct current, at the low (-1) or the high end; None if not known."""
    found = []
    for box in (each.box for each in report.figures.channels[run.output.key].boxes):
        ohms = coil(box.gear, box.way)
        if ohms is None:
            return None
        ohm = ohms.low_ohm if end < 0 else ohms.high_ohm
        found.append(evolve(box, impedance=None, tapped=False, impedance_ohm=ohm))
    return found


def solved(run: Run, boxes: list[Box], case: Corner) -> float:
    """The load of the network as the solver has it; infinite where nothing closes the circuit."""
    found = solve_run(run, boxes, case) if boxes else None
    return inf if found is None or found.load_ohm > 1e8 else found.load_ohm


def assert_as_solved(report: Report) -> None:
    for key in report.figures.channels:
        run = report.figures.trace.runs[key]
        behind = Direct(run, report.figures.case).behind[run.output.joint]
        for end in (-1, 1):
            boxes, case = as_coils(report, run, end), evolve(report.figures.case, copper=end)
            if boxes is None:
                assert behind.expected is None
                assert behind.unknown
                continue
            assert {box.key for box in boxes} == set(behind.boxes)
            last = next(box for box in boxes if box.key == behind.boxes[-1])
            without = [box for box in boxes if box is not last]
            for got, hung in (
                (behind.expected, boxes),
                (behind.doubled, [*boxes, evolve(last, key="a second one")]),
                (behind.missing, without),
            ):
                assert isinstance(got, Ohms)
                if got is behind.missing and run.splits:
                    continue  # the solver takes no circuit that is open somewhere; by hand below
                assert (got.low_ohm if end < 0 else got.high_ohm) == pytest.approx(solved(run, hung, case), rel=1e-6)


@given(rigs(words=True))
@laws(60)
def test_readings_are_those_of_the_network(rig: Rig) -> None:
    assert_as_solved(checked(rig.text))


@pytest.mark.parametrize("name", SAMPLES)
def test_readings_of_the_samples_are_those_of_the_network(name: str) -> None:
    assert_as_solved(sample(name))


def test_two_boxes_on_fifteen_metres_by_hand() -> None:
    """15 m of 2.5 mm2 at 20 degC, IEC 60228 class 5: 2 x 15 m x 7.98 ohm/km = 0.2394 ohm; coils 4.8 to 6.8 ohm."""
    row = rows_by(table(sample("two-box-hall"), "meter", "runs"), "lead")["P1"]
    assert row["expected (ohm)"] == "5.04 to 7.04"
    assert row["short at its far end (ohm)"] == "0.24"
    assert row["last box missing (ohm)"] == "over range"
    assert row["last box doubled (ohm)"] == "2.64 to 3.64"


def test_series_columns_by_hand() -> None:
    """4 ohm each, coils 2.4 to 3.4 ohm: two circuits of two in series, 10 m of 2.5 mm2 before them (0.1596 ohm)."""
    row = rows_by(table(sample("series-columns"), "meter", "runs"), "lead")["P1"]
    assert row["expected (ohm)"] == "2.56 to 3.56"  # 0.16 + 4.8 / 2, 0.16 + 6.8 / 2
    assert row["last box missing (ohm)"] == "4.96 to 6.96"  # one circuit is open
    assert row["last box doubled (ohm)"] == "2.22 to 3.07, looks right"  # 0.16 + 1 / (1 / 4.8 + 1 / 3.6)


def test_a_given_coil_counts_as_given_and_a_transformer_is_not_known() -> None:
    rows = rows_by(table(sample("measured-bass"), "meter", "runs"), "lead")
    assert rows["P4"]["expected (ohm)"] == "5.61"  # 5.6 ohm and 0.0099 ohm of copper
    sheet = one(sample("hundred-volt-street"), "meter")
    line = rows_by(sheet.tables[0], "lead")["P1"]
    assert (line["expected (ohm)"], line["short at its far end (ohm)"]) == ("not known", "0.96")
    assert any("line transformer's primary" in note for note in sheet.notes)


def test_a_line_is_read_with_a_tone_by_hand() -> None:
    """Twelve horns at 15 W on 100 V, 666.7 ohm each: 55.6 ohm, 60.6 with one missing, 51.3 with one more.

    The lead and the links put between 0.96 ohm and, of the farthest, 3.9 ohm in series; so all read 1 to 4 ohm more.
    """
    rows = rows_by(table(sample("hundred-volt-street"), "meter", "lines"), "lead")
    far = 100**2 / 15 + 0.266
    assert rows["P12"]["expected (ohm)"] == f"{far:.2f}"
    assert rows["P12"]["last box doubled (ohm)"] == f"{0.266 + 100**2 / 30:.2f}"
    assert rows["P12"]["last box missing (ohm)"] == "over range"
    for head, nominal in (
        ("expected", 10000 / 180),
        ("last box missing", 10000 / 165),
        ("last box doubled", 10000 / 195),
    ):
        assert nominal + 0.96 < float(str(rows["P1"][f"{head} (ohm)"])) < nominal + 3.9
    load = sample("hundred-volt-street").figures.channels["street.1"].load_ohm
    assert rows["P1"]["expected (ohm)"] == f"{load:.2f}", "the network solver has the same"


def test_the_tolerance_of_a_tap_is_of_its_power() -> None:
    text = USE + "speaker h is horn-30 { tap 10 W ± 20 % }\na.1 -> lead 2.5 mm2 10 m -> h\n"
    row = rows_by(table(reported(text), "meter", "lines"), "lead")["P1"]
    assert row["expected (ohm)"] == f"{1e4 / 12 + 0.1596:.2f} to {1e4 / 8 + 0.1596:.2f}"


def test_powered_boxes_are_not_read() -> None:
    sheet = one(sample("powered-boxes"), "meter")
    assert [each.word for each in sheet.tables] == ["others"]
    assert any(note.startswith("Powered: left_box[1], left_box[2], right_box[1] and 2 more.") for note in sheet.notes)


def test_copper_is_at_the_temperature_of_the_air() -> None:
    text = 'rig "r" { mains 230 V 50 Hz; air 40 degC }\n' + USE + "a.1 -> lead 2.5 mm2 100 m -> s[1]\n"
    row = rows_by(table(reported(text), "meter", "runs"), "lead")["P1"]
    assert row["short at its far end (ohm)"] == f"{2 * 0.798 * (1 + 0.00393 * 20):.2f}"


def test_ranges_of_leads_and_tolerances_of_boxes_widen_the_range() -> None:
    text = USE + "s[1] { impedance 8 ohm ± 10 % }\na.1 -> lead 1.5 mm2 to 2.5 mm2 20 m to 40 m -> s[1]\n"
    row = rows_by(table(reported(text), "meter", "runs"), "lead")["P1"]
    low, high = 2 * 20 * 7.98e-3, 2 * 40 * 13.3e-3
    assert row["short at its far end (ohm)"] == f"{low:.2f} to {high:.2f}"
    assert row["expected (ohm)"] == f"{low + 0.6 * 7.2:.2f} to {high + 0.85 * 8.8:.2f}"


@pytest.mark.parametrize(
    ("reading", "cell"),
    [
        ("resistance of s[1] 5.8 ohm", "5.8 (s[1])"),
        ("resistance of s[1] 12 ohm", SheetMark("12 (s[1]) DOES NOT FIT")),
        ("resistance of l 0.2 ohm", "0.2 (lead alone)"),
        ("resistance of l 1.3 ohm", SheetMark("1.3 (lead alone) DOES NOT FIT")),
        ("resistance of s[2] 5.8 ohm", ""),
        ("level of a.1 4 dBu", ""),
    ],
)
def test_what_was_measured_stands_beside_what_is_expected(reading: str, cell: object) -> None:
    text = f"{USE}lead l 2.5 mm2 15 m\na.1 -> l -> s[1]\nmeasured {reading}\n"
    report = reported(text)
    row = next(row for row in table(report, "meter", "runs").rows)
    assert row[7] == cell
    told = table(report, "promises", "readings").rows
    assert len(told) == 1
    assert str(told[0][1]) in reading


def test_an_output_without_a_lead_is_measured_at_its_socket() -> None:
    rows = table(
        reported(USE + "a.1 -> parallel(lead 2.5 mm2 9 m -> s[1], lead 2.5 mm2 9 m -> s[2])\n"), "meter", "runs"
    )
    assert [row[:3] for row in rows.rows] == [
        ("none", "a.1 out", "s[1], s[2]"),
        ("P1", "a.1 out", "s[1]"),
        ("P2", "a.1 out", "s[2]"),
    ]


def test_a_thousand_linked_boxes_are_no_trouble() -> None:
    text = USE.replace("s[1..2]", "s[1..1000]") + "a.1 -> lead 2.5 mm2 9 m -> s[*] linked 2.5 mm2 2 m\n"
    rows = table(reported(text), "meter", "runs").rows
    assert len(rows) == 1000
    assert rows[-1][2] == "s[1000]"


def test_leads_of_signal_and_mains_are_read_end_to_end_by_hand() -> None:
    """Festival at 17 degC: 80 m of 0.5 mm2 are 3.12 ohm a conductor, 25 m of 6 mm2 0.0825 ohm (IEC 60228 class 5)."""
    rows = rows_by(table(sample("festival-stage"), "meter", "others"), "lead")
    cool = 1 - 0.00393 * 3
    assert rows["S1"]["each conductor (ohm)"] == f"{0.08 * 39.0 * cool:.2f}"
    assert rows["M17"]["each conductor (ohm)"] == f"{0.025 * 3.30 * cool:.2f}"
    assert (rows["M17"]["from"], rows["M17"]["to"]) == ("site outlet", "pa in")
    assert len(rows) == 1 + 27
