"""The circuit simulator ngspice, as an authority on networks that we make up: netlists, a run, and what came out."""

from __future__ import annotations

import re
import struct
import subprocess
from collections.abc import Iterator, Sequence
from math import degrees, pi
from pathlib import Path
from shutil import which

import pytest
from attrs import define, field, frozen

NGSPICE = "ngspice"
# What it says when something went wrong; it ends with 0 all the same after a singular matrix in the middle of a run.
_COMPLAINT = re.compile(r"error|singular|fail|abort|unrecorded|unknown|undefined|unable|too small|not found", re.I)


@frozen
class Tank:
    """Resistance, inductance and capacitance in parallel: a driver at its resonance.

    ``beside`` is a series circuit of ohms, henries and farads in parallel with all of it: a vented box.
    """

    ohm: float
    henry: float
    farad: float
    beside: tuple[float, float, float] | None = None

    def impedance(self, hertz: float) -> complex:
        w = 2 * pi * hertz
        siemens = 1 / self.ohm + 1 / (1j * w * self.henry) + 1j * w * self.farad
        if self.beside is not None:
            ohm, henry, farad = self.beside
            siemens += 1 / (ohm + 1j * w * henry + 1 / (1j * w * farad))
        return 1 / siemens


@frozen
class Branch:
    """Between two nodes, in series: a resistance, an inductance, a capacitance, a tank; each only if it is given.

    With nothing given it is a piece of ideal wire.
    """

    name: str
    a: str
    b: str
    ohm: float = 0.0
    henry: float = 0.0
    farad: float | None = None
    tank: Tank | None = None

    def impedance(self, hertz: float) -> complex:
        """Worked out here, apart from the program under test."""
        w = 2 * pi * hertz
        total: complex = self.ohm
        if self.henry:
            total += 1j * w * self.henry
        if self.farad is not None:
            total += 1 / (1j * w * self.farad)
        return total + (self.tank.impedance(hertz) if self.tank else 0.0)


@frozen
class Emf:
    """A source of node ``a`` over ``b``: volts with a phase in radians, behind ohms and henries."""

    name: str
    a: str
    b: str
    volt: float
    phase: float = 0.0
    ohm: float = 0.0
    henry: float = 0.0

    def impedance(self, hertz: float) -> complex:
        return self.ohm + 2j * pi * hertz * self.henry if self.henry else self.ohm


@frozen
class Network:
    """What the simulator and we both solve; node ``0`` is common."""

    note: str
    branches: tuple[Branch, ...]
    sources: tuple[Emf, ...]

    @property
    def nodes(self) -> list[str]:
        ends = [node for item in (*self.branches, *self.sources) for node in (item.a, item.b)]
        return list(dict.fromkeys(ends))


@define
class Deck:
    """A netlist of several networks side by side, which only share their common node."""

    lines: list[str] = field(factory=list)
    nodes: dict[tuple[int, str], str] = field(factory=dict)
    meters: dict[tuple[int, str], str] = field(factory=dict)
    _count: int = 0

    def add(self, index: int, network: Network) -> None:
        for branch in network.branches:
            inner = self._metered(index, branch.name, self._node(index, branch.a))
            self._chain(inner, self._node(index, branch.b), branch.ohm, branch.henry, branch.farad, branch.tank)
        for source in network.sources:
            # The meter counts what leaves the source at ``a``, so it looks from the inside of the source outwards.
            inside, outlet = self._fresh(), self._node(index, source.a)
            hot = self._fresh()
            self._line(f"V{self._fresh()} {hot} {self._node(index, source.b)} dc 0 ac {source.volt!r} {_deg(source)}")
            self._chain(hot, inside, source.ohm, source.henry, None, None)
            self._meter(index, source.name, inside, outlet)

    def _node(self, index: int, node: str) -> str:
        return "0" if node == "0" else self.nodes.setdefault((index, node), f"n{len(self.nodes)}")

    def _fresh(self) -> str:
        self._count += 1
        return f"x{self._count}"

    def _line(self, text: str) -> None:
        self.lines.append(text)

    def _meter(self, index: int, name: str, near: str, far: str) -> None:
        meter = f"vm{len(self.meters)}"
        self.meters[index, name] = f"i({meter})"
        self._line(f"{meter} {near} {far} dc 0")

    def _metered(self, index: int, name: str, near: str) -> str:
        far = self._fresh()
        self._meter(index, name, near, far)
        return far

    def _chain(self, near: str, far: str, ohm: float, henry: float, farad: float | None, tank: Tank | None) -> None:
        links: list[list[tuple[str, float]]] = []
        links += [[("R", ohm)]] if ohm else []
        links += [[("L", henry)]] if henry else []
        links += [[("C", farad)]] if farad is not None else []
        links += [[("R", tank.ohm), ("L", tank.henry), ("C", tank.farad)]] if tank else []
        if not links:
            self._line(f"V{self._fresh()} {near} {far} dc 0")
        for number, parallel in enumerate(links):
            end = far if number == len(links) - 1 else self._fresh()
            for kind, value in parallel:
                self._line(f"{kind}{self._fresh()} {near} {end} {value!r}")
            if tank is not None and number == len(links) - 1 and tank.beside is not None:
                self._chain(near, end, *tank.beside, None)
            near = end


def _deg(source: Emf) -> str:
    return repr(degrees(source.phase))


@frozen
class Answer:
    """The volts of every node over common and the amperes of every branch and source at one frequency."""

    hertz: float
    volt: dict[str, complex]
    ampere: dict[str, complex]


def simulate(networks: Sequence[Network], sweep: str, folder: Path) -> list[list[Answer]]:
    """Every network at every frequency of a ``.ac`` line such as ``dec 2 20 20k``; the test fails if ngspice cannot.

    One answer for each frequency, in the order of the networks.
    """
    deck = Deck()
    for index, network in enumerate(networks):
        deck.add(index, network)
    points = list(_run(deck.lines, sweep, folder))
    answers = []
    for index, network in enumerate(networks):
        nodes = {node: f"v({deck.nodes[index, node]})" for node in network.nodes if node != "0"}
        meters = {item.name: deck.meters[index, item.name] for item in (*network.branches, *network.sources)}
        answers.append(
            [
                Answer(
                    point["frequency"].real,
                    {"0": 0.0, **{node: point[vector] for node, vector in nodes.items()}},
                    {name: point[vector] for name, vector in meters.items()},
                )
                for point in points
            ]
        )
    return answers


def _run(lines: Sequence[str], sweep: str, folder: Path) -> Iterator[dict[str, complex]]:
    if which(NGSPICE) is None:
        pytest.fail("this test needs the circuit simulator ngspice: `apt install ngspice`", pytrace=False)
    netlist, raw = folder / "deck.cir", folder / "deck.raw"
    netlist.write_text("\n".join(["* networks side by side", *lines, f".ac {sweep}", ".end", ""]), encoding="ascii")
    raw.unlink(missing_ok=True)
    ran = subprocess.run(
        [NGSPICE, "-b", "-n", "-r", raw.name, netlist.name], cwd=folder, capture_output=True, text=True, timeout=120
    )
    said = [line for line in (ran.stdout + ran.stderr).splitlines() if _COMPLAINT.search(line)]
    assert ran.returncode == 0, f"ngspice ended with {ran.returncode}: {ran.stderr[-500:]}"
    assert not said, f"ngspice complained: {said[:5]}"
    assert raw.exists(), "ngspice wrote no figures"
    yield from _vectors(raw.read_bytes())


def _vectors(raw: bytes) -> Iterator[dict[str, complex]]:
    """The points of a binary raw file of complex figures: each vector's value by its name."""
    head, _, body = raw.partition(b"Binary:\n")
    text = head.decode("ascii")
    facts = dict(re.findall(r"^(Flags|No\. Variables|No\. Points):\s*(\S+)", text, re.M))
    assert facts["Flags"] == "complex"
    count, points = int(facts["No. Variables"]), int(facts["No. Points"])
    names = [line.split()[1] for line in text.partition("Variables:\n")[2].splitlines()]
    assert len(names) == count
    assert len(body) == 16 * count * points, "the raw file is not whole"
    for point in range(points):
        flat = struct.unpack_from(f"={2 * count}d", body, 16 * count * point)
        yield dict(zip(names, map(complex, flat[::2], flat[1::2]), strict=True))
