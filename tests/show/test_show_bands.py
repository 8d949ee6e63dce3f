"""What the tables about bands and crossovers say: figures, marks and notes, from rig text."""

from __future__ import annotations

import pytest

from rigspec.check import Report, check
from rigspec.show.tables import QUESTIONS
from rigspec.text.source import Refused, Source

RIG = """\
stock amp twin { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; gain 32 dB; input 20 kohm }
stock speaker top { impedance 8 ohm; band 60 Hz to 18 kHz }
stock speaker two-way {
  low { impedance 8 ohm; band 60 Hz to 1.2 kHz }
  high { impedance 8 ohm; band 1.2 kHz to 18 kHz }
}
stock processor cross { inputs 2; outputs 4; input 20 kohm; source 100 ohm }
feed f { level -20 dBu }
feed g { level -20 dBu; band 80 Hz to 16 kHz }
processor x is cross
x.1 { from a; high-pass 60 Hz 24 dB/octave butterworth; low-pass 1.2 kHz 24 dB/octave linkwitz-riley }
x.2 { from a; high-pass 1.2 kHz HIGH }
f -> x.a
amp a is twin
amp b is twin
speaker h is two-way
speaker t is top
x.1 -> a.1 -> h.low
x.2 -> a.2 -> h.high
g -> b.1 -> t
"""


def report(high: str) -> Report:
    return check(Source("rig.rig", RIG.replace("HIGH", high)), lambda using, used: Refused(used, "nothing is read"))


def rows(worked: Report, word: str) -> dict[object, dict[str, object]]:
    """The rows of a table by the thing that each is about."""
    question = QUESTIONS[word]
    found = [{column.key: column.get(each) for column in question.columns} for each in question.rows(worked.figures)]
    return {row[question.columns[0].key]: row for row in found}


def marked(worked: Report, word: str) -> dict[str, float]:
    question = QUESTIONS[word]
    assert question.worst is not None
    first = question.columns[0]
    return {str(first.get(each)): question.worst(each) for each in question.rows(worked.figures)}


def test_a_band_is_shown_from_edge_to_edge_with_what_is_left_below_it() -> None:
    """Linkwitz-Riley of 24 dB/octave: 6.02 dB down at the corner, 20 log 17 = 24.61 dB an octave below."""
    found = rows(report("24 dB/octave linkwitz-riley"), "bands")
    high, low, top = found["h.high"], found["h.low"], found["t"]
    assert high["from_hz"] == pytest.approx(1200)
    assert high["to_hz"] is None
    assert high["octave_below_db"] == pytest.approx(24.609, abs=1e-3)
    assert (high["low_slope_db"], high["high_slope_db"]) == (24, None)
    assert low["to_hz"] == pytest.approx(1200)
    assert low["from_3db_hz"] == pytest.approx(60)  # Butterworth: 3.01 dB down at its corner
    assert low["from_hz"] == pytest.approx(60 / 3 ** (1 / 8))  # 1 + x^8 = 4
    assert low["filters"] == [
        "x.1: high-pass 60 Hz 24 dB/octave butterworth",
        "x.1: low-pass 1.2 kHz 24 dB/octave linkwitz-riley",
    ]
    assert (top["from_hz"], top["to_hz"], top["octave_below_db"]) == (80, 16_000, None)
    assert (top["own_from_hz"], top["own_to_hz"], top["feeds"]) == (60, 18_000, ["g"])


def test_a_weak_high_pass_is_marked_and_a_steep_one_is_not() -> None:
    """Butterworth of 6 dB/octave: 10 log 5 = 6.99 dB an octave below its corner."""
    assert marked(report("6 dB/octave butterworth"), "bands")["h.high"] == pytest.approx(10 - 6.990, abs=1e-3)
    assert set(marked(report("24 dB/octave linkwitz-riley"), "bands").values()) == {0.0}


def test_a_crossover_is_shown_with_its_sum_and_with_one_side_turned() -> None:
    (crossover,) = rows(report("24 dB/octave linkwitz-riley"), "crossovers").values()
    assert (crossover["upper"], crossover["lower"], crossover["feed"]) == ("h.high", "h.low", "f")
    assert crossover["meet_hz"] == pytest.approx(1200)
    assert crossover["each_db"] == pytest.approx(-6.0206, abs=1e-4)
    assert crossover["dip_db"] == pytest.approx(0, abs=0.05)
    assert crossover["inverted_dip_db"] < -20  # type: ignore[operator]
    assert crossover["not_judged"] is None


def test_a_null_is_marked_and_what_is_not_known_is_said() -> None:
    turned = report("24 dB/octave linkwitz-riley; inverted")
    assert marked(turned, "crossovers")["h.high"] > 20
    (unknown,) = rows(report(""), "crossovers").values()
    assert (unknown["dip_db"], unknown["not_judged"]) == (None, "the slope of a filter is not given")
    assert marked(report(""), "crossovers")["h.high"] == 0


def test_what_was_taken_for_an_alignment_is_said() -> None:
    assumes = QUESTIONS["bands"].assumes
    assert assumes is not None
    assert list(assumes(report("24 dB/octave").figures)) == [
        ("a filter whose alignment is not given is taken as Butterworth", "h.high")
    ]
    assert list(assumes(report("24 dB/octave bessel").figures)) == []
