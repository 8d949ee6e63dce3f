"""What holds for every run of loudspeakers over frequency: trees against networks, energy, monotonicity, phases."""

from __future__ import annotations

from math import pi

import pytest
from checking import checked, laws
from hypothesis import given
from hypothesis import strategies as st
from model import Rig
from rigs import rigs

from rigspec.figures.load import conductor_ohm, solve_run
from rigspec.figures.sweep import tree_of
from rigspec.solve.impedance import Driver
from rigspec.solve.network import CircuitSource, Element, solve
from rigspec.solve.tree import solve_tree

drivers = st.builds(
    Driver,
    coil_ohm=st.floats(2, 12),
    coil_henry=st.floats(0, 3e-3),
    resonance_hz=st.floats(20, 200),
    mechanical_q=st.floats(1, 15),
    electrical_q=st.floats(0.2, 1.5),
    vent_hz=st.none() | st.floats(20, 200),
    compliance_ratio=st.floats(0.2, 5),
    box_q=st.floats(3, 30),
)
frequencies = st.lists(st.floats(10, 20_000), min_size=1, max_size=4)


@given(rigs())
@laws(100)
def test_a_run_as_a_tree_is_the_run_as_a_network(rig: Rig) -> None:
    worked = checked(rig.text).figures
    for channel in worked.channels.values():
        run, boxes = worked.trace.runs[channel.key], [box.box for box in channel.boxes]
        network = solve_run(run, boxes, worked.case)
        assert network is not None
        tree = tree_of(run, boxes, worked.case)
        state = solve_tree(tree.joints, [[box.ohm(worked.case)] for box in boxes])
        assert 1 / state.siemens[0] == pytest.approx(network.load_ohm, rel=1e-9)
        for box, at in zip(boxes, tree.at, strict=True):
            assert state.volt[at][0] == pytest.approx(network.box_volt[box.key], rel=1e-9)
        assert {piece for piece, _ in tree.leads} == set(network.lead_ohm)
        for piece, at in tree.leads:
            assert state.ampere[at][0] == pytest.approx(network.lead_ampere[piece], rel=1e-9)


@given(rigs(), st.data())
@laws(60)
def test_so_it_is_with_drivers_at_any_frequency_and_the_power_is_all_accounted_for(
    rig: Rig, data: st.DataObject
) -> None:
    worked = checked(rig.text).figures
    hertz = data.draw(frequencies)
    for channel in worked.channels.values():
        run, boxes = worked.trace.runs[channel.key], [box.box for box in channel.boxes]
        hung = [data.draw(drivers) for _ in boxes]
        ohms = [[driver.impedance_ohm(hz) for hz in hertz] for driver in hung]
        tree = tree_of(run, boxes)
        state = solve_tree(tree.joints, ohms)
        for at in range(len(hertz)):
            elements = [
                Element(f"{piece.b}{side}", node, f"{piece.b}{side}", conductor_ohm(piece.spec))
                for piece in run.pieces
                if piece.what == "lead" and piece.spec is not None
                for node, side in zip(run.conductors[piece.a], "+-", strict=True)
            ]
            elements += [
                Element(f"box {box.key}", *run.conductors[box.arrival.sink.joint], ohm[at])
                for box, ohm in zip(boxes, ohms, strict=True)
            ]
            plus, minus = run.conductors[run.output.joint]
            solution = solve(elements, [CircuitSource("emf", plus, minus, 1.0, 0.0)], minus)
            assert state.siemens[at] == pytest.approx(solution.sources["emf"].current_ampere, rel=1e-9)
            taken = 0.0
            for box, joint, ohm in zip(boxes, tree.at, ohms, strict=True):
                volt = state.volt[joint][at]
                assert abs(volt) == pytest.approx(abs(solution.elements[f"box {box.key}"].voltage_volt), rel=1e-9)
                taken += abs(volt) ** 2 * (1 / ohm[at]).real
            burnt = sum(abs(state.ampere[j][at]) ** 2 * tree.joints[j].loop_ohm for _, j in tree.leads)
            assert taken + burnt == pytest.approx(state.siemens[at].real, rel=1e-9)


@given(rigs(), st.data())
@laws(60)
def test_no_resistance_that_grows_anywhere_makes_a_load_smaller(rig: Rig, data: st.DataObject) -> None:
    """Rayleigh's law of monotonicity, here for |Z| taken as resistive."""
    worked = checked(rig.text).figures
    for channel in worked.channels.values():
        run, boxes = worked.trace.runs[channel.key], [box.box for box in channel.boxes]
        tree = tree_of(run, boxes)
        ohms = [[data.draw(st.floats(2, 50))] for _ in boxes]
        before = solve_tree(tree.joints, ohms).siemens[0]
        grown = data.draw(st.integers(0, len(boxes) - 1))
        more = [[2 * ohm[0]] if number == grown else ohm for number, ohm in enumerate(ohms)]
        assert abs(solve_tree(tree.joints, more).siemens[0]) <= abs(before) * (1 + 1e-12)


@given(st.lists(drivers, min_size=1, max_size=6), st.floats(10, 20_000))
@laws(100)
def test_side_by_side_no_phases_give_a_lower_load_than_none_at_all(hung: list[Driver], hz: float) -> None:
    """What a measured |Z| without its phase is taken for is the worst that boxes in parallel can be."""
    ohms = [driver.impedance_ohm(hz) for driver in hung]
    together = 1 / abs(sum(1 / ohm for ohm in ohms))
    assert together >= 1 / sum(1 / abs(ohm) for ohm in ohms) * (1 - 1e-12)


@given(drivers, st.floats(10, 20_000))
@laws(200)
def test_a_driver_is_passive_and_never_below_its_coil(driver: Driver, hz: float) -> None:
    ohm = driver.impedance_ohm(hz)
    assert ohm.real >= driver.coil_ohm * (1 - 1e-12)
    assert abs(ohm.imag - 2 * pi * hz * driver.coil_henry) <= driver.motion_ohm
