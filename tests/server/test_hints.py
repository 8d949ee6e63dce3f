"""The figures between the words."""

from __future__ import annotations

from math import log10

import pytest
from served import RIG, Look

from rigspec.server.hints import KINDS, hints
from rigspec.server.wire import Wire

# A sub at 20 m, and a tower at 30 m whose delay of 40 ms is too short: it needs the way, 30 m in 87.4 ms, and 5 to 15.
HEARD = """\
use "house.rig"
stock speaker top { impedance 8 ohm; sensitivity 100 dB SPL at 1 W; rated 900 W continuous, 3600 W peak }
feed f { level -6 dBu; peak 6 dBu; source 100 ohm }
processor xo is cross-24
xo.1 { from a }
xo.2 { from a; delay 40 ms }
amp a is twin-900
speaker main  is top { at 0 m, 0 m, 2 m }
speaker tower is top { at 0 m, 30 m, 2 m }
f -> xo.a
xo.1 -> a.1 -> main
xo.2 -> pad 6 dB -> a.2 -> tower
place back { at 0 m, 40 m, 2 m; hears f }
"""


def shown(look: Look, text: str, *wanted: str) -> list[tuple[str, int, str]]:
    sight, _ = look(text)
    found = hints(sight, 0, len(text), wanted or KINDS)
    return [(hint.kind, text.count("\n", 0, hint.offset) + 1, hint.text) for hint in found]


def test_every_kind_of_hint_stands_at_its_place(look: Look) -> None:
    # By hand: 7.98 ohm/km (IEC 60228 class 5, 2.5 mm2); 30 m are 0.2394 ohm, 4 m 0.0319 ohm; 8 || 8.0319 = 4.0080 ohm.
    # Load 4.2474 ohm, 57 % above 2.7 ohm; losses 20 lg(4.2474/4.0080) = 0.504 dB and 20 lg(8.0319/8) = 0.035 dB.
    text = RIG + "expect load of bass.1 >= 4 ohm\n"
    sight, _ = look(text)
    boxes = sight.report.figures.boxes
    power = f"{boxes['sub[2]'].rated_w:.0f} to {boxes['sub[1]'].rated_w:.0f} W"
    found = [(text[: hint.offset].rpartition(" ")[2], hint.kind, hint.text) for hint in hints(sight, 0, len(text))]
    assert found == [
        ("bass.1", "margin", "4.25 \u2265 2.7 ohm"),
        ("m", "loss", "0.5 dB"),
        ("sub[1..2]", "power", power),
        ("sub[1..2]", "polarity", "normal"),
        ("m", "loss", "0.03 dB"),
        ("ohm", "margin", "4.25 ohm, 0.247 ohm to spare"),
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_can_be_wanted_alone(look: Look, kind: str) -> None:
    found = shown(look, HEARD if kind == "reach" else RIG + "expect load of bass.1 >= 4 ohm\n", kind)
    assert found
    assert {each for each, _, _ in found} == {kind}


def test_load_and_margin_alone(look: Look) -> None:
    assert shown(look, RIG, "load") == [("load", 5, "4.25 ohm")]
    assert shown(look, RIG, "margin") == [("margin", 5, "57 % above 2.7 ohm")]
    (hint,) = hints(look(RIG)[0], 0, len(RIG), ["load"])
    assert hint.tip == "load of bass.1: 4.25 ohm; 57 % above the 2.7 ohm that it stands"


@pytest.mark.parametrize(
    ("limit", "boxes", "text"),
    [  # by hand, without leads' resistance: 8 ohm, half of it, a third of it
        ("4 ohm", 2, "4 \u2265 4 ohm"),
        ("4 ohm", 3, "2.67 < 4 ohm"),
        ("2.7 ohm", 3, "2.67 \u2248 2.7 ohm"),  # printed with a decimal, 2.7 is 8/3, and no finding says otherwise
        ("2 ohm; least-load 8 ohm bridge", 1, "8 \u2265 8 ohm"),  # the nearer one of two limits
        ("4 ohm bridge", 1, "half 4 \u2265 4 ohm"),  # each half of the pair sees half of what hangs across it
    ],
)
def test_a_load_stands_beside_what_its_channel_stands(look: Look, limit: str, boxes: int, text: str) -> None:
    port = "1+2" if "bridge" in limit else "1"
    rig = f"""\
stock amp one {{ channels 2; rated 900 W at 4 ohm, 900 W at 4 ohm bridge; least-load {limit} }}
stock speaker box {{ impedance 8 ohm }}
stock lead stub {{ size 100 mm2; length 1 mm }}
amp a is one
speaker s[1..{boxes}] is box
a.{port} -> lead stub -> s[1..{boxes}] linked stub
"""
    sight, _ = look(rig)
    assert [each for _, _, each in shown(look, rig, "load", "margin")] == [text]
    below = [finding.rule for finding in sight.report.findings if finding.rule == "load-too-low"]
    assert bool(below) == ("<" in text)


def test_what_a_range_leaves_open_is_held_against_the_limit(look: Look) -> None:
    # 15 m to 40 m of 2.5 mm2 are 0.2394 ohm to 0.6384 ohm (7.98 ohm/km, IEC 60228 class 5); with 4.0080 ohm behind them
    # 4.247 ohm to 4.646 ohm, and 0.504 dB to 1.283 dB, at sub[2] 0.035 dB more: the limit of 1 dB may be broken.
    text = RIG.replace("lead 2.5 mm2 15 m", "lead 2.5 mm2 15 m to 40 m") + "expect load of bass.1 >= 5 ohm\n"
    found = shown(look, text)
    assert ("margin", 5, "4.25 \u2265 2.7 ohm") in found
    assert ("load", 5, "4.25 to 4.65 ohm") in shown(look, text, "load")
    assert ("margin", 7, "4.25 ohm, 0.753 ohm short") in found
    (lost,) = (text for kind, _, text in found if text.startswith("lost"))
    assert lost == "lost 1.32 > 1 dB"
    sight, _ = look(text)
    (place,) = (hint.offset for hint in hints(sight, 0, len(text)) if hint.text == lost)
    assert text[:place].endswith("-> sub[1..2]")  # before its `linked`


def test_boxes_in_brackets_have_their_figures_behind_them(look: Look) -> None:
    rig = RIG.replace("speaker sub[1..2]", "speaker sub[1..4]").replace("15 m -> sub[1..2] linked 2.5 mm2 2 m", "JOIN")
    row = "sub[{}] linked 2.5 mm2 1 m"
    text = rig.replace("JOIN", f"5 m -> series({row.format('1..2')}, {row.format('3..4')})")
    sight, _ = look(text)
    places = [text[: hint.offset].rpartition("sub")[2] for hint in hints(sight, 0, len(text)) if hint.kind == "power"]
    assert places == ["[1..2]", "[3..4]"]


def test_each_half_of_a_bridge_is_held_against_its_own_limit(look: Look) -> None:
    rig = RIG.replace("bass.1", "bass.1+2").replace("spare bass.2\n", "").replace("[1..2]", "[1]")
    rig = rig.replace(" linked 2.5 mm2 2 m", "").replace("15 m", "1 m")
    (found,) = shown(look, rig, "load", "margin")
    assert found == ("margin", 5, "half 4.01 \u2265 2.7 ohm")  # 8 ohm and 16.0 mohm of copper, halved


def test_a_line_shows_what_its_taps_take_of_what_it_gives(look: Look) -> None:
    rig = """\
stock amp street { channels 1; line 100 V; rated 100 W }
stock speaker horn { taps 15 W, 30 W at 100 V; band 200 Hz to 8 kHz }
amp line is street
speaker post[1..8] is horn { tap 15 W }
line.1 -> lead 1.5 mm2 1 m -> post[1..8] linked 1.5 mm2 1 m
"""
    sight, _ = look(rig)
    assert [text for _, _, text in shown(look, rig, "load", "margin")] == ["120 > 100 W"]
    assert "load-too-low" in {finding.rule for finding in sight.report.findings}


def test_a_way_that_loses_too_much_says_how_much_of_how_much(look: Look) -> None:
    found = shown(look, RIG.replace("15 m", "80 m"), "margin")
    sight, _ = look(RIG.replace("15 m", "80 m"))
    (finding,) = (each for each in sight.report.findings if each.rule == "lead-loss-high")
    said = finding.computed.removesuffix(" dB").split(",")[0]
    assert ("margin", 5, f"lost {said} > 1 dB") in found


@pytest.mark.parametrize(
    ("promise", "text"),
    [
        ("load of bass.1 >= 4 ohm", "4.25 ohm, 0.247 ohm to spare"),
        ("load of bass.1 >= 5 ohm", "4.25 ohm, 0.753 ohm short"),
        ("load of bass.1 <= 4 ohm", "4.25 ohm, 0.247 ohm over"),
        ("load of bass.1 = 4.25 ohm", "4.25 ohm"),
        ("loss of sub[*] <= 1 dB", "0.54 dB, 0.46 dB to spare"),
        ("loss of sub[*] = 0.5 dB", "0.5 to 0.54 dB"),
    ],
)
def test_a_promise_shows_what_was_computed(look: Look, promise: str, text: str) -> None:
    assert shown(look, RIG + f"expect {promise}\n", "margin")[-1] == ("margin", 7, text)


# A box whose measured impedance turns at 50 Hz, and another that hears 3 dB less; leads of no resistance to speak of.
CURVED = """\
stock amp one { channels 2; rated 900 W at 4 ohm; least-load 2 ohm; gain 32 dB }
stock speaker box { impedance 8 ohm; band 30 Hz to 100 Hz; curve 8 ohm at 20 Hz, 7 ohm at 50 Hz, 16 ohm at 100 Hz }
stock speaker plain { impedance 8 ohm; band 30 Hz to 100 Hz }
stock lead stub { size 100 mm2; length 1 mm }
feed send { level 4 dBu; band 30 Hz to 100 Hz }
amp a is one
amp b is one
speaker s is box
speaker t is box
speaker u is plain
send -> a.1 -> lead stub -> s
send -> pad 3 dB -> a.2 -> lead stub -> t
send -> b.1 -> lead stub -> u
spare b.2
"""


@pytest.mark.parametrize(
    ("promise", "text"),
    [
        ("load of a.1 in 30 Hz to 80 Hz >= 6 ohm", "7 ohm at 50 Hz, 1 ohm to spare"),
        ("load of a.1 in 30 Hz to 80 Hz >= 7.5 ohm", "7 ohm at 50 Hz, 0.5 ohm short"),
        ("load of a.1 in 20 Hz to 100 Hz <= 15 ohm", "16 ohm at 100 Hz, 1 ohm over"),  # the end that is nearer
        ("load of a.1 in 20 Hz to 100 Hz = 7 ohm", "16 ohm at 100 Hz"),
        ("load of a.1, b.1 in 30 Hz to 80 Hz >= 6 ohm", "7 ohm at 50 Hz"),  # of b.1 nothing is known in a band
        ("load of a.1, b.1 in 30 Hz to 80 Hz >= 7.5 ohm", "7 ohm at 50 Hz, 0.5 ohm short"),
        ("difference between s, t <= 4 dB", "3 dB, 1 dB to spare"),
        ("difference between s, t <= 2 dB", "3 dB, 1 dB over"),
    ],
)
def test_a_promise_in_a_band_or_of_a_difference_shows_what_was_computed(look: Look, promise: str, text: str) -> None:
    line = CURVED.count("\n") + 1
    assert shown(look, f"{CURVED}expect {promise}\n", "margin")[-1] == ("margin", line, text)


@pytest.mark.parametrize("promise", ["load of b.1 in 30 Hz to 80 Hz >= 6 ohm", "difference between s, u <= 2 dB"])
def test_nothing_stands_behind_a_promise_of_which_nothing_is_known(look: Look, promise: str) -> None:
    sight, _ = look(f"{CURVED}expect {promise}\n")
    assert [finding.rule for finding in sight.report.findings] == ["expect-unjudged"]
    assert [hint.text for hint in hints(sight, len(CURVED), len(sight.source.text))] == []


def test_what_is_excused_is_broken_all_the_same(look: Look) -> None:
    promise = 'expect load of bass.1 >= 5 ohm\nallow expect-unmet on bass.1 because "the fill comes later"\n'
    sight, _ = look(RIG + promise)
    assert sight.report.findings == ()
    assert shown(look, RIG + promise)[-1] == ("margin", 7, "4.25 ohm, 0.753 ohm short")


def test_a_promise_tells_of_which_thing_it_is_nearest(look: Look) -> None:
    text = RIG + "expect loss of sub[*] <= 1 dB\n"
    sight, _ = look(text)
    assert hints(sight, 0, len(text))[-1].tip == "loss of sub[2]: 0.54 dB computed, <= 1 dB promised"


def test_hints_of_one_place_are_one_in_the_editor(look: Look) -> None:
    sight, _ = look(RIG)
    wire = Wire("utf-16", str)
    shown = wire.hints(sight.source, hints(sight, 0, len(RIG)))
    assert len(shown) == 4
    assert str(shown[2].label).endswith(" W, normal")
    tip = str(shown[2].tooltip)
    assert "sub[1]: 4" in tip
    assert "at rated output" in tip
    assert "sub[2]: normal" in tip


def test_opposed_polarity_is_told(look: Look) -> None:
    assert ("polarity", 5, "inverted") in shown(look, RIG.replace("send ->", "send -> invert ->"), "polarity")


def test_hints_outside_of_what_is_seen_are_not_made(look: Look) -> None:
    sight, _ = look(RIG)
    assert hints(sight, 0, RIG.index("send ->") - 2) == []


def test_places_say_what_is_heard_and_a_delay_what_it_should_be(look: Look) -> None:
    text = HEARD
    found = [
        (text[: hint.offset].rpartition("\n")[2].split()[0], hint.text)
        for hint in hints(look(text)[0], 0, len(text), ["reach"])
    ]
    # By hand: 40 m in 116.6 ms, 10 m in 29.1 ms and 40 ms of delay: 47.4 ms early, so 92.4 to 102.4 ms.
    assert found[0] == ("xo.2", "needs 92.4 ms to 102 ms")
    said, _, first = found[1][1].partition(" dB, ")
    assert (found[1][0], first) == ("place", "tower 69 ms")
    # By hand, without what air takes and what waves add: the tower at 10 m behind its pad, and 12 dB below it the main.
    volt = 0.7746 * 10 ** ((-6 + 32) / 20)
    main, tower = (100 + 10 * log10(volt**2 / 8) - 20 * log10(metres) for metres in (40, 20))
    assert float(said) == pytest.approx(10 * log10(10 ** (main / 10) + 10 ** (tower / 10)), abs=1)
