"""What signal stands at every output: from which feeds, with which turns, gain, delay and band on its way."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve, frozen

from rigspec.rig import Facts, Gear, Measure, Output, Rig, Sink, delay_s, inversion, one
from rigspec.signal.amplifier import amplifier_gain, switched_input
from rigspec.signal.filters import filters_set
from rigspec.signal.limits import held, limits_said
from rigspec.signal.loading import MOST_STAGES, Loading, loading
from rigspec.signal.part import Level, Part, louder
from rigspec.solve.decibel import dbu_to_volt, ratio_to_gain, volt_to_dbu
from rigspec.solve.summing import Share, together_volt
from rigspec.trace import Arrival, Trace, Turn
from rigspec.value import Value

BRIDGE_DB = ratio_to_gain(2.0)  # twice the voltage between the two hot poles


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
        self._loading: dict[str, Loading] = {}
        self._mixes = {roster.name: roster for roster in rig.rosters_of("mix")}
        self._pair_of = {part.name: each.name for each in rig.rosters_of("stereo") for part in each.parts}
        self._levels = {
            word: {gear.full: gear.measure(word, "level") for gear in rig.gear.values() if gear.word == "feed"}
            for word in ("level", "peak")
        }

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
        """The signal of an output behind its way to a sink."""
        parts = self.at_output(arrival.output)
        gain_db, note = arrival.gain_db, ""
        if arrival.output.carries == "signal":
            found = self.loading(arrival.output)
            gain_db, note = gain_db - found.loss_db, found.note
        parts = tuple(louder(part, gain_db, arrival.turns) for part in parts)
        if not note and not arrival.delay_s:
            return parts
        return tuple(
            evolve(
                part,
                delay_s=part.delay_s + arrival.delay_s,
                assumes=(*part.assumes, note) if note and note not in part.assumes else part.assumes,
            )
            for part in parts
        )

    # ---- how loud it is

    def level(self, parts: tuple[Part, ...], word: str = "level", *, limited: bool = True) -> Level | None:
        """The nominal ``level`` or the ``peak`` level of a signal; None where a feed's, or a gain, is not known.

        ``limited``: with what limiters on the way take from it. -inf where a feed cancels itself.
        """
        if not parts:
            return None
        levels = self._levels[word]
        found = []
        for part in parts:
            said = levels.get(part.feed)
            if said is None or part.gain_db is None:
                return None
            found.append(said.value + part.gain_db - (part.held_db(word) if limited else 0.0))
        return self._together(parts, found)

    def said(self, feed: str, word: str) -> Measure | None:
        """The ``level`` or ``peak`` of a feed, as it is said; None for other words."""
        return self._levels[word].get(feed) if word in self._levels else None

    def gain_db(self, parts: tuple[Part, ...]) -> float | None:
        """The gain from a feed to here, the worst where several ways of it meet; None for several feeds."""
        if len({part.feed for part in parts}) != 1:
            return None
        gains = [part.gain_db for part in parts if part.gain_db is not None]
        return None if len(gains) < len(parts) else self._together(parts, gains).worst_dbu

    def _together(self, parts: tuple[Part, ...], levels: list[float]) -> Level:
        """The level of shares together, each with its own."""
        if len(parts) == 1:
            return Level(levels[0], levels[0])
        shares = []
        for part, dbu in zip(parts, levels, strict=True):
            volt = -dbu_to_volt(dbu) if part.inverted else dbu_to_volt(dbu)
            shares.append(Share(volt, part.feed, self._pair_of.get(part.feed, part.feed), part.delay_s, part.high_hz))
        whole, worst = together_volt(shares)
        return Level(volt_to_dbu(whole), volt_to_dbu(worst))

    # ---- what each sort of gear does to a signal

    def _made(self, output: Output) -> tuple[Part, ...]:
        gear = output.gear
        match gear.word:
            case "feed":
                band = gear.measure("band", "frequency")
                turns = _turned_by(gear.facts, f"the feed {gear.full} comes inverted")
                low, high = (band.low, band.high) if band else (None, None)
                return (Part(gear.full, turns, 0.0, 0.0, low, high, own_low_hz=low, own_high_hz=high),)
            case "mix":
                return self._mix(gear)
            case "split":
                loss = gear.measure("loss", "gain")
                gain_db = -abs(loss.value) if loss else 0.0
                turns = self._port_turns(gear, output.port, "this leg is inverted")
                return tuple(louder(part, gain_db, turns) for part in self.at_sink(gear.full))
            case "processor":
                return self._processor(output)
            case "amp":
                return self._amp(output)
        return ()

    def _mix(self, gear: Gear) -> tuple[Part, ...]:
        return tuple(louder(part, gain_db) for output, gain_db in self.mixed(gear) for part in self.at_output(output))

    def _processor(self, output: Output) -> tuple[Part, ...]:
        gear, port = output.gear, output.port
        facts = gear.ports.get(port, {})
        own = one(facts, "gain", "gain")
        whole = gear.measure("gain", "gain")
        gain_db = (own.value if own else 0.0) + (whole.value if whole else 0.0)
        turns = _turned_by(facts, f"output {gear.full}.{port} is switched inverted")
        parts = [louder(part, gain_db + add, turns) for key, add in self.inputs(output) for part in self.at_sink(key)]
        return self._limited(_filtered(parts, facts, output.key), facts, output.key, 0.0)

    def _amp(self, output: Output) -> tuple[Part, ...]:
        gear, halves = output.gear, output.port.split("+")
        channel = halves[0]
        turns: tuple[Turn, ...] = ()
        if len(halves) == 2:
            if channel != min(halves, key=int):
                turns += (Turn(gear.span, f"the plus pole is channel {channel}, which a bridge turns"),)
        else:
            turns += switched_input(gear, channel)[1]
        facts = {**gear.facts, **gear.ports.get(channel, {})}
        turns += self._port_turns(gear, channel, "this channel is inverted")
        gain = amplifier_gain(gear, channel)
        gain_db = gain.db if gain.db is None or len(halves) < 2 else gain.db + BRIDGE_DB
        ((source, _),) = self.inputs(output)
        parts = tuple(louder(part, gain_db, turns, gain.unknown) for part in self.at_sink(source))
        parts = _filtered(parts, facts, output.key)
        if gain.assumes:
            parts = tuple(evolve(part, assumes=(*part.assumes, gain.assumes)) for part in parts)
        return parts if gain_db is None else self._limited(parts, facts, output.key, gain_db)

    def _limited(self, parts: tuple[Part, ...], facts: Facts, key: str, offset_db: float) -> tuple[Part, ...]:
        """The parts behind the limiters of an output or a channel; ``offset_db`` is the gain of a channel."""
        if "limit" not in facts:
            return parts
        for limit in limits_said(facts, offset_db):
            parts = held(parts, limit, key, offset_db, self.level(parts), self.level(parts, "peak"))
        return parts

    def _port_turns(self, gear: Gear, port: str, text: str) -> tuple[Turn, ...]:
        turns = []
        given = inversion(gear.facts, port)
        if given is not None:
            turns.append(Turn(given.span, f"{text}: {gear.full}.{port}"))
        own = gear.ports.get(port, {}).get("inverted")
        if own is not None:
            turns.append(Turn(own.span, f"{text}: {gear.full}.{port}"))
        return tuple(turns)

    # ---- where it comes from

    def inputs(self, output: Output) -> list[tuple[str, float]]:
        """The inputs whose signals an output carries, each with the gain that the output gives it alone."""
        gear, port = output.gear, output.port
        match gear.word:
            case "amp":
                halves = port.split("+")
                source = min(halves, key=int) if len(halves) == 2 else switched_input(gear, port)[0]
                return [(f"{gear.full}.{source}", 0.0)]
            case "split":
                return [(gear.full, 0.0)]
            case "processor":
                given = gear.ports.get(port, {}).get("from")
                if given is None:
                    fed = [sink.key for sink in self._sinks_of.get(gear.full, ()) if sink.takes != "mains"]
                    return [(fed[0], 0.0)] if len(fed) == 1 else []
                return [
                    (f"{gear.full}.{ref.name}", gain.value if (gain := each.get("gain")) else 0.0)
                    for each in given.entries
                    for ref in each.refs
                ]
        return []

    def mixed(self, gear: Gear) -> list[tuple[Output, float]]:
        """What a mix adds up, each with its gain."""
        found = []
        for item in self._mixes[gear.name].parts:
            name = item.key
            output = self.rig.wiring.outputs.get(name)
            if output is None:  # what is used in mixes only has no output in the wiring
                source = self.rig.gear.get(item.name)
                if source is None or source.word not in ("feed", "processor", "split"):
                    continue
                output = Output(name, source, item.port, "signal", -1, source.span)
            found.append((output, item.gain_db))
        return found

    # ---- what the inputs cost the output that drives them

    def loading(self, output: Output) -> Loading:
        """What an output loses to all that it drives."""
        known = self._loading.get(output.key)
        if known is None:
            known = self._loading[output.key] = loading(output, self.trace, self._outputs_of)
        return known


def _turned_by(facts: Facts, text: str) -> tuple[Turn, ...]:
    given = facts.get("inverted")
    return () if given is None else (Turn(given.span, text),)


def _filtered(parts: Sequence[Part], facts: Facts, key: str) -> tuple[Part, ...]:
    """The parts behind the filters and the delay of an output or a channel."""
    passed = filters_set(facts, key)
    delay = one(facts, "delay", "time") or one(facts, "delay", "length")
    if not passed and delay is None:
        return tuple(parts)
    late_s = delay_s(delay) if delay else 0.0
    lows = [each.corner.value for each in passed if each.high_pass]
    highs = [each.corner.value for each in passed if not each.high_pass]
    return tuple(
        evolve(
            part,
            low_hz=max((hz for hz in (part.low_hz, *lows) if hz is not None), default=None),
            high_hz=min((hz for hz in (part.high_hz, *highs) if hz is not None), default=None),
            delay_s=part.delay_s + late_s,
            filters=part.filters + passed,
        )
        for part in parts
    )
