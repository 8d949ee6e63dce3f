"""What hangs on what, as the judge sees it: a tree behind every output, and plain series and parallel arithmetic."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import pairwise
from math import pi

from attrs import define, evolve, field, frozen

from rigspec.language import syntax as s

from .edits import chains
from .reading import Gear, Plan, quantities, quantity

# Greatest resistance of one conductor at 20 degC, ohm per km: IEC 60228 class 5, plain copper (secondary tables).
OHM_PER_KM = {0.5: 39.0, 0.75: 26.0, 1.0: 19.5, 1.5: 13.3, 2.5: 7.98, 4.0: 4.95, 6.0: 3.30, 10.0: 1.91, 16.0: 1.21}
COPPER_OHM_MM2_PER_KM = 1000 / 58  # IEC 60028
STRANDING = 1.02  # stranded over solid wire of one gauge: ASTM B8, from memory
SPEED_OF_SOUND_M_PER_S = 343.2
DEEPEST = 150  # nodes one behind another; a row of 32 linked boxes has 64


@frozen
class Copper:
    """The resistance of a lead there and back, in ohms: at its least, at its greatest, and halfway."""

    least: float
    most: float

    @property
    def ohm(self) -> float:
        return (self.least + self.most) / 2


@define(eq=False)
class Node:
    """One hop. ``what``: lead, turn, pad, box, input, inlet, passage or series."""

    what: str
    key: str = ""
    copper: Copper = Copper(0, 0)
    gain_db: float = 0.0
    turned: bool = False
    behind: list[Node] = field(factory=list)
    branches: list[list[Node]] = field(factory=list)


@frozen
class Arrival:
    """How an output reaches a thing: turns, gain, and whether any lead lies on the way."""

    output: str
    node: Node
    turns: int
    gain_db: float
    over_lead: bool
    depth: int


class Circuit:
    """All paths of a plan as trees; ``faults`` are those of the wiring."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.outlets: dict[str, list[Node]] = {}
        self.owner: dict[str, Gear] = {}
        self.entered: Counter[str] = Counter()
        self.left: Counter[str] = Counter()
        self.arrived: Counter[str] = Counter()
        self.faults: set[str] = set()
        self.mains = False
        self._reached: dict[str, tuple[Arrival, ...]] = {}
        self._conducts: dict[tuple[int, str], float] = {}  # by node and case: a judge asks with the same impedances
        for path in plan.paths:
            for hops in self._each(path) if path.each else (path.hops,):
                self._path(hops)

    # ---- building

    def _outlet(self, key: str, gear: Gear) -> list[Node]:
        self.owner[key] = gear
        return self.outlets.setdefault(key, [])

    def _each(self, path: s.Path) -> Iterator[Sequence[s.Hop]]:
        """One path for each member of the rows in it; what is named alone, or linked, stands in all of them."""
        points = [hop for chain in chains(path.hops) for hop in chain if isinstance(hop, s.Point) and not hop.linked]
        things = [point.ref for point in points if point.ref.name not in self.plan.listings]
        rows = {ref: places for ref in things if len(places := self.plan.places(ref)) > 1}
        sizes = {len(places) for places in rows.values()}
        if len(sizes) != 1:
            self.faults.add(f"the rows of a path differ in size, or it has none: {path.span.text}")
        for number in range(min(sizes, default=1)):
            yield _taken(path.hops, rows, number)

    def _path(self, hops: Sequence[s.Hop]) -> None:
        first = hops[0]
        assert isinstance(first, s.Point)
        listing = self.plan.listings.get(first.ref.name)
        if listing is not None and listing.word == "mix":
            at = self.outlets.setdefault(listing.name, [])
            self.mains = False
        else:
            places = self.plan.places(first.ref)
            if not places:
                return
            gear, port = places[-1]
            if len(places) > 1:
                self.faults.add(f"several things begin one path: {first.span.text}")
            if gear.word in ("amp", "processor", "split") and not port:
                self.faults.add(f"it is not said which output of {gear.full} is meant")
            self.mains = gear.word == "mains"
            key = (
                f"{gear.full}.{port or '1'}" if gear.word in ("panel", "lead") else gear.full + f".{port}" * bool(port)
            )
            if gear.word in ("panel", "lead"):
                self.left[key] += 1
            at = self._outlet(key, gear)
        self._walk(hops[1:], at)

    def _walk(self, hops: Sequence[s.Hop], at: list[Node]) -> None:
        for number, hop in enumerate(hops):
            last = number == len(hops) - 1
            if isinstance(hop, s.Point):
                following = self._point(hop, at, last)
                if following is None:
                    return
                at = following
            elif isinstance(hop, s.Join):
                if not last:
                    self.faults.add(f"something follows {hop.word}(...)")
                if hop.word == "parallel":
                    for branch in hop.branches:
                        self._walk(branch, at)
                else:
                    node = Node("series", branches=[[] for _ in hop.branches])
                    at.append(node)
                    for branch, start in zip(hop.branches, node.branches, strict=True):
                        self._walk(branch, start)
            else:
                node = self._plain(hop)
                at.append(node)
                at = node.behind
                if last:
                    self.faults.add(f"a path ends in the air: {hop.span.text}")

    def _plain(self, hop: s.LeadHop | s.Invert | s.Pad | s.Delay) -> Node:
        match hop:
            case s.LeadHop():
                turned = any(isinstance(atom, s.Ref) and atom.name == "inverted" for atom in hop.atoms)
                return Node("lead", copper=self._copper(hop.atoms), turned=turned)
            case s.Invert():
                return Node("turn", turned=True)
            case s.Pad():
                if quantity(hop.loss).kind != "gain":
                    self.faults.add(f"a pad does not take {hop.loss.span.text}")
                return Node("pad", gain_db=-abs(quantity(hop.loss).low))
        if quantity(hop.time).kind not in ("second", "metre"):
            self.faults.add(f"a delay does not take {hop.time.span.text}")
        return Node("delay")

    def _copper(self, atoms: Sequence[s.Atom]) -> Copper:
        given = {}
        for atom in atoms:
            if isinstance(atom, (s.Figure, s.Range)):
                given[quantity(atom).kind] = quantity(atom)
            elif isinstance(atom, s.Ref) and atom.name not in ("solid", "tinned", "inverted"):
                facts = self.plan.kinds.get(("lead", atom.name))
                if facts is None:
                    self.faults.add(f"no lead is of the kind {atom.name}")
                    return Copper(0, 0)
                given.update({each.kind: each for each in quantities(facts.get("size", ()))})
        size, length = given.get("mm2") or given.get("gauge"), given.get("metre")
        if size is None or length is None or len(given) != 2:
            self.faults.add("a lead is not described: " + " ".join(atom.span.text for atom in atoms))
            return Copper(0, 0)
        ends = sorted(_ohm_per_km(size.kind, end) for end in (size.low, size.high))
        return Copper(2 * ends[0] * length.low / 1000, 2 * ends[1] * length.high / 1000)

    def _point(self, hop: s.Point, at: list[Node], last: bool) -> list[Node] | None:
        """Append what a hop names; what follows hangs on the list that is returned."""
        places = self.plan.places(hop.ref)
        if not places:
            return None
        gears = [gear for gear, _ in places]
        gear, port = places[0]
        if self.mains:
            at += [Node("inlet", each.full) for each in gears]
            return at
        if len(gears) > 1 and (hop.linked is None or gear.word != "speaker"):
            self.faults.add(f"a row without links: {hop.span.text}")
            return None
        match gear.word:
            case "speaker":
                return self._boxes(hop, gears, port, at)
            case "panel" | "lead":
                return self._passage(gear, port or "1", at, last)
            case "amp":
                return self._into_amp(gear, port, at)
            case "processor" | "split":
                return self._into_inputs(gear, port, at, last)
        self.faults.add(f"{gear.full} cannot stand there")
        return None

    def _into_amp(self, gear: Gear, port: str, at: list[Node]) -> list[Node] | None:
        if not port:
            self.faults.add(f"it is not said which channel of {gear.full} is meant")
            return None
        key = f"{gear.full}.{min(port.split('+'), key=int)}"
        self.arrived[key] += 1
        at.append(Node("input", key))
        return self._outlet(f"{gear.full}.{port}", gear)

    def _into_inputs(self, gear: Gear, port: str, at: list[Node], last: bool) -> list[Node] | None:
        if (gear.word == "processor") != port.isalpha() or not last:
            self.faults.add(f"{gear.full} is not entered at an input: {port}")
            return None
        key = gear.full + f".{port}" * bool(port)
        self.arrived[key] += 1
        at.append(Node("input", key))
        return at

    def _boxes(self, hop: s.Point, gears: Sequence[Gear], port: str, at: list[Node]) -> list[Node] | None:
        for before, gear in pairwise((None, *gears)):
            assert gear is not None
            if any(way in gear.settings for way in ("low", "high")) and not port:
                self.faults.add(f"it is not said which way of {gear.full} is meant")
                return None
            if before is not None and hop.linked is not None:
                link = Node("lead", copper=self._copper(hop.linked))
                at.append(link)
                at = link.behind
            key = gear.full + f".{port}" * bool(port)
            self.arrived[key] += 1
            at.append(Node("input" if gear.says("powered") else "box", key))
            self.owner[key] = gear
            at = self._outlet(key, gear)
        return at

    def _passage(self, gear: Gear, port: str, at: list[Node], last: bool) -> list[Node]:
        key = f"{gear.full}.{port}"
        self.entered[key] += 1
        self.left[key] += not last
        copper = Copper(0, 0)
        if gear.word == "lead":
            atoms = [
                a for word in ("size", "length") for each in gear.settings.get(word, ()) for a in each.items[0].atoms
            ]
            copper = self._copper(atoms)
        turned = gear.says("inverted", port)
        at.append(Node("lead" if gear.word == "lead" else "passage", key, copper, turned=turned))
        return self._outlet(key, gear)

    # ---- following and reckoning

    def behind(self, node: Node) -> list[Node]:
        """What hangs behind a node: its own, or what hangs on the socket of the thing it names."""
        if node.key and node.what in ("lead", "passage", "box"):
            return self.outlets.get(node.key, [])
        if node.what == "input" and node.key in self.owner and self.owner[node.key].word == "speaker":
            return self.outlets.get(node.key, [])
        return node.behind

    def reach(self, output: str) -> Sequence[Arrival]:
        """Everything that an output reaches; asked often, and worked out once."""
        if output not in self._reached:
            self._reached[output] = tuple(self._reach(output, self.outlets.get(output, []), 0, 0.0, False, 0))
        return self._reached[output]

    def _reach(
        self, output: str, nodes: Sequence[Node], turns: int, gain_db: float, over_lead: bool, depth: int
    ) -> Iterator[Arrival]:
        for node in nodes if depth < DEEPEST else ():
            now, gain, lead = turns + node.turned, gain_db + node.gain_db, over_lead or node.what == "lead"
            yield Arrival(output, node, now, gain, lead, depth)
            for branch in (self.behind(node), *node.branches):
                yield from self._reach(output, branch, now, gain, lead, depth + 1)

    def siemens(self, nodes: Sequence[Node], ohm_of: dict[str, float], case: str, depth: int = 0) -> float:
        """The conductance of what hangs in parallel; ``case`` is the copper: ohm, least, most, or none."""
        return sum(self._one(node, ohm_of, case, depth) for node in nodes) if depth < DEEPEST else 0.0

    def _one(self, node: Node, ohm_of: dict[str, float], case: str, depth: int) -> float:
        """Of one node with all that hangs behind it: asked anew from every node before it, and worked out once."""
        key = (id(node), case)
        if key not in self._conducts:
            self._conducts[key] = self._worked_out(node, ohm_of, case, depth)
        return self._conducts[key]

    def _worked_out(self, node: Node, ohm_of: dict[str, float], case: str, depth: int) -> float:
        if node.what == "series":
            parts = [self.siemens(branch, ohm_of, case, depth + 1) for branch in node.branches]
            return 1 / sum(1 / part for part in parts) if all(parts) else 0.0
        below = self.siemens(self.behind(node), ohm_of, case, depth + 1)
        if node.what == "box":
            return below + (1 / ohm_of[node.key] if node.key in ohm_of else 0.0)
        if node.what == "lead" and below:
            return 1 / ((getattr(node.copper, case) if case != "none" else 0.0) + 1 / below)
        return below

    def volts(
        self, nodes: Sequence[Node], volt: float, ohm_of: dict[str, float], case: str, depth: int = 0
    ) -> Iterator[tuple[str, float]]:
        """The voltage at each box, for a voltage across what hangs in parallel."""
        for node in nodes if depth < DEEPEST else ():
            if node.what == "series":
                parts = [self.siemens(branch, ohm_of, case) for branch in node.branches]
                if not all(parts):
                    continue
                whole = sum(1 / part for part in parts)
                for branch, part in zip(node.branches, parts, strict=True):
                    yield from self.volts(branch, volt / part / whole, ohm_of, case, depth + 1)
                continue
            here = volt
            if node.what == "lead" and case != "none":
                here /= 1 + getattr(node.copper, case) * self.siemens(self.behind(node), ohm_of, case)
            if node.what == "box":
                yield node.key, here
            yield from self.volts(self.behind(node), here, ohm_of, case, depth + 1)


def _taken(hops: Sequence[s.Hop], rows: dict[s.Ref, list[tuple[Gear, str]]], number: int) -> tuple[s.Hop, ...]:
    """The hops, inside brackets too, with one member in the place of each row."""
    taken: list[s.Hop] = []
    for hop in hops:
        if isinstance(hop, s.Point) and hop.ref in rows:
            gear, port = rows[hop.ref][number]
            index = None if gear.number is None else s.Index(((gear.number, gear.number),), hop.span)
            hop = evolve(hop, ref=evolve(hop.ref, index=index, ports=(port,) if port else ()))
        elif isinstance(hop, s.Join):
            hop = evolve(hop, branches=tuple(_taken(branch, rows, number) for branch in hop.branches))
        taken.append(hop)
    return tuple(taken)


def _ohm_per_km(kind: str, size: float) -> float:
    if kind == "gauge":  # ASTM B258: the diameter falls by the 39th root of 92 with each gauge
        diameter_mm: float = 0.127 * 92 ** ((36 - size) / 39)
        return COPPER_OHM_MM2_PER_KM * STRANDING / (pi / 4 * diameter_mm**2)
    return OHM_PER_KM.get(size) or 1.16 * COPPER_OHM_MM2_PER_KM / size
