"""Strategies for rigs without faults: every statement and hop of the language, wired at random."""

from __future__ import annotations

from fractions import Fraction

from attrs import frozen
from hypothesis import strategies as st
from model import Boxes, Chain, Channel, Cross, Hop, Hung, Join, Member, Plain, Rig, Run, Statement, Through, Wire

SIZES = ("1.5 mm2", "2.5 mm2", "4 mm2", "6 mm2")
# Words of the language that may name things, because a word is one only where the grammar can take it.
NAMES_LIKE_WORDS = ("at", "in", "to", "of", "on", "between", "because", "is", "from", "against", "low")
EXTRAS = (
    "rated 600 W continuous, 2400 W peak",
    "sensitivity 97 dB SPL 2.83 V 1 m",
    "band 35 Hz to 1.2 kHz",
    "drivers low, high inverted",
    "curve 6.4 ohm at 30 Hz, 42 ohm at 48 Hz",
    "driver { dc-resistance 5.4 ohm; coil-inductance 900 µH; resonance 38 Hz; mechanical-q 6.2; box vented 42 Hz }",
)


@frozen
class SpeakerKind:
    name: str
    ways: dict[str, tuple[Fraction, bool]]  # by way ("" where there are none): rated impedance, inverted inside
    line_volt: str


class _Maker:
    """Draws a rig piece by piece and keeps what has been declared."""

    def __init__(self, draw: st.DrawFn, words: bool) -> None:
        self.draw = draw
        self.statements: list[Statement] = []
        self.count = 0
        self.words = list(NAMES_LIKE_WORDS) if words else []
        self.kinds: list[SpeakerKind] = []
        self.free_ways: list[tuple[str, tuple[Member, ...]]] = []
        self.free_ports: list[tuple[str, Wire | None, bool]] = []
        self.boxes_made: list[str] = []
        self.runs: list[Run] = []

    def pick(self, *options: str) -> str:
        return self.draw(st.sampled_from(options))

    def chance(self, of: int = 2) -> bool:
        return self.draw(st.integers(1, of)) == of

    def some(self, *options: str) -> list[str]:
        return [option for option in options if self.chance()]

    def name(self, stem: str) -> str:
        if self.words and self.chance(12):
            return self.words.pop(self.draw(st.integers(0, len(self.words) - 1)))
        self.count += 1
        return f"{stem}{self.count:03}"

    def say(self, head: str, *settings: str, braces: bool = False) -> None:
        self.statements.append(Statement(head, settings if settings or braces else None))

    # ---- stock

    def speaker_kind(self) -> SpeakerKind:
        name = self.name("box-")
        what = self.pick("plain", "plain", "ways", "tapped")
        if what == "tapped":
            volt = self.pick("100", "70.7")
            self.say(
                f"stock speaker {name}", f"taps 7.5 W, 15 W, 30 W at {volt} V", *self.some("coverage 60 deg, 50 deg")
            )
            return SpeakerKind(name, {"": (Fraction(0), False)}, volt)
        ways: dict[str, tuple[Fraction, bool]] = {}
        settings = []
        whole = self.pick("", "", "inverted")
        for way in ("low", "high") if what == "ways" else ("",):
            ohm = self.pick("8", "4", "16", "6.5", "2.7", "12")
            inside = [f"impedance {ohm} ohm{self.pick('', '', ' ± 10 %', ' +/- 0.5 ohm')}"]
            turned = False
            if way:
                inside += self.some("inverted")
                turned = "inverted" in inside
                inside += self.some(EXTRAS[2])
                settings.append(f"{way} {{ {'; '.join(inside)} }}")
            else:
                settings += inside + self.some(*EXTRAS)
            ways[way] = Fraction(ohm), turned ^ (whole == "inverted")
        settings += [whole] * bool(whole)
        self.say(f"stock speaker {name}", *settings, *self.some("weight 12.5 kg", "owned 6"))
        return SpeakerKind(name, ways, "")

    def amp_kind(self, channels: int) -> tuple[str, bool]:
        """Its name, and whether every channel is inverted inside."""
        name = self.name("amp-")
        low = self.pick("rated 9000 W at 0.05 ohm, 1200 W at 2.7 ohm, 550 W at 8 ohm", "rated 900 W at 4 ohm")
        turned = self.chance(4)
        self.say(
            f"stock amp {name}",
            f"channels {channels}",
            low,
            self.pick("gain 32 dB", "sensitivity 1.4 V", "sensitivity 4 dBu"),
            *self.some(
                "rated 1800 W at 8 ohm bridge", "least-load 2.7 ohm", "least-load 5.4 ohm bridge", "input 20 kohm"
            ),
            *["inverted"] * turned,
            *self.some("supply { transformer; shared; capacitance 10 mF }", "damping 400 at 8 ohm", "stage class-ab"),
            *self.some("mains 220 V to 240 V 50 Hz", "idle 40 W", "efficiency 62 %", "input-peak 21 dBu", "height 2 U"),
        )
        return name, turned

    # ---- leads and panels

    def wire(self) -> Wire:
        metres = self.pick("0", "0.5", "2", "15", "37.5", "120")
        return Wire(self.pick(*SIZES), metres, self.chance(6))

    def through(self) -> Through:
        if not self.free_ports or self.chance(3):
            self.new_ports()
        text, wire, turned = self.free_ports.pop(0)
        return Through(text, wire, turned, self.chance(3))

    def new_ports(self) -> None:
        many = self.draw(st.integers(1, 3))
        turned = self.pick("", "", "inverted", "inverted 1", ".1 { inverted }", "stock")
        if turned.startswith((".", "inverted 1")) and many == 1:
            turned = "inverted"
        inside = ["inverted"] * (turned == "stock")
        own = [turned] * turned.startswith("inverted")
        wire = None
        if self.chance():
            name, wire = self.name("wall"), None
            self.say(f"stock panel {name}-kind", f"lines {many}", *inside)
            self.say(f"panel {name} is {name}-kind", *own, *self.some('label "left wall"'))
        else:
            name, wire = self.name("loom"), Wire(self.pick(*SIZES), self.pick("0", "10", "25.5"))
            self.say(f"stock lead {name}-kind", f"pairs {many}", f"size {wire.size}", *inside)
            self.say(f"lead {name} is {name}-kind {wire.metres} m", *own, *self.some('ends "rack", "stage # 2"'))
        if turned.startswith("."):
            self.say(f"{name}.1", "inverted")
        for port in range(1, many + 1):
            is_turned = bool(turned) and (port == 1 or turned in ("inverted", "stock"))
            text = f"{name}.{port}" if many > 1 or self.chance() else name
            self.free_ports.append((text, wire, is_turned))

    # ---- loudspeakers

    def boxes(self) -> Boxes:
        if self.free_ways and self.chance():
            ref, members = self.free_ways.pop(0)
        else:
            ref, members = self.new_boxes()
        link = self.wire() if len(members) > 1 else None
        return Boxes(ref, members, link, self.chance(3))

    def new_boxes(self) -> tuple[str, tuple[Member, ...]]:
        if not self.kinds or (len(self.kinds) < 4 and self.chance(3)):
            self.kinds.append(self.speaker_kind())
        kind = self.draw(st.sampled_from(self.kinds))
        name = self.name("sub")
        size = self.draw(st.integers(0, 4))
        taps = [f"tap {self.pick('7.5', '15', '30')} W"] if kind.line_volt else []
        placed = self.some("at -4 m, 0.5 m", "aim 30 deg, -5 deg", 'label "a; b"')
        cuts = [f"[1..{size - 1}]", f"[{size}]"] if size > 2 and self.chance() else [f"[1..{size}]" if size else ""]
        for cut in cuts:
            self.say(f"speaker {name}{cut} is {kind.name}", *taps, *placed)
        order = list(range(1, size + 1))
        if size > 1 and self.chance(4):
            order = order[::-1]
        names = [f"{name}[{number}]" for number in order] or [name]
        index = f"[{','.join(map(str, order))}]" if order != sorted(order) else self.pick(f"[1..{size}]", "[*]")
        ref = f"{name}{index}" if size else name
        self.boxes_made.append(f"{name}[*]" if size else name)
        found = [(way, self.members(names, way, kind, taps)) for way in kind.ways]
        refs = [(f"{ref}.{way}" if way else ref, members) for way, members in found]
        self.free_ways += refs[1:]
        return refs[0]

    def members(self, names: list[str], way: str, kind: SpeakerKind, taps: list[str]) -> tuple[Member, ...]:
        ohm, turned = kind.ways[way]
        if kind.line_volt:
            squared = Fraction(5000) if kind.line_volt == "70.7" else Fraction(kind.line_volt) ** 2  # sqrt(5000) V
            ohm = squared / Fraction(taps[0].split()[1])
        result = [Member(f"{name}.{way}" if way else name, ohm, turned) for name in names]
        if not kind.line_volt and self.chance(6):
            self.say(result[-1].key, "impedance 10.5 ohm")
            result[-1] = Member(result[-1].key, Fraction("10.5"), turned)
        return tuple(result)

    def chain(self, depth: int = 0) -> Chain:
        hops: list[Hop] = []
        for _ in range(self.draw(st.integers(0, 2))):
            match self.pick("lead", "lead", "invert", "through"):
                case "lead":
                    hops.append(Hung(self.wire()))
                case "invert":
                    hops.append(Cross())
                case _:
                    hops.append(self.through())
        if depth < 3 and self.chance(4):
            branches = tuple(self.chain(depth + 1) for _ in range(self.draw(st.integers(1, 3))))
            return (*hops, Join(self.pick("series", "parallel"), branches))
        hops.append(self.boxes())
        if depth < 3 and self.chance(4):
            hops += self.chain(depth + 1)
        return tuple(hops)

    # ---- signals

    def sources(self) -> list[tuple[str, tuple[tuple[str, bool], ...]]]:
        """Outputs that carry a signal, each with the feeds in it and which of them come turned."""
        found: list[tuple[str, tuple[tuple[str, bool], ...]]] = []
        for _ in range(self.draw(st.integers(1, 3))):
            name = self.name("send")
            turned = self.chance(5)
            level = self.some("level 4 dBu", "peak 18 dBu", "source 100 ohm", "band 35 Hz to 95 Hz")
            self.say(f"feed {name}", *level, *["inverted"] * turned)
            found.append((name, ((name, turned),)))
        feeds = list(found)
        if len(feeds) > 1:
            (left, left_shares), (right, right_shares) = feeds[:2]
            if self.chance():
                self.say(f"stereo {self.name('pair')}: {left}, {right}")
            if self.chance():
                mix = self.name("mix")
                self.say(f"mix {mix}: {left} -3 dB, {right}")
                found.append((mix, left_shares + right_shares))
        if self.chance(3):
            found += self.split(feeds[0])
        if self.chance():
            found += self.processor(feeds)
        return found

    def run(self, source: tuple[str, tuple[tuple[str, bool], ...]], end: str) -> Run:
        hops: list[Hop] = []
        for _ in range(self.draw(st.integers(0, 2))):
            match self.pick("lead", "invert", "through", "plain"):
                case "lead":
                    hops.append(Hung(self.wire()))
                case "invert":
                    hops.append(Cross())
                case "through":
                    hops.append(self.through())
                case _:
                    hops.append(Plain(self.pick("pad 10 dB", "delay 3 ms", "delay 2.5 m")))
        return Run(source[0], source[1], tuple(hops), end)

    def split(self, feed: tuple[str, tuple[tuple[str, bool], ...]]) -> list[tuple[str, tuple[tuple[str, bool], ...]]]:
        name = self.name("y")
        turned = self.pick("", "inverted", "inverted 2")
        self.say(f"split {name}", "legs 2", self.pick("passive", "transformer", "active"), *[turned] * bool(turned))
        run = self.run(feed, name)
        self.runs.append(run)
        at_legs = [bool(turned) and (leg == 2 or turned == "inverted") for leg in (1, 2)]
        return [(f"{name}.{leg}", shares(run, at_legs[leg - 1])) for leg in (1, 2)]

    def processor(
        self, feeds: list[tuple[str, tuple[tuple[str, bool], ...]]]
    ) -> list[tuple[str, tuple[tuple[str, bool], ...]]]:
        name = self.name("xo")
        self.say(f"stock processor {name}-kind", "inputs 2", "outputs 3", *self.some("input 20 kohm", "latency 1.2 ms"))
        self.say(f"processor {name} is {name}-kind", *self.some('label "the brain"'))
        runs = [self.run(feeds[number % len(feeds)], f"{name}.{letter}") for number, letter in enumerate("ab")]
        self.runs += runs
        found = []
        for output in range(1, 1 + self.draw(st.integers(1, 2))):
            taken = self.pick("a", "b", "a -6 dB, b -6 dB")
            turned = self.chance(3)
            filters = self.some("high-pass 95 Hz 24 dB/octave linkwitz-riley", "gain -3 dB", "delay 5 ms")
            filters += self.some("limit 6.2 dBu rms", "low-pass 1.2 kHz 12 dB/octave butterworth")
            self.say(f"{name}.{output}", f"from {taken}", *["inverted"] * turned, *filters)
            used = [run for run, letter in zip(runs, "ab", strict=True) if letter in taken.replace("dB", "")]
            found.append((f"{name}.{output}", tuple(share for run in used for share in shares(run, turned))))
        self.say(f"spare {name}.3")
        return found

    # ---- amplifiers

    def amp(self, sources: list[tuple[str, tuple[tuple[str, bool], ...]]]) -> list[Channel]:
        pairs = self.draw(st.integers(1, 2))
        kind, turned = self.amp_kind(2 * pairs)
        name = self.name("rackamp")
        settings, later, outputs = self.some("attenuator -6 dB", 'label "A"'), [], []
        for first in range(1, 2 * pairs, 2):
            mode = self.pick("apart", "apart", "bridged", "reversed", "bridge", "joined", "one")
            second = first + 1
            if mode in ("bridge", "joined"):
                settings.append(f"{mode} {first}+{second}")
            run = self.run(self.draw(st.sampled_from(sources)), "")
            if mode in ("bridged", "reversed"):
                port = f"{first}+{second}" if mode == "bridged" else f"{second}+{first}"
                outputs.append((port, run, True, turned ^ (mode == "reversed")))
                continue
            own = self.chance(5)
            later += [Statement(f"{name}.{first}", ("inverted", "attenuator -2 dB"))] * own
            outputs.append((str(first), run, True, turned ^ own))
            if mode in ("bridge", "joined"):
                outputs.append((str(second), run, False, turned ^ (mode == "bridge")))
            elif mode == "apart":
                other = self.run(self.draw(st.sampled_from(sources)), "")
                outputs.append((str(second), other, True, turned))
        joined = [each for each in settings if each.startswith(("bridge", "joined"))]
        for word in ("bridge", "joined"):
            said = [each.split()[1] for each in joined if each.startswith(word)]
            if said:
                settings = [each for each in settings if not each.startswith(word)] + [f"{word} {', '.join(said)}"]
        self.say(f"amp {name} is {kind}", *settings)
        self.statements += later
        return [
            Channel(f"{name}.{port}", run, fed, turns, self.chain(), self.chance()) for port, run, fed, turns in outputs
        ]

    # ---- what is said about the rig

    def about(self, channels: list[Channel]) -> None:
        keys = [channel.key for channel in channels]
        amp, key = keys[0].partition(".")[0], keys[-1]
        box = self.draw(st.sampled_from(self.boxes_made))
        self.say(
            f'rig "{self.pick("Lantern", "A # in a title", "")}"', *self.some("mains 230 V 50 Hz", "air 20 degC 60 %")
        )
        lawn, lawn_place = self.name("lawn"), self.some("at 0 m, 20 m", "height 1.2 m")
        self.say(f"place {lawn}", *lawn_place, braces=self.chance())
        mains, stage = self.name("house"), self.name("stage")
        self.say(f"mains {mains}", "supply 230 V", "phases 3")
        self.say(f"mains {stage} from {mains}", "breaker 16 A C", "lead 2.5 mm2 20 m", "outlets 2", "phase L2")
        self.say(f"{stage}.1 -> {amp}")
        self.say(f"rack {self.name('rack')}: {amp}")
        group, together = self.name("group"), self.some(*self.boxes_made) or self.boxes_made[:1]
        self.say(f"group {group}: {', '.join(self.pick('', 'against ') + each for each in together)}")
        promises = [
            f"expect load of {key} {self.pick('>=', '>', '≥')} {self.pick('4', '0.5')} ohm",
            f"expect loss of {box}, {group} <= 0.5 dB",
            f"expect polarity of {box} = normal",
            f"expect level at {lawn} in 35 Hz to 95 Hz >= 98 dB SPL",
            f"expect difference between {', '.join(self.boxes_made[:2])} < 1 dB",
            f"measured polarity of {box} inverted",
            f"measured load of {key} 4.2 ohm ± 2 %",
            f'allow {self.pick("load-too-low", "lead-loss-high")} on {amp} because "one night; no # here"',
        ]
        for promise in self.some(*promises):
            self.say(promise)


def shares(run: Run, turned: bool) -> tuple[tuple[str, bool], ...]:
    """The feeds at the end of a run, behind something that turns them or does not."""
    from model import turns

    at_end = turned ^ (sum(map(turns, run.hops)) % 2 == 1)
    return tuple((feed, share ^ at_end) for feed, share in run.shares)


@st.composite
def rigs(draw: st.DrawFn, words: bool = True) -> Rig:
    """A rig without faults of reading or binding; what it wires may still be unwise. ``words``: some things are called
    like words of the language."""
    maker = _Maker(draw, words)
    sources = maker.sources()
    channels = [channel for _ in range(draw(st.integers(1, 2))) for channel in maker.amp(sources)]
    if maker.chance(4):
        monitor = maker.name("wedge")
        maker.say("stock speaker self-powered", "powered", "drive 4 dBu", "draw 180 W", "peak-level 128 dB SPL")
        maker.say(f"speaker {monitor} is self-powered")
        maker.runs.append(maker.run(sources[-1], monitor))
    maker.about(channels)
    return Rig(tuple(maker.statements), tuple(maker.runs), tuple(channels))
