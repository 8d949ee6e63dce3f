"""Networks of amplifiers, leads and loads against figures that were computed elsewhere."""

import json
from math import log10, pi, sqrt
from pathlib import Path

import pytest

from rigspec.solve.network import CircuitSource, Element, Solution, solve

# Solved by ngspice (operating point, or AC analysis at the frequency given) and printed with 7 significant digits.
SPICE = json.loads(Path(__file__).with_name("network_cases.json").read_text(encoding="utf-8"))["cases"]
PRINTED = 1e-6


def impedance(record: dict, frequency: float | None) -> complex:
    """Ohms alone when the case is rated, ohms and henries at its frequency when it is not."""
    if frequency is None:
        return record["ohms"]
    return complex(record["ohms"], 2 * pi * frequency * record.get("henry", 0.0))


def solve_case(case: dict) -> tuple[Solution, list[str]]:
    """Solve one case, each amplifier channel as one source; also the names of its wires."""
    frequency = case["frequency_hz"]
    of_kind = {kind: [item for item in case["elements"] if item["kind"] == kind] for kind in ("source", "wire", "load")}
    behind = {item["a"]: item for item in case["elements"] if item["kind"] == "output_resistance"}
    sources = [
        CircuitSource(
            item["id"], behind[item["a"]]["b"], item["b"], item["volts"] * item["polarity"], behind[item["a"]]["ohms"]
        )
        for item in of_kind["source"]
    ]
    elements = [
        Element(item["id"], item["a"], item["b"], impedance(item, frequency))
        for item in of_kind["wire"] + of_kind["load"]
    ]
    return solve(elements, sources), [item["id"] for item in of_kind["wire"]]


@pytest.mark.parametrize("case", SPICE, ids=lambda case: f"{case['id']} {case['note']}")
def test_agrees_with_spice(case: dict) -> None:
    solution, wires = solve_case(case)
    expected = case["results"]
    assert expected["loads"]
    assert expected["amplifiers"]
    for name, figures in expected["loads"].items():
        load = solution.elements[name]
        found = {"volts": abs(load.voltage_volt), "amps": abs(load.current_ampere), "watts": load.power_watt}
        assert found == pytest.approx(figures, rel=PRINTED), name
    for name, figures in expected["amplifiers"].items():
        channel = solution.sources[name]
        assert channel.seen_ohm is not None
        found = {
            "amps": abs(channel.current_ampere),
            "terminal_volts": abs(channel.terminal_volt),
            "terminal_watts": channel.power_watt,
            "ohms_seen": abs(channel.seen_ohm),
            "ohms_seen_real": channel.seen_ohm.real,
            "ohms_seen_imag": channel.seen_ohm.imag,
        }
        assert {key: found[key] for key in figures} == pytest.approx(figures, rel=PRINTED), name
    lost = sum(solution.elements[name].power_watt for name in wires)
    assert lost == pytest.approx(expected["wire_loss_watts"], rel=PRINTED)


def seen_ohm(elements: list[Element]) -> complex | None:
    """What a source between the two nodes sees."""
    return solve(elements, [CircuitSource("meter", "hot", "return", 1.0, 1.0)], "return").sources["meter"].seen_ohm


# Ohm's and Kirchhoff's laws worked by hand; no further source.
@pytest.mark.parametrize(
    ("loads", "expected"),
    [((8, 8), 4), ((8, 8, 8), 2.6667), ((8, 4), 2.6667), ((16, 8, 4), 2.2857), ((4, 4, 4), 1.3333)],
)
def test_parallel_loads(loads: tuple[float, ...], expected: float) -> None:
    elements = [Element(f"box {index}", "hot", "return", ohms) for index, ohms in enumerate(loads)]
    assert seen_ohm(elements) == pytest.approx(expected, abs=5e-5)


def test_series_parallel_loads() -> None:
    pair = [Element("1", "hot", "x", 8), Element("2", "x", "return", 8)]
    twin = [Element("3", "hot", "y", 8), Element("4", "y", "return", 8)]
    assert seen_ohm(pair) == pytest.approx(16)
    assert seen_ohm(pair + twin) == pytest.approx(8)


def test_unequal_boxes_at_one_voltage_share_power_as_one_over_impedance() -> None:
    boxes = [Element("8", "hot", "0", 8), Element("4", "hot", "0", 4)]
    solution = solve(boxes, [CircuitSource("A", "hot", "0", 40, 0)])
    assert solution.elements["8"].power_watt == pytest.approx(200)
    assert solution.elements["4"].power_watt == pytest.approx(400)


def test_bridged_pair_doubles_the_voltage_and_each_half_sees_half_the_load() -> None:
    # ngspice: two EMFs of +40 V and -40 V with 16 ohm between their hot poles give 80 V and 5 A.
    solution = solve(
        [Element("box", "A+", "B+", 16)], [CircuitSource("A", "A+", "0", 40, 0), CircuitSource("B", "B+", "0", -40, 0)]
    )
    assert solution.elements["box"].voltage_volt == pytest.approx(80)
    assert solution.elements["box"].current_ampere == pytest.approx(5)
    assert solution.elements["box"].power_watt == pytest.approx(400)
    assert [solution.sources[name].seen_ohm for name in "AB"] == pytest.approx([8, 8])


# Distributed lines: 26.6 and 15.96 ohm/km of loop are twice the greatest resistances at 20 °C of IEC 60228 class 5
# (13.3 for 1.5 mm²; 7.98 for 2.5 mm²), as quoted in secondary tables; the results follow from Ohm's law.
LOOP_OHM_PER_METRE = {1.5: 0.0266, 2.5: 0.01596}


@pytest.mark.parametrize(
    ("line", "watts", "metres", "square", "load_volt", "loss_db", "load_watt", "lead_watt"),
    [
        (100, 120, 100, 1.5, 96.907, -0.2729, 112.69, 3.60),
        (sqrt(5000), 120, 100, 1.5, 66.467, -0.5375, 106.03, 6.77),
        (100, 240, 200, 2.5, 92.884, -0.6412, 207.06, 15.86),
        (sqrt(5000), 240, 200, 2.5, 61.316, -1.2382, 180.46, 27.65),
    ],
)
def test_line_with_all_taps_at_the_far_end(
    line: float,
    watts: float,
    metres: float,
    square: float,
    load_volt: float,
    loss_db: float,
    load_watt: float,
    lead_watt: float,
) -> None:
    half = LOOP_OHM_PER_METRE[square] * metres / 2
    elements = [
        Element("out", "hot", "a", half),
        Element("taps", "a", "b", line**2 / watts),
        Element("back", "b", "0", half),
    ]
    state = solve(elements, [CircuitSource("A", "hot", "0", line, 0)]).elements
    assert state["taps"].voltage_volt == pytest.approx(load_volt, abs=5e-4)
    assert 20 * log10(abs(state["taps"].voltage_volt) / line) == pytest.approx(loss_db, abs=5e-5)
    assert state["taps"].power_watt == pytest.approx(load_watt, abs=5e-3)
    assert state["out"].power_watt + state["back"].power_watt == pytest.approx(lead_watt, abs=5e-3)


def spread_taps(line: float, taps: int, metres: float, square: float) -> Solution:
    """Taps of 12 W at even distances along a line, the last one at its end."""
    half = LOOP_OHM_PER_METRE[square] * metres / taps / 2
    elements = []
    for tap in range(1, taps + 1):
        before_out, before_back = (f"out {tap - 1}", f"back {tap - 1}") if tap > 1 else ("hot", "0")
        elements += [
            Element(f"run {tap} out", before_out, f"out {tap}", half),
            Element(f"run {tap} back", f"back {tap}", before_back, half),
            Element(f"tap {tap}", f"out {tap}", f"back {tap}", line**2 / 12),
        ]
    return solve(elements, [CircuitSource("A", "hot", "0", line, 0)])


@pytest.mark.parametrize(
    ("line", "taps", "metres", "square", "last_volt", "last_db", "all_watt"),
    [
        (100, 10, 100, 1.5, 98.270, -0.1516, 117.11),
        (sqrt(5000), 10, 100, 1.5, 68.299, -0.3014, 114.34),
        (100, 20, 200, 2.5, 96.109, -0.3447, 227.42),
        (sqrt(5000), 20, 200, 2.5, 65.381, -0.6807, 215.96),
    ],
)
def test_line_with_taps_spread_evenly(
    line: float, taps: int, metres: float, square: float, last_volt: float, last_db: float, all_watt: float
) -> None:
    state = spread_taps(line, taps, metres, square).elements
    last = abs(state[f"tap {taps}"].voltage_volt)
    assert last == pytest.approx(last_volt, abs=5e-4)
    assert 20 * log10(last / line) == pytest.approx(last_db, abs=5e-5)
    total = sum(state[f"tap {tap}"].power_watt for tap in range(1, taps + 1))
    assert total == pytest.approx(all_watt, abs=5e-3)


def test_first_and_last_tap_agree_with_spice() -> None:
    # ngspice, operating point of the first row above.
    state = spread_taps(100, 10, 100, 1.5).elements
    assert state["tap 1"].voltage_volt == pytest.approx(99.68467, abs=5e-6)
    assert state["tap 10"].voltage_volt == pytest.approx(98.26981, abs=5e-6)
