"""Networks that we make up, solved by the circuit simulator ngspice while the tests run, against our own solver.

With RIGSPEC_SEARCH=1 in the environment other networks are made at each run; a failure names the seed.
"""

from __future__ import annotations

import os
from cmath import rect
from pathlib import Path
from random import Random, SystemRandom

import pytest
from random_networks import SORTS, network
from simulated_rigs import RigMaker, Simulated, driver_kinds, level_db, rated_kinds
from simulator import Answer, Branch, Emf, Network, simulate

from rigspec.check import Report, check
from rigspec.figures.over_band import OverBand, over_band
from rigspec.solve.network import CircuitSource, Element, Solution, solve
from rigspec.text.source import Refused
from rigspec.text.source import Source as Text

SEED = SystemRandom().randrange(10**6) if os.environ.get("RIGSPEC_SEARCH") else 20260
COUNT = 260
SWEEP = "dec 2 20 20k"  # 20, 63.2, 200, 632, 2000, 6325 and 20000 Hz
PROMISED = 1e-3  # within 0.1 %
# What is below this share of the largest of its network is what cancels there; the simulator's doubles end near it.
BALANCED = 1e-6


def solved(made: Network, hertz: float) -> Solution:
    elements = [Element(item.name, item.a, item.b, item.impedance(hertz)) for item in made.branches]
    sources = [
        CircuitSource(item.name, item.a, item.b, rect(item.volt, item.phase), item.impedance(hertz))
        for item in made.sources
    ]
    return solve(elements, sources)


def off(found: complex, expected: complex, floor: float) -> float:
    """How far off a figure is, relatively; what is smaller than the floor is taken relative to that."""
    return abs(found - expected) / max(abs(expected), floor, 1e-300)


def deviations(made: Network, answer: Answer) -> dict[str, float]:
    """Of every voltage, current, power and impedance of a network at one frequency."""
    ours = solved(made, answer.hertz)
    volts = BALANCED * max(map(abs, answer.volt.values()))
    amperes = BALANCED * max(map(abs, answer.ampere.values()))
    found = {f"volt of node {node}": off(ours.voltage_volt[node], volt, volts) for node, volt in answer.volt.items()}
    for branch in made.branches:
        state, ampere = ours.elements[branch.name], answer.ampere[branch.name]
        found[f"ampere of {branch.name}"] = off(state.current_ampere, ampere, amperes)
        # By its current: of a short lead the difference of two node voltages has few digits left in the simulator.
        impedance = branch.impedance(answer.hertz)
        found[f"volt of {branch.name}"] = off(state.voltage_volt, ampere * impedance, amperes * abs(impedance))
        watt, least = abs(ampere) ** 2 * impedance.real, amperes**2 * abs(impedance)
        found[f"watt of {branch.name}"] = off(state.power_watt, watt, max(least, 1e-9 * abs(ampere**2 * impedance)))
    for source in made.sources:
        gives, ampere = ours.sources[source.name], answer.ampere[source.name]
        terminal = answer.volt[source.a] - answer.volt[source.b]
        found[f"ampere of {source.name}"] = off(gives.current_ampere, ampere, amperes)
        found[f"terminal volt of {source.name}"] = off(gives.terminal_volt, terminal, volts)
        if abs(ampere) > amperes:
            assert gives.seen_ohm is not None
            found[f"ohms seen by {source.name}"] = off(gives.seen_ohm, terminal / ampere, 0.0)
    return found


def test_every_figure_of_random_networks_agrees_with_the_simulator(tmp_path: Path) -> None:
    random = Random(SEED)
    networks = [network(random, SORTS[number % len(SORTS)]) for number in range(COUNT)]
    answers = simulate(networks, SWEEP, tmp_path)
    compared = 0
    for number, (made, points) in enumerate(zip(networks, answers, strict=True)):
        assert len(points) == 7
        for answer in points:
            found = deviations(made, answer)
            compared += len(found)
            wrong = {name: share for name, share in found.items() if not share <= PROMISED}
            where = f"seed {SEED}, network {number}, a {made.note}, {answer.hertz:g} Hz"
            assert not wrong, f"{where}: off by {wrong}\n{made.branches}\n{made.sources}"
    assert compared > COUNT * 7 * 30


def test_the_simulator_is_heard_when_it_cannot_solve(tmp_path: Path) -> None:
    """Two ideal sources side by side are singular, and that must not pass for an answer."""
    sources = (Emf("one", "1", "0", 10.0), Emf("other", "1", "0", 10.0))
    doubled = Network("doubled", (Branch("load", "1", "0", 8.0),), sources)
    with pytest.raises(AssertionError, match=r"ngspice (ended|complained)"):
        simulate([doubled], SWEEP, tmp_path)


# ---- whole rigs


def checked(text: str) -> Report:
    report = check(Text("made.rig", text), lambda path, used: Refused(used, "nothing is used here"))
    assert not report.figures.rig.findings, text
    return report


def compare_rig(text: str, channels: list[Simulated], answers: list[list[Answer]]) -> None:
    report = checked(text)
    for made, points in zip(channels, answers, strict=True):
        ours = report.figures.channels[made.key]
        for answer in points:
            assert ours.load_ohm == pytest.approx(1 / abs(answer.ampere["emf"]), rel=PROMISED), text
            for key, branch in made.boxes.items():
                ends = next(item for item in made.network.branches if item.name == branch)
                share = abs(answer.volt[ends.a] - answer.volt[ends.b])
                assert report.figures.boxes[key].share_volt == pytest.approx(share, rel=PROMISED), (key, text)
            assert len(ours.leads) == len(made.leads)
            assert ours.rated_volt is not None
            for lead, expected in zip(
                sorted(ours.leads, key=lambda lead: (lead.piece.span.start, lead.piece.b)), made.leads, strict=True
            ):
                ampere = abs(answer.ampere[expected.out])
                near, far = (answer.volt[a] - answer.volt[b] for a, b in (expected.near, expected.far))
                assert lead.loop_ohm == pytest.approx(expected.loop_ohm, rel=1e-9), text
                assert lead.ampere == pytest.approx(ampere * ours.rated_volt, rel=PROMISED), text
                watt = (ampere * ours.rated_volt) ** 2 * expected.loop_ohm
                assert lead.watt == pytest.approx(watt, rel=2 * PROMISED), text
                assert lead.loss_db == pytest.approx(level_db(near, far), rel=PROMISED, abs=1e-9), text


def test_loads_box_volts_and_lead_losses_of_whole_rigs_agree_with_the_simulator(tmp_path: Path) -> None:
    random = Random(SEED)
    makers = [RigMaker(random, rated_kinds(random)) for _ in range(12)]
    texts = [maker.rig(outputs=3) for maker in makers]
    answers = simulate([made.network for maker in makers for made in maker.channels], "lin 1 100 100", tmp_path)
    for text, maker in zip(texts, makers, strict=True):
        of_rig, answers = answers[: len(maker.channels)], answers[len(maker.channels) :]
        compare_rig(text, maker.channels, of_rig)


# ---- the same over frequency, with drivers in place of rated impedances


def at(report: Report, word: str, key: str, hertz: float) -> tuple[float, float]:
    """The least and the greatest of a figure at one frequency, 0 for what is not known."""
    over = over_band(report.figures, word, key, (hertz, hertz))
    assert isinstance(over, OverBand), over
    return over.low.value if over.low else 0.0, over.high.value if over.high else 0.0


def compare_drivers(text: str, channels: list[Simulated], answers: list[list[Answer]]) -> None:
    report = checked(text)
    for made, points in zip(channels, answers, strict=True):
        volt = report.figures.channels[made.key].rated_volt
        assert volt is not None
        for answer in points[::3]:
            seen = 1 / abs(answer.ampere["emf"])
            assert at(report, "load", made.key, answer.hertz) == pytest.approx((seen, seen), rel=PROMISED), text
            least = at(report, "least-impedance", made.key, answer.hertz)[0]
            assert least == pytest.approx(seen, rel=PROMISED), text
            for key, branch in made.boxes.items():
                ends = next(item for item in made.network.branches if item.name == branch)
                across = abs(answer.volt[ends.a] - answer.volt[ends.b])
                ohm = abs(answer.volt[ends.a] - answer.volt[ends.b]) / abs(answer.ampere[branch])
                found = at(report, "impedance", key, answer.hertz)
                assert found == pytest.approx((ohm, ohm), rel=PROMISED), (key, text)
                _, watt = at(report, "power", key, answer.hertz)
                assert watt == pytest.approx((volt * across) ** 2 / 8, rel=2 * PROMISED), (key, text)


def test_loads_and_powers_over_frequency_of_rigs_with_drivers_agree_with_the_simulator(tmp_path: Path) -> None:
    random = Random(SEED)
    makers = [RigMaker(random, driver_kinds(random)) for _ in range(4)]
    texts = [maker.rig(outputs=3) for maker in makers]
    answers = simulate([made.network for maker in makers for made in maker.channels], "dec 8 20 2k", tmp_path)
    for text, maker in zip(texts, makers, strict=True):
        of_rig, answers = answers[: len(maker.channels)], answers[len(maker.channels) :]
        compare_drivers(text, maker.channels, of_rig)


def test_least_loads_and_greatest_powers_in_the_band_agree_with_a_sweep_of_the_simulator(tmp_path: Path) -> None:
    """Its 96 steps an octave find more of a sharp peak than ours; the least lies in a wide valley and hardly moves."""
    random = Random(SEED)
    maker = RigMaker(random, driver_kinds(random))
    report = checked(maker.rig(outputs=6))
    answers = simulate([made.network for made in maker.channels], "oct 96 20 2k", tmp_path)
    for made, points in zip(maker.channels, answers, strict=True):
        ours, volt = report.figures.spectrum.channels[made.key], report.figures.channels[made.key].rated_volt
        inside = [point for point in points if 20 <= point.hertz <= 2000]
        assert len(inside) > 600
        seen = [1 / abs(point.ampere["emf"]) for point in inside]
        assert ours.least.value == pytest.approx(min(seen), rel=0.003)
        assert ours.most.value == pytest.approx(max(seen), rel=0.05)
        assert volt is not None
        for box in ours.boxes:
            ends = next(item for item in made.network.branches if item.name == made.boxes[box.key])
            volts = [abs(point.volt[ends.a] - point.volt[ends.b]) for point in inside]
            ohms = [u / abs(point.ampere[ends.name]) for u, point in zip(volts, inside, strict=True)]
            real = [
                ((point.volt[ends.a] - point.volt[ends.b]) * point.ampere[ends.name].conjugate()).real * volt**2
                for point in inside
            ]
            assert box.least is not None
            assert box.real_watt is not None
            assert box.rating_watt is not None
            assert box.least.value == pytest.approx(min(ohms), rel=0.003)
            assert box.real_watt.value == pytest.approx(max(real), rel=0.03)
            assert box.rating_watt.value == pytest.approx(max(volts) ** 2 * volt**2 / 8, rel=0.06)
        heat = max(
            sum(abs(point.ampere[lead.out]) ** 2 * lead.loop_ohm for lead in made.leads) * volt**2 for point in inside
        )
        assert ours.lead_watt is not None
        assert ours.lead_watt.value == pytest.approx(heat, rel=0.03)
