"""What opposed drive on one supply is worth, against circuit simulations, sources on rectifiers and the trade.

`supply_cases.json` holds 144 supplies at one tone each, and 21 half-bridge supplies, solved by ngspice 39 (a
centre-tapped transformer, four diodes, a reservoir on each rail, two class-B channels on resistances). Nothing of it
was measured on a real amplifier.
"""

from __future__ import annotations

import json
from math import pi, sin
from pathlib import Path
from time import perf_counter
from typing import Any

import pytest
from supplied import described, prospect_of, rated

from rigspec.figures.opposed import OpposedGain, OpposedModel, worth
from rigspec.rules.supply import COSTS_ABOVE
from rigspec.solve import pumping
from rigspec.solve.rails import Mains, gain, peak_volt
from rigspec.solve.supply import SupplyDraw, alone_w, gain_db, power_w, reservoir_x, switch_mode_gain
from rigspec.solve.supply_fit import Rating, fitted

CASES: dict[str, Any] = json.loads((Path(__file__).parent / "supply_cases.json").read_text())
BASS = [case for case in CASES["sweep"] if case["f_simulated"] < 120]
RATED = {}  # each supply with its highest tone, at which it is rated here
for _case in CASES["sweep"]:
    if _case["f_nominal"] == 200:
        RATED[_case["mains_hz"], _case["source"], _case["C_F"], _case["load_ohm"]] = _case


def pair(load_ohm: float) -> SupplyDraw:
    return SupplyDraw(1 / load_ohm, 1 / load_ohm)


def x_of(case: dict[str, Any]) -> float:
    return reservoir_x(case["mains_hz"], case["load_ohm"], case["C_F"])


def told(case: dict[str, Any], supply: str) -> tuple[OpposedModel, OpposedGain | None]:
    """What is said of two channels on a supply at the tone of a case, by the text of its rig."""
    made = prospect_of(supply, case["load_ohm"], case["mains_hz"], case["f_simulated"])
    return made, worth(made, case["f_simulated"])


def as_described(case: dict[str, Any], common: float | None) -> str:
    return described(case["emf_peak_V"], case["r_total_ohm"], case["C_F"], common)


def as_rated(case: dict[str, Any]) -> str:
    sheet = RATED[case["mains_hz"], case["source"], case["C_F"], case["load_ohm"]]
    watts = sheet["W_single_ngspice"], sheet["W_in_ngspice"]
    return rated(case["load_ohm"], *watts, case["C_F"], sheet["f_simulated"])


def judged(found: OpposedGain, case: dict[str, Any]) -> tuple[float, bool]:
    """How far a gain lies off, in points; and whether its range holds the reference."""
    expected = case["gain_percent_ngspice"]
    return 100 * found.gain - expected, 100 * found.low <= expected <= 100 * found.high


@pytest.mark.parametrize("common", [None, CASES["model"]["common_share"]])
def test_a_described_supply_is_within_one_point_and_its_range_is_true(common: float | None) -> None:
    """Also of small reservoirs, x below 1.2, of which a described supply may speak."""
    near = 0
    for case in BASS:
        _, found = told(case, as_described(case, common))
        assert found is not None, case
        off, inside = judged(found, case)
        assert inside, case
        near += abs(off) <= 1
        assert 0.029 < found.high - found.low < (0.0501 if common else 0.2), "the range is no excuse"
    assert near >= 0.95 * len(BASS)  # it was 106 of 108


def test_a_rated_supply_is_within_one_point_and_its_range_is_true() -> None:
    """Where two supplies show the same ratings the headline may be the other one's; the range holds both."""
    offs = []
    for case in BASS:
        made, found = told(case, as_rated(case))
        if x_of(case) < 1.2:
            assert found is None
            assert "below 1.2 ratings alone tell too little" in made.why
            continue
        assert found is not None, case
        off, inside = judged(found, case)
        assert inside, case
        offs.append(abs(off))
    assert len(offs) == 90
    assert sum(off <= 1 for off in offs) >= 0.9 * len(offs)  # it was 87
    assert sorted(offs)[len(offs) // 2] < 0.2


@pytest.mark.parametrize(("which", "draws"), [("W_in_ngspice", 2), ("W_single_ngspice", 1), ("W_anti_ngspice", 0)])
def test_simulated_power_agrees_with_the_circuit_simulator(which: str, draws: int) -> None:
    """Also the powers themselves, in phase, opposed and of one channel alone, within 2.5 % everywhere."""
    for case in CASES["sweep"][::5]:
        load = case["load_ohm"]
        draw = SupplyDraw(draws / load) if draws else pair(load)
        mains = Mains(case["emf_peak_V"], case["r_total_ohm"], case["C_F"], case["mains_hz"])
        assert power_w(peak_volt(mains, draw, case["f_simulated"]), load) == pytest.approx(case[which], rel=0.025), case


def test_a_gain_takes_a_few_milliseconds() -> None:
    took = []
    for case in CASES["sweep"]:
        start = perf_counter()
        gain(Mains(case["emf_peak_V"], 0.15, case["C_F"], case["mains_hz"]), pair(4), case["f_simulated"])
        took.append(perf_counter() - start)
    assert sorted(took)[len(took) // 2] < 0.02  # on a busy machine; it takes 3 ms


def test_worked_example() -> None:
    """4 ohm, 567 W alone, 500 W both driven, 10 mF, 40.41 Hz on 50 Hz mains: ngspice's family gives +15.3 %."""
    made = prospect_of(rated(4, 567, 500, 0.01, 1000), 4, 50, 40.41)
    found = worth(made, 40.41)
    assert found is not None
    assert 100 * found.gain == pytest.approx(15.3, abs=1)


RATINGS = [
    Rating(4, 567, 500),
    Rating(8, 300, 250),
    Rating(2, 900, 700),
    Rating(4, 640, 500, channels=4),
    Rating(4, 567, 500, hz=200),
]


@pytest.mark.parametrize("rating", RATINGS)
def test_every_fitted_supply_gives_both_ratings_back(rating: Rating) -> None:
    found = fitted(rating, 0.015 * rating.channels / rating.load_ohm, 50)
    assert found
    for made in found:
        alone, driven = (
            power_w(peak_volt(made, SupplyDraw(count / rating.load_ohm), rating.hz), rating.load_ohm)
            for count in (1, rating.channels)
        )
        assert alone == pytest.approx(rating.alone_watt, rel=0.005)
        assert driven == pytest.approx(rating.driven_watt, rel=0.005)


def test_two_supplies_that_give_the_same_ratings_are_both_found() -> None:
    """A small reservoir behind 0.05 ohm, rated at 200 Hz by ngspice: 0.2 ohm would be rated alike."""
    sheet = RATED[50, "small", 0.0047, 8.0]
    rating = Rating(8, sheet["W_single_ngspice"], sheet["W_in_ngspice"], hz=sheet["f_simulated"])
    soft, stiff = fitted(rating, 0.0047, 50)
    assert soft.ohm > 0.15
    assert stiff.ohm == pytest.approx(0.05, rel=0.1)


def test_ratings_that_contradict_give_no_supply() -> None:
    assert fitted(Rating(4, 500, 567), 0.01, 50) == ()
    assert fitted(Rating(4, 2100, 500), 0.01, 50) == ()
    assert fitted(Rating(4, 500, 500), 0.01, 50) != ()  # a stiff supply: ripple alone is left


def test_one_channel_alone_gives_twice_what_each_of_two_gives_into_twice_the_load() -> None:
    """Exact in class B (circuit theory)."""
    mains = Mains(75.0, 0.15, 0.01, 50.0)
    alone, driven = (power_w(peak_volt(mains, SupplyDraw(n / load), 43), load) for n, load in ((1, 4.0), (2, 8.0)))
    assert alone == pytest.approx(alone_w(driven), rel=1e-9)


# ---- the trade's "a few percent, perhaps ten" (common practice, no source), and where it holds ------------------


def of_family(x_low: float, x_high: float, hz: tuple[int, ...]) -> list[float]:
    return [
        case["gain_percent_ngspice"]
        for case in CASES["sweep"]
        if x_low <= reservoir_x(case["mains_hz"], case["load_ohm"], case["C_F"]) <= x_high and case["f_nominal"] in hz
    ]


def test_common_practice_a_few_percent_perhaps_ten() -> None:
    """Common practice: holds at x of about 4 to 5 and 40 to 50 Hz; and our computation says so too."""
    assert (simulated := of_family(3.9, 5.4, (50,)))
    assert all(1 <= found <= 10 for found in simulated)
    (sheet,) = fitted(Rating(8, 300, 280), 0.01, 50)
    assert all(0.01 <= gain(sheet, pair(8), hz) <= 0.10 for hz in (40, 45, 50))


def test_common_practice_says_too_little_in_the_deepest_bass() -> None:
    """x up to 2.4 at 30 to 40 Hz: more than ten percent."""
    assert (simulated := of_family(0.0, 2.41, (30,)))
    assert all(found > 10 for found in simulated)
    sheet = fitted(Rating(4, 567, 500), 0.01, 50)[0]
    assert all(gain(sheet, pair(4), hz) > 0.10 for hz in (30, 35, 40))


def test_common_practice_fails_above_the_mains_frequency() -> None:
    """80 to 100 Hz on 50 Hz mains, above 1.2 times the mains frequency: nothing, or a little less."""
    simulated = [
        case["gain_percent_ngspice"]
        for case in CASES["sweep"]
        if case["mains_hz"] == 50 and case["f_nominal"] == 80 and case["C_F"] >= 0.01
    ]
    assert simulated
    assert all(-9 <= found <= 0 for found in simulated)
    sheet = fitted(Rating(4, 567, 500), 0.01, 50)[0]
    assert all(-0.09 <= gain(sheet, pair(4), hz) <= 0.005 for hz in (80, 90, 100))
    assert COSTS_ABOVE * 50 < 80


# ---- reservoirs (handbooks of rectifier circuits; the exact solution of a stiff source) -------------------------


@pytest.mark.parametrize(("sag", "db"), [(0.05, -0.446), (0.10, -0.915)])
def test_sag_lowers_the_clip_level(sag: float, db: float) -> None:
    assert gain_db((1 - sag) ** 2 - 1) == pytest.approx(db, abs=0.001)


@pytest.mark.parametrize(("share", "db"), [(0.05, 0.21), (0.10, 0.41), (0.25, 0.97)])
def test_gain_in_decibels(share: float, db: float) -> None:
    assert gain_db(share) == pytest.approx(db, abs=0.005)


def test_switch_mode_gain_is_that_of_a_shared_resistance() -> None:
    """Circuit theory: E R/(R + 2r) in phase, E R/(R + r) opposed, across each load."""
    load, inside, emf = 4.0, 0.2, 100.0
    together, apart = emf * load / (load + 2 * inside), emf * load / (load + inside)
    assert switch_mode_gain(load, inside) == pytest.approx((apart / together) ** 2 - 1)
    assert switch_mode_gain(load, 0.0) == 0


# ---- pumping (International Rectifier RD-0617 and IRAUDAMP1 describe it; figures by ngspice and by quadrature) --


SURE_BELOW = 0.3
"""Up to this rise, as a share of the rail, the formula lies within 0 to 4 % of the simulations."""
_STEPS = 240
_MOST = 400  # cycles of the tone
_EVEN = 1e-5


def climbed_volt(
    rail_volt: float,
    source_ohm: float,
    hz: float,
    farad: float,
    normal_siemens: float,
    turned_siemens: float,
    swing: float,
) -> float:
    """The highest voltage of a rail, step by step: a supply that only feeds, outputs that feedback holds in shape.

    Unlike the formula it lets the rails move: a rail that has climbed takes and gives other shares. It ends when a
    cycle repeats the one before.
    """
    plus = minus = highest = rail_volt
    step_s = 1 / (hz * _STEPS)
    volts = [rail_volt * swing * sin(2 * pi * (k + 0.5) / _STEPS) for k in range(_STEPS)]
    for _ in range(_MOST):
        before, highest = (plus, minus), 0.0
        for volt in volts:
            both, charge_plus, charge_minus = plus + minus, 0.0, 0.0
            for siemens, out in ((normal_siemens, volt), (turned_siemens, -volt)):
                ampere = siemens * out
                charge_plus -= ampere * (minus + out) / both  # the share of time on the plus rail
                charge_minus += ampere * (plus - out) / both
            plus = _fed(plus + charge_plus * step_s / farad, rail_volt, step_s / (source_ohm * farad))
            minus = _fed(minus + charge_minus * step_s / farad, rail_volt, step_s / (source_ohm * farad))
            highest = max(highest, plus, minus)
        if abs(plus - before[0]) + abs(minus - before[1]) < _EVEN * rail_volt:
            break
    return highest


def _fed(volt: float, source_volt: float, share: float) -> float:
    """A rail behind a supply that feeds what is lower than itself and takes nothing back (implicit step)."""
    return volt if volt >= source_volt else (volt + share * source_volt) / (1 + share)


def test_pumping_within_four_percent_of_the_rail() -> None:
    sure = 0
    for case in CASES["pumping"]:
        volt, load = case["V"], case["R"]
        formula = volt + pumping.rise_volt(volt, case["f"], load, case["C"], case["M"], 2)
        in_phase = climbed_volt(volt, case["Rs"], case["f"], case["C"], 2 / load, 0.0, case["M"])
        opposed = climbed_volt(volt, case["Rs"], case["f"], case["C"], 1 / load, 1 / load, case["M"])
        assert in_phase == pytest.approx(case["spice_in"], abs=0.04 * volt), case
        assert opposed == pytest.approx(case["spice_anti"], abs=0.01 * volt), case
        if formula - volt < SURE_BELOW * volt:
            sure += 1
            assert formula == pytest.approx(case["spice_in"], abs=0.04 * volt), case
    assert sure > 10


@pytest.mark.parametrize(
    ("rail", "hz", "load", "farad", "worst", "full", "low"),
    [
        (50, 20, 4, 0.01, 3.166, 2.135, 2.281),
        (50, 20, 4, 0.001, 31.66, 21.35, 22.81),
        (75, 30, 2, 0.01, 6.333, 4.269, 4.562),
        (60, 50, 8, 0.0022, 3.454, 2.329, 2.488),
        (100, 25, 4, 0.022, 2.303, 1.553, 1.659),
    ],
)
def test_pumping_by_quadrature(
    rail: float, hz: float, load: float, farad: float, worst: float, full: float, low: float
) -> None:
    """Worst at 2/pi of the rail, 40.5 % of full power; 67.4 % of that at full swing; twice with two in phase."""
    assert pumping.rise_volt(rail, hz, load, farad, 2 / pi) == pytest.approx(worst, rel=5e-4)
    assert pumping.rise_volt(rail, hz, load, farad, 1.0) == pytest.approx(full, rel=5e-4)
    assert pumping.rise_volt(rail, hz, load, farad, 0.3) == pytest.approx(low, rel=5e-4)
    assert pumping.left_volt(rail, hz, farad, 2 / load, 0.0, 2 / pi) == pytest.approx(2 * worst, rel=5e-4)
    assert pumping.left_volt(rail, hz, farad, 1 / load, 1 / load, 2 / pi) == 0


def test_pumping_left_by_unequal_loads() -> None:
    """4 ohm against 8 ohm at 50 V, 20 Hz, 10 mF (step by step, quadrature): 0.526 V at 0.2 and 0.076 V at 0.637."""
    assert pumping.left_volt(50, 20, 0.01, 0.25, 0.125, 0.2) == pytest.approx(0.526, abs=0.001)
    assert pumping.left_volt(50, 20, 0.01, 0.25, 0.125, 0.637) == pytest.approx(0.076, abs=0.001)
    assert pumping.most_left_volt(50, 20, 0.01, 0.25, 0.2)[0] == pytest.approx(0.07, abs=0.005)
    for swing in (0.2, 0.637, 1.0):
        stepped = climbed_volt(50, 0.01, 20, 0.01, 0.25, 0.125, swing) - 50
        assert stepped == pytest.approx(pumping.left_volt(50, 20, 0.01, 0.25, 0.125, swing), abs=0.02)


def test_reactive_load_pumps_more() -> None:
    """With the load angle the returned share grows; at 90 degrees all of it comes back (circuit theory)."""
    resistive = pumping.rise_volt(70, 30, 4, 0.01, 0.637, 2)
    assert pumping.rise_volt(70, 30, 4, 0.01, 0.637, 2, angle=pi / 4) > resistive
    assert pumping.rise_volt(70, 30, 4, 0.01, 0.637, 2, angle=pi / 2) == pytest.approx(
        2 * 70 * 2 * 0.637 / (2 * 2 * pi * 30 * 4 * 0.01)
    )
