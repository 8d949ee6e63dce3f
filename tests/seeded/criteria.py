"""What is physically wrong with a rig: stated criteria, judged on the tree without the checker's own figures.

A mutant matters when it crosses a criterion that its clean rig does not cross.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from math import log10, sqrt

from attrs import frozen

from rigspec.language import syntax as s

from .amplifiers import items_of, number_of, pairs_of, rated_points, rated_volt, words_of
from .circuit import Arrival, Circuit
from .reading import Gear, Plan, Settings, port_names, quantities, quantity
from .signals import Share, Signals

LOSS_DB = 1.0  # common practice, no source
LOADING_DB = 1.0  # common practice, no source
FAR_M = 500.0  # no box of a rig stands further from the others than this
PROMISED = "promised"  # criteria of the findings that this version of the checker promises
NOT_YET = "not yet"  # criteria that need figures which it does not compute: sound at places

# Rules whose limits the judge does not reckon: what they say of an edit that crosses no criterion is no false alarm.
WITHOUT_CRITERION = frozenset(
    (
        *("crossover-null", "bass-below-band", "lead-overheats", "damping-low", "group-uneven", "headroom-short"),
        *("bridge-unsaid", "bridge-half-free", "bridge-and-half"),
        *("arrival-early", "echo-heard", "comb-heard", "fill-loud", "stereo-unlike", "subs-behind", "aim-away"),
        *("place-uncovered", "wedge-exchanged", "reach-unknown"),
    )
)

Crossing = tuple[str, str]  # PROMISED or NOT_YET, and what is wrong in words


@frozen
class Hung:
    """A loudspeaker, or one way of one, on a channel."""

    key: str
    gear: Gear
    way: str
    channel: str
    turns: int
    shares: list[Share]
    ohm: float
    tapped: bool
    settings: Settings
    band: tuple[float, float]

    @property
    def kind(self) -> tuple[str, str]:
        return self.gear.kind, self.way


class Judge:
    """All criteria that a rig crosses, in ``crossed``; ``loads``, ``losses`` and ``powers`` are its figures."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.crossed: set[Crossing] = set()
        self.loads: dict[str, float] = {}
        self.losses: dict[str, float] = {}
        self.powers: dict[str, float] = {}
        self.circuit = Circuit(plan)
        self.signals = Signals(plan, self.circuit)
        self.hung: dict[str, Hung] = {}
        self.arrivals: dict[str, list[Arrival]] = {}
        amps = []
        for output in self.circuit.outlets:
            word = self.circuit.owner[output].word if output in self.circuit.owner else "mix"
            if word in ("amp", "feed", "processor", "split", "mix"):
                self.arrivals[output] = list(self.circuit.reach(output))
                amps += [output] * (word == "amp")
        for output in amps:
            self._hang(output, self.arrivals[output])
        self._text_and_wiring()
        self._unconnected()
        for output in amps:
            self._channel(output)
        self._bands()
        self._polarity()
        for expect in plan.expects:
            self._promise(expect)
        self._clipping_mains_and_sides()
        self._not_yet()

    def cross(self, words: str) -> None:
        self.crossed.add((PROMISED, words))

    def later(self, words: str) -> None:
        self.crossed.add((NOT_YET, words))

    def _hang(self, output: str, arrivals: list[Arrival]) -> None:
        amp = self.circuit.owner[output]
        shares = self.signals.at(output)
        line = amp.value("line", "volt")
        for arrival in arrivals:
            if arrival.node.what != "box":
                continue
            key = arrival.node.key
            gear = self.circuit.owner[key]
            way = key[len(gear.full) + 1 :]
            settings = gear.way(way) if way else gear.settings
            ohm = next((q.low for q in quantities(settings.get("impedance", ())) if q.kind == "ohm"), None)
            tap = gear.value("tap", "watt")
            at_volt = next((q.low for q in quantities(gear.settings.get("taps", ())) if q.kind == "volt"), line)
            if tap and at_volt:
                ohm = at_volt**2 / tap
            if ohm is None:
                self.cross(f"no impedance and no tap of {key} is said")
                continue
            turns = arrival.turns + len(settings.get("inverted", ()))
            band = next(((q.low, q.high) for q in quantities(settings.get("band", ()))), (20.0, 20_000.0))
            if key not in self.hung:
                self.hung[key] = Hung(key, gear, way, output, turns, shares, ohm, bool(tap), settings, band)

    # ---- wiring

    def _text_and_wiring(self) -> None:
        circuit = self.circuit
        for fault in self.plan.faults | circuit.faults:
            self.cross(f"text: {fault}")
        for key, count in circuit.arrived.items():
            if count > 1:
                self.cross(f"{key} is fed by more than one path")
        inlets = Counter(each.node.key for key in circuit.outlets for each in self._inlets(key))
        for key in (key for key, count in inlets.items() if count > 1):
            self.cross(f"{key} gets the mains by more than one path")
        for each in (each for key in circuit.outlets for each in self._inlets(key) if each.turns % 2):
            self.cross(f"live and neutral are exchanged on the way to {each.node.key}")
        for key in circuit.entered | circuit.left:
            if max(circuit.entered[key], circuit.left[key]) > 1:
                self.cross(f"{key} is used twice on one side")
            elif circuit.entered[key] != circuit.left[key]:
                self.cross(f"{key} is connected on one side only")
        for output, arrivals in self.arrivals.items():
            power = output in circuit.owner and circuit.owner[output].word == "amp"
            for each in arrivals:
                if power and each.node.what == "input":
                    self.cross(f"{output}, an amplifier's output, goes into the input {each.node.key}")
                if not power and each.node.what == "box":
                    self.cross(f"{output}, a line signal, goes to the loudspeaker {each.node.key}")

    def _unconnected(self) -> None:
        circuit, spare = self.circuit, self.plan.spare
        used = {gear.full for gear in circuit.owner.values()}
        reached = {a.node.key for arrivals in self.arrivals.values() for a in arrivals}
        reached |= {key.partition(".")[0] for key in reached}
        listed = {
            gear.full
            for listing in self.plan.listings.values()
            if listing.word in ("mix", "stereo")
            for ref in self.plan.refs(listing.items)
            for gear in self.plan.named(ref)
        }
        inlets = {gear.full for gear in circuit.owner.values() if gear.word == "mains"}
        for gear in self.plan.gear.values():
            if gear.word == "mains":
                continue
            if gear.word not in ("place", "area") and gear.full not in used | reached | spare | listed | inlets:
                self.cross(f"{gear.full} is connected to nothing")
        for key, each in circuit.owner.items():
            wired = circuit.arrived[key] if each.word == "speaker" else 1
            if each.word == "speaker" and wired and key not in reached:
                self.cross(f"nothing reaches {key}")
            if each.word == "speaker" and each.says("powered") and not self.signals.entering(key):
                self.cross(f"{key} gets no signal")
        for gear in self.plan.gear.values():
            for port in gear.ports if gear.word == "processor" else ():
                key = f"{gear.full}.{port}"
                if not circuit.outlets.get(key) and key not in spare and gear.full not in spare:
                    self.cross(f"the output {key} is set and goes nowhere")

        for gear in self.plan.gear.values():
            ways = port_names(gear) if gear.word == "speaker" else set()
            hanging = {way for way in ways if circuit.arrived[f"{gear.full}.{way}"]}
            if hanging and hanging != ways:
                self.cross(f"{gear.full} is connected on {len(hanging)} of its {len(ways)} ways")
        self._switches()

    def _switches(self) -> None:
        """Inputs that a switch or a bridge leaves out, and channels that two of them take."""
        circuit = self.circuit
        bridged = [(gear, key.rpartition(".")[2]) for key, gear in circuit.owner.items() if "+" in key]
        for gear in self.plan.gear.values():
            if gear.word != "amp":
                continue
            by_bridge = {max(port.split("+"), key=int) for amp, port in bridged if amp is gear}
            by_bridge |= {second for _, second in pairs_of(gear.settings, "bridge")}  # the same switch, said again
            taken = Counter([*by_bridge, *(second for _, second in pairs_of(gear.settings, "joined"))])
            for channel, count in taken.items():
                if count > 1:
                    self.cross(f"{gear.full}.{channel} is taken by two switches")
                if circuit.arrived[f"{gear.full}.{channel}"]:
                    self.cross(f"the input {gear.full}.{channel} is fed and a switch leaves it out")

    # ---- loads, powers, losses

    def _channel(self, output: str) -> None:
        amp = self.circuit.owner[output]
        shares = self.signals.at(output)
        boxes = [box for box in self.hung.values() if box.channel == output]
        nodes = self.circuit.outlets[output]
        if boxes and not shares:
            self.cross(f"{output} has loudspeakers and no signal")
        if shares and not boxes and output not in self.plan.spare:
            self.cross(f"{output} has a signal and no loudspeaker")
        line = amp.value("line", "volt")
        for box in boxes:
            if bool(line) != box.tapped:
                self.cross(f"{box.key} does not suit the line on {output}")
        if not boxes or any(bool(line) != box.tapped for box in boxes):
            return
        ohm_of = {box.key: box.ohm for box in self.hung.values()}
        siemens = {case: self.circuit.siemens(nodes, ohm_of, case) for case in ("ohm", "least", "none")}
        if not all(siemens.values()):
            return
        self.loads[output] = 1 / siemens["ohm"]
        if line:
            drawn = sum(line**2 / box.ohm for box in boxes)
            if drawn > max(power for power, *_ in rated_points(amp, "")) * 1.0001:
                self.cross(f"the taps on {output} take more than it gives")
        else:
            self._too_low(output, amp, 1 / siemens["least"])
        if not any(box.over_lead for box in self.arrivals[output] if box.node.what == "box"):
            self.later(f"no lead lies between {output} and its loudspeakers")
        self._powers_and_losses(output, amp, boxes, ohm_of)

    def _too_low(self, output: str, amp: Gear, ohm: float) -> None:
        limits = {
            bool(words_of(setting.items[0])): (q.low, "." in number_of(setting))
            for setting in amp.settings.get("least-load", ())
            for q in quantities([setting])
        }
        bridged = "+" in output.rpartition(".")[2]
        halves = [ohm]
        if bridged:  # half of the bridged load, and beside it what hangs on that channel alone
            alone = [f"{amp.full}.{port}" for port in output.rpartition(".")[2].split("+")]
            halves = [1 / (2 / ohm + self._siemens_alone(channel)) for channel in alone]
        for pair, seen in ((False, min(halves)), *(((True, ohm),) if bridged else ())):
            limit, rounded = limits.get(pair, (0.0, False))
            # A limit that is printed with decimals is a rounded fraction of a usual impedance: 2.7 stands for 8/3.
            if seen < limit * (0.98 if rounded else 0.9999):
                self.cross(f"{output} works into less than it stands")

    def _siemens_alone(self, channel: str) -> float:
        ohm_of = {box.key: box.ohm for box in self.hung.values()}
        return self.circuit.siemens(self.circuit.outlets.get(channel, []), ohm_of, "least")

    def _powers_and_losses(self, output: str, amp: Gear, boxes: list[Hung], ohm_of: dict[str, float]) -> None:
        nodes = self.circuit.outlets[output]
        limit_db = self.plan.limits.get("lead-loss", LOSS_DB)
        share = dict(self.circuit.volts(nodes, 1.0, ohm_of, "ohm"))
        worst = dict(self.circuit.volts(nodes, 1.0, ohm_of, "most"))
        ideal = dict(self.circuit.volts(nodes, 1.0, ohm_of, "none"))
        most = rated_volt(amp, output, self.loads[output])
        shares = self.signals.at(output)
        level, peak = self.signals.volt(shares, "level"), self.signals.volt(shares, "peak")
        for box in boxes:
            if box.key not in share:
                self.cross(f"no current flows through {box.key}")
                continue
            if most:
                self.powers[box.key] = (most * share[box.key]) ** 2 / box.ohm
            self.losses[box.key] = 20 * log10(ideal[box.key] / worst[box.key])
            excused = ("lead-loss-high", box.gear.full) in self.plan.excused
            if self.losses[box.key] > limit_db * 1.0001 and not excused:
                self.cross(f"the leads to {box.key} cost more than {limit_db} dB")
            for word, volt, factor in (("continuous", level, 1), ("peak", peak, 2)):
                stands = next((q for q, words in items_of(box.settings, "rated") if word in words), None)
                if stands and volt and most:
                    watt = factor * (min(volt, most) * share[box.key]) ** 2 / box.ohm
                    if watt > stands * 1.0001:
                        self.cross(f"{box.key} gets more {word} power than it stands")
        if most and ((level and level > most * 1.02) or (peak and peak > most * 1.02)):
            self.cross(f"{output} clips on its feed's level or peak")

    # ---- bands and polarity

    def _bands(self) -> None:
        for box in self.hung.values():
            if not box.shares or not box.way:
                continue
            low = min(share.low_hz for share in box.shares)
            high = max(share.high_hz for share in box.shares)
            if box.way in ("high", "mid") and low < box.band[0] / 2:
                self.cross(f"{box.key} gets what lies more than an octave below its band")
            other = self.hung.get(f"{box.gear.full}.high") if box.way == "low" else None
            if other and other.shares:
                other_low = min(share.low_hz for share in other.shares)
                other_high = max(share.high_hz for share in other.shares)
                if low * high > other_low * other_high * 1.0001:
                    self.cross(f"the ways of {box.gear.full} get each other's band")

    def _up(self, box: Hung, feed: str = "") -> bool | None:
        """Which way up a box is for a feed, or for all its feeds; None where they disagree or none arrives."""
        ways = {(share.turns + box.turns) % 2 == 1 for share in box.shares if feed in ("", share.feed)}
        if not box.shares and not feed:
            ways = {box.turns % 2 == 1}
        return ways.pop() if len(ways) == 1 else None

    def _polarity(self) -> None:
        together: set[frozenset[str]] = set()
        for name, listing in self.plan.listings.items():
            if listing.word != "group":
                continue
            wanted: dict[str, bool] = {}
            for item in listing.items:
                against = any(isinstance(atom, s.Ref) and atom.name == "against" for atom in item.atoms)
                for ref in self.plan.refs([item]):
                    wanted.update({gear.full: against for gear in self.plan.named(ref)})
            together |= {frozenset((a, b)) for a in wanted for b in wanted}
            ways = {(up != wanted[box.gear.full]) for box, up in self._ups("") if box.gear.full in wanted}
            if len(ways) > 1:
                self.cross(f"the boxes of the group {name} do not push as it says")
        feeds = sorted({share.feed for box in self.hung.values() for share in box.shares})
        for a_feed, b_feed, words in [(feed, feed, feed) for feed in feeds] + list(self._stereo()):
            for a, up in self._ups(a_feed):
                for b, other in self._ups(b_feed):
                    pair = frozenset((a.gear.full, b.gear.full))
                    if up == other or pair in together or len(pair) < 2:
                        continue
                    if a.kind == b.kind or (a_feed == b_feed and _octave_shared(a, b, a_feed)):
                        self.cross(f"boxes that both play {words} push different ways")

    def _ups(self, feed: str) -> list[tuple[Hung, bool]]:
        return [(box, up) for box in self.hung.values() if (up := self._up(box, feed)) is not None]

    def _stereo(self) -> Iterator[tuple[str, str, str]]:
        for name, listing in self.plan.listings.items():
            feeds = [gear.full for ref in self.plan.refs(listing.items) for gear in self.plan.named(ref)]
            if listing.word == "stereo" and len(feeds) == 2:
                yield feeds[0], feeds[1], f"the stereo pair {name}"

    # ---- promises

    def _promise(self, expect: s.Expect) -> None:
        if isinstance(expect.value, s.Figure):
            wanted = quantity(expect.value).low
        for ref in self.plan.refs(item for clause in expect.clauses for item in clause.items):
            for key in self.plan.keys(ref):
                figure = {"load": self.loads, "loss": self.losses, "power": self.powers}.get(expect.figure, {}).get(key)
                box = self.hung.get(key)
                if expect.figure == "polarity" and box and box.shares and (up := self._up(box)) is not None:
                    kept = up == (expect.value == "inverted")
                elif figure is None:
                    continue
                else:
                    kept = figure >= wanted - 1e-9 if expect.comparison in (">=", "≥", ">") else figure <= wanted + 1e-9
                if not kept:
                    self.cross(f"the {expect.figure} of {key} is not what is promised")

    # ---- levels, mains, sides and store

    def _clipping_mains_and_sides(self) -> None:
        signals, plan = self.signals, self.plan
        for output in self.arrivals:
            if signals.loading_db(output) > LOADING_DB:
                self.cross(f"{output} loses more than {LOADING_DB} dB to what it drives")
            if any(share.low_hz >= share.high_hz for share in signals.at(output)):
                self.cross(f"nothing passes the filters of {output}")
        for key in signals.into:
            gear = self.circuit.owner.get(key) or plan.gear.get(key.partition(".")[0])
            stands = gear.value("input-peak", "level") if gear and gear.word == "amp" else None
            volt = signals.volt(signals.entering(key), "peak")
            if stands is not None and volt and 20 * log10(volt / sqrt(0.6)) > stands:
                self.cross(f"the input {key} clips on its feed's peak")
        fed = {each.node.key for key in self.circuit.outlets for each in self._inlets(key)}
        if fed:
            for gear in plan.gear.values():
                if (gear.says("draw") or gear.word == "amp") and gear.full not in fed:
                    self.cross(f"{gear.full} has no mains")
        for first, second, words in self._stereo():
            sides = [self._across(first, second), self._across(second, first)]
            if None not in sides and sides[0] > sides[1]:  # type: ignore[operator]
                self.cross(f"left and right are exchanged in {words}")
        owned: dict[tuple[str, str], int] = {}
        for gear in plan.gear.values():
            owned[gear.word, gear.kind] = owned.get((gear.word, gear.kind), 0) + 1
        for (word, kind), count in owned.items():
            have = next(quantities(plan.kinds.get((word, kind), {}).get("owned", ())), None)
            if have is not None and count > have.low:
                self.cross(f"more of {kind} are used than are owned")

    # ---- what this version does not judge

    def _not_yet(self) -> None:
        plan = self.plan
        for gear in plan.gear.values():
            if any(q.kind == "metre" and abs(q.low) > FAR_M for q in quantities(gear.settings.get("at", ()))):
                self.later(f"{gear.full} stands implausibly far away")

    def _inlets(self, key: str) -> list[Arrival]:
        gear = self.circuit.owner.get(key)
        if gear is None or gear.word != "mains":
            return []
        return [each for each in self.circuit.reach(key) if each.node.what == "inlet"]

    def _across(self, feed: str, other: str) -> float | None:
        """How far to the right, on average, the boxes stand that play one feed and not the other."""
        places = []
        for box in self.hung.values():
            feeds = {share.feed for share in box.shares}
            at = next(quantities(box.gear.settings.get("at", ())), None)
            if feed in feeds and other not in feeds and at is not None:
                places.append(at.low)
        return sum(places) / len(places) if places else None


def _octave_shared(a: Hung, b: Hung, feed: str) -> bool:
    spans = []
    for box in (a, b):
        share = next(share for share in box.shares if share.feed == feed)
        spans.append((max(share.low_hz, box.band[0]), min(share.high_hz, box.band[1])))
    return min(spans[0][1], spans[1][1]) >= 2 * max(spans[0][0], spans[1][0])
