"""Loads, losses and powers over frequency, from rig text to figures, against values worked out by hand.

Circuit theory throughout; 80 % of the rated impedance is IEC 60268-5 (clause 16 from memory); 2.5 mm2 has 7.98 ohm/km
(IEC 60228 class 5, as public pages reproduce it), so 10 m there and back are 0.1596 ohm.
"""

from __future__ import annotations

from math import pi

import pytest

from rigspec.check import Report, check
from rigspec.figures.over_band import OverBand, over_band
from rigspec.text.source import Refused, Source

AMP = "stock amp twin { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; least-load 2 ohm; gain 32 dB }\n"
CURVE = "curve 9 ohm at 60 Hz, 30 ohm at 90 Hz, 6 ohm at 250 Hz, 12 ohm at 1 kHz"
DRIVER = "driver { dc-resistance 6 ohm; coil-inductance 1 mH; resonance 50 Hz; mechanical-q 4; electrical-q 0.5"


def checked(kinds: str, rest: str) -> Report:
    report = check(Source("rig.rig", AMP + kinds + "amp a is twin\n" + rest), lambda _, used: Refused(used, "none"))
    assert not report.figures.rig.findings, [finding.message for finding in report.figures.rig.findings]
    return report


def speaker(name: str, more: str, band: str = "60 Hz to 1 kHz") -> str:
    return f"stock speaker {name} {{ impedance 8 ohm; band {band}; {more} }}\n"


def in_band(report: Report, word: str, key: str, low: float, high: float) -> OverBand:
    found = over_band(report.figures, word, key, (low, high))
    assert isinstance(found, OverBand), found
    return found


def test_two_boxes_of_one_curve_are_half_of_it_behind_their_lead() -> None:
    rig = "speaker s[1..2] is own\na.1 -> lead 2.5 mm2 10 m -> s[1..2] linked 2.5 mm2 0 m\n"
    report = checked(speaker("own", CURVE), rig)
    channel = report.figures.spectrum.channels["a.1"]
    assert (channel.low_hz, channel.high_hz) == (60, 1000)
    assert (channel.least.value, channel.least.hz) == pytest.approx((3 + 0.1596, 250))
    assert (channel.most.value, channel.most.hz) == pytest.approx((15 + 0.1596, 90))
    box = report.figures.spectrum.boxes["s[2]"]
    assert box.least is not None
    assert (box.least.value, box.least.hz) == (6, 250)
    assert box.loss.value == pytest.approx(0.4502, abs=5e-5)  # 20 log10(1 + 0.1596/3)
    assert box.loss.hz == 250
    volt = report.figures.channels["a.1"].rated_volt
    assert volt is not None
    assert box.real_watt is not None
    assert box.rating_watt is not None
    assert box.real_watt.value == pytest.approx((volt * 3 / 3.1596) ** 2 / 6)
    assert box.rating_watt.value == pytest.approx((volt * 15 / 15.1596) ** 2 / 8)
    assert channel.lead_watt is not None
    assert channel.lead_watt.value == pytest.approx((volt / 3.1596) ** 2 * 0.1596)


def test_beside_a_curve_what_is_only_rated_counts_with_80_percent_for_the_least() -> None:
    kinds = speaker("own", CURVE) + speaker("plain", "owned 1")
    report = checked(kinds, "speaker s is own\nspeaker p is plain\na.1 -> parallel(s, p)\n")
    channel = report.figures.spectrum.channels["a.1"]
    assert channel.least.value == pytest.approx(1 / (1 / 6 + 1 / 6.4))
    assert channel.usual.value == pytest.approx(1 / (1 / 6 + 1 / 8))
    assert any("80 %" in text for text in channel.assumes)
    assert channel.least_box == "s"


def test_where_a_curve_gives_nothing_80_percent_of_rated_stands_for_it_and_that_is_said() -> None:
    report = checked(speaker("own", "curve 9 ohm at 100 Hz, 9 ohm at 400 Hz"), "speaker s is own\na.1 -> s\n")
    box, channel = report.figures.spectrum.boxes["s"], report.figures.spectrum.channels["a.1"]
    assert box.uncovered == ((60, 100), (400, 1000))
    assert box.least is not None
    assert box.least.value == 9
    assert channel.least.value == pytest.approx(6.4)
    assert any("gives nothing" in text for text in channel.assumes)
    inside = in_band(report, "least-impedance", "a.1", 100, 400)
    assert inside.low is not None
    assert inside.low.value == pytest.approx(9)


def test_the_band_is_the_loudspeakers_own_cut_by_what_reaches_it() -> None:
    rig = "feed f { level 4 dBu; band 100 Hz to 5 kHz }\nspeaker s is own\nf -> a.1 -> s\n"
    report = checked(speaker("own", CURVE), rig)
    box = report.figures.spectrum.boxes["s"]
    assert (box.low_hz, box.high_hz) == (100, 1000)


def test_a_driver_turns_less_into_heat_and_sound_than_its_rating_is_held_against() -> None:
    """At 200 Hz: x = 4 - 1/4 = 3.75, motion 48 / (1 + 15j), so Z = 6.2124 - 3.1858j + 1.2566j ohm: 0.1468 V^2 are real.

    V^2/|Z| would be 0.1537 V^2, and the rating is held against V^2/8.
    """
    report = checked(speaker("own", DRIVER + " }", "199.9 Hz to 200.1 Hz"), "speaker s is own\na.1 -> s\n")
    motion = 48 / (1 + 15j)
    ohm = 6 + motion + 2j * pi * 200 * 1e-3
    assert ohm == pytest.approx(6.2124 - 1.9292j, abs=5e-4)
    impedance = in_band(report, "impedance", "s", 200, 200)
    assert impedance.low is not None
    assert impedance.low.value == pytest.approx(abs(ohm), rel=1e-9)
    volt = report.figures.channels["a.1"].rated_volt
    box = report.figures.spectrum.boxes["s"]
    assert volt is not None
    assert box.real_watt is not None
    assert box.rating_watt is not None
    assert box.rating_watt.value == pytest.approx(volt**2 / 8)
    assert box.real_watt.value == pytest.approx(0.1468 * volt**2, rel=1e-3)


@pytest.mark.parametrize(
    ("box", "least_ohm"),
    [
        ("box vented 40 Hz", 6.0),  # nothing else is said: no losses at the tuning, the bare coil
        ("box vented 40 Hz; compliance-ratio 2; box-q 8", None),
    ],
)
def test_at_its_tuning_a_vented_box_leaves_the_coil_and_its_losses(box: str, least_ohm: float | None) -> None:
    text = DRIVER.replace("; coil-inductance 1 mH", "; coil-inductance 0.000001 mH")
    report = checked(speaker("own", f"{text}; {box} }}", "35 Hz to 45 Hz"), "speaker s is own\na.1 -> s\n")
    found = in_band(report, "least-impedance", "s", 40, 40)
    assert found.low is not None
    if least_ohm is None:  # the box's own losses beside the driver's: 2 pi 40 L / 8, with L = 6 / (2 pi 50 0.5 2)
        leak_ohm = 40 / 50 * 6 / 0.5 / 2 / 8
        motion = 48 / (1 + 4j * (40 / 50 - 50 / 40))
        least_ohm = abs(6 + 1 / (1 / leak_ohm + 1 / motion))
    assert found.low.value == pytest.approx(least_ohm, rel=1e-6)
    assert bool(report.figures.spectrum.channels["a.1"].assumes) == ("box-q" not in box)


def test_the_low_end_of_a_tolerance_counts_for_the_least() -> None:
    kinds = speaker("own", CURVE.replace("6 ohm at 250", "6 ohm ± 10 % at 250"))
    report = checked(kinds, "speaker s is own\na.1 -> lead 2.5 mm2 10 m to 20 m -> s\n")
    channel = report.figures.spectrum.channels["a.1"]
    assert channel.least.value == pytest.approx(5.4 + 0.1596)
    assert channel.usual.value == pytest.approx(6 + 0.1596 * 1.5)


def test_boxes_in_series_share_the_voltage_and_lose_only_what_the_leads_take() -> None:
    rig = "speaker s[1..2] is own\na.1 -> lead 2.5 mm2 10 m -> series(s[1], s[2])\n"
    report = checked(speaker("own", CURVE), rig)
    box = report.figures.spectrum.boxes["s[1]"]
    assert box.loss.value == pytest.approx(20 * 0.0057393, rel=1e-3)  # 20 log10(1 + 0.1596/12)
    assert report.figures.spectrum.channels["a.1"].least.value == pytest.approx(12.1596)


def test_behind_a_line_transformer_the_curve_counts_for_nothing() -> None:
    kinds = (
        "stock amp street { channels 1; line 100 V; rated 240 W at 100 V }\n"
        f"stock speaker horn {{ impedance 8 ohm; taps 15 W at 100 V; {CURVE} }}\n"
    )
    report = checked(kinds, "amp b is street\nspare a\nspeaker h is horn { tap 15 W }\nb.1 -> h\n")
    assert not report.figures.spectrum.channels
    assert report.figures.channels["b.1"].load_ohm == pytest.approx(1e4 / 15)


def test_without_curve_or_driver_a_least_load_in_any_band_is_that_of_80_percent() -> None:
    report = checked(speaker("plain", "owned 1"), "speaker s is plain\na.1 -> lead 2.5 mm2 10 m -> s\n")
    found = in_band(report, "least-impedance", "a.1", 100, 400)
    assert found.low is not None
    assert found.low.value == pytest.approx(6.4 + 0.1596)
    said = over_band(report.figures, "load", "a.1", (100, 400))
    assert isinstance(said, str)
    assert "one figure for all frequencies" in said


def test_equal_channels_have_equal_figures_under_their_own_names() -> None:
    rig = "".join(f"speaker {name}[1..2] is own\n" for name in "st")
    rig += "a.1 -> lead 2.5 mm2 10 m -> s[1..2] linked 2.5 mm2 1 m\n"
    rig += "a.2 -> lead 2.5 mm2 10 m -> t[1..2] linked 2.5 mm2 1 m\n"
    spectrum = checked(speaker("own", CURVE), rig).figures.spectrum
    one, other = spectrum.channels["a.1"], spectrum.channels["a.2"]
    assert (one.key, other.key) == ("a.1", "a.2")
    assert one.least == other.least
    assert [box.key for box in other.boxes] == ["t[1]", "t[2]"]
    assert spectrum.boxes["t[2]"].loss == spectrum.boxes["s[2]"].loss
    assert other.least_box.startswith("t")


def test_a_sealed_box_with_its_resonance_raises_the_q_of_a_driver() -> None:
    """From 50 to 100 Hz both Q double; at 100 Hz the peak is still 6 + 48 ohm, at 200 Hz x = 1.5 with Qms = 8."""
    text = DRIVER.replace("; coil-inductance 1 mH", "") + "; box sealed 100 Hz }"
    report = checked(speaker("own", text, "20 Hz to 1 kHz"), "speaker s is own\na.1 -> s\n")
    for hz, ohm in ((100.0, 54.0), (200.0, abs(6 + 48 / (1 + 12j)))):
        found = in_band(report, "impedance", "s", hz, hz)
        assert found.high is not None
        assert found.high.value == pytest.approx(ohm, rel=1e-9)
