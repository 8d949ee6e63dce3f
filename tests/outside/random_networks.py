"""Networks made up at random, of the sorts that loudspeaker rigs are made of, for the simulator and for us."""

from __future__ import annotations

from collections.abc import Callable
from math import pi
from random import Random

from simulator import Branch, Emf, Network, Tank


class Maker:
    """Collects the branches and sources of one network; every choice comes from one random generator."""

    def __init__(self, random: Random) -> None:
        self.random = random
        self.branches: list[Branch] = []
        self.sources: list[Emf] = []
        self._nodes = 0

    def node(self) -> str:
        self._nodes += 1
        return f"{self._nodes}"

    def between(self, low: float, high: float) -> float:
        """A figure between two, evenly over their logarithms."""
        return float(low * (high / low) ** self.random.random())

    # ---- what there is

    def source(self, a: str, b: str) -> None:
        """An amplifier channel, a louder or softer one, either way round, ideal or with an output impedance."""
        ohm = self.random.choice([0.0, 1e-3, self.between(0.005, 0.5)])
        henry = self.random.choice([0.0, self.between(1e-7, 5e-6)]) if ohm else 0.0
        phase = self.random.choice([0.0, pi, self.random.uniform(-pi, pi)])
        self.sources.append(Emf(f"emf {len(self.sources)}", a, b, self.between(0.1, 100.0), phase, ohm, henry))

    def branch(self, a: str, b: str, **parts: object) -> None:
        self.branches.append(Branch(f"branch {len(self.branches)}", a, b, **parts))  # type: ignore[arg-type]

    def lead(self, a: str, b: str) -> None:
        """One conductor: from a plug of a milliohm to a long thin wire, perhaps with its inductance."""
        self.branch(a, b, ohm=self.between(1e-3, 3.0), henry=self.random.choice([0.0, self.between(1e-7, 1e-4)]))

    def box(self, a: str, b: str) -> None:
        """A loudspeaker: a resistance, a coil, a driver at its resonance in one piece or in parts, or a tap."""
        sort = self.random.choice(["resistance", "coil", "driver", "driver in parts", "capacitor", "tap"])
        ohm = self.between(2.0, 16.0)
        match sort:
            case "resistance":
                self.branch(a, b, ohm=ohm)
            case "coil":
                self.branch(a, b, ohm=ohm, henry=self.between(1e-5, 3e-3))
            case "driver":
                self.branch(a, b, ohm=ohm, henry=self.between(1e-4, 3e-3), tank=self.tank(ohm))
            case "driver in parts":
                self.in_parts(a, b, ohm)
            case "capacitor":  # a high-frequency driver behind its capacitor, which leaks: else nothing holds its node
                self.branch(a, b, ohm=ohm, farad=self.between(1e-6, 1e-4))
                self.branch(a, b, ohm=self.between(1e4, 1e6))
            case _:
                self.branch(a, b, ohm=self.between(80.0, 7000.0))

    def tank(self, ohm: float) -> Tank:
        hertz, damping, quality = self.between(25.0, 2500.0), self.between(0.2, 1.5), self.between(2.0, 12.0)
        high = ohm * quality / damping
        return Tank(high, high / (2 * pi * hertz * quality), quality / (2 * pi * hertz * high))

    def in_parts(self, a: str, b: str, ohm: float) -> None:
        inner, core = self.node(), self.node()
        tank = self.tank(ohm)
        self.branch(a, inner, ohm=ohm)
        self.branch(inner, core, henry=self.between(1e-4, 3e-3))
        self.branch(core, b, ohm=tank.ohm)
        self.branch(core, b, henry=tank.henry)
        self.branch(core, b, farad=tank.farad)

    # ---- how it hangs together

    def ladder(self) -> None:
        """Boxes or taps one behind the other on a line with a lead in both conductors."""
        plus, minus = self.node(), "0"
        self.source(plus, minus)
        for _ in range(self.random.randint(2, 8)):
            following, back = self.node(), self.node()
            self.lead(plus, following)
            self.lead(back, minus)
            self.box(following, back)
            plus, minus = following, back

    def star(self) -> None:
        """Boxes side by side, each on its own lead, at one output; one lead is of no length."""
        hot = self.node()
        self.source(hot, "0")
        plug = self.node()
        self.branch(hot, plug)
        self.box(plug, "0")
        for _ in range(self.random.randint(1, 5)):
            end = self.node()
            self.lead(hot, end)
            self.box(end, "0")

    def tree(self) -> None:
        """Series in parallel in series, a few levels deep."""
        hot = self.node()
        self.source(hot, "0")

        def grow(a: str, b: str, depth: int) -> None:
            if depth == 0 or self.random.random() < 0.2:
                self.box(a, b)
            elif self.random.random() < 0.5:
                middle = self.node()
                grow(a, middle, depth - 1)
                grow(middle, b, depth - 1)
            else:
                near = self.node()
                self.lead(a, near)
                for _ in range(self.random.randint(2, 3)):
                    grow(near, b, depth - 1)

        grow(hot, "0", 3)

    def bridge(self) -> None:
        """A bridged pair with a load between its hot poles, loads to common, and a link across like Wheatstone's."""
        left, right, up, down = (self.node() for _ in range(4))
        self.source(left, "0")
        self.source(right, "0")
        for a, b in ((left, up), (left, down), (up, right), (down, right)):
            self.random.choice([self.lead, self.box])(a, b)
        self.box(up, down)
        for end in (left, right, up):
            if self.random.random() < 0.5:
                self.box(end, "0")

    def mesh(self) -> None:
        """Anything joined with anything: a spanning tree of leads, boxes across it, several sources at once."""
        nodes = ["0", *(self.node() for _ in range(self.random.randint(4, 10)))]
        for number, node in enumerate(nodes[1:], 1):
            self.lead(self.random.choice(nodes[:number]), node)
        for _ in range(self.random.randint(3, 12)):
            self.random.choice([self.lead, self.box, self.box])(*self.random.sample(nodes, 2))
        for node in self.random.sample(nodes[1:], self.random.randint(1, 3)):
            self.source(node, "0")


SORTS: tuple[Callable[[Maker], None], ...] = (Maker.ladder, Maker.star, Maker.tree, Maker.bridge, Maker.mesh)


def network(random: Random, sort: Callable[[Maker], None]) -> Network:
    """One network of a sort."""
    maker = Maker(random)
    sort(maker)
    return Network(sort.__name__, tuple(maker.branches), tuple(maker.sources))
