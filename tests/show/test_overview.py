"""A rig on one screen: the figures of its tables, alike things once, what is unusual marked, never long or wide."""

from __future__ import annotations

import re

import pytest
from golden_overview import SHOWN, golden, load, sample

from rigspec.check import Report, check
from rigspec.show.cells import cell_width
from rigspec.show.figures import WIDTH
from rigspec.show.names import named, ranged
from rigspec.show.overview import overview
from rigspec.show.overview_rows import Row, channel_rows, circuit_rows, folded, told
from rigspec.show.table import settled
from rigspec.text.source import Source

MOST_LINES = 60

HALL = """\
rig "hall" { mains 230 V 50 Hz }
stock amp four { channels 4; rated 800 W at 4 ohm, 500 W at 8 ohm; least-load 4 ohm; gain 29 dB; input-peak 21 dBu }
stock speaker top { impedance 8 ohm; rated 350 W continuous, 1400 W peak }
feed left { level 4 dBu; peak 17 dBu; source 100 ohm }
"""


def checked(text: str) -> Report:
    return check(Source("hall.rig", text), load)


@pytest.mark.parametrize("name", SHOWN)
def test_a_tired_engineer_reads_this(name: str) -> None:
    assert overview(sample(name)) == golden(name).read_text(encoding="utf-8")


def held_to_a_screen(report: Report) -> None:
    lines = overview(report).splitlines()
    assert len(lines) <= MOST_LINES
    for line in lines:
        assert cell_width(line) <= WIDTH, line
        assert line == line.rstrip()
    assert len(channel_rows(report)) >= len(report.figures.channels)


def wide(count: int, by: str) -> Report:
    """Channels and circuits of which no two are alike, with long names."""
    names = [f"{by}{letter}{number}" for number in range(count) for letter in "abc"]
    text = HALL + "split y { outputs 999 }\nleft -> y\n"
    for at, name in enumerate(names, 1):
        text += f"amp {name} is four {{ attenuator -{at % 20}.{at % 7} dB }}\nspeaker s_{name} is top\n"
        text += f"y.{at} -> {name}.1 -> lead 2.5 mm2 {10 + 3 * at} m -> s_{name}\n"
        text += f"mains c_{name} {{ supply 230 V; breaker {10 + at} A C }}\nc_{name} -> {name}\n"
    return checked(text)


@pytest.mark.parametrize(
    ("count", "by"), [(40, "n"), (40, "a_very_long_name_of_an_amplifier_at_stage_left_"), (3, "x" * 120)]
)
def test_hundreds_of_unlike_things_are_cut_to_a_screen_with_the_worst_first(count: int, by: str) -> None:
    report = wide(count, by)
    held_to_a_screen(report)
    text = overview(report)
    if any(row.mark == "!" for row in channel_rows(report)):
        assert re.search(r"^!  ", text, re.MULTILINE)


def test_every_channel_and_powered_box_is_on_it_once() -> None:
    report = sample("festival-stage.rig")
    keys = [key for row in channel_rows(report) for key in row.keys]
    assert sorted(keys) == sorted(report.figures.channels)
    powered = channel_rows(sample("powered-boxes.rig"))
    assert [key for row in powered for key in row.keys] == [
        "left_box[1]",
        "left_box[2]",
        "right_box[1]",
        "right_box[2]",
        "bass_box",
    ]
    assert [row.keys[0] for row in circuit_rows(report)] == list(report.figures.mains.parts)


def test_its_figures_are_those_of_the_tables() -> None:
    report = sample("festival-stage.rig")
    rows = {row.keys[0]: row for row in channel_rows(report)}
    for key, (channel,) in told(report.figures, "channels").items():
        watts = [each["rated_watt"] for each in told(report.figures, "powers")[key]]
        losses = [each["loss_db"] for each in told(report.figures, "speakers")[key]]
        figures = rows[key].figures
        assert figures["load"][0] == channel["load_ohm"]
        assert figures["least"][0] == channel["limit_ohm"]
        assert figures["watt"][1] == max(watts)
        assert figures["loss"][1] == max(losses)
        assert figures["headroom"][0] == told(report.figures, "clipping")[key][0]["headroom_db"]


def channel(text: str) -> Row:
    return channel_rows(checked(HALL + text))[0]


def test_what_breaks_a_limit_is_marked_with_its_rule_and_what_is_near_with_its_reason() -> None:
    low = channel(
        "amp a is four { attenuator -12 dB }\nspeaker s[1..3] is top\n"
        "left -> a.1 -> lead 4 mm2 1 m -> s[1..3] linked 4 mm2 1 m\n"
    )
    assert (low.mark, low.why[0]) == ("!", "load-too-low")
    near = channel(
        "amp a is four { attenuator -18 dB }\nspeaker s[1..2] is top\n"
        "left -> a.1 -> lead 4 mm2 1 m -> s[1..2] linked 4 mm2 1 m\n"
    )
    assert (near.mark, near.why) == (">", ("it needs a limiter", "the least load"))
    calm = channel(
        "amp a is four { attenuator -18 dB; limit -7 dBu rms }\nspeaker s is top\nleft -> a.1 -> lead 4 mm2 9 m -> s\n"
    )
    assert (calm.mark, calm.words["limiter"], calm.words["cones"]) == ("", "set -7.0", "out")
    festival = {row.keys[0]: row for row in circuit_rows(sample("festival-stage.rig"))}
    assert festival["hang_circuit[3]"].why == ("the inrush at 92 %",)
    excused = {row.keys[0]: row for row in channel_rows(sample("festival-stage.rig"))}["fill.3"]
    assert (excused.mark, excused.why) == ("!", ("lead-loss-high, allowed",))


def test_cones_go_in_where_one_turn_is_on_the_way_and_are_mixed_where_boxes_differ() -> None:
    one = "amp a is four\nspeaker s is top\nleft -> a.1 -> invert -> lead 4 mm2 9 m -> s\n"
    assert channel(one).words["cones"] == "in"
    two = "amp a is four\nspeaker s is top\nspeaker t is top\n"
    two += "left -> a.1 -> lead 4 mm2 9 m -> s -> invert -> lead 4 mm2 1 m -> t\n"
    assert channel(two).words["cones"] == "mixed"


def test_alike_rows_are_one_and_a_mark_keeps_them_apart() -> None:
    rows = [Row((f"a.{n}",), {"load": (4.0 + n, 4.0 + n)}, {"phase": f"L{n}"}) for n in (1, 2)]
    marked = Row(("a.3",), {"load": (7.0, 7.0)}, {"phase": "L3"}, "!")
    one, other = folded([*rows, marked], lambda _: "", "phase")
    assert (one.keys, one.figures["load"], one.words["phase"]) == (("a.1", "a.2"), (5.0, 6.0), "L1 L2")
    assert other is marked


@pytest.mark.parametrize(
    ("keys", "names"),
    [
        (["bass.1", "bass.2"], ["bass.1", "bass.2"]),
        ([f"hl[{n}]" for n in range(1, 9)], ["hl[1..8]"]),
        (["lows[1].1", "lows[1].2", "lows[2].1", "lows[2].2"], ["lows[1..2].1..2"]),
        (["highs.1", "highs.2", "highs.3", "x.1+2"], ["highs.1..3", "x.1+2"]),
        (["box[2].low", "box[4].low", "sub"], ["box[2,4].low", "sub"]),
    ],
)
def test_names_are_ranged_as_the_language_writes_them(keys: list[str], names: list[str]) -> None:
    assert ranged(keys) == names


def test_of_many_names_the_first_are_told_and_how_many_things_are_left() -> None:
    keys = [*(f"hl[{n}]" for n in range(1, 9)), "one", "two", "amp.1", "amp.2", "amp.3"]
    assert named(keys, 99) == "hl[1..8], one, two, amp.1..3"
    assert named(keys, 14) == "hl[1..8], one and 4 more"
    assert named(["x" * 50], 11) == "xxx[...]xxx"


def test_a_column_that_says_the_same_is_a_sentence_from_three_rows_on() -> None:
    head = ["box", "ohm", "by", "W"]
    columns = [["a", "b", "c"], ["8", "8", "8"], ["supply"] * 3, ["1", "2", "1"]]
    assert settled(head, columns) == ([0, 3], "ohm: 8; by: supply; throughout")
    assert settled(head[:3], [*columns[:1], ["8", "8", "4"], *columns[2:3]]) == ([0, 1], "by: supply, throughout")
    assert settled(head, [cells[:2] for cells in columns]) == ([0, 1, 2, 3], "")
    assert settled(head[:1], [["a", "a", "a"]]) == ([0], "")
