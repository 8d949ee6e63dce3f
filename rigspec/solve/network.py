"""Voltages, currents and powers in a network of two-terminal elements and sources.

Nodes are eliminated one after the other by turning each star into the mesh that replaces it. For resistances that
needs no subtraction, so milliohm leads beside kilohm taps cost no digits, and in tree-like networks the work grows with
the size. Nodes that no impedance separates (leads of no length, ideal sources) are joined before and told apart after.

Figures are rms volts, amperes, ohms and watts; they stay real numbers when every figure given is real.
"""

from cmath import isfinite
from collections.abc import Iterable, Mapping, Sequence
from heapq import heapify, heappop, heappush
from math import inf

from attrs import frozen

from rigspec.text.value import Content, Value

# A node is put off while its admittances cancel to less than this share of their sizes (a resonance without losses).
_AWKWARD = 1e-3
# Below this share nothing but rounding is left of them.
_SINGULAR = 1e-12
# A loop of ideal sources is at peace when its EMFs cancel to within this share: they were added up in floats.
_EMF_ROUNDING = 1e-9
# A current is rounding, not current, below this share of the strongest one …
_IDLE_AGAINST_STRONGEST = 1e-12
# … and below this share of the largest EMF over the least impedance: what one correction leaves of double precision.
_IDLE_AGAINST_LARGEST = 1e-24


@frozen(eq=False, repr=False)
class Element(Content):
    """An impedance between two nodes: a conductor, a load, a tap. No ohms at all is allowed."""

    name: str
    a: str
    b: str
    impedance_ohm: complex


@frozen(eq=False, repr=False)
class CircuitSource(Content):
    """An EMF of node ``a`` over node ``b`` behind an output impedance; with 0 ohm it is ideal."""

    name: str
    a: str
    b: str
    emf_volt: complex
    impedance_ohm: complex


@frozen(eq=False, repr=False)
class ElementState(Content):
    """What an element has across it (``a`` over ``b``), carries (from ``a`` to ``b``) and turns into heat or sound."""

    voltage_volt: complex
    current_ampere: complex
    power_watt: float


@frozen(eq=False, repr=False)
class SourceState(Content):
    """What a source gives: the current out of ``a``, voltage and power at its terminals, and the impedance it sees.

    ``seen_ohm`` is terminal voltage over current with every source running, or None when no current flows.
    """

    current_ampere: complex
    terminal_volt: complex
    power_watt: float
    seen_ohm: complex | None


@frozen(eq=False, repr=False)
class Solution(Content):
    """Every figure of a network, by name.

    ``floating`` holds the nodes of fed parts that nothing joins to the reference: their voltages count from the ``b``
    node of the part's first source by name; no other figure depends on that choice. ``shared_evenly`` names what lies
    in loops without impedance, where only the assumption of even sharing says how much each carries.
    """

    voltage_volt: Mapping[str, complex]
    elements: Mapping[str, ElementState]
    sources: Mapping[str, SourceState]
    floating: frozenset[str]
    shared_evenly: frozenset[str]


class UnsolvableNetwork(ValueError):
    """No finite figures answer this network; ``nodes`` and ``elements`` (sources among them) say where to look."""

    def __init__(self, why: str, nodes: Iterable[str] = (), elements: Iterable[str] = ()) -> None:
        self.why = why
        self.nodes = tuple(sorted(nodes))
        self.elements = tuple(sorted(elements))
        super().__init__(f"{why}: {', '.join(self.elements or self.nodes)}")


def solve(elements: Sequence[Element], sources: Sequence[CircuitSource], reference: str = "0") -> Solution:
    """Solve a network by Kirchhoff's laws, voltages counted from the node ``reference``.

    Parts without a source are at 0 V. Raises `UnsolvableNetwork` when a figure is not finite, when two elements or two
    sources share a name, when an EMF meets no impedance on its way round, and when a resonance without losses leaves no
    finite answer.
    """
    element_branches = [_Branch(item.name, item.a, item.b, item.impedance_ohm, 0.0) for item in elements]
    source_branches = [_Branch(item.name, item.a, item.b, item.impedance_ohm, item.emf_volt) for item in sources]
    _refuse_faulty(element_branches)
    _refuse_faulty(source_branches)
    branches = element_branches + source_branches
    order = _seeds(branches, sources, reference)
    joined = _Groups(order, [branch for branch in branches if branch.impedance == 0])
    shared = _peaceful_loops(joined)
    parts = _Groups(order, branches)
    fed = {parts.leader[source.b] for source in sources}
    voltage, current = _kirchhoff([branch for branch in branches if parts.leader[branch.a] in fed], joined, parts)
    for node in order:
        voltage.setdefault(node, 0.0)
    return Solution(
        voltage,
        {branch.name: _element_state(branch, voltage, current.get(branch, 0.0)) for branch in element_branches},
        _source_states(source_branches, voltage, current),
        frozenset(node for node, leader in parts.leader.items() if leader in fed and leader != reference),
        frozenset(shared),
    )


@frozen(eq=False, repr=False)
class _Branch(Value):
    """An element or a source: V(a) - V(b) = emf + impedance * (current from a to b)."""

    name: str
    a: str
    b: str
    impedance: complex
    emf: complex


def _refuse_faulty(branches: Sequence[_Branch]) -> None:
    names: set[str] = set()
    for branch in branches:
        if branch.name in names:
            raise UnsolvableNetwork("a name stands for two things", (branch.a, branch.b), [branch.name])
        names.add(branch.name)
        if not isfinite(branch.impedance) or not isfinite(branch.emf):
            raise UnsolvableNetwork("a figure is not finite", (branch.a, branch.b), [branch.name])
        if branch.impedance != 0 and not isfinite(1 / branch.impedance):
            raise UnsolvableNetwork("an impedance is too small to tell from none", (branch.a, branch.b), [branch.name])


def _seeds(branches: Sequence[_Branch], sources: Sequence[CircuitSource], reference: str) -> list[str]:
    """Every node once, those first that voltages may count from."""
    order = [reference, *(source.b for source in sorted(sources, key=lambda source: source.name))]
    for branch in branches:
        order += (branch.a, branch.b)
    return list(dict.fromkeys(order))


class _Groups:
    """Nodes that branches join, each with its leader (the first in order) and the EMFs on the way from there."""

    def __init__(self, order: Sequence[str], branches: Sequence[_Branch]) -> None:
        self.branches = branches
        self.leader: dict[str, str] = {}
        self.offset: dict[str, complex] = {}
        self._towards_leader: dict[str, tuple[str, _Branch]] = {}
        links: dict[str, list[tuple[_Branch, str, complex]]] = {node: [] for node in order}
        for branch in branches:
            links[branch.a].append((branch, branch.b, -branch.emf))
            links[branch.b].append((branch, branch.a, branch.emf))
        for seed in order:
            if seed in self.leader:
                continue
            self.leader[seed], self.offset[seed] = seed, 0.0
            reached = [seed]
            for node in reached:
                for branch, other, step in links[node]:
                    if other not in self.leader:
                        self.leader[other], self.offset[other] = seed, self.offset[node] + step
                        self._towards_leader[other] = node, branch
                        reached.append(other)

    def _way(self, node: str) -> set[_Branch]:
        way = set()
        while node in self._towards_leader:
            node, branch = self._towards_leader[node]
            way.add(branch)
        return way

    def loops(self) -> Iterable[tuple[_Branch, set[_Branch]]]:
        """Each branch that closes a loop, with all branches of that loop."""
        spanning = {branch for _, branch in self._towards_leader.values()}
        for branch in self.branches:
            if branch not in spanning:
                yield branch, (self._way(branch.a) ^ self._way(branch.b)) | {branch}


def _peaceful_loops(joined: _Groups) -> set[str]:
    """Names of what lies in loops without impedance; raises where an EMF is left over on the way round."""
    shared: set[str] = set()
    for closing, loop in joined.loops():
        left_over = joined.offset[closing.a] - joined.offset[closing.b] - closing.emf
        if abs(left_over) > _EMF_ROUNDING * sum(abs(branch.emf) for branch in loop):
            raise UnsolvableNetwork(
                "an EMF meets no impedance on its way round",
                {node for branch in loop for node in (branch.a, branch.b)},
                [branch.name for branch in loop],
            )
        shared.update(branch.name for branch in loop)
    return shared


def _kirchhoff(
    branches: Sequence[_Branch], joined: _Groups, parts: _Groups
) -> tuple[dict[str, complex], dict[_Branch, complex]]:
    """Voltage of every node that a branch touches, current of every branch from a to b."""
    resisting = [branch for branch in branches if branch.impedance != 0]
    rigid = [branch for branch in branches if branch.impedance == 0]
    leader = joined.leader
    ends = [(leader[branch.a], leader[branch.b]) for branch in resisting]
    admittances = [1 / branch.impedance for branch in resisting]
    mesh = _StarMesh(ends, admittances, {parts.leader[branch.a] for branch in branches})

    voltage = {node: joined.offset[node] for branch in branches for node in (branch.a, branch.b)}
    change = mesh.levels(_unbalanced(ends, _flows(resisting, admittances, voltage)))
    voltage = {node: value + change.get(leader[node], 0.0) for node, value in voltage.items()}
    flows = _flows(resisting, admittances, voltage)
    # Correct the currents by what rounding left unbalanced. Without it the current of a short thick lead, a small
    # difference of large voltages times a large admittance, would lose its digits.
    change = mesh.levels(_unbalanced(ends, flows))
    flows = [
        flow + admittance * (change[a] - change[b])
        for flow, admittance, (a, b) in zip(flows, admittances, ends, strict=True)
    ]
    voltage = {node: value + change.get(leader[node], 0.0) for node, value in voltage.items()}

    # Inside a joined group only Kirchhoff's current law is left; equal conductances share a loop's current evenly.
    inner_ends = [(branch.a, branch.b) for branch in rigid]
    inner = _StarMesh(inner_ends, [1.0] * len(rigid), {leader[branch.a] for branch in rigid})
    level = inner.levels(_unbalanced([(branch.a, branch.b) for branch in resisting], flows))
    current = dict(zip(resisting, flows, strict=True))
    current.update((branch, level[branch.a] - level[branch.b]) for branch in rigid)
    boundless = [branch.name for branch in branches if not isfinite(current[branch])]
    if boundless:
        raise UnsolvableNetwork("currents grow beyond all bounds", elements=boundless)
    return voltage, current


def _flows(
    branches: Sequence[_Branch], admittances: Sequence[complex], voltage: Mapping[str, complex]
) -> list[complex]:
    return [
        admittance * (voltage[branch.a] - voltage[branch.b] - branch.emf)
        for branch, admittance in zip(branches, admittances, strict=True)
    ]


def _unbalanced(ends: Sequence[tuple[str, str]], flows: Sequence[complex]) -> dict[str, complex]:
    """How much more flows into each node than out of it."""
    surplus: dict[str, complex] = {}
    for (a, b), flow in zip(ends, flows, strict=True):
        # A short-circuited source goes round within one node; adding and subtracting it would only cost digits.
        if a != b:
            surplus[a] = surplus.get(a, 0.0) - flow
            surplus[b] = surplus.get(b, 0.0) + flow
    return surplus


class _StarMesh:
    """A network of admittances taken apart node by node, fewest neighbours first, down to its grounds."""

    def __init__(self, ends: Sequence[tuple[str, str]], admittances: Sequence[complex], grounds: set[str]) -> None:
        self._grounds = grounds
        # Node taken away, sum of its admittances, the share of that sum which each neighbour has.
        self._steps: list[tuple[str, complex, list[tuple[str, complex]]]] = []
        self._stars: dict[str, dict[str, complex]] = {}
        for (a, b), admittance in zip(ends, admittances, strict=True):
            if a != b:
                self._join(a, b, admittance)
                self._join(b, a, admittance)
        queue = [(len(star), node) for node, star in self._stars.items()]
        heapify(queue)
        while self._stars:
            node = self._next(queue)
            for neighbour in self._remove(node):
                if neighbour not in grounds:
                    heappush(queue, (len(self._stars[neighbour]), neighbour))

    def _join(self, node: str, neighbour: str, admittance: complex) -> None:
        if node not in self._grounds:
            star = self._stars.setdefault(node, {})
            star[neighbour] = star.get(neighbour, 0.0) + admittance

    def _soundness(self, node: str) -> float:
        admittances = self._stars[node].values()
        size = sum(map(abs, admittances))
        return abs(sum(admittances)) / size if size else 0.0

    def _next(self, queue: list[tuple[int, str]]) -> str:
        while queue:
            degree, node = heappop(queue)
            if len(self._stars.get(node, ())) == degree and self._soundness(node) > _AWKWARD:
                return node
        soundest = max(self._stars, key=self._soundness)
        if self._soundness(soundest) <= _SINGULAR:
            raise UnsolvableNetwork("a resonance without losses leaves no finite answer", self._stars)
        return soundest

    def _remove(self, node: str) -> list[str]:
        star = self._stars.pop(node)
        total = sum(star.values())
        shares = [(neighbour, admittance / total) for neighbour, admittance in star.items()]
        self._steps.append((node, total, shares))
        for neighbour, share in shares:
            if neighbour in self._grounds:
                continue
            spokes = self._stars[neighbour]
            del spokes[node]
            for other, admittance in star.items():
                if other != neighbour:
                    spokes[other] = spokes.get(other, 0.0) + share * admittance
        return list(star)

    def levels(self, fed_in: Mapping[str, complex]) -> dict[str, complex]:
        """The voltage of every node over its ground when these currents are fed in."""
        flow = dict(fed_in)
        for node, _, shares in self._steps:
            amount = flow.get(node, 0.0)
            if amount:
                for neighbour, share in shares:
                    flow[neighbour] = flow.get(neighbour, 0.0) + share * amount
        level: dict[str, complex] = dict.fromkeys(self._grounds, 0.0)
        for node, total, shares in reversed(self._steps):
            level[node] = flow.get(node, 0.0) / total + sum(share * level[other] for other, share in shares)
        return level


def _element_state(branch: _Branch, voltage: Mapping[str, complex], current: complex) -> ElementState:
    # Current times impedance, because the difference of two node voltages has lost the digits of a short lead.
    across = current * branch.impedance
    return ElementState(across, current, (across * current.conjugate()).real)


def _source_states(
    branches: Sequence[_Branch], voltage: Mapping[str, complex], current: Mapping[_Branch, complex]
) -> dict[str, SourceState]:
    strongest = max(map(abs, current.values()), default=0.0)
    largest_emf = max((abs(branch.emf) for branch in branches), default=0.0)
    least_impedance = min((abs(branch.impedance) for branch in current if branch.impedance != 0), default=inf)
    idle = max(_IDLE_AGAINST_STRONGEST * strongest, _IDLE_AGAINST_LARGEST * largest_emf / least_impedance)
    states = {}
    for branch in branches:
        delivered = -current[branch]
        terminal = voltage[branch.a] - voltage[branch.b]
        seen = terminal / delivered if abs(delivered) > idle else None
        states[branch.name] = SourceState(delivered, terminal, (terminal * delivered.conjugate()).real, seen)
    return states
