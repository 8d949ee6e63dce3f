"""Working of levels: a signal followed back from an input or output to its feeds, step by step."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.signal import amplifier_gain, limits_said
from rigspec.figures.signal.amplifier import Gain
from rigspec.figures.stages import LevelPoint
from rigspec.figures.trace import Arrival
from rigspec.language.words import SettingWord
from rigspec.rig.model import Gear, Measure, Output, one
from rigspec.solve.decibel import dbu_to_volt, gain_to_ratio, ratio_to_gain, volt_to_dbu
from rigspec.text.value import Content
from rigspec.why.working import Step, given, numbered, taken

CIRCUIT = "circuit theory"
DECIBEL = "ITU-R V.574: 20 log of voltages, 10 log of powers"
DIVIDER = "circuit theory: the voltage divider"
DBU = "ITU-R V.574: 0 dBu is 1 mW in 600 ohm"
NEAR = 1e-9
MOST_STAGES = 120  # inputs and outputs behind each other; a longer way is not told


@frozen(eq=False, repr=False)
class SignalStep(Content):
    """Which level is told: of the feeds' ``level`` or ``peak``, ``limited`` or not, the ``worst`` or on the whole."""

    word: SettingWord = "level"
    limited: bool = True
    worst: bool = False

    @property
    def called(self) -> str:
        return "peak level" if self.word == "peak" else "level"


class SignalWay:
    """The steps of one kind of level; each is made once, so that trees share what they have in common."""

    def __init__(self, figures: Figures, kind: SignalStep) -> None:
        self.figures = figures
        self.kind = kind
        self._made: dict[tuple[str, str], Step | None] = {}
        self._depth = 0

    def value(self, point: LevelPoint) -> float | None:
        signals = self.figures.signals
        level = signals.level(point.parts, self.kind.word, limited=self.kind.limited)
        if level is None:
            return None
        dbu = level.worst_dbu if self.kind.worst else level.dbu
        return dbu if isfinite(dbu) else None

    def input(self, key: str) -> Step | None:
        """The level at an input, from that of the output that drives it."""
        return self._once(("input", key), lambda: self._input(key))

    def output(self, key: str) -> Step | None:
        """The level at an output, from what its gear gets."""
        return self._once(("output", key), lambda: self._output(key))

    def _once(self, name: tuple[str, str], make: Callable[[], Step | None]) -> Step | None:
        if name not in self._made:
            self._made[name] = None  # for outputs that feed themselves
            if self._depth > MOST_STAGES:
                return None
            self._depth += 1
            self._made[name] = make()
            self._depth -= 1
        return self._made[name]

    # ---- inputs

    def _input(self, key: str) -> Step | None:
        point, arrival = self.figures.levels.inputs.get(key), self.figures.trace.arrivals.get(key)
        dbu = self.value(point) if point else None
        if point is None or arrival is None or dbu is None:
            return None
        before = self.output(arrival.output.key)
        if before is None:
            return None
        steps = [before.called("L_out"), *self.pads(arrival), self.loss(arrival.output)]
        formula = " ".join(["L_out", *(f"+ {step.symbol}" for step in steps[1:-1]), f"- {steps[-1].symbol}"])
        reckoned = _number(before) + sum(_number(step) for step in steps[1:-1]) - _number(steps[-1])
        name = f"{self.kind.called} at the input {key}"
        method = "" if abs(reckoned - dbu) < NEAR else "what several feeds have in common inside its own band is alike"
        return Step(name, dbu, "level", "L", "" if method else formula, method, DECIBEL, rests_on=tuple(steps))

    def pads(self, arrival: Arrival) -> tuple[Step, ...]:
        """The pads between an output and an input."""
        run, joint = self.figures.trace.runs[arrival.output.key], arrival.sink.joint
        pads = []
        while joint in run.parent:
            piece = run.parent[joint]
            if piece.what == "pad":
                pads.append(Step("pad", piece.gain_db, "gain", "G", span=piece.span))
            joint = piece.a
        return numbered(pads[::-1], "G_pad")

    def loss(self, output: Output) -> Step:
        """What an output loses in its own impedance."""
        loading = self.figures.signals.loading(output)
        name = f"lost in the impedance of {output.key}"
        if loading.ratio is None or loading.source is None or loading.load_ohm is None:
            why = loading.note or f"{output.key} has no output stage of its own: what drives it is loaded"
            return taken(name, 0.0, "gain", why, "a")
        inputs = numbered([given(f"input of {key}", measure) for key, measure in loading.inputs], "Z")
        load = inputs[0].called("Z_p") if len(inputs) == 1 else self._parallel(loading.load_ohm, inputs)
        parts = (given(f"impedance of {output.key}", loading.source, "Z_s"), load)
        formula = "20 * log10(1 + Z_s / Z_p)"
        return Step(name, loading.loss_db, "gain", "a", formula, "", DIVIDER, assumed=loading.note, rests_on=parts)

    @staticmethod
    def _parallel(load_ohm: float, inputs: tuple[Step, ...]) -> Step:
        formula = "1 / (" + " + ".join(f"1/{each.symbol}" for each in inputs) + ")"
        return Step("the inputs in parallel", load_ohm, "resistance", "Z_p", formula, "", CIRCUIT, rests_on=inputs)

    # ---- outputs

    def _output(self, key: str) -> Step | None:
        output = self.figures.rig.wiring.outputs.get(key)
        point = self.figures.levels.outputs.get(key)
        if output is None or point is None:
            return self._feed(self.figures.rig.gear.get(key))
        if output.gear.word == "feed":
            return self._feed(output.gear)
        dbu = self.value(point)
        if dbu is None:
            return None
        inside = self._added(output)
        if inside is None:
            return None
        limits = self._limits(output) if self.kind.limited else ()
        name = f"{self.kind.called} at the output {key}"
        if not limits:
            return Step(name, dbu, inside.kind, "L", inside.formula, inside.method, DECIBEL, rests_on=inside.rests_on)
        before = inside.rests_on[0] if inside.formula == "L_in" else inside
        parts = (before.called("L_before"), *numbered(limits, "T"))
        formula = "min(" + ", ".join(part.symbol for part in parts) + ")"
        if abs(min(_number(part) for part in parts) - dbu) > NEAR:
            return Step(name, dbu, "level", "L", "", "held by the limiters before it", DECIBEL, rests_on=parts)
        return Step(name, dbu, "level", "L", formula, "", "what a limiter does", rests_on=parts)

    def _feed(self, gear: Gear | None) -> Step | None:
        said = self.figures.signals.said(gear.full, self.kind.word) if gear is not None else None
        if gear is None or said is None:
            return None
        return given(f"{self.kind.called} of {gear.full}", said, "L")

    def _added(self, output: Output) -> Step | None:
        """The level of an output before its limiters, from what goes in."""
        gear = output.gear
        common = self._gains(output)
        ways: list[Step] = []
        if gear.word == "mix":
            for source, gain_db in self.figures.signals.mixed(gear):
                level = self.output(source.key)
                if level is None:
                    return None
                gain = Step(f"gain of {source.key} in {gear.full}", gain_db, "gain", "G", span=gear.span)
                ways.append(self._behind(f"{source.key} in {gear.full}", level, [gain] if gain_db else []))
        else:
            for key, gain_db in self.figures.signals.inputs(output):
                level = self.input(key)
                if level is None:
                    return None
                own = self._from(output, key, gain_db) if gain_db else []
                ways.append(self._behind(f"by way of {key}", level, [*own, *common]))
        if not ways:
            return None
        if len(ways) == 1:
            return ways[0]
        return self._sum(output, ways)

    def _behind(self, name: str, level: Step, gains: Sequence[Step]) -> Step:
        """A level behind gains."""
        parts = (level.called("L_in"), *numbered(gains, "G"))
        dbu = sum(_number(part) for part in parts)
        return Step(name, dbu, "level", "L", " + ".join(p.symbol for p in parts), "", DECIBEL, rests_on=parts)

    def _sum(self, output: Output, ways: list[Step]) -> Step | None:
        """Several ways together: by voltage or by energy where all of them are, else in words."""
        point = self.figures.levels.outputs[output.key]
        level = self.figures.signals.level(point.parts, self.kind.word, limited=self.kind.limited)
        assert level is not None  # asked before
        dbu = level.worst_dbu if self.kind.worst else level.dbu
        parts = numbered(ways, "L")
        levels = [_number(part) for part in parts]
        volts = " + ".join(f"10^({part.symbol}/20)" for part in parts)
        powers = " + ".join(f"10^({part.symbol}/10)" for part in parts)
        name = f"everything at {output.key}"
        if abs(20 * _log(sum(10 ** (each / 20) for each in levels)) - dbu) < NEAR:
            why = "alike and in step: by voltage"
            return Step(name, dbu, "level", "L", f"20 * log10({volts})", "", f"{DECIBEL}; {why}", rests_on=parts)
        if abs(10 * _log(sum(10 ** (each / 10) for each in levels)) - dbu) < NEAR:
            why = "nothing to do with each other, or not in step: by energy"
            return Step(name, dbu, "level", "L", f"10 * log10({powers})", "", f"{DECIBEL}; {why}", rests_on=parts)
        method = "shares of one feed by voltage where they are in step, everything else by energy"
        return Step(name, dbu, "level", "L", "", method, DECIBEL, rests_on=parts)

    # ---- gains and limiters

    def _from(self, output: Output, key: str, gain_db: float) -> list[Step]:
        """The gain that stands behind an input in an output's `from`."""
        said = output.gear.ports.get(output.port, {}).get("from")
        for each in said.entries if said else ():
            gain = each.get("gain")
            if gain is not None and gain.value == gain_db and any(key.endswith(f".{ref.name}") for ref in each.refs):
                return [given(f"gain from {key}", gain)]
        return []

    def _gains(self, output: Output) -> list[Step]:
        """What an output does to everything that comes in."""
        gear = output.gear
        match gear.word:
            case "split":
                loss = gear.measure("loss", "gain")
                return [Step("loss of each leg", -abs(loss.value), "gain", span=loss.span)] if loss else []
            case "processor":
                own = one(gear.ports.get(output.port, {}), "gain", "gain")
                said = ((f"gain of {output.key}", own), (f"gain of {gear.full}", gear.measure("gain", "gain")))
                return [given(name, gain) for name, gain in said if gain is not None]
            case "amp":
                return [gain] if (gain := channel_gain(output)) is not None else []
        return []

    def _limits(self, output: Output) -> tuple[Step, ...]:
        """The thresholds of an output's limiters that act on this kind of level, as levels at the output."""
        gear, port = output.gear, output.halves[0]
        amplifier = gear.word == "amp"
        gain = channel_gain(output) if amplifier else None
        gain_db = _number(gain) if gain is not None else 0.0
        found = []
        for limit in limits_said(
            {**gear.facts, **gear.ports.get(port, {})} if amplifier else gear.ports.get(port, {}), gain_db
        ):
            if self.kind.word == "peak" and limit.watches == "rms":
                continue
            found.append(_threshold(limit.said, limit.watches, limit.dbu + gain_db, gain))
        return tuple(found)


def _threshold(said: Measure, watches: str, dbu: float, gain: Step | None) -> Step:
    """A limiter's threshold as a level at its output."""
    name = f"limiter for the {'mean' if watches == 'rms' else 'peaks'}"
    if said.kind == "level":
        if gain is None:
            return given(name, said)
        parts = (given("set to, at the input", said, "T_in"), gain.called("G"))
        return Step(name, dbu, "level", "T", "T_in + G", "", DECIBEL, rests_on=parts)
    return as_level(name, dbu, "T", given("set to", said), peak=watches != "rms")


def as_level(name: str, dbu: float, symbol: str, volt: Step, *, peak: bool = False) -> Step:
    """A voltage (rms) as a level; ``peak``: an instantaneous one as the level of the sine with such peaks."""
    formula = "20 * log10(U / sqrt(2) / sqrt(0.6))" if peak else "20 * log10(U / sqrt(0.6))"
    authority = f"{DBU}; the peak of a sine is sqrt(2) times its rms voltage" if peak else DBU
    return Step(name, dbu, "level", symbol, formula, "", authority, rests_on=(volt.called("U"),))


def channel_gain(output: Output) -> Step | None:
    """The gain of an amplifier's output with its control and its bridge."""
    gear = output.gear
    gain = amplifier_gain(gear, output.halves[0])
    if gain.db is None:
        return None
    parts, formula, db = _own_gain(gear, gain), "", gain.db
    formula = " ".join(part.symbol if number == 0 else f"+ {part.symbol}" for number, part in enumerate(parts))
    if output.bridged:
        bridge = ratio_to_gain(2.0)
        parts = (*parts, Step("bridge: twice the voltage", bridge, "gain", "G_bridge", authority=CIRCUIT))
        formula, db = f"{formula} + G_bridge", db + bridge
    return Step(f"gain of {output.key}", db, "gain", "G", formula, "", DECIBEL, assumed=gain.assumes, rests_on=parts)


def _own_gain(gear: Gear, gain: Gain) -> tuple[Step, ...]:
    """The gain as it is said, or from the sensitivity; and the control."""
    parts: list[Step] = []
    if gain.gain is not None:
        parts.append(given(f"gain of {gear.full}", gain.gain, "G_amp"))
    elif gain.sensitivity is not None and gain.rated is not None:
        parts.append(_from_sensitivity(gain))
    if gain.control is not None:
        parts.append(Step("attenuator", -abs(gain.control.value), "gain", "G_control", span=gain.control.span))
    return tuple(parts)


def _from_sensitivity(gain: Gain) -> Step:
    assert gain.sensitivity is not None
    assert gain.rated is not None
    assert gain.db is not None
    db = gain.db + (abs(gain.control.value) if gain.control else 0.0)
    sensitivity = given("sensitivity", gain.sensitivity, "U_in" if gain.sensitivity.kind == "voltage" else "L_in")
    in_volt = "U_in" if gain.sensitivity.kind == "voltage" else "(sqrt(0.6) * 10^(L_in / 20))"
    power, load, volt = gain.rated.get("power"), gain.rated.get("resistance"), gain.rated.get("voltage")
    rated: tuple[Step, ...]
    if power is not None and load is not None:
        rated, out_volt = (given("rated power", power, "P"), given("rated at", load, "Z")), "sqrt(P * Z)"
    elif volt is not None:
        rated, out_volt = (given("rated at", volt, "U"),), "U"
    else:
        in_v = gain.sensitivity.value if gain.sensitivity.kind == "voltage" else dbu_to_volt(gain.sensitivity.value)
        line = Step("line voltage", in_v * gain_to_ratio(db), "voltage", "U", span=gain.rated.span)
        rated, out_volt = (line,), "U"
    formula = f"20 * log10({out_volt} / {in_volt})"
    return Step("gain by its sensitivity", db, "gain", "G_amp", formula, "", DECIBEL, rests_on=(*rated, sensitivity))


def clip_step(key: str, clip_dbu: float, said: Measure | None, voltage: Step | None) -> Step:
    """The level at which a stage clips: as it is said, or from a voltage."""
    name = f"{key} clips at"
    if voltage is not None:
        return as_level(name, volt_to_dbu(_number(voltage)), "C", voltage)
    if said is None or said.kind == "level":
        return given(name, said, "C") if said else Step(name, clip_dbu, "level", "C")
    return as_level(name, clip_dbu, "C", given("said as", said))


def _number(step: Step) -> float:
    assert not isinstance(step.value, str)
    return step.value


def _log(value: float) -> float:
    return ratio_to_gain(value) / 20
