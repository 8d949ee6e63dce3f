"""What signal stands at every output: from which feeds, with which turns, gain, delay and band on its way."""

from __future__ import annotations

from functools import cached_property

from attrs import frozen

from rigspec.figures.signal.amplifier import input_of
from rigspec.figures.signal.feeds import feeds_of
from rigspec.figures.signal.loading import MOST_STAGES, Loading, loading
from rigspec.figures.signal.part import Contribution, Level, together
from rigspec.figures.signal.transfer import (
    behind_amplifier,
    behind_processor,
    behind_split,
    behind_way,
    of_feed,
    of_mix,
)
from rigspec.figures.trace import Arrival, Trace
from rigspec.language.words import SettingWord
from rigspec.rig.model import Gear, Measure, Output, Rig, Sink
from rigspec.text.value import Content, gathered

MOST_WAYS = 1000  # of feeds to one output


@frozen(eq=False, repr=False)
class SignalLoop(Content):
    """Outputs that feed themselves, in order; or one whose signal is not worked out, for it is ``tangled``."""

    outputs: tuple[Output, ...]
    tangled: str = ""


class Signals:
    """Signals at outputs, made on demand and kept; ``loops`` collects outputs that feed themselves."""

    def __init__(self, rig: Rig, trace: Trace) -> None:
        self.rig = rig
        self.trace = trace
        self.loops: dict[str, SignalLoop] = {}
        self._known: dict[str, tuple[Contribution, ...]] = {}
        self._arrived: dict[Arrival, tuple[Contribution, ...]] = {}
        self._open: list[Output] = []
        self._loading: dict[str, Loading] = {}
        self._inputs: dict[Output, list[tuple[str, float]]] = {}
        self._mixes = {roster.name: roster for roster in rig.rosters_of("mix")}
        self.feeds = feeds_of(rig)

    @cached_property
    def _sinks_of(self) -> dict[str, list[Sink]]:
        return gathered(self.rig.wiring.sinks.values(), lambda sink: sink.gear.full)

    @cached_property
    def _outputs_of(self) -> dict[str, list[Output]]:
        return gathered(self.rig.wiring.outputs.values(), lambda output: output.gear.full)

    def at_output(self, output: Output) -> tuple[Contribution, ...]:
        known = self._known.get(output.key)
        if known is not None:
            return known
        if output in self._open or len(self._open) > MOST_STAGES:
            if output in self._open:
                loop = SignalLoop(tuple(self._open[self._open.index(output) :]))
                for each in loop.outputs:
                    self.loops.setdefault(each.key, loop)
            else:
                self._tangled(output, f"{MOST_STAGES} stages lie behind it")
            return ()
        self._open.append(output)
        parts = together(self._made(output))
        self._open.pop()
        if len(parts) > MOST_WAYS:
            self._tangled(output, f"{MOST_WAYS} ways lead to it")
        if output.key in self.loops:
            parts = ()
        self._known[output.key] = parts
        return parts

    def _tangled(self, output: Output, why: str) -> None:
        self.loops.setdefault(output.key, SignalLoop((output,), f"more than {why}"))

    def at_sink(self, key: str) -> tuple[Contribution, ...]:
        """The signal at an input; empty where nothing arrives or what arrives is not known."""
        arrival = self.trace.arrivals.get(key)
        return () if arrival is None else self.after(arrival)

    def after(self, arrival: Arrival) -> tuple[Contribution, ...]:
        """The signal of an output behind its way to a sink."""
        known = self._arrived.get(arrival)
        if known is None:
            output = arrival.output
            loading = self.loading(output) if output.carries == "signal" else None
            known = behind_way(arrival, self.at_output(output), loading)
            if output.key in self._known:  # not while it is being asked whether it feeds itself
                self._arrived[arrival] = known
        return known

    def in_doubt(self, key: str) -> bool:
        """Does what arrives at an input, or at one before it, lie behind a fault, so that it is not known?"""
        seen, todo = {key}, [key] if self.trace.doubtful else []
        while todo:
            at = todo.pop()
            sink, arrival = self.rig.wiring.sinks.get(at), self.trace.arrivals.get(at)
            if sink is not None and sink.joint in self.trace.doubtful:
                return True
            before = {source for source, _ in self.inputs(arrival.output)} - seen if arrival is not None else ()
            seen.update(before)
            todo += before
        return False

    # ---- how loud it is

    def level(
        self, parts: tuple[Contribution, ...], word: SettingWord = "level", *, limited: bool = True
    ) -> Level | None:
        """See `Feeds.level`."""
        return self.feeds.level(parts, word, limited=limited)

    def said(self, feed: str, word: SettingWord) -> Measure | None:
        """See `Feeds.said`."""
        return self.feeds.said(feed, word)

    def gain_db(self, parts: tuple[Contribution, ...]) -> float | None:
        """See `Feeds.gain_db`."""
        return self.feeds.gain_db(parts)

    # ---- what each sort of gear does to a signal

    def _made(self, output: Output) -> tuple[Contribution, ...]:
        gear = output.gear
        if gear.doubt and gear.word in ("processor", "split"):
            return ()  # what it does to a signal is not known
        match gear.word:
            case "feed":
                return of_feed(gear)
            case "mix":
                return of_mix(tuple((self.at_output(each), gain_db) for each, gain_db in self.mixed(gear)))
            case "split":
                return behind_split(output, self.at_sink(gear.full))
            case "processor":
                arriving = tuple((self.at_sink(key), gain_db) for key, gain_db in self.inputs(output))
                return behind_processor(output, arriving, self.feeds)
            case "amp":
                ((source, _),) = self.inputs(output)
                parts = self.at_sink(source)
                return behind_amplifier(output, parts, self.feeds)
            case "speaker" | "lead" | "panel" | "mains" | "place" | "area":
                return ()

    # ---- where it comes from

    def inputs(self, output: Output) -> list[tuple[str, float]]:
        """The inputs whose signals an output carries, each with the gain that the output gives it alone."""
        known = self._inputs.get(output)
        if known is None:
            known = self._inputs[output] = self._inputs_of(output)
        return known

    def _inputs_of(self, output: Output) -> list[tuple[str, float]]:
        gear, port = output.gear, output.port
        match gear.word:
            case "amp":
                return [(input_of(output), 0.0)]
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
            case "feed" | "mix" | "speaker" | "lead" | "panel" | "mains" | "place" | "area":
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
            known = self._loading[output.key] = loading(output, self.trace, lambda name: self._outputs_of.get(name, ()))
        return known
