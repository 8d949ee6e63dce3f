"""Which feeds stand at every output, how loud, which way up and in which band: the judge's own reckoning."""

from __future__ import annotations

from collections.abc import Sequence
from math import log10, sqrt

from attrs import evolve, frozen

from rigspec.language import syntax as s

from .amplifiers import pairs_of
from .circuit import Arrival, Circuit
from .reading import Gear, Plan, quantities, quantity

DBU_VOLT = sqrt(0.6)  # 0 dBu, ITU-R V.574


@frozen
class Share:
    """One feed's share of a signal."""

    feed: str
    turns: int = 0
    gain_db: float = 0.0
    low_hz: float = 20.0
    high_hz: float = 20_000.0


class Signals:
    def __init__(self, plan: Plan, circuit: Circuit) -> None:
        self.plan = plan
        self.circuit = circuit
        self.into: dict[str, list[Arrival]] = {}
        self.loops: set[str] = set()
        self._known: dict[str, list[Share]] = {}
        for output in list(circuit.outlets):
            gear = circuit.owner.get(output)
            if gear is not None and gear.word in ("speaker", "panel", "lead", "mains", "amp"):
                continue
            for arrival in circuit.reach(output):
                if arrival.node.what in ("input", "box"):
                    self.into.setdefault(arrival.node.key, []).append(arrival)

    def at(self, output: str) -> list[Share]:
        if output not in self._known:
            self._known[output] = []
            self._known[output] = self._made(output)
        return self._known[output]

    def entering(self, key: str) -> list[Share]:
        arrivals = self.into.get(key, [])[:1]
        return [
            evolve(
                share,
                turns=share.turns + each.turns,
                gain_db=share.gain_db + each.gain_db - self.loading_db(each.output),
            )
            for each in arrivals
            for share in self.at(each.output)
        ]

    def volt(self, shares: Sequence[Share], word: str) -> float | None:
        """The voltage of a signal at its feeds' level or peak: alike by phase, unlike by energy."""
        sums: dict[str, float] = {}
        for share in shares:
            dbu = self.plan.gear[share.feed].value(word, "level")
            if dbu is None:
                return None
            volt = DBU_VOLT * 10 ** ((dbu + share.gain_db) / 20) * (-1) ** share.turns
            sums[share.feed] = sums.get(share.feed, 0.0) + volt
        return sqrt(sum(volt * volt for volt in sums.values())) if sums else None

    def loading_db(self, output: str) -> float:
        """What the inputs on an output cost in its own impedance."""
        gear = self.circuit.owner.get(output)
        source = gear.value("source", "ohm") if gear else None
        inputs = {a.node.key.partition(".")[0] for a in self.circuit.reach(output) if a.node.what == "input"}
        known = [self.plan.gear[key].value("input", "ohm") for key in inputs if key in self.plan.gear]
        siemens = sum(1 / ohm for ohm in known if ohm)
        return 20 * log10(1 + source * siemens) if source else 0.0

    def _made(self, output: str) -> list[Share]:
        gear = self.circuit.owner.get(output)
        if gear is None:
            return self._mix(output) if output in self.plan.listings else self._feed(self.plan.gear.get(output))
        port = output[len(gear.full) + 1 :]
        match gear.word:
            case "feed":
                return self._feed(gear)
            case "split":
                loss = abs(gear.value("loss", "gain") or 0.0)
                return [evolve(share, gain_db=share.gain_db - loss) for share in self.entering(gear.full)]
            case "processor":
                return self._processor(gear, port)
            case "amp":
                return self._amp(gear, port)
        return []

    def _feed(self, gear: Gear | None) -> list[Share]:
        if gear is None or gear.word != "feed":
            return []
        band = next(quantities(gear.settings.get("band", ())), None)
        share = Share(gear.full, int(gear.says("inverted")))
        return [evolve(share, low_hz=band.low, high_hz=band.high) if band else share]

    def _mix(self, name: str) -> list[Share]:
        found = []
        for item in self.plan.listings[name].items:
            gain_db = sum(quantity(atom).low for atom in item.atoms if isinstance(atom, s.Figure))
            for ref in self.plan.refs([item]):
                shares = [share for key in self.plan.keys(ref) for share in self.at(key)]
                found += [evolve(share, gain_db=share.gain_db + gain_db) for share in shares]
        return found

    def _processor(self, gear: Gear, port: str) -> list[Share]:
        found = []
        given = gear.ports.get(port, {}).get("from", [])
        fed = [key for key in self.into if key.startswith(f"{gear.full}.")]
        if not given and len(fed) == 1:  # nothing else can be meant
            found = self.entering(fed[0])
        for setting in given:
            for item in setting.items:
                extra = sum(quantity(atom).low for atom in item.atoms if isinstance(atom, s.Figure))
                for ref in (atom for atom in item.atoms if isinstance(atom, s.Ref)):
                    entering = self.entering(f"{gear.full}.{ref.name}")
                    found += [evolve(share, gain_db=share.gain_db + extra) for share in entering]
        gain_db = gear.value("gain", "gain", port) or 0.0
        return [self._filtered(evolve(share, gain_db=share.gain_db + gain_db), gear, port) for share in found]

    def _amp(self, gear: Gear, port: str) -> list[Share]:
        halves = port.split("+")
        source, turns, bridged_db = halves[0], 0, 0.0
        if len(halves) == 2:
            source, bridged_db = min(halves, key=int), 20 * log10(2)
            turns = int(halves[0] != source)  # the plus pole is then the turned half
        else:
            source, turns = switched(gear, port)
        turns += gear.says("inverted", port)
        gain_db = (gear.value("gain", "gain") or 0.0) - abs(gear.value("attenuator", "gain", port) or 0.0) + bridged_db
        return [
            self._filtered(evolve(share, turns=share.turns + turns, gain_db=share.gain_db + gain_db), gear, port)
            for share in self.entering(f"{gear.full}.{source}")
        ]

    def _filtered(self, share: Share, gear: Gear, port: str) -> Share:
        low, high = gear.value("high-pass", "hertz", port), gear.value("low-pass", "hertz", port)
        turns = share.turns + (gear.word == "processor" and "inverted" in gear.ports.get(port, {}))
        return evolve(
            share, turns=turns, low_hz=max(share.low_hz, low or 0.0), high_hz=min(share.high_hz, high or 20_000.0)
        )


def switched(gear: Gear, port: str) -> tuple[str, int]:
    """Whose input a channel carries by the switches on the amplifier, and whether upside down."""
    for word, turns in (("bridge", 1), ("joined", 0)):
        for first, second in pairs_of(gear.settings, word):
            if second == port:
                return first, turns
    return port, 0
