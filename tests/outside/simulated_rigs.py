"""Rigs made up at random, each as its text and, worked out apart from the program, as a network for the simulator."""

from __future__ import annotations

from collections.abc import Callable
from math import log10, pi
from random import Random

from attrs import define, field, frozen
from simulator import Branch, Emf, Network, Tank

# Greatest resistance of one conductor at 20 degC in ohm/km: IEC 60228 class 5, plain (as public pages reproduce it).
OHM_PER_KM = {0.75: 26.0, 1.5: 13.3, 2.5: 7.98, 4: 4.95, 6: 3.30}


@frozen
class Lead:
    """A lead of a run, by the place of its words among all leads of the text, with the nodes at its ends."""

    loop_ohm: float
    out: str
    back: str
    near: tuple[str, str]
    far: tuple[str, str]


@frozen
class Simulated:
    """A channel: its key, its network with 1 V from the source ``emf``, the branch of each box, its leads in order."""

    key: str
    network: Network
    boxes: dict[str, str]
    leads: tuple[Lead, ...]


@frozen
class Kind:
    """A kind of loudspeaker: the text of its stock, and the branch that stands for it."""

    name: str
    text: str
    branch: Callable[[str, str, str], Branch]


@define
class RigMaker:
    """Writes one rig and its networks; every choice comes from one random generator."""

    random: Random
    kinds: list[Kind] = field(factory=list)
    lines: list[str] = field(factory=list)
    channels: list[Simulated] = field(factory=list)
    _boxes: int = 0
    _nodes: int = 0
    _branches: list[Branch] = field(factory=list)
    _of_box: dict[str, str] = field(factory=dict)
    _leads: list[Lead] = field(factory=list)

    def rig(self, outputs: int) -> str:
        """The whole text; `channels` has the networks afterwards."""
        self.lines += ["stock amp twin { channels 2; rated 400 W at 4 ohm, 250 W at 8 ohm; least-load 0.1 ohm }"]
        self.lines += [kind.text for kind in self.kinds]
        for number in range(outputs):
            self._output(f"a{number}")
        return "\n".join([*self.lines, ""])

    def _output(self, amp: str) -> None:
        self._branches, self._of_box, self._leads = [], {}, []
        bridged = self.random.random() < 0.25
        key = f"{amp}.1+2" if bridged else f"{amp}.1"
        plus = self._node()
        path = self._run(plus, "0", 3)
        self.lines += [f"amp {amp} is twin{' { bridge 1+2 }' if bridged else ''}", f"{key} -> {path}"]
        network = Network(key, tuple(self._branches), (Emf("emf", plus, "0", 1.0),))
        self.channels.append(Simulated(key, network, dict(self._of_box), tuple(self._leads)))

    def _node(self) -> str:
        self._nodes += 1
        return f"{self._nodes}"

    # ---- runs: each takes the two conductors that arrive, and gives the words of the path

    def _run(self, plus: str, minus: str, depth: int) -> str:
        words, plus, minus = self._lead(plus, minus)
        if self.random.random() < 0.2:
            words, plus, minus = f"{words} -> invert", minus, plus
        sort = self.random.choice(["box", "link", "row", "series", "parallel"] if depth else ["box", "row"])
        match sort:
            case "series":
                middle = self._node()
                return f"{words} -> series({self._run(plus, middle, depth - 1)}, {self._run(middle, minus, depth - 1)})"
            case "parallel":
                branches = [self._run(plus, minus, depth - 1) for _ in range(self.random.randint(2, 3))]
                return f"{words} -> parallel({', '.join(branches)})"
            case "row":
                return f"{words} -> {self._row(plus, minus)}"
            case "link":
                box = self._box(plus, minus, *self._declared())
                return f"{words} -> {box} -> {self._run(plus, minus, depth - 1)}"
        return f"{words} -> {self._box(plus, minus, *self._declared())}"

    def _declared(self, count: int = 1) -> tuple[str, Kind]:
        self._boxes += 1
        name, kind = f"s{self._boxes}", self.random.choice(self.kinds)
        self.lines.append(f"speaker {name}{f'[1..{count}]' if count > 1 else ''} is {kind.name}")
        return name, kind

    def _box(self, plus: str, minus: str, key: str, kind: Kind) -> str:
        self._of_box[key] = f"box {key}"
        self._branches.append(kind.branch(f"box {key}", plus, minus))
        return key

    def _row(self, plus: str, minus: str) -> str:
        """Boxes one behind the other; the link lead is one piece for each step."""
        count = self.random.randint(2, 4)
        name, kind = self._declared(count)
        size, metres = self._size(), float(self.random.randint(1, 4))
        for number in range(1, count + 1):
            self._box(plus, minus, f"{name}[{number}]", kind)
            if number < count:
                plus, minus = self._copper(plus, minus, size, metres)
        return f"{name}[1..{count}] linked {size:g} mm2 {metres:g} m"

    def _lead(self, plus: str, minus: str) -> tuple[str, str, str]:
        size, metres = self._size(), float(self.random.randint(1, 60))
        return f"lead {size:g} mm2 {metres:g} m", *self._copper(plus, minus, size, metres)

    def _size(self) -> float:
        return self.random.choice(list(OHM_PER_KM))

    def _copper(self, plus: str, minus: str, size: float, metres: float) -> tuple[str, str]:
        ohm = OHM_PER_KM[size] * metres / 1000
        far = self._node(), self._node()
        names = f"out {len(self._leads)}", f"back {len(self._leads)}"
        self._branches += [Branch(names[0], plus, far[0], ohm), Branch(names[1], far[1], minus, ohm)]
        self._leads.append(Lead(2 * ohm, *names, (plus, minus), far))
        return far


def rated_kinds(random: Random) -> list[Kind]:
    """Loudspeakers of which only the rated impedance is known."""

    def kind(name: str, ohm: float) -> Kind:
        text = f"stock speaker {name} {{ impedance {ohm:g} ohm }}"
        return Kind(name, text, lambda branch, a, b: Branch(branch, a, b, ohm))

    return [kind(f"k{number}", round(random.uniform(2.0, 16.0), 2)) for number in range(5)]


def driver_kinds(random: Random) -> list[Kind]:
    """Loudspeakers whose driver's parameters are known, alone, in a sealed box, and in vented ones with losses."""
    return [_driver_kind(f"d{number}", number, random) for number in range(6)]


def _driver_kind(name: str, number: int, random: Random) -> Kind:
    coil, millihenry = round(random.uniform(3.0, 7.0), 2), round(random.uniform(0.1, 2.0), 2)
    hertz, tuned = round(random.uniform(25.0, 90.0), 1), round(random.uniform(30.0, 80.0), 1)
    mechanical, electrical = round(random.uniform(3.0, 12.0), 2), round(random.uniform(0.2, 1.2), 2)
    ratio, leak = round(random.uniform(0.4, 4.0), 2), round(random.uniform(5.0, 20.0), 1)
    box = ("", f"; box sealed {hertz + tuned:g} Hz", f"; box vented {tuned} Hz; compliance-ratio {ratio}; box-q {leak}")
    text = (
        f"stock speaker {name} {{ impedance 8 ohm; band 20 Hz to 2 kHz; driver {{ dc-resistance {coil} ohm;"
        f" coil-inductance {millihenry} mH; resonance {hertz} Hz; mechanical-q {mechanical};"
        f" electrical-q {electrical}{box[number % 3]} }} }}"
    )
    # The driver as a circuit: mass and losses stay, a sealed box stiffens the compliance, a vent hangs beside it.
    ws = 2 * pi * hertz
    resistance, farad, henry = coil * mechanical / electrical, electrical / (ws * coil), coil / (ws * electrical)
    tank = Tank(resistance, henry, farad)
    if number % 3 == 1:
        tank = Tank(resistance, 1 / ((2 * pi * (hertz + tuned)) ** 2 * farad), farad)
    if number % 3 == 2:
        wb = 2 * pi * tuned
        air = henry / ratio
        tank = Tank(resistance, henry, farad, (wb * air / leak, air, 1 / (wb * wb * air)))
    return Kind(name, text, lambda branch, a, b: Branch(branch, a, b, coil, millihenry / 1000, None, tank))


def level_db(volt: complex, other: complex) -> float:
    return 20 * log10(abs(volt) / abs(other))
