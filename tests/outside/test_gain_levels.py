"""Levels from the feed to the amplifier's clip, from rig text to figures, against values worked out apart from it.

0 dBu is sqrt(0.6) V (ITU-R V.574, body from memory); everything else is circuit theory: V = sqrt(P Z), 20 log of
voltages, the voltage divider, twice the voltage from a bridge.
"""

from __future__ import annotations

from math import log10, sqrt

import pytest

from rigspec.check import Report, check
from rigspec.figures.levels import LevelFigures
from rigspec.figures.signal import amplifier_gain
from rigspec.text.source import Refused, Source
from rigspec.why import derive


def checked(text: str) -> Report:
    return check(Source("rig.rig", text), lambda path, used: Refused(used, "nothing is used here"))


def levels(text: str) -> LevelFigures:
    return checked(text).figures.levels


def one_channel(amp: str, feed: str = "", settings: str = "", way: str = "f -> a.1", ohm: float = 8) -> str:
    return (
        f"stock amp kind {{ channels 2; {amp} }}\nstock speaker box {{ impedance {ohm} ohm }}\nfeed f {{ {feed} }}\n"
        f"stock processor cross {{ inputs 2; outputs 2 }}\n"
        f"amp a is kind {{ {settings} }}\nspeaker s is box\n{way} -> lead 2.5 mm2 0 m -> s\n"
    )


def gain_db(amp: str, channel: str = "1") -> float | None:
    return amplifier_gain(checked(one_channel(amp)).figures.rig.gear["a"], channel).db


@pytest.mark.parametrize(
    ("gain", "clip_dbu", "volt"), [(20, 21.25, 8.944), (26, 15.25, 4.483), (32, 9.25, 2.247), (38, 3.25, 1.126)]
)
def test_the_input_that_gives_1000_w_into_8_ohm_is_where_the_feed_clips_it(
    gain: float, clip_dbu: float, volt: float
) -> None:
    """Known without any level of the feed."""
    found = levels(one_channel(f"rated 1000 W at 8 ohm; gain {gain} dB"))
    stage, dbu = found.first_of["f"]
    assert (stage.key, stage.point.end) == ("a.1", "output")
    assert dbu == pytest.approx(clip_dbu, abs=0.005)
    assert sqrt(0.6) * 10 ** (dbu / 20) == pytest.approx(volt, abs=5e-4)
    assert found.chains["a.1"].reference == "gain"


@pytest.mark.parametrize(
    ("data", "found_db"),
    [
        ("rated 800 W at 4 ohm; sensitivity 1.4 V", 32.129),
        ("rated 800 W at 4 ohm, 500 W at 8 ohm; sensitivity 1.4 V at 4 ohm", 32.129),
        ("rated 500 W at 8 ohm, 800 W at 4 ohm; sensitivity 1.4 V at 4 ohm", 32.129),
        ("rated 500 W at 8 ohm, 800 W at 4 ohm; sensitivity 0.775 V", 38.235),  # the first of its ratings
        ("rated 1000 W at 8 ohm bridge; rated 500 W at 8 ohm; sensitivity 0.775 V", 38.235),  # one channel's
        ("rated 600 W at 8 ohm alone; rated 500 W at 8 ohm; sensitivity 0.775 V", 38.235),  # with all driven
        ("rated 500 W at 8 ohm; sensitivity 0.00453 dBu", 38.235),  # 0.775 V
        ("rated 500 W at 100 V; sensitivity 1 V", 40.0),
        ("rated 500 W at 8 ohm; sensitivity 0.775 V; gain 26 dB", 26.0),  # as it is written
        ("rated 500 W at 8 ohm; gain 32 dB", 32.0),
    ],
)
def test_a_sensitivity_stands_for_a_gain_at_its_rated_output(data: str, found_db: float) -> None:
    assert gain_db(data) == pytest.approx(found_db, abs=5e-4)


def test_a_sensitivity_without_its_rated_output_is_not_guessed() -> None:
    gear = checked(one_channel("rated 500 W at 8 ohm; sensitivity 1.4 V at 4 ohm")).figures.rig.gear["a"]
    gain = amplifier_gain(gear, "1")
    assert gain.db is None
    assert "4 ohm" in gain.unknown
    assumed = amplifier_gain(
        checked(one_channel("rated 500 W at 8 ohm, 800 W at 4 ohm; sensitivity 1.4 V")).figures.rig.gear["a"], "1"
    )
    assert "500 W at 8 ohm, the first" in assumed.assumes


def test_a_transformer_without_impedances_passes_on_the_load_of_its_legs() -> None:
    """Four inputs of 10 kohm on 150 ohm lose 0.5061 dB; a transformer with an input of its own stands between."""
    rig = (
        "stock speaker box {{ powered; input 10 kohm }}\nfeed f {{ level 0 dBu; source 150 ohm }}\n"
        "split y {{ legs 4; {split} }}\nspeaker m[1..4] is box\nf -> y\neach y.1..4 -> m[1..4]\n"
    )
    assert dbu(rig.format(split="transformer"), "m[1]") == pytest.approx(-0.5061, abs=5e-5)
    assert dbu(rig.format(split="passive"), "m[1]") == pytest.approx(-0.5061, abs=5e-5)
    assert dbu(rig.format(split="transformer; loss 1 dB"), "m[1]") == pytest.approx(-1.5061, abs=5e-5)
    isolated = "transformer; loss 1 dB; input 10 kohm; source 150 ohm"
    assert dbu(rig.format(split=isolated), "m[1]") == pytest.approx(-1.2586, abs=5e-5)  # 0.1293 dB before and behind
    assert dbu(rig.format(split="active; input 10 kohm"), "m[1]") == pytest.approx(-0.1293, abs=5e-5)


def dbu(text: str, key: str) -> float:
    level = levels(text).inputs[key].level
    assert level is not None
    return level.dbu


def test_pads_are_losses_whatever_their_sign() -> None:
    for pad in ("10 dB", "-10 dB"):
        text = one_channel("rated 500 W at 8 ohm; gain 32 dB", "level 4 dBu; peak 17 dBu", way=f"f -> pad {pad} -> a.1")
        assert dbu(text, "a.1") == pytest.approx(-6, abs=1e-9)


# A limiter at 6.239 dBu with 32 dB holds 63.246 V: 500 W into 8 ohm. Peaks at crest factor 2 are 126.49 V, 3.1773 V at
# the input: a sine of 9.249 dBu.
LIMITED = "level 10 dBu; peak 20 dBu"


@pytest.mark.parametrize("limit", ["6.239 dBu rms", "63.246 V rms"])
def test_a_limiter_for_the_mean_holds_the_level_and_lets_peaks_through(limit: str) -> None:
    report = checked(one_channel("rated 9000 W at 8 ohm; gain 32 dB", LIMITED, f"limit {limit}"))
    channel = report.figures.channels["a.1"]
    assert channel.nominal_volt == pytest.approx(63.246, abs=5e-3)
    output = report.figures.levels.outputs["a.1"]
    assert output.wanted_level is not None
    assert output.wanted_level.dbu == pytest.approx(42)
    assert output.peak is not None
    assert output.peak.worst_dbu == pytest.approx(52)


@pytest.mark.parametrize(
    ("settings", "way"),
    [
        ("limit 9.249 dBu peak", "f -> a.1"),
        ("limit 126.49 V peak", "f -> a.1"),
        ("limit 9.249 dBu", "f -> a.1"),  # a limiter that does not say watches peaks
        ("", "processor p is cross\np.1 { from a; limit 3.1773 V peak }\nf -> p.a\np.1 -> a.1"),
    ],
)
def test_a_limiter_for_peaks_holds_both(settings: str, way: str) -> None:
    report = checked(one_channel("rated 9000 W at 8 ohm; gain 32 dB", LIMITED, settings, way))
    output = report.figures.levels.outputs["a.1"]
    assert output.peak is not None
    assert sqrt(2) * sqrt(0.6) * 10 ** (output.peak.worst_dbu / 20) == pytest.approx(126.49, abs=0.01)
    assert output.level is not None
    assert output.level.dbu == pytest.approx(41.249, abs=1e-3)
    assert output.most_dbu == pytest.approx(41.249, abs=1e-3)


def test_what_a_limiter_never_lets_clip_is_not_the_first_to_clip() -> None:
    """1000 W into 8 ohm are 41.25 dBu: behind a limiter at 9 dBu and 32 dB that is never reached."""
    amp = "rated 1000 W at 8 ohm; gain 32 dB; input-peak 21 dBu"
    found = levels(one_channel(amp, LIMITED, "limit 9 dBu peak")).chains["a.1"]
    assert found.first is not None
    assert (found.first.point.end, found.first.feed_dbu) == ("input", pytest.approx(21))
    above = levels(one_channel(amp, LIMITED, "limit 10 dBu peak")).chains["a.1"]
    assert above.first is not None
    assert (above.first.point.end, above.first.feed_dbu) == ("output", pytest.approx(9.2493, abs=5e-4))
    assert above.spread_db == pytest.approx(21 - 9.2493, abs=5e-4)


def test_the_stage_that_clips_first() -> None:
    """A processor that gives 20 dBu clips at 14 with 6 dB of gain; the amplifier, 12 dB down, at 15.25."""
    way = "processor p is cross { peak 20 dBu }\np.1 { from a; gain 6 dB }\nf -> p.a\np.1 -> a.1"
    amp = "rated 1000 W at 8 ohm; gain 32 dB; input-peak 21 dBu"
    chain = levels(one_channel(amp, "level 4 dBu; peak 13 dBu", "attenuator -12 dB", way)).chains["a.1"]
    assert [(stage.key, stage.point.end) for stage in chain.stages] == [
        ("p.1", "output"),
        ("a.1", "input"),
        ("a.1", "output"),
    ]
    assert [stage.feed_dbu for stage in chain.stages] == pytest.approx([14, 15, 15.2493], abs=5e-4)
    assert [stage.over_db for stage in chain.stages] == pytest.approx([-1, -2, -2.2493], abs=5e-4)
    assert [stage.headroom_db for stage in chain.stages] == pytest.approx([10, 11, 11.2493], abs=5e-4)
    assert chain.first is chain.stages[0]
    assert chain.spread_db == pytest.approx(1.2493, abs=5e-4)


def test_a_bridge_clips_at_its_own_rating_with_twice_the_gain() -> None:
    """1000 W into 4 ohm each are 63.2 V; bridged into 8 ohm 126.5 V, 44.26 dBu, from 6.02 dB more gain."""
    text = one_channel("rated 1000 W at 4 ohm; gain 32 dB", "level 0 dBu; peak 6 dBu", way="f -> a.1+2")
    stage = levels(text).chains["a.1+2"].first
    assert stage is not None
    assert stage.clip_dbu == pytest.approx(20 * log10(2 * sqrt(4000) / sqrt(0.6)), abs=1e-9)
    assert stage.feed_dbu == pytest.approx(stage.clip_dbu - 32 - 6.0206, abs=5e-5)


MIXED = (
    "feed left {{ level 4 dBu; peak 17 dBu{heard} }}\nfeed right {{ level {right} dBu; peak 17 dBu{heard} }}\n{pair}\n"
    "mix both: left -6 dB, right -6 dB\nstock speaker box {{ powered; input 10 kohm; drive 20 dBu{band} }}\n"
    "speaker m is box\nboth -> m\n"
)
PAIR = "stereo main: left, right"
BASS, WIDE = "; band 40 Hz to 120 Hz", "; band 40 Hz to 15 kHz"


@pytest.mark.parametrize(
    ("pair", "band", "heard", "level_dbu", "worst_dbu"),
    [
        ("", "", "", 1.0103, 1.0103),
        (PAIR, "", "", 1.0103, 4.0206),
        (PAIR, BASS, "", 4.0206, 4.0206),
        ("", BASS, "", 1.0103, 1.0103),
        (PAIR, BASS, WIDE, 4.0206, 4.0206),  # bass alone is what both bands have in common
        (PAIR, WIDE, BASS, 4.0206, 4.0206),
        (PAIR, WIDE, WIDE, 1.0103, 4.0206),
    ],
)
def test_two_feeds_together(pair: str, band: str, heard: str, level_dbu: float, worst_dbu: float) -> None:
    """Two of -2 dBu are 3.0103 dB more by energy and 6.0206 dB by voltage; a pair is alike in bass."""
    level = levels(MIXED.format(pair=pair, band=band, heard=heard, right=4)).inputs["m"].level
    assert level is not None
    assert (level.dbu, level.worst_dbu) == pytest.approx((level_dbu, worst_dbu), abs=5e-5)


def test_the_feed_level_at_which_a_mix_clips_is_told_of_the_loudest_with_the_others_as_they_are() -> None:
    """Peaks of 17 dBu at -6 dB each, alike: 17.02 dBu. 2.98 dB more reach 20 dBu."""
    found = levels(MIXED.format(pair=PAIR, band="", heard="", right=-20))
    assert found.first_of["left"][1] == pytest.approx(19.979, abs=5e-4)
    assert found.first_of["right"][1] == pytest.approx(19.979, abs=5e-4)


@pytest.mark.parametrize(
    ("word", "key", "value"),
    [
        ("level", "f", 4.0),
        ("level", "p.a", 4.0),
        ("level", "p.1", 10.0),
        ("level", "a.1", 10.0),
        ("gain", "a.1", 20.0),
        ("headroom", "p.1", 10.0),
        ("headroom", "a.1", 10.0),
        ("clip-level", "a.1", 14.0),
        ("clip-level", "f", 14.0),
    ],
)
def test_figures_that_can_be_asked_for(word: str, key: str, value: float) -> None:
    way = "processor p is cross { peak 20 dBu }\np.1 { from a; gain 6 dB }\nf -> p.a\np.1 -> a.1"
    text = one_channel("rated 1000 W at 8 ohm; gain 32 dB", "level 4 dBu; peak 13 dBu", "attenuator -12 dB", way)
    step = derive(checked(text).figures, word, key)
    assert step is not None
    assert step.value == pytest.approx(value, abs=1e-9)


def test_what_is_not_known_is_not_told() -> None:
    figures = checked(one_channel("rated 1000 W at 8 ohm", "level 4 dBu")).figures
    assert figures.levels.outputs["a.1"].level is None
    assert "neither gain nor sensitivity" in figures.levels.outputs["a.1"].unknown
    for word in ("gain", "headroom", "clip-level"):
        assert derive(figures, word, "a.1") is None
    unsaid = checked(one_channel("rated 1000 W at 8 ohm; gain 32 dB")).figures
    assert unsaid.levels.inputs["a.1"].unknown == "no `level` of f is given"
    assert derive(unsaid, "level", "a.1") is None
    clip = derive(unsaid, "clip-level", "a.1")
    assert clip is not None
    assert clip.value == pytest.approx(9.2493, abs=5e-4)
