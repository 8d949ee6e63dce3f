"""Patch list and lead list: every lead once, every crossing where the trace has it, totals that add up."""

from __future__ import annotations

from collections import Counter

import pytest
from checking import checked, laws
from hypothesis import given
from making import SAMPLES, sample
from model import Rig
from rigs import rigs

from rigspec.check import Report
from rigspec.sheets.basis import basis
from rigspec.sheets.links import SheetLink, plugging
from rigspec.sheets.pull import totals
from rigspec.sheets.sheet import Sheet, SheetMark, Table
from rigspec.sheets.whole import sheets


def one(report: Report, word: str) -> Sheet:
    (sheet,) = sheets(report, [word])
    return sheet


def table(report: Report, word: str, which: str) -> Table:
    return next(each for each in one(report, word).tables if each.word == which)


def rows_by(found: Table, head: str) -> dict[str, dict[str, object]]:
    at = found.heads.index(head)
    return {str(row[at]): dict(zip(found.heads, row, strict=True)) for row in found.rows}


def assert_each_lead_once(report: Report) -> None:
    figures = report.figures
    loose = [piece for piece in figures.rig.wiring.pieces if piece.what == "lead" and piece.gear is None]
    named = [gear for gear in figures.rig.gear.values() if gear.word == "lead"]
    feeds = [part for part in figures.mains.parts.values() if part.node.lead is not None]
    leads = basis(figures).pulled.leads
    sheet = one(report, "leads")
    listed = [row[0] for each in sheet.tables if each.word == "leads" for row in each.rows]
    assert len(listed) == len(set(listed)) == len(loose) + len(named) + len(feeds)
    pieces = Counter(core.piece for lead in leads for core in lead.cores if core.piece is not None)
    assert set(pieces) == {piece for piece in figures.rig.wiring.pieces if piece.what == "lead"}
    assert set(pieces.values()) <= {1}
    assert sum(total.used + total.reserve for total in totals(leads)) == len(leads)


def turns_on_the_way(links: dict[str, SheetLink], key: str) -> int:
    """The crossings from an output to a loudspeaker, link by link backwards, as a crew would follow the sheet."""
    count = 0
    at = key
    while at in links:
        link = links[at]
        count += link.turns + ("CROSSED inside" in at)
        source = link.source.text.removesuffix(" link").partition(", circuit")[0].partition(", loop")[0]
        back = source.removesuffix(" out") + " in"
        inside = f"{back}, CROSSED inside"
        at = inside if inside in links else back if back in links and link.source.gear_word != "amp" else source
        if link.source.gear_word in ("amp", "processor", "split", "feed", "mix"):
            break
    return count


def assert_crossings_as_traced(report: Report) -> None:
    links = {link.target.text: link for link in plugging(report.figures).links}
    for key, box in report.figures.boxes.items():
        assert turns_on_the_way(links, key) == len(box.box.arrival.turns), key


@given(rigs(words=True))
@laws(60)
def test_each_lead_is_pulled_once_and_crossed_where_the_trace_has_it(rig: Rig) -> None:
    report = checked(rig.text)
    assert_each_lead_once(report)
    assert_crossings_as_traced(report)


@pytest.mark.parametrize("name", SAMPLES)
def test_each_lead_of_a_sample_is_pulled_once(name: str) -> None:
    report = sample(name)
    assert_each_lead_once(report)
    assert_crossings_as_traced(report)


def test_the_festival_pulls_what_was_counted_by_hand() -> None:
    """Of samples/festival-stage.rig: 2 looms of the hang, 8 links, 6 bass leads and links, and so on."""
    found = rows_by(table(sample("festival-stage"), "leads", "leads"), "lead")
    counted = Counter(number[0] for number in found)
    assert counted == {"S": 1, "P": 40, "M": 27}
    turned = [row["label text"] for row in found.values() if isinstance(row["polarity"], SheetMark)]
    assert turned == [
        "P15 bass[1].2 out to front[3] CROSSED",
        "P17 bass[2].2 out to front[7] CROSSED",
        "P21 bass[3].2 out to rear[3] CROSSED",
    ]
    assert found["P1"]["near end"] == "left rack: lows[1].1 out; lows[1].2 out; highs.1 out; highs.2 out"
    owned = rows_by(table(sample("festival-stage"), "leads", "owned"), "kind")
    assert owned["heavy-pair"] == {"kind": "heavy-pair", "taken": 15, "owned": 16, "left over": 1}


def test_too_few_leads_are_marked() -> None:
    change = ("linked stout-pair 2 m", "linked four-pair 2 m")
    owned = rows_by(table(sample("festival-stage", change), "leads", "owned"), "kind")
    assert owned["four-pair"]["left over"] == SheetMark("6 TOO FEW")


def test_signal_without_a_lead_is_listed_with_its_crossing() -> None:
    more = table(sample("festival-stage"), "leads", "more")
    turned = [row[:2] for row in more.rows if row[3] == SheetMark("CROSSED")]
    assert turned == [
        ("bass_xo.1 out", "bass[1].2 in"),
        ("bass_xo.1 out", "bass[2].2 in"),
        ("bass_xo.2 out", "bass[3].2 in"),
    ]


def test_series_circuits_are_told_loop_by_loop() -> None:
    sheet = one(sample("series-columns"), "patch")
    power = next(each for each in sheet.tables if each.word == "power")
    ways = [(row[0], row[2]) for row in power.rows]
    assert ("junction 1, circuit A, loop 1 of 2", "nave[1]") in ways
    assert ("junction 1, circuit B, loop 2 of 2", "nave[4]") in ways
    assert ("junction 2, loop 2 of 2", "aisle[2]") in ways
    assert any(note.startswith("Junction 2: 2 loads in series.") for note in sheet.notes)


@pytest.mark.parametrize("name", SAMPLES)
def test_every_plug_stands_at_both_its_places(name: str) -> None:
    report = sample(name)
    parts = [each for each in one(report, "patch").tables if each.word == "places"]
    plugs = Counter((each.part, row[0], row[1], row[3]) for each in parts for row in each.rows if row[2] or row[3])
    base = basis(report.figures)
    expected: Counter[tuple[object, ...]] = Counter()
    for link in plugging(report.figures).links:
        for here, word, there in ((link.source, "to", link.target), (link.target, "from", link.source)):
            if not here.loose:
                expected[base.place(here), here.text, f"{word} {there.text}", base.numbers(link)] += 1
    feeds = [core for lead in base.pulled.leads for core in lead.cores if core.link is None]
    assert expected <= plugs
    assert (plugs - expected).total() == sum(end.gear is not None for core in feeds for end in (core.near, core.far))
    assert len({each.part for each in parts}) == len(parts)


def test_a_rack_has_a_page_of_its_own_with_all_that_its_crew_needs() -> None:
    parts = {each.part: each for each in one(sample("festival-stage"), "patch").tables if each.word == "places"}
    rack = parts["rack left_rack"]
    assert rack.alone
    assert (
        rack.said == 'Here: xo (cross-26) "hang and fill", lows[1] (four-900), highs (four-250), bass[1] (twin-1600).'
    )
    rows = {(row[0], row[1]): dict(zip(rack.heads, row, strict=True)) for row in rack.rows}
    turned = rows["bass[1].2 out", "to front[3]"]
    assert (turned["lead"], turned["lead is"], turned["plug here"]) == ("P15", "heavy-pair, 4 mm2, 10 m", "4-pole")
    assert (turned["polarity"], turned["on the way"]) == (SheetMark("CROSSED"), "P15 crossed at the other end")
    assert rows["bass[1].2 in", "from bass_xo.1 out"]["on the way"] == "cross it once, here"
    (there,) = [row for row in parts["rack right_rack"].rows if row[:2] == ("bass_xo.1 out", "to bass[1].2 in")]
    assert there[7] == "cross it once, at the other end"
    (box,) = [row for row in parts["loudspeakers front"].rows if row[:2] == ("front[3]", "from bass[1].2 out")]
    assert box[7] == "P15 crossed here"
    assert rows["xo.a in", "from left_split.1 out"]["plug here"] == "not said"
    assert rows["lows[1].3", "nothing: it is a spare"]
    assert rows["bass[1] inlet", "from bass_circuit[1] outlet"]["lead"] == "M1"
    assert ("pa in", "from site outlet") in {row[:2] for row in parts['mains pa "both sides"'].rows}
    assert parts["loudspeakers front"].said == "Here: front[1..8] (reflex-18)."
    towers = {row[0]: row for row in parts['panel tower_box "between the towers"'].rows}
    assert towers["tower_box.1 in"][5] == "multi plug", "the far end of the multi"


def test_a_turned_panel_a_crossing_and_a_turned_lead_say_where() -> None:
    text = (
        "\nstock lead loomy { pairs 2; size 4 mm2 }\nlead l is loomy 9 m { inverted 2 }\n"
        "panel wall is wall-plate\nwall.2 { inverted }\namp a is twin-400\nspeaker s[1..2] is twelve-two\n"
        "left -> a.1 -> l.1 -> wall.1 -> lead 2.5 mm2 1 m -> s[1]\n"
        "left -> a.2 -> l.2 -> wall.2 -> lead 2.5 mm2 2 m inverted -> invert -> s[2]\n"
    )
    report = sample("two-box-hall", ("stereo main", f"{text}stereo main"))
    found = rows_by(table(report, "leads", "leads"), "label text")
    assert found["P1 l CROSSED"]["polarity"] == SheetMark("CROSSED: pair 2: made crossed")
    assert found["P3 wall.2 out to s[2] CROSSED"]["polarity"] == SheetMark("CROSSED: made crossed, far end")
    power = rows_by(table(report, "patch", "power"), "to")
    assert power["wall.2 in, CROSSED inside"]["polarity"] == SheetMark("CROSSED")
    assert power["s[2]"]["polarity"] == SheetMark("CROSSED TWICE")
    assert power["s[2]"]["on the way"] == "P3 made crossed, P3 far end"
    assert power["s[1]"]["polarity"] == "straight"
