"""What signal stands at every output: from which feeds, with which turns, gain, delay and band on its way."""

from __future__ import annotations

from collections.abc import Mapping
from math import sqrt

from attrs import evolve, frozen

from rigspec.rig import Facts, Gear, Measure, Output, Rig, Sink, delay_s, inversion, one
from rigspec.solve.decibel import dbu_to_volt, ratio_to_gain, volt_to_dbu
from rigspec.trace import Arrival, Trace, Turn
from rigspec.value import Value

MOST_STAGES = 100


@frozen(repr=False)
class Part(Value):
    """One feed's share of a signal. ``gain_db`` is None where a gain on the way is not known.

    ``low_hz`` and ``high_hz`` bound the band that is left of it; None where nothing bounds it.
    """

    feed: str
    turns: tuple[Turn, ...]
    gain_db: float | None
    delay_s: float
    low_hz: float | None
    high_hz: float | None
    unknown: str = ""  # why the gain is not known
    assumes: tuple[str, ...] = ()  # what the gain rests on

    @property
    def inverted(self) -> bool:
        return len(self.turns) % 2 == 1


@frozen(repr=False)
class SignalLoop(Value):
    """Outputs that feed themselves, in order."""

    outputs: tuple[Output, ...]


class Signals:
    """Signals at outputs, made on demand and kept; ``loops`` collects outputs that feed themselves."""

    def __init__(self, rig: Rig, trace: Trace) -> None:
        self.rig = rig
        self.trace = trace
        self.loops: dict[str, SignalLoop] = {}
        self._known: dict[str, tuple[Part, ...]] = {}
        self._open: list[Output] = []
        self._sinks_of: dict[str, list[Sink]] = {}
        for sink in rig.wiring.sinks.values():
            self._sinks_of.setdefault(sink.gear.full, []).append(sink)
        self._outputs_of: dict[str, list[Output]] = {}
        for output in rig.wiring.outputs.values():
            self._outputs_of.setdefault(output.gear.full, []).append(output)
        self._loading: dict[str, tuple[float, str]] = {}
        self._mixes = {roster.name: roster for roster in rig.rosters_of("mix")}

    def at_output(self, output: Output) -> tuple[Part, ...]:
        known = self._known.get(output.key)
        if known is not None:
            return known
        if output in self._open or len(self._open) > MOST_STAGES:
            start = self._open.index(output) if output in self._open else 0
            loop = SignalLoop(tuple(self._open[start:]))
            for each in loop.outputs:
                self.loops.setdefault(each.key, loop)
            return ()
        self._open.append(output)
        parts = self._made(output)
        self._open.pop()
        if output.key in self.loops:
            parts = ()
        self._known[output.key] = parts
        return parts

    def at_sink(self, key: str) -> tuple[Part, ...]:
        """The signal at an input; empty where nothing arrives or what arrives is not known."""
        arrival = self.trace.arrivals.get(key)
        return () if arrival is None else self.after(arrival)

    def after(self, arrival: Arrival) -> tuple[Part, ...]:
        loading, note = self.loading_db(arrival.output) if arrival.output.carries == "signal" else (0.0, "")
        return tuple(
            evolve(
                part,
                turns=part.turns + arrival.turns,
                gain_db=None if part.gain_db is None else part.gain_db + arrival.gain_db + loading,
                delay_s=part.delay_s + arrival.delay_s,
                assumes=(*part.assumes, note) if note else part.assumes,
            )
            for part in self.at_output(arrival.output)
        )

    # ---- what each sort of gear does to a signal

    def _made(self, output: Output) -> tuple[Part, ...]:
        gear = output.gear
        match gear.word:
            case "feed":
                band = gear.measure("band", "frequency")
                turns = _turned_by(gear.facts, f"the feed {gear.full} comes inverted")
                low, high = (band.low, band.high) if band else (None, None)
                return (Part(gear.full, turns, 0.0, 0.0, low, high),)
            case "mix":
                return self._mix(gear)
            case "split":
                loss = gear.measure("loss", "gain")
                parts = self.at_sink(gear.full)
                gain_db = -abs(loss.value) if loss else 0.0
                return self._through(parts, gain_db, self._port_turns(gear, output.port, "this leg is inverted"))
            case "processor":
                return self._processor(gear, output.port)
            case "amp":
                return self._amp(gear, output.port)
        return ()

    def _mix(self, gear: Gear) -> tuple[Part, ...]:
        parts: list[Part] = []
        for item in self._mixes[gear.name].parts:
            name = f"{item.name}.{item.port}" if item.port else item.name
            output = self.rig.wiring.outputs.get(name)
            if output is None:  # a feed that is used in mixes only has no output in the wiring
                source = self.rig.gear.get(item.name)
                if source is None or source.word != "feed":
                    continue
                output = Output(name, source, "", "signal", -1, source.span)
            parts += [_changed(part, item.gain_db) for part in self.at_output(output)]
        return tuple(parts)

    def _processor(self, gear: Gear, port: str) -> tuple[Part, ...]:
        facts = gear.ports.get(port, {})
        given = facts.get("from")
        keys: list[tuple[str, float]] = []
        if given:
            for each in given.entries:
                gain = each.get("gain")
                keys += [(f"{gear.full}.{ref.name}", gain.value if gain else 0.0) for ref in each.refs]
        else:
            fed = [sink.key for sink in self._sinks_of.get(gear.full, ()) if sink.takes != "mains"]
            keys = [(key, 0.0) for key in fed[:1]] if len(fed) == 1 else []
        own = one(facts, "gain", "gain")
        whole = gear.measure("gain", "gain")
        gain_db = (own.value if own else 0.0) + (whole.value if whole else 0.0)
        turns = _turned_by(facts, f"output {gear.full}.{port} is switched inverted")
        parts = [part for key, extra in keys for part in self._through(self.at_sink(key), gain_db + extra, turns)]
        return tuple(_filtered(part, facts) for part in parts)

    def _amp(self, gear: Gear, port: str) -> tuple[Part, ...]:
        halves = port.split("+")
        channel = halves[0]
        turns: tuple[Turn, ...] = ()
        source = channel
        if len(halves) == 2:
            source = min(halves, key=int)
            if channel != source:
                turns += (Turn(gear.span, f"the plus pole is channel {channel}, which a bridge turns"),)
        else:
            source, switch_turns = switched_input(gear, channel)
            turns += switch_turns
        facts = {**gear.facts, **gear.ports.get(channel, {})}
        turns += self._port_turns(gear, channel, "this channel is inverted")
        gain_db, unknown = amplifier_gain_db(gear, channel)
        parts = self._through(self.at_sink(f"{gear.full}.{source}"), gain_db, turns, unknown)
        bridge_db = ratio_to_gain(2.0) if len(halves) == 2 else 0.0  # twice the voltage between the two hot poles
        return tuple(_filtered(_changed(part, bridge_db), facts) for part in parts)

    def _port_turns(self, gear: Gear, port: str, text: str) -> tuple[Turn, ...]:
        turns = []
        given = inversion(gear.facts, port)
        if given is not None:
            turns.append(Turn(given.span, f"{text}: {gear.full}.{port}"))
        own = gear.ports.get(port, {}).get("inverted")
        if own is not None:
            turns.append(Turn(own.span, f"{text}: {gear.full}.{port}"))
        return tuple(turns)

    def _through(
        self, parts: tuple[Part, ...], gain_db: float | None, turns: tuple[Turn, ...], unknown: str = ""
    ) -> tuple[Part, ...]:
        return tuple(
            evolve(
                part,
                turns=part.turns + turns,
                gain_db=None if part.gain_db is None or gain_db is None else part.gain_db + gain_db,
                unknown=part.unknown or unknown,
            )
            for part in parts
        )

    # ---- what the inputs cost the output that drives them

    def loading_db(self, output: Output) -> tuple[float, str]:
        """The level lost in the output's own impedance (voltage divider); 0, and why, where a side is not known."""
        known = self._loading.get(output.key)
        if known is None:
            known = self._loading[output.key] = self._made_loading_db(output)
        return known

    def _made_loading_db(self, output: Output) -> tuple[float, str]:
        gear = output.gear
        if gear.word == "mix" or (gear.word == "split" and "passive" in gear.facts):
            return 0.0, ""  # no output stage of its own
        source = gear.measure("source", "resistance")
        load_ohm = self._load_ohm(output, 0) if source else None
        if source is None or load_ohm is None:
            lacking = "its inputs' impedance" if source else "its source impedance"
            return 0.0, f"{gear.full} loses nothing to what it drives, for {lacking} is not given"
        return -ratio_to_gain((load_ohm + source.value) / load_ohm), ""

    def _load_ohm(self, output: Output, depth: int) -> float | None:
        run = self.trace.runs.get(output.key)
        if run is None or run.broken or depth > MOST_STAGES:
            return None
        siemens = 0.0
        for arrival in run.arrivals:
            gear = arrival.sink.gear
            if gear.word == "split" and "passive" in gear.facts:
                for leg in self._outputs_of.get(gear.full, ()):
                    below = self._load_ohm(leg, depth + 1)
                    siemens += 1 / below if below else 0.0
                continue
            impedance = gear.measure("input", "resistance")
            if impedance is None or impedance.value <= 0:
                return None
            siemens += 1 / impedance.value
        return 1 / siemens if siemens else None


def _turned_by(facts: Facts, text: str) -> tuple[Turn, ...]:
    given = facts.get("inverted")
    return () if given is None else (Turn(given.span, text),)


def _changed(part: Part, gain_db: float) -> Part:
    return part if part.gain_db is None or not gain_db else evolve(part, gain_db=part.gain_db + gain_db)


def _filtered(part: Part, facts: Facts) -> Part:
    """The part behind the filters and the delay of an output or a channel."""
    high_pass, low_pass = one(facts, "high-pass", "frequency"), one(facts, "low-pass", "frequency")
    lows = (part.low_hz, high_pass.value if high_pass else None)
    highs = (part.high_hz, low_pass.value if low_pass else None)
    low = max((hz for hz in lows if hz is not None), default=None)
    high = min((hz for hz in highs if hz is not None), default=None)
    delay = one(facts, "delay", "time") or one(facts, "delay", "length")
    return evolve(part, low_hz=low, high_hz=high, delay_s=part.delay_s + (delay_s(delay) if delay else 0.0))


def switched_input(gear: Gear, channel: str) -> tuple[str, tuple[Turn, ...]]:
    """Whose input a channel carries: its own, or by the bridge or input switch the first channel's of its pair."""
    for word in ("bridge", "joined"):
        given = gear.facts.get(word)
        for each in given.entries if given else ():
            for first, second in each.pairs:
                if str(second) == channel:
                    turn = (Turn(each.span, f"the bridge switch inverts {gear.full}.{second}"),)
                    return str(first), turn if word == "bridge" else ()
    return channel, ()


def amplifier_gain_db(gear: Gear, channel: str) -> tuple[float | None, str]:
    """The gain of a channel with its control, or None and why it is not known."""
    facts = {**gear.facts, **gear.ports.get(channel, {})}
    control = one(facts, "attenuator", "gain")
    cut = -abs(control.value) if control else 0.0
    gain = one(facts, "gain", "gain")
    if gain is not None:
        return gain.value + cut, ""
    sensitivity = one(facts, "sensitivity", "voltage") or one(facts, "sensitivity", "level")
    rated = gear.facts.get("rated")
    first = rated.entries[0] if rated and rated.entries else None
    power, load = (first.get("power"), first.get("resistance")) if first else (None, None)
    if sensitivity is None or power is None or load is None or power.value * load.value <= 0:
        return None, f"neither gain nor sensitivity of {gear.full} is given"
    if sensitivity.kind == "voltage" and sensitivity.value <= 0:
        return None, f"neither gain nor sensitivity of {gear.full} is given"
    out_dbu = volt_to_dbu(sqrt(power.value * load.value))
    in_dbu = sensitivity.value if sensitivity.kind == "level" else volt_to_dbu(sensitivity.value)
    return out_dbu - in_dbu + cut, ""


def level_dbu(parts: tuple[Part, ...], level_of: Mapping[str, Measure | None]) -> float | None:
    """The level of a signal from its feeds' levels; None where one of them, or a gain, is not known.

    The shares of one feed add by voltage, with their turns; different feeds add by energy. A feed that meets itself
    upside down and leaves nothing has the level -inf.
    """
    if not parts:
        return None
    volts: dict[str, float] = {}
    for part in parts:
        level = level_of.get(part.feed)
        if level is None or part.gain_db is None:
            return None
        sign = -1.0 if part.inverted else 1.0
        volts[part.feed] = volts.get(part.feed, 0.0) + sign * dbu_to_volt(level.value + part.gain_db)
    return volt_to_dbu(sqrt(sum(volt * volt for volt in volts.values())))
