"""What holds for every network: Kirchhoff's laws in exact fractions, energy, superposition, reciprocity, names."""

from collections.abc import Sequence
from fractions import Fraction
from math import inf, nan, pi

import pytest
from attrs import evolve
from hypothesis import given, settings
from hypothesis import strategies as st

from rigspec.solve.network import CircuitSource, Element, Solution, UnsolvableNetwork, solve

Network = tuple[list[Element], list[CircuitSource]]

# From a lead of a millimetre to a tap of a watt: eleven powers of ten, where naive elimination loses its digits.
ohms = st.builds(lambda digits, power: digits * 10.0**power, st.integers(1, 99), st.integers(-6, 4))
reactances = st.one_of(st.just(0.0), ohms, ohms.map(lambda value: -value))
emfs = st.integers(-100, 100).map(float)

# Amperes or watts that count as none: what stays of doubles where nothing flows, far below anything in a rig.
NOTHING = 1e-15


def driving_impedance(elements: Sequence[Element], a: str, b: str) -> complex:
    """The impedance in ohms that a meter between nodes ``a`` and ``b`` finds; infinite when nothing joins them.

    Raises `UnsolvableNetwork` as `solve` does.
    """
    # Behind one ohm rather than ideal, so that a short and a resonance have an answer too.
    meter = CircuitSource("meter", a, b, 1.0, 1.0)
    seen = solve(elements, [meter], b).sources["meter"].seen_ohm
    return inf if seen is None else seen


@st.composite
def networks(draw: st.DrawFn, reactive: bool = True, rigid: bool = True, meshed: bool = True) -> Network:
    """A network that hangs together at node 0: a random tree, and unless told otherwise some loops across it.

    Impedances have resistance; without any are only branches of the tree, so that every current has one answer.
    """
    with_reactance = reactive and draw(st.booleans())
    size = draw(st.integers(2, 7))
    joints = [(node, draw(st.integers(0, node - 1)), True) for node in range(1, size)]
    if meshed:
        nodes = st.integers(0, size - 1)
        joints += [(a, b, False) for a, b in draw(st.lists(st.tuples(nodes, nodes), max_size=4))]
    elements: list[Element] = []
    sources: list[CircuitSource] = []
    for index, (a, b, in_tree) in enumerate(joints):
        impedance: complex = draw(ohms)
        if with_reactance:
            impedance = complex(impedance, draw(reactances))
        if draw(st.booleans()):
            a, b = b, a
        if rigid and in_tree and draw(st.integers(0, 3)) == 0:
            impedance = 0.0
        if index == 0 or draw(st.integers(0, 2)) == 0:
            sources.append(CircuitSource(f"source {index}", str(a), str(b), draw(emfs), impedance))
        else:
            elements.append(Element(f"element {index}", str(a), str(b), impedance))
    return elements, sources


def exact_currents(elements: list[Element], sources: list[CircuitSource]) -> dict[str, complex]:
    """Currents from a to b by dense elimination in fractions, of Kirchhoff's laws as they stand.

    Unknowns are the voltage of every node but 0 and the current of every branch, real and imaginary parts apart.
    """
    branches = [*elements, *sources]
    nodes = sorted({node for branch in branches for node in (branch.a, branch.b)} - {"0"})
    half = len(nodes) + len(branches)
    rows = [[Fraction(0)] * (2 * half + 1) for _ in range(2 * half)]
    for index, branch in enumerate(branches):
        current = len(nodes) + index
        impedance, emf = complex(branch.impedance_ohm), complex(getattr(branch, "emf_volt", 0))
        for part, driven in ((0, emf.real), (half, emf.imag)):
            rows[current + part][-1] = Fraction(driven)
            rows[current + part][current + part] -= Fraction(impedance.real)
            rows[current + part][current + half - part] += Fraction(impedance.imag) * (-1 if part else 1)
            for node, sign in ((branch.a, 1), (branch.b, -1)):
                if node != "0":
                    rows[current + part][nodes.index(node) + part] += sign
                    rows[nodes.index(node) + part][current + part] += sign
    for column in range(2 * half):
        pivot = next(row for row in range(column, 2 * half) if rows[row][column])
        rows[column], rows[pivot] = rows[pivot], rows[column]
        for row in range(2 * half):
            if row != column and rows[row][column]:
                factor = rows[row][column] / rows[column][column]
                rows[row] = [x - factor * y if y else x for x, y in zip(rows[row], rows[column], strict=True)]
    answer = [float(row[-1] / row[index]) for index, row in enumerate(rows)]
    currents = range(len(nodes), half)
    return {b.name: complex(answer[i], answer[i + half]) for b, i in zip(branches, currents, strict=True)}


def currents(solution: Solution) -> dict[str, complex]:
    """The current of every element and source from a to b."""
    return {name: state.current_ampere for name, state in solution.elements.items()} | {
        name: -state.current_ampere for name, state in solution.sources.items()
    }


def assert_same_currents(
    network: Network, found: dict[str, complex], expected: dict[str, complex], strongest: float = 0.0
) -> None:
    """Alike branch by branch, but for what doubles must round: the EMFs over the branch's own impedance, and balances.

    ``strongest`` is the strongest current that took part in the reckoning, where ``expected`` itself does not hold it.
    """
    elements, sources = network
    emf = max(abs(source.emf_volt) for source in sources)
    strongest = max(strongest, *map(abs, expected.values()))
    sizes = {item.name: abs(item.impedance_ohm) for item in (*elements, *sources)}
    least = min((size for size in sizes.values() if size), default=1.0)
    for name, size in sizes.items():
        rounding = 1e-13 * (strongest + emf / (size or least))
        assert abs(found[name] - expected[name]) <= 1e-9 * abs(expected[name]) + rounding, name


@given(networks())
@settings(deadline=None, max_examples=60)
def test_agrees_with_exact_fractions(network: Network) -> None:
    elements, sources = network
    solution = solve(elements, sources)
    exact = exact_currents(elements, sources)
    assert_same_currents(network, currents(solution), exact)
    for element in elements:
        state = solution.elements[element.name]
        assert state.voltage_volt == pytest.approx(state.current_ampere * element.impedance_ohm)
        across = solution.voltage_volt[element.a] - solution.voltage_volt[element.b]
        assert abs(across - state.voltage_volt) <= 1e-9 * max(map(abs, solution.voltage_volt.values()))
    for source in sources:
        seen = solution.sources[source.name]
        dropped = seen.current_ampere * source.impedance_ohm
        largest = max(abs(source.emf_volt), abs(dropped))
        assert abs(source.emf_volt - dropped - seen.terminal_volt) <= 1e-9 * largest + 1e-12


@given(networks(reactive=False, meshed=False), ohms)
@settings(deadline=None)
def test_figures_without_reactance_stay_real_numbers(network: Network, impedance: float) -> None:
    elements, sources = network
    solution = solve([*elements, Element("load", "0", "1", impedance)], sources)
    for state in (*solution.elements.values(), *solution.sources.values()):
        assert isinstance(state.current_ampere, float)


@given(networks())
@settings(deadline=None)
def test_power_of_the_emfs_goes_into_elements_and_output_impedances(network: Network) -> None:
    elements, sources = network
    solution = solve(elements, sources)
    given_volt_ampere = [source.emf_volt * solution.sources[source.name].current_ampere for source in sources]
    burnt_inside = [
        abs(solution.sources[source.name].current_ampere) ** 2 * complex(source.impedance_ohm).real
        for source in sources
    ]
    delivered = [state.power_watt for state in solution.sources.values()]
    taken = [state.power_watt for state in solution.elements.values()]
    largest = max(map(abs, given_volt_ampere))
    assert sum(delivered) == pytest.approx(sum(taken), rel=1e-9, abs=1e-9 * largest + NOTHING)
    spent = sum(taken) + sum(burnt_inside)
    assert spent == pytest.approx(sum(given_volt_ampere).real, rel=1e-9, abs=1e-9 * largest + NOTHING)


@given(networks(), st.integers(2, 9))
@settings(deadline=None)
def test_scaling_every_emf_scales_volts_and_amperes_and_squares_into_watts(network: Network, factor: int) -> None:
    elements, sources = network
    louder = [evolve(source, emf_volt=source.emf_volt * factor) for source in sources]
    once, more = solve(elements, sources), solve(elements, louder)
    expected = {name: factor * value for name, value in currents(once).items()}
    assert_same_currents((elements, louder), currents(more), expected)
    watts = [factor**2 * state.power_watt for state in once.elements.values()]
    assert [state.power_watt for state in more.elements.values()] == pytest.approx(watts, rel=1e-9, abs=1e-9)


@given(networks())
@settings(deadline=None)
def test_sources_together_give_the_sum_of_what_each_gives_alone(network: Network) -> None:
    elements, sources = network
    alone = [
        currents(solve(elements, [source if source is one else evolve(source, emf_volt=0.0) for source in sources]))
        for one in sources
    ]
    together = currents(solve(elements, sources))
    added = {name: sum(part[name] for part in alone) for name in together}
    strongest = max(abs(value) for part in alone for value in part.values())
    assert_same_currents(network, together, added, strongest)


@given(networks(), st.integers(0, 9), st.integers(0, 9))
@settings(deadline=None)
def test_an_emf_here_drives_there_what_the_same_emf_there_drives_here(network: Network, one: int, other: int) -> None:
    elements, sources = network
    branches = [CircuitSource(item.name, item.a, item.b, 0.0, item.impedance_ohm) for item in (*elements, *sources)]
    here, there = branches[one % len(branches)], branches[other % len(branches)]

    def driven_in(end: CircuitSource, driver: CircuitSource) -> complex:
        running = [evolve(branch, emf_volt=1.0) if branch is driver else branch for branch in branches]
        solution = solve([], running)
        return solution.sources[end.name].current_ampere

    strongest = abs(driven_in(here, here)) + abs(driven_in(there, there))
    assert driven_in(there, here) == pytest.approx(driven_in(here, there), rel=1e-9, abs=1e-9 * strongest + NOTHING)


@given(networks(), st.randoms(use_true_random=False))
@settings(deadline=None)
def test_order_and_node_names_change_nothing(network: Network, random: object) -> None:
    elements, sources = network
    names = sorted({node for item in (*elements, *sources) for node in (item.a, item.b)})
    fresh = [f"node {index}" for index in range(len(names))]
    random.shuffle(fresh)  # type: ignore[attr-defined]
    renamed = dict(zip(names, fresh, strict=True))
    before = solve(elements, sources)
    moved = [[evolve(item, a=renamed[item.a], b=renamed[item.b]) for item in group] for group in network]
    for group in moved:
        random.shuffle(group)  # type: ignore[attr-defined]
    after = solve(*moved, reference=renamed["0"])  # type: ignore[arg-type]
    assert_same_currents(network, currents(after), currents(before))
    assert [after.voltage_volt[renamed[name]] for name in names] == pytest.approx(
        [before.voltage_volt[name] for name in names], rel=1e-6, abs=1e-6
    )


@given(st.lists(ohms, min_size=1, max_size=12), st.integers(1, 12), ohms)
@settings(deadline=None)
def test_series_adds_and_equal_branches_in_parallel_divide(chain: list[float], count: int, each: float) -> None:
    series = [Element(f"link {index}", f"{index}", f"{index + 1}", value) for index, value in enumerate(chain)]
    assert driving_impedance(series, "0", str(len(chain))) == pytest.approx(sum(chain))
    parallel = [Element(f"box {index}", "hot", "return", each) for index in range(count)]
    assert driving_impedance(parallel, "hot", "return") == pytest.approx(each / count)


@given(networks(rigid=False), ohms)
@settings(deadline=None)
def test_a_dangling_or_separate_part_takes_nothing_and_reads_open(network: Network, impedance: float) -> None:
    elements, sources = network
    spare = [Element("stub", "1", "x", impedance), Element("far", "y", "z", impedance), Element("nil", "y", "w", 0.0)]
    plain, solution = solve(elements, sources), solve([*elements, *spare], sources)
    assert_same_currents(network, currents(solution), currents(plain))
    assert [solution.voltage_volt[node] for node in "wyz"] == [0, 0, 0]
    assert not solution.floating
    assert driving_impedance([*elements, *spare], "x", "z") == inf
    lonely = solve(spare, [CircuitSource("A", "y", "z", 10.0, 0.0), CircuitSource("idle", "1", "0", 10.0, 0.5)])
    assert [lonely.voltage_volt[node] for node in "zwy"] == [0, 10, 10]
    assert lonely.sources["idle"].seen_ohm is None
    assert lonely.sources["A"].seen_ohm == pytest.approx(impedance)
    assert lonely.floating == {"w", "y", "z"}


def test_a_hundred_volt_line_of_two_thousand_taps_follows_the_continued_fraction() -> None:
    # Each section is the loop of its lead in series with its tap parallel to the rest, reckoned from the far end.
    elements = []
    for tap in range(2000):
        elements += [
            Element(f"out {tap}", f"o{tap}", f"o{tap + 1}", 0.133),
            Element(f"back {tap}", f"b{tap}", f"b{tap + 1}", 0.133),
            Element(f"tap {tap}", f"o{tap + 1}", f"b{tap + 1}", 1e4),
        ]
    rest = inf
    for _ in range(2000):
        rest = 0.266 + 1 / (1 / 1e4 + 1 / rest)
    assert driving_impedance(elements, "o0", "b0") == pytest.approx(rest)


def test_leads_without_length_carry_current_and_loops_of_them_share_it_evenly() -> None:
    ends = [Element("1", "hot", "box", 0.0), Element("2", "hot", "box", 0.0), Element("back", "return", "0", 0.0)]
    solution = solve([*ends, Element("load", "box", "return", 8.0)], [CircuitSource("A", "hot", "0", 40.0, 0.0)])
    assert [solution.elements[name].current_ampere for name in ("1", "2", "back")] == pytest.approx([2.5, 2.5, 5.0])
    assert solution.shared_evenly == {"1", "2"}
    assert solution.sources["A"].seen_ohm == pytest.approx(8)
    assert driving_impedance(ends, "hot", "box") == 0
    assert solve(ends, [CircuitSource("A", "hot", "box", 40.0, 0.5)]).sources["A"].current_ampere == pytest.approx(80)


def test_a_source_that_neighbours_relieve_of_all_current_sees_no_impedance() -> None:
    # 0.7 ohm towards 0.1 V and 0.7 ohm towards 0.5 V: what one side takes out of 0.3 V the other puts in.
    runs = [Element("down", "x", "low", 0.7), Element("up", "x", "high", 0.7)]
    ends = [CircuitSource("low", "low", "0", 0.1, 0.0), CircuitSource("high", "high", "0", 0.5, 0.0)]
    solution = solve(runs, [*ends, CircuitSource("middle", "x", "0", 0.3, 0.0)])
    assert solution.elements["down"].current_ampere == pytest.approx(0.2 / 0.7)
    assert solution.sources["middle"].seen_ohm is None


def test_a_source_shorted_at_its_own_terminals_leaves_its_neighbours_their_digits() -> None:
    shorted = CircuitSource("shorted", "a", "a", 1.0, 1e-6)
    solution = solve([Element("stub", "a", "x", 1e5)], [CircuitSource("A", "a", "0", 1.0, 1e5), shorted])
    assert solution.sources["shorted"].current_ampere == pytest.approx(1e6)
    assert solution.voltage_volt["a"] == pytest.approx(1.0, rel=1e-12)


def test_resonance_is_a_short_in_series_and_an_open_end_in_parallel_and_unfed_it_is_nothing() -> None:
    coil, capacitor = 1j * 2 * pi * 50 * 0.02, -1j * 2 * pi * 50 * 0.02
    series = [Element("L", "a", "m", coil), Element("C", "m", "0", capacitor), Element("R", "in", "a", 3.0)]
    assert driving_impedance(series, "in", "0") == pytest.approx(3)
    tank = [Element("L", "a", "0", coil), Element("C", "a", "0", capacitor)]
    assert driving_impedance(tank, "a", "0") == inf
    unfed = [Element("L", "a", "m", coil), Element("C", "m", "a", capacitor)]
    assert solve(unfed, []).voltage_volt == {"0": 0, "a": 0, "m": 0}


@pytest.mark.parametrize(
    ("elements", "sources", "why", "nodes", "names"),
    [
        ([Element("load", "a", "0", nan)], [], "not finite", ("0", "a"), ("load",)),
        ([Element("load", "a", "0", complex(8, inf))], [], "not finite", ("0", "a"), ("load",)),
        ([], [CircuitSource("A", "a", "0", nan, 1.0)], "not finite", ("0", "a"), ("A",)),
        ([Element("x", "a", "0", 8.0)] * 2, [], "two things", ("0", "a"), ("x",)),
        ([Element("x", "a", "0", 5e-324)], [], "too small", ("0", "a"), ("x",)),
        (
            [Element("bad", "h", "m", 0.0), Element("plug", "m", "0", 0.0), Element("load", "h", "0", 8.0)],
            [CircuitSource("A", "h", "0", 40.0, 0.0)],
            "no impedance on its way",
            ("0", "h", "m"),
            ("A", "bad", "plug"),
        ),
        (
            [Element("load", "a", "0", 8.0)],
            [CircuitSource("A", "a", "0", 40.0, 0.0), CircuitSource("B", "a", "0", -40.0, 0.0)],
            "no impedance on its way",
            ("0", "a"),
            ("A", "B"),
        ),
        (
            [Element("L", "a", "m", 6.3j), Element("C", "m", "0", -6.3j)],
            [CircuitSource("A", "a", "0", 40.0, 0.0)],
            "resonance without losses",
            ("m",),
            (),
        ),
    ],
)
def test_what_has_no_finite_answer_is_refused_by_name(
    elements: list[Element], sources: list[CircuitSource], why: str, nodes: tuple[str, ...], names: tuple[str, ...]
) -> None:
    with pytest.raises(UnsolvableNetwork, match=why) as refused:
        solve(elements, sources)
    assert (refused.value.nodes, refused.value.elements) == (nodes, names)
    assert all(name in str(refused.value) for name in names or nodes)
