"""Pack list, channel settings, polarity and mains, each held against the rig file as somebody would read it."""

from __future__ import annotations

import re

import pytest
from checking import checked, laws
from hypothesis import given
from making import SAMPLES, reported, sample
from model import Rig
from rigs import rigs
from test_sheets_leads import one, rows_by, table

from rigspec.rig.model import one as figure
from rigspec.sheets.sheet import SheetMark

USE = 'use "stock/house.rig"\nfeed f { level 4 dBu }\n'

# ---- pack list ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("name", SAMPLES)
def test_sums_of_weights_and_counts_add_up(name: str) -> None:
    report = sample(name)
    sheet = one(report, "pack")
    rig = report.figures.rig
    words = ("amp", "processor", "panel", "speaker", "split")
    things = [gear for gear in rig.gear.values() if gear.word in words]
    rows = next(each for each in sheet.tables if each.word == "gear").rows
    assert sum(int(str(row[3])) for row in rows) == len(things)
    given = sum(figure(gear.facts, "weight", "mass").value for gear in things if "weight" in gear.facts)
    assert sum(row[5] for row in rows if isinstance(row[5], float)) == pytest.approx(given)
    told = re.match(r"All weights that are given come to ([\d.]+) kg\.", sheet.notes[0])
    assert told is not None
    assert float(told[1]) == pytest.approx(given, rel=5e-3)  # no lead of the samples has a weight


def test_the_festival_has_the_gear_of_its_file() -> None:
    gear = rows_by(table(sample("festival-stage"), "pack", "gear"), "kind")
    assert gear["reflex-18"]["count"] == 12
    assert gear["reflex-18"]["together (kg)"] == 12 * 48
    assert gear["reflex-18"]["left over"] == 0
    racks = rows_by(table(sample("festival-stage"), "pack", "racks"), "rack")
    assert racks["left_rack"]["together (U)"] == 2 + 2 + 1 + 2
    assert racks["left_rack"]["together (kg)"] == 12 + 19 + 3 + 11
    more = table(sample("festival-stage"), "pack", "more").rows
    assert [(row[0], row[2]) for row in more[:2]] == [(SheetMark("CROSSED adapter"), 3)] * 2
    assert ("Y, 1 to 4", "bass_xo.1 out, unless the socket has a link") in [row[:2] for row in more]


@pytest.mark.parametrize("name", SAMPLES)
def test_totals_by_sort_are_those_of_the_rows_and_say_what_they_lack(name: str) -> None:
    report = sample(name)
    sums = rows_by(table(report, "pack", "sums"), "sort")
    words = {"amp": "amplifier", "processor": "processor", "speaker": "loudspeaker", "panel": "panel", "split": "split"}
    for word, sort in words.items():
        things = [gear for gear in report.figures.rig.gear.values() if gear.word == word]
        if not things:
            assert sort not in sums
            continue
        kilos = [figure(gear.facts, "weight", "mass") for gear in things]
        known = [found.value for found in kilos if found is not None]
        assert sums[sort]["count"] == len(things)
        assert sums[sort]["weight not given of"] == len(things) - len(known)
        assert sums[sort]["together (kg)"] == (pytest.approx(sum(known)) if known else "not given")
    units = [figure(gear.facts, "height", "rack units") for gear in report.figures.rig.gear.values()]
    known = [found.value for found in units if found is not None]
    assert sums["all together"]["together (U)"] == (sum(known) if known else "")
    assert sums["lead"]["weight not given of"] == sums["lead"]["count"], "no lead of the samples has a weight"


def test_a_lead_that_has_a_weight_is_weighed_and_mains_parts_are_packed() -> None:
    text = USE + "stock lead w { size 4 mm2; weight 7 kg }\nlead l[1..3] is w 5 m\n"
    report = reported(text)
    kinds = table(report, "leads", "kinds")
    assert [dict(zip(kinds.heads, row, strict=True))["total (kg)"] for row in kinds.rows] == [21]
    assert rows_by(table(report, "pack", "sums"), "sort")["all together"]["together (kg)"] == 21
    spare = rows_by(table(report, "leads", "spares"), "lead")
    assert [row["what is free"] for row in spare.values()] == ["the whole lead"] * 3
    packed = [row[:3] for row in table(sample("festival-stage"), "pack", "more").rows]
    assert ("part of the mains: 3 phases, breaker 32 A C, residual 30 mA", "pa, backline", 2) in packed


def test_what_has_no_weight_is_named_and_too_few_are_marked() -> None:
    text = (
        'rig "r" { mains 230 V 50 Hz }\n'
        + USE
        + "stock amp x { channels 1; owned 1 }\namp a[1..3] is x\nrack r: a[*]\n"
    )
    sheet = one(reported(text), "pack")
    gear = rows_by(sheet.tables[0], "kind")["x"]
    assert (gear["each (kg)"], gear["left over"]) == ("not given", SheetMark("2 TOO FEW"))
    assert (
        rows_by(sheet.tables[2], "rack")["r"]["not given"] == "height of a[1], a[2], a[3]; weight of a[1], a[2], a[3]"
    )
    assert "No weight is given of 3 amplifiers: the load weighs more." in sheet.notes[0]


# ---- channel settings -----------------------------------------------------------------------------------------------


def test_every_setting_of_the_festival_is_told() -> None:
    report = sample("festival-stage")
    outputs = rows_by(table(report, "channels", "processors"), "output")
    assert outputs["xo.1"]["high-pass"] == "95 Hz 24 dB/octave linkwitz-riley"
    assert outputs["xo.5"]["takes"] == "a -6 dB, b -6 dB"
    assert (outputs["bass_xo.1"]["limiter"], outputs["bass_xo.1"]["times"]) == ("17 dBu rms", "45 ms / 720 ms")
    assert outputs["bass_xo.2"]["polarity"] == SheetMark("INVERTED")
    assert outputs["bass_xo.2"]["delay"] == "2.91 ms (1 m)"
    amps = rows_by(table(report, "channels", "amps"), "channel")
    assert len(amps) == 2 * 4 + 4 + 3 * 2 + 4 + 2 * 2 + 2 * 4 + 2
    assert (amps["highs.2"]["mode"], amps["highs.2"]["control"]) == ("input switch 1+2: takes input 1", "-12 dB")
    assert amps["bass[1].1"]["gain (dB)"] == 34 - 12
    assert amps["lows[1].3"]["mode"] == "spare: control closed"
    proposed = report.figures.protection.channels["drum.1"].at_input_dbu("rms")
    assert amps["drum.1"]["limiter"].startswith(f"PROPOSED: rms +{proposed:.1f} dBu, peak ")


def test_bridges_taps_and_switched_off_outputs_stand_out() -> None:
    amps = rows_by(table(sample("bridged-sub"), "channels", "amps"), "channel")
    assert SheetMark("BRIDGE 1+2") in [row["mode"] for row in amps.values()]
    taps = table(sample("hundred-volt-street"), "channels", "boxes").rows
    assert all(str(row[1]).startswith("tap ") for row in taps)
    amp = "amp a is twin-400 { gain 25.6 dB; attenuator -2.35 dB }"
    text = USE + f'{amp}\na.2 {{ muted }}\na.1 {{ inverted; label "low" }}\nspeaker s is column-4\nspare a.2\n'
    amps = rows_by(table(reported(text + "f -> a.1 -> s\n".replace("spare", "")), "channels", "amps"), "channel")
    assert (amps["a.1"]["polarity"], amps["a.1"]["label"]) == (SheetMark("INVERTED"), "low")
    assert amps["a.1"]["gain (dB)"] == 23.25  # as finely as it is said


# ---- polarity -------------------------------------------------------------------------------------------------------


@given(rigs(words=True))
@laws(40)
def test_cones_move_as_the_figures_say(rig: Rig) -> None:
    report = checked(rig.text)
    rows = [row for each in one(report, "polarity").tables for row in each.rows]
    seen = {str(row[0]) for row in rows}
    for key, box in report.figures.boxes.items():
        assert key in seen
        facts = box.box.gear.way(box.box.way) if box.box.way else box.box.gear.facts
        inside = {
            ref.name: "inverted" in e.words
            for e in (facts["drivers"].entries if "drivers" in facts else ())
            for ref in e.refs
        }
        told = {(row[1], row[2], isinstance(row[3], SheetMark)) for row in rows if row[0] == key and row[4] != ""}
        for part in box.parts:
            turned = (len(part.turns) + len(box.own_turns)) % 2 == 1
            for driver, other in (inside or {box.box.way or "cone": False}).items():
                assert (driver, part.feed, turned != other) in told


def test_rear_boxes_move_in_and_say_why() -> None:
    rows = [row for row in table(sample("festival-stage"), "polarity", "drivers").rows if row[0] == "rear[3]"]
    assert rows[0][2:5] == ("bass_send", SheetMark("IN"), 3)
    assert str(rows[0][5]).startswith("output bass_xo.2 is switched inverted (line 64); ")


def test_a_crossing_is_told_as_the_crew_finds_it() -> None:
    """Line 124 of the festival crosses the way to two channels; each box is told of its own."""
    rows = rows_by(table(sample("festival-stage"), "polarity", "drivers"), "loudspeaker")
    told = "inverted or crossed by, with line of the rig"
    for box, lead, channel in (("front[4]", "P15", "bass[1].2"), ("front[8]", "P17", "bass[2].2")):
        first, second = str(rows[box][told]).split("; ")
        assert first == f"crossed: bass_xo.1 out to {channel} in (line 124)"
        assert second.startswith(f"crossed: {lead}, {channel} out to front[")
    wedge = rows_by(table(sample("theatre-panels"), "polarity", "drivers"), "loudspeaker")["wedge"]
    assert wedge[told].startswith("plate_left.2 is inverted inside (line 42); crossed: P6, plate_left.2 out to wedge (")
    assert wedge["cone moves"] == "OUT"


def test_a_driver_turned_in_its_box_names_the_file_of_its_stock() -> None:
    kind = "stock speaker odd { impedance 8 ohm; drivers low, high inverted }\n"
    rows = table(
        reported(USE + kind + "amp a is twin-400\nspeaker s is odd\nf -> a.1 -> s\n"), "polarity", "drivers"
    ).rows
    assert [(row[1], row[3]) for row in rows] == [("low", "OUT"), ("high", SheetMark("IN"))]
    assert rows[1][5] == "high is inverted inside s (line 3)"


# ---- mains ----------------------------------------------------------------------------------------------------------


def test_the_tree_of_the_mains_is_told_with_its_loads() -> None:
    report = sample("festival-stage")
    parts = rows_by(table(report, "mains", "parts"), "part")
    assert parts["site"]["from"] == "generator 60 kVA"
    assert (parts["pa"]["breaker"], parts["pa"]["residual"], parts["pa"]["phases"]) == ("32 A C", "30 mA", "L1+L2+L3")
    loads = table(report, "mains", "loads").rows
    for name, part in report.figures.mains.parts.items():
        told = [row[3] for row in loads if row[0] == name]
        assert part.amperes is not None
        assert told == list(part.amperes[1])
    gear = rows_by(table(report, "mains", "inlets"), "gear")
    assert (gear["bass[2]"]["on"], gear["bass[2]"]["phase"], gear["bass[2]"]["lead"]) == ("bass_circuit[2]", "L2", "M2")
    sums: dict[str, float] = {}
    for row in gear.values():
        sums[row["on"]] = sums.get(row["on"], 0.0) + row["at 1/8 (A)"]
    assert {name: pytest.approx(flow) for name, flow in sums.items()} == {
        row[0]: row[3] for row in loads if row[0] in sums
    }


def test_mains_sheets_defer_to_the_local_code_and_mark_what_is_too_much() -> None:
    sheet = one(
        sample(
            "festival-stage",
            ("breaker 16 A C; lead 2.5 mm2 5 m }\nmains drum", "breaker 4 A C; lead 2.5 mm2 5 m }\nmains drum"),
        ),
        "mains",
    )
    assert "local code" in sheet.cautions[0]
    loads = next(each for each in sheet.tables if each.word == "loads")
    assert [row[6] for row in loads.rows if row[0] == "mon_circuit"] == [SheetMark("114 OVER")]


# ---- what a stranger needs besides ----------------------------------------------------------------------------------


def test_positions_labels_splits_and_mixes_are_told() -> None:
    festival = sample("festival-stage")
    stands = rows_by(table(festival, "places", "stands"), "loudspeaker")
    assert [stands["rear[1]"][head] for head in ("across (m)", "along (m)", "aim across (deg)")] == [-4, -1, 180]
    gear = rows_by(table(festival, "pack", "gear"), "names")
    assert gear['left_split (left_split "left")']["kind"] == "transformer, 2 legs, loss 1 dB"
    assert 'xo (xo "hang and fill")' in gear
    text = USE + "feed g { level 4 dBu }\nmix m: f, g -6 dB\namp a is twin-400\nspeaker s is wedge-12\nm -> a.1 -> s\n"
    assert table(reported(text), "channels", "mixes").rows == (("m", "f, g -6 dB"),)
    text = (
        USE + 'panel p is wall-plate\np.2 { label "blue" }\namp a is twin-400\nspeaker s is wedge-12\na.1 -> p.2 -> s\n'
    )
    assert 'p.2 is labelled "blue".' in one(reported(text), "patch").notes


# ---- promises and readings ------------------------------------------------------------------------------------------


def promises(text: str) -> dict[str, dict[str, object]]:
    return rows_by(table(reported(text), "promises", "promises"), "line")


def test_promises_stand_beside_their_figures_and_say_if_they_are_kept() -> None:
    """By hand: 8 ohm behind 20 m of 2.5 mm2, 7.98 ohm/km (IEC 60228 class 5): 8.319 ohm at 20 degC, 0.34 dB."""
    text = (
        'rig "r" { air 20 degC }\n'
        + USE
        + "amp a is twin-400\nspeaker s is twelve-two\nf -> a.1 -> lead 2.5 mm2 20 m -> s\n"
        + "expect load of a.1 >= 8 ohm\nexpect loss of s <= 0.2 dB\nexpect polarity of s = normal\n"
        + "expect load of a.1 in 1 kHz to 2 kHz >= 4 ohm\nmeasured loss of s 0.5 dB\n"
    )
    rows = list(promises(text).values())
    assert [row["promised"] for row in rows] == ["at least 8 ohm", "at most 0.2 dB", "normal", "at least 4 ohm"]
    assert [row["kept"] for row in rows] == ["yes", SheetMark("NOT KEPT"), "yes", SheetMark("NOT JUDGED")]
    assert [row["computed"] for row in rows] == ["8.32 ohm", "0.34 dB", "normal", "not known"]
    assert [row["measured before"] for row in rows] == ["", "0.5 dB (s)", "", ""]
    (reading,) = table(reported(text), "promises", "readings").rows
    assert reading[:5] == ("loss", "s", "0.5 dB", "0.34 dB", None)


def test_a_promise_that_a_range_leaves_open_may_not_be_kept() -> None:
    report = sample("theatre-panels", ("box_right <= 0.5 dB", "box_right <= 0.3 dB"))
    rows = rows_by(table(report, "promises", "promises"), "figure")
    assert rows["loss"]["kept"] == SheetMark("MAY NOT BE KEPT")
    assert rows["loss"]["computed"] == "0.26 dB to 0.45 dB"


@pytest.mark.parametrize("name", SAMPLES)
def test_every_promise_reading_group_and_excuse_of_a_sample_is_told(name: str) -> None:
    report = sample(name)
    rig = report.figures.rig
    tables = {each.word: each for each in one(report, "promises").tables}

    def count(word: str) -> int:
        return len(tables[word].rows) if word in tables else 0

    assert count("promises") == len(rig.expectations)
    assert count("readings") == len(rig.readings)
    assert count("accepted") == len(rig.excuses)
    assert count("lists") == len(rig.rosters_of("group")) + len(rig.rosters_of("stereo"))
    if rig.expectations:
        assert {row[4] for row in tables["promises"].rows} == {"yes"}, "the samples keep their promises"


def test_what_a_thing_says_beyond_its_kind_is_told() -> None:
    text = USE + "amp a is twin-400 { gain 26 dB; attenuator -3 dB }\nspeaker s is twelve-two { impedance 4 ohm }\n"
    rows = table(reported(text), "channels", "others").rows
    assert rows == (("a", "twin-400", "gain 26 dB"), ("s", "twelve-two", "impedance 4 ohm"))


def test_what_figures_rest_on_is_told_with_the_kinds_that_the_rig_describes_for_itself() -> None:
    text = (
        'rig "r" { air 20 degC; limits { damping 15 } }\n' + USE + "stock speaker x { impedance 6 ohm; weight 4 kg }\n"
    )
    rows = dict(table(reported(text), "promises", "ground").rows)
    assert rows == {
        "air": "20 degC",
        "limit of this company: damping": "15",
        "stock": "samples/stock/house.rig",
        "speaker x": "impedance 6 ohm; weight 4 kg",
    }
