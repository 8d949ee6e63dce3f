"""Distributed lines against published tap tables, a circuit simulator and a worked example of sizing.

Z = V^2/P: standards SE-101-A and SE-106 of 1949, as a public page (proav.de, audio/70V) reproduces them; the tables of
another (qsl.net, wa7zcz, page 11) and the load figures of a third (scribd 508578307). Resistances: IEC 60228 class 5.
"""

from __future__ import annotations

from math import sqrt

import pytest

from rigspec.check import Report, check
from rigspec.figures.lines import least_line_ohm
from rigspec.solve.conductor import conductor_ohm_per_m
from rigspec.solve.decibel import insertion_loss_db, ratio_to_gain
from rigspec.solve.line import (
    LINE_70_VOLT,
    after_transformer_w,
    area_mm2,
    exact_volt,
    headroom_db,
    load_ohm,
    most_taps_w,
    tap_ohm,
    tap_takes_w,
)
from rigspec.solve.network import CircuitSource, Element, Solution, solve
from rigspec.text.source import Refused
from rigspec.text.source import Source as Text

ROOT = sqrt(5000)


@pytest.mark.parametrize(
    ("watt", "ohm_70", "ohm_100"),
    [
        (1, 5000, 10_000),
        (2, 2500, 5000),
        (5, 1000, 2000),
        (6, 833.33, 1666.7),
        (10, 500, 1000),
        (30, 166.67, 333.33),
        (120, 41.667, 83.333),
        (250, 20, 40),
        (500, 10, 20),
    ],
)
def test_the_impedance_of_a_tap(watt: float, ohm_70: float, ohm_100: float) -> None:
    """1 W to 10 W at 70.7 V as the page lists them; the rest is 5000/P and 10 000/P."""
    assert tap_ohm(ROOT, watt) == pytest.approx(ohm_70, rel=5e-5)
    assert tap_ohm(100, watt) == pytest.approx(ohm_100, rel=5e-5)


def test_a_line_of_70_7_volts_has_the_root_of_5000() -> None:
    assert pytest.approx(70.7107, abs=5e-5) == LINE_70_VOLT
    assert exact_volt(70) == exact_volt(70.7) == exact_volt(70.71) == LINE_70_VOLT
    assert [exact_volt(volt) for volt in (25, 50, 69, 72, 100, 140)] == [25, 50, 69, 72, 100, 140]
    assert tap_ohm(exact_volt(70.7), 1) == pytest.approx(5000)
    assert tap_ohm(70.7, 1) == pytest.approx(4998.5, abs=0.05)  # the rounded figure: 0.03 % less


def test_the_load_of_a_line() -> None:
    """100 W: 100 ohm at 100 V and 49.98 ohm at the rounded 70.7 V (scribd 508578307)."""
    assert load_ohm(100, [60, 40]) == pytest.approx(100)
    assert load_ohm(70.7, [100]) == pytest.approx(49.98, abs=0.005)
    assert load_ohm(ROOT, [100]) == pytest.approx(50)
    assert load_ohm(100, []) == float("inf")


def test_the_sum_of_taps_against_the_amplifier() -> None:
    """6 + 10 + 10 W need 26 W: an amplifier of 30 W (qsl.net); 20 % left free (common practice) would take 32.5 W."""
    taps = 6 + 10 + 10
    assert load_ohm(ROOT, [6, 10, 10]) == pytest.approx(5000 / taps)
    assert headroom_db(30, taps) > 0
    assert most_taps_w(32.5) == pytest.approx(26)
    assert most_taps_w(30) == pytest.approx(24)


@pytest.mark.parametrize(
    ("made_for", "line", "times", "gain_db"),
    [(100, ROOT, 0.5, -3.01), (ROOT, 100, 2.0, 3.01), (ROOT, 25, 1 / 8, -9.03)],
)
def test_taps_on_the_wrong_line(made_for: float, line: float, times: float, gain_db: float) -> None:
    assert tap_takes_w(12, made_for, line) == pytest.approx(12 * times)
    assert ratio_to_gain(line / made_for) == pytest.approx(gain_db, abs=5e-3)


def test_a_transformer_that_costs_1_db_passes_794_thousandths() -> None:
    """1 dB is common practice, no source; 10^(-0.1) = 0.794."""
    assert after_transformer_w(30, 1.0) == pytest.approx(30 * 0.794, rel=5e-4)


# ---- leads ----------------------------------------------------------------------------------------------------------


def ladder(volt: float, taps: int, tap_watt: float, length_m: float, size_mm2: float) -> Solution:
    """Taps spread evenly over a lead, the last one at its far end."""
    ohm = conductor_ohm_per_m(area_mm2=size_mm2).ohm_per_m * length_m / taps
    elements = []
    near = ("plus0", "0")
    for number in range(1, taps + 1):
        here = (f"plus{number}", f"minus{number}")
        elements += [
            Element(f"out{number}", near[0], here[0], ohm),
            Element(f"back{number}", near[1], here[1], ohm),
            Element(f"tap{number}", *here, tap_ohm(volt, tap_watt)),
        ]
        near = here
    return solve(elements, [CircuitSource("line", "plus0", "0", volt, 0.0)])


# Solved by ngspice (operating point): volts at the first and the last tap, amperes out of the amplifier.
LADDERS = [
    (100, 10, 12, 100, 1.5, 99.68466815, 98.26981344, 1.18545809, -0.1516, 117.11),
    (ROOT, 10, 12, 100, 1.5, 70.27005187, 68.29876287, 1.65648966, -0.3014, 114.34),
    (100, 20, 12, 200, 2.5, 99.62715872, 96.10872831, 2.33609824, -0.3447, 227.42),
    (ROOT, 20, 12, 200, 2.5, 70.19695204, 65.38099325, 3.21883508, -0.6807, 215.96),
]


@pytest.mark.parametrize(("volt", "taps", "watt", "metres", "mm2", "first", "last", "ampere", "db", "total"), LADDERS)
def test_taps_spread_over_a_lead(
    volt: float,
    taps: int,
    watt: float,
    metres: float,
    mm2: float,
    first: float,
    last: float,
    ampere: float,
    db: float,
    total: float,
) -> None:
    solution = ladder(volt, taps, watt, metres, mm2)
    across = [abs(solution.elements[f"tap{number}"].voltage_volt) for number in range(1, taps + 1)]
    assert across[0] == pytest.approx(first, rel=1e-8)
    assert across[-1] == pytest.approx(last, rel=1e-8)
    assert across == sorted(across, reverse=True)
    assert abs(solution.sources["line"].current_ampere) == pytest.approx(ampere, rel=1e-8)
    assert ratio_to_gain(across[-1] / volt) == pytest.approx(db, abs=5e-5)
    assert sum(solution.elements[f"tap{n}"].power_watt for n in range(1, taps + 1)) == pytest.approx(total, abs=5e-3)


@pytest.mark.parametrize(
    ("volt", "watt", "metres", "mm2", "far_volt", "db", "load_watt", "lead_watt"),
    [
        (100, 120, 100, 1.5, 96.907, -0.2729, 112.69, 3.60),
        (ROOT, 120, 100, 1.5, 66.467, -0.5375, 106.03, 6.77),
        (100, 240, 200, 2.5, 92.884, -0.6412, 207.06, 15.86),
        (ROOT, 240, 200, 2.5, 61.316, -1.2382, 180.46, 27.65),
    ],
)
def test_all_taps_at_the_far_end(
    volt: float,
    watt: float,
    metres: float,
    mm2: float,
    far_volt: float,
    db: float,
    load_watt: float,
    lead_watt: float,
) -> None:
    """Voltage divider with IEC 60228 class 5 at 20 degC; worked out apart from this code."""
    loop_ohm = 2 * metres * conductor_ohm_per_m(area_mm2=mm2).ohm_per_m
    solution = ladder(volt, 1, watt, metres, mm2)
    tap = solution.elements["tap1"]
    assert abs(tap.voltage_volt) == pytest.approx(far_volt, abs=5e-4)
    assert tap.power_watt == pytest.approx(load_watt, abs=5e-3)
    assert solution.elements["out1"].power_watt * 2 == pytest.approx(lead_watt, abs=5e-3)
    assert -insertion_loss_db(loop_ohm, tap_ohm(volt, watt)) == pytest.approx(db, abs=5e-5)


def test_the_conductor_that_a_line_needs() -> None:
    """100 W at 100 V over 300 m with 10 % lost: 0.945 mm2 by A = 0.035 (100 - n) l P/(n U^2) (scribd 508578307).

    There n is the share of the amplifier's power that the lead takes; the page calls 10 % a loss of 1 dB.
    """
    size = area_mm2(0.10, 100, 100, 300, ohm_mm2_per_m=0.0175)
    assert size == pytest.approx(0.945, abs=5e-4)
    assert size == pytest.approx(0.035 * (100 - 10) * 300 * 100 / (10 * 100**2))
    loop_ohm = 2 * 300 * 0.0175 / size
    lead = Element("lead", "plus", "far", loop_ohm)
    solution = solve(
        [lead, Element("taps", "far", "0", tap_ohm(100, 100))], [CircuitSource("line", "plus", "0", 100, 0.0)]
    )
    line = solution.sources["line"]
    assert solution.elements["lead"].power_watt / line.power_watt == pytest.approx(0.10)
    assert solution.elements["taps"].power_watt == pytest.approx(81)
    assert ratio_to_gain(abs(solution.elements["taps"].voltage_volt) / 100) == pytest.approx(-0.915, abs=5e-4)


@pytest.mark.parametrize("share", [0, 1, -0.1, 1.5])
def test_a_lead_cannot_lose_nothing_or_everything(share: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        area_mm2(share, 100, 100, 300)


# ---- from a rig's text to its figures -------------------------------------------------------------------------------


def worked(volt: str, path: str, stock: str = "", more: str = "") -> Report:
    """A line amplifier with boxes of one tap."""
    return check(
        Text(
            "rig.rig",
            f"stock amp kind {{ channels 2; line {volt}; rated 500 W at {volt}; gain 36 dB; input 20 kohm }}\n"
            f"stock speaker horn {{ taps 6 W, 12 W, 30 W at {volt}; band 200 Hz to 8 kHz; {stock} }}\n"
            f"feed f {{ level -20 dBu; band 150 Hz to 8 kHz }}\namp a is kind\n{more}\nf -> a.1 -> {path}\n",
        ),
        lambda path, used: Refused(used, "nothing is used here"),
    )


@pytest.mark.parametrize(("volt", "taps", "watt", "metres", "mm2", "first", "last", "ampere", "db", "total"), LADDERS)
def test_a_rig_with_taps_spread_over_a_lead(
    volt: float,
    taps: int,
    watt: float,
    metres: float,
    mm2: float,
    first: float,
    last: float,
    ampere: float,
    db: float,
    total: float,
) -> None:
    step = f"{mm2} mm2 {metres / taps} m"
    report = worked(
        "100 V" if volt == 100 else "70.7 V",
        f"lead {step} -> h[1..{taps}] linked {step}",
        more=f"speaker h[1..{taps}] is horn {{ tap {watt} W }}",
    )
    line, found = report.figures.lines.channels["a.1"], report.figures.lines.taps
    assert found["h[1]"].volt == pytest.approx(first, rel=1e-8)
    assert found[f"h[{taps}]"].volt == pytest.approx(last, rel=1e-8)
    assert line.worst.box.key == f"h[{taps}]"
    assert line.worst.box.loss_db == pytest.approx(-db, abs=5e-5)
    assert sum(tap.takes_w for tap in line.taps) == pytest.approx(total, abs=5e-3)
    assert volt / line.channel.load_ohm == pytest.approx(ampere, rel=1e-8)
    assert line.taps_w == pytest.approx(taps * watt)


def test_the_figures_of_a_line() -> None:
    """4 boxes of 30 W on 100 V: 120 W, 83.33 ohm, 66.67 ohm at the least (80 %, IEC 60268-5); 500 W leave 76 % free."""
    report = worked("100 V", "parallel(h[1], h[2], h[3], h[4])", more="speaker h[1..4] is horn { tap 30 W }")
    line = report.figures.lines.channels["a.1"]
    assert line.taps_w == pytest.approx(120)
    assert line.taps_ohm == pytest.approx(83.333, abs=5e-4)
    assert line.free == pytest.approx(0.76)
    assert least_line_ohm(report.figures, line) == pytest.approx(66.667, abs=5e-4)


def test_insertion_loss_is_counted_where_the_stock_gives_it() -> None:
    given, absent = (
        worked("100 V", "h", stock, "speaker h is horn { tap 30 W }").figures.lines.taps["h"]
        for stock in ("insertion-loss 1 dB", "")
    )
    assert given.takes_w == pytest.approx(30)
    assert given.behind_w == pytest.approx(23.83, abs=5e-3)
    assert absent.behind_w is None


@pytest.mark.parametrize(
    ("line", "made_for", "asks"), [("70.7 V", "100 V", 15), ("100 V", "70.7 V", 60), ("25 V", "70.7 V", 3.75)]
)
def test_a_tap_on_another_line(line: str, made_for: str, asks: float) -> None:
    """Half the power, double the power, an eighth: 30 W taps, by (V/V made for)^2."""
    report = worked(
        line, "k", more=f"stock speaker other {{ taps 30 W at {made_for} }}\nspeaker k is other {{ tap 30 W }}"
    )
    assert report.figures.lines.taps["k"].asks_w == pytest.approx(asks)
