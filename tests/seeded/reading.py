"""A rig as the judge reads it: names, settings and figures from the syntax tree, by means of its own.

Nothing here uses what the checker resolves or computes. The judge shares the parser with it, and no more: units, names,
kinds and what each place takes are written down here once more, as far as the samples need them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from functools import cache

from attrs import define, field, frozen

from rigspec.language import syntax as s

Settings = dict[str, list[s.Setting]]

# What a unit measures, and what one of it is in the unit that the judge reckons in.
UNITS: Mapping[str, tuple[str, float]] = {
    "": ("number", 1),
    "ohm": ("ohm", 1),
    "kohm": ("ohm", 1e3),
    "W": ("watt", 1),
    "kW": ("watt", 1e3),
    "V": ("volt", 1),
    "A": ("ampere", 1),
    "mA": ("ampere", 1e-3),
    "kVA": ("voltampere", 1e3),
    "m": ("metre", 1),
    "km": ("metre", 1e3),
    "ft": ("metre", 0.3048),
    "mm2": ("mm2", 1),
    "AWG": ("gauge", 1),
    "Hz": ("hertz", 1),
    "kHz": ("hertz", 1e3),
    "s": ("second", 1),
    "ms": ("second", 1e-3),
    "dB": ("gain", 1),
    "dBu": ("level", 1),
    "dB SPL": ("sound level", 1),
    "dB/octave": ("slope", 1),
    "deg": ("angle", 1),
    "degC": ("temperature", 1),
    "degF": ("temperature", 1),
    "%": ("percent", 1),
}

# What the figures of a setting may measure, where the samples use it; settings of the stock are never mutated.
PLACES: Mapping[str, str] = {
    "level": "level",
    "peak": "level",
    "source": "ohm",
    "input": "ohm",
    "band": "hertz",
    "at": "metre",
    "corner": "metre",
    "toward": "angle",
    "aim": "angle",
    "attenuator": "gain",
    "gain": "gain",
    "from": "gain",
    "loss": "gain",
    "delay": "second metre",
    "high-pass": "hertz slope",
    "low-pass": "hertz slope",
    "tap": "watt",
    "legs": "number",
    "limit": "level volt",
    "attack": "second",
    "release": "second",
    "mains": "volt hertz",
    "air": "temperature percent",
    "lead-loss": "gain",
    "spread": "gain",
    "damping": "number",
    "headroom": "gain",
    "drop": "percent",
    "height": "metre",
    "supply": "volt",
    "phases": "number",
    "generator": "voltampere",
    "breaker": "ampere",
    "residual": "ampere",
    "outlets": "number",
    "lead": "mm2 gauge metre",
}
KNOWN_WORDS = frozenset(
    (
        *PLACES,
        "limits",
        "code",
        "label",
        "ends",
        "inverted",
        "transformer",
        "phase",
        "joined",
        "bridge",
        "hears",
        "array",
        "on",
    )
)
ALIGNMENTS = {"butterworth", "linkwitz-riley", "bessel"}
PROMISED: Mapping[str, str] = {
    "load": "ohm",
    "least-impedance": "ohm",
    "current": "ampere",
    "drop": "percent",
    "loss": "gain",
    "level": "level sound level",
    "resistance": "ohm",
    "power": "watt",
    "polarity": "",
    "evenness": "gain",
    "arrival": "second",
}


@frozen
class Quantity:
    """A figure: ``low`` to ``high``, alike where one value is given."""

    kind: str
    low: float
    high: float


@define(eq=False)
class Gear:
    word: str
    name: str
    number: int | None
    kind: str
    settings: Settings
    ports: dict[str, Settings] = field(factory=dict)

    @property
    def full(self) -> str:
        return self.name if self.number is None else f"{self.name}[{self.number}]"

    def value(self, word: str, kind: str, port: str = "") -> float | None:
        """The first figure of this kind in a setting, the port's own before the thing's."""
        for settings in (self.ports.get(port, {}), self.settings):
            for quantity in quantities(settings.get(word, ())):
                if quantity.kind == kind:
                    return quantity.low
        return None

    def says(self, word: str, port: str = "") -> bool:
        return word in self.settings or word in self.ports.get(port, {})

    def way(self, way: str) -> Settings:
        block = self.settings[way][0].block if way in self.settings else None
        return settings_of(block) if block else self.settings


@define(eq=False)
class Plan:
    """What a rig says; ``faults`` are what its text alone gets wrong, one line of words each."""

    gear: dict[str, Gear] = field(factory=dict)
    rows: dict[str, list[Gear]] = field(factory=dict)
    kinds: dict[tuple[str, str], Settings] = field(factory=dict)
    listings: dict[str, s.Listing] = field(factory=dict)
    spare: set[str] = field(factory=set)
    paths: list[s.Path] = field(factory=list)
    expects: list[s.Expect] = field(factory=list)
    excused: set[tuple[str, str]] = field(factory=set)
    limits: dict[str, float] = field(factory=dict)
    faults: set[str] = field(factory=set)

    def named(self, ref: s.Ref) -> list[Gear]:
        """The things that a reference names; a fault where one of them does not exist."""
        row = self.rows.get(ref.name)
        if row is None:
            self.faults.add(f"nothing is called {ref.name}")
            return []
        if ref.index is None or ref.index.numbers is None:
            return row
        members = {gear.number: gear for gear in row}
        wanted = [n for first, last in ref.index.numbers for n in range(first, last + 1)]
        self.faults |= {f"there is no {ref.name}[{n}]" for n in wanted if n not in members}
        return [members[n] for n in wanted if n in members]

    def places(self, ref: s.Ref) -> list[tuple[Gear, str]]:
        """The things that a reference names, each with each port that it names there; a fault where one is not."""
        found = []
        for gear in self.named(ref):
            for port in _ports(gear, ref):
                missing = [half for half in port.split("+") if half not in port_names(gear)] if port else []
                if missing and gear.word != "feed" and gear.settings:
                    self.faults.add(f"{gear.full} has no {missing[0]}")
                else:
                    found.append((gear, port))
        return found

    def keys(self, ref: s.Ref) -> list[str]:
        return [f"{gear.full}.{port}" if port else gear.full for gear, port in self.places(ref)]

    def refs(self, items: Iterable[s.Item]) -> list[s.Ref]:
        """The references of a list, a group's name replaced by what it holds."""
        found = []
        for item in items:
            for atom in item.atoms:
                if not isinstance(atom, s.Ref) or atom.name == "against":
                    continue
                listing = self.listings.get(atom.name)
                found += self.refs(listing.items) if listing and listing.word != "mix" else [atom]
        return found


def quantity(atom: s.Figure | s.Range) -> Quantity:
    """What an atom measures; the kind is ``?`` where the unit is not known or the ends of a range differ in kind."""
    if isinstance(atom, s.Range):
        low, high = quantity(atom.low), quantity(atom.high)
        return Quantity(low.kind if low.kind == high.kind else "?", low.low, high.high)
    return _measured(atom.number, atom.unit)


@cache
def _measured(number: str, unit: str) -> Quantity:
    kind, scale = UNITS.get(" ".join(unit.split()), ("?", 1.0))
    value = float(number) * scale if "/" not in number else 0.0
    return Quantity(kind, value, value)


def quantities(settings: Iterable[s.Setting]) -> Iterator[Quantity]:
    for setting in settings:
        for item in setting.items:
            yield from (quantity(atom) for atom in item.atoms if isinstance(atom, (s.Figure, s.Range)))


def settings_of(block: s.Block | None) -> Settings:
    found: Settings = {}
    for setting in block.settings if block else ():
        found.setdefault(setting.word, []).append(setting)
    return found


def members(index: s.Index | None) -> list[int | None]:
    if index is None or index.numbers is None:
        return [None]
    return [n for first, last in index.numbers for n in range(first, last + 1)]


def read(file: s.File, stock: s.File) -> Plan:
    """The plan of a rig with its stock."""
    plan = Plan()
    nodes = [statement.node for statement in file.statements]
    plan.faults |= {f"cannot be read: {t.tokens[0].text}" for t in file.statements if t.node is None}
    uses = any(isinstance(node, s.Use) for node in nodes)
    for statement in stock.statements if uses else ():
        if isinstance(statement.node, s.Stock):
            plan.kinds[statement.node.sort, statement.node.name] = settings_of(statement.node.block)
    for node in nodes:
        match node:
            case s.RigFacts():
                _limits(plan, node)
            case s.Thing():
                _declare(plan, node)
            case s.Listing():
                _list(plan, node)
            case s.Path():
                plan.paths.append(node)
            case s.Expect():
                plan.expects.append(node)
    for node in nodes:
        match node:
            case s.Member():
                _member(plan, node)
            case s.Allow():
                plan.excused |= {(node.rule, gear.full) for gear, _ in plan.places(node.ref)}
            case s.Measured():
                for each in node.readings:
                    plan.places(each.ref)
                    _promise(plan, node.figure, each.value)
            case s.Expect():
                _promise(plan, node.figure, node.value)
    for listing in plan.listings.values():
        for ref in plan.refs(listing.items):
            plan.places(ref)
    for node in nodes:
        if isinstance(node, s.Thing):
            _names_exist(plan, node)
    for node in nodes:
        if isinstance(node, s.Listing) and node.word == "spare":
            plan.spare |= {key for ref in plan.refs(node.items) for key in plan.keys(ref)}
    return plan


def _limits(plan: Plan, node: s.RigFacts) -> None:
    _judge(plan, node.block)
    for setting in settings_of(node.block).get("limits", ()):
        _judge(plan, setting.block)
        for inner in setting.block.settings if setting.block else ():
            for each in quantities([inner]):
                plan.limits[inner.word] = abs(each.low)


# Words of settings that stand inside others too, and where.
WORDS_INSIDE = {
    "peak": "limit rated", "bridge": "rated least-load", "at": "rated draw damping taps impedance",
    "low": "drivers", "mid": "drivers", "high": "drivers",
}  # fmt: skip


def _judge(plan: Plan, block: s.Block | None) -> None:
    """Unknown settings, settings made twice, and figures that measure something else than their place takes."""
    for word, given in settings_of(block).items():
        if word not in KNOWN_WORDS:
            plan.faults.add(f"no setting is called {word}")
        if len(given) > 1 and word not in ("limit", "corner"):
            plan.faults.add(f"{word} is set twice")
        refs = [a.name for each in given for item in each.items for a in item.atoms if isinstance(a, s.Ref)]
        strays = {ref for ref in refs if ref in KNOWN_WORDS and word not in WORDS_INSIDE.get(ref, "").split()}
        if strays:
            plan.faults.add(f"{word} holds the settings {strays}")
        if "-pass" in word and not ALIGNMENTS.issuperset(refs):
            plan.faults.add(f"no filter is called {refs}")
        for each in quantities(given):
            if each.kind not in PLACES.get(word, each.kind if each.kind != "?" else "").split() or each.low > each.high:
                plan.faults.add(f"{word} does not take what is written there: {given[0].span.text}")


def _declare(plan: Plan, node: s.Thing) -> None:
    _judge(plan, node.block)
    kind = node.kind.name if node.kind else ""
    facts = plan.kinds.get((node.word, kind), {})
    if (kind or node.word in ("amp", "speaker")) and not facts:
        plan.faults.add(f"no {node.word} is of the kind {kind}")
    own = settings_of(node.block)
    own.update(_lead_figures(plan, node) if node.word == "lead" else {})
    row = plan.rows.setdefault(node.name, [])
    for number in members(node.index):
        gear = Gear(node.word, node.name, number, kind, {**facts, **own})
        if gear.full in plan.gear:
            plan.faults.add(f"{gear.full} is declared twice")
        plan.gear[gear.full] = gear
        row.append(gear)


def _names_exist(plan: Plan, node: s.Thing) -> None:
    """The names that a thing's own statement mentions: where its mains comes from, and what a place hears."""
    heard = [setting.items for setting in settings_of(node.block).get("hears", ())]
    for ref in [*([node.parent] if node.parent else ()), *(ref for items in heard for ref in plan.refs(items))]:
        plan.places(ref)
    for setting in settings_of(node.block).get("lead", ()):
        kinds = sorted(each.kind for each in quantities([setting]))
        if kinds not in (["gauge", "metre"], ["metre", "mm2"]):
            plan.faults.add(f"a lead is not described: {setting.span.text}")


def _lead_figures(plan: Plan, node: s.Thing) -> Settings:
    """The size and the length behind a lead's name, as if they were settings."""
    found: Settings = {}
    for atom in node.atoms:
        place = atom.span
        if isinstance(atom, (s.Figure, s.Range)):
            kind = quantity(atom).kind
            word = {"metre": "length", "mm2": "size", "gauge": "size"}.get(kind)
            if word is None or quantity(atom).low > quantity(atom).high:
                plan.faults.add(f"a lead does not take {atom.span.text}")
                continue
            found[word] = [s.Setting(word, (s.Item((atom,), place),), None, place, place)]
        elif isinstance(atom, s.Ref) and atom.name == "inverted":
            found["inverted"] = [s.Setting("inverted", (), None, place, place)]
    return found


def _list(plan: Plan, node: s.Listing) -> None:
    if node.word != "spare":
        if node.name in plan.listings:
            plan.faults.add(f"{node.name} is listed twice")
        plan.listings[node.name] = node
    for item in node.items:
        for atom in item.atoms:
            if isinstance(atom, s.Figure) and quantity(atom).kind != "gain":
                plan.faults.add(f"a list does not take {atom.span.text}")


def _member(plan: Plan, node: s.Member) -> None:
    _judge(plan, node.block)
    for gear, port in (place for ref in node.refs for place in plan.places(ref)):
        into = gear.ports.setdefault(port, {}) if port else gear.settings
        for word, given in settings_of(node.block).items():
            if word in into and (port or into[word] is not plan.kinds.get((gear.word, gear.kind), {}).get(word)):
                plan.faults.add(f"{word} of {gear.full} is set twice")
            into[word] = given


def _promise(plan: Plan, figure: str, value: s.Figure | str) -> None:
    if figure not in PROMISED:
        plan.faults.add(f"no figure is called {figure}")
    elif isinstance(value, s.Figure) and quantity(value).kind not in PROMISED[figure]:
        plan.faults.add(f"{figure} is not measured in {value.span.text}")
    elif isinstance(value, str) and value not in ("normal", "inverted"):
        plan.faults.add(f"{figure} cannot be {value}")


def port_names(gear: Gear) -> set[str]:
    """The ports that a thing has: channels, outputs and inputs, legs, pairs, lines or ways."""
    counted = {"amp": "channels", "processor": "outputs", "split": "legs", "lead": "pairs", "panel": "lines"}
    if gear.word == "speaker":
        return {way for way in ("low", "mid", "high") if way in gear.settings}
    count = int(gear.value(counted.get(gear.word, ""), "number") or (gear.word == "lead"))
    names = {str(n) for n in range(1, count + 1)}
    if gear.word == "processor":
        names |= set("abcdefgh"[: int(gear.value("inputs", "number") or 0)])
    return names


def _ports(gear: Gear, ref: s.Ref) -> list[str]:
    port = ".".join(ref.ports)
    low, _, high = port.partition("..")
    if port == "*":
        return sorted(port_names(gear))
    return [str(n) for n in range(int(low), int(high) + 1)] if high else [port]
