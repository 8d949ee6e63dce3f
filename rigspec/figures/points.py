"""The processor outputs on the way to an amplifier channel or a powered loudspeaker, and the gain from there."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures.values import Ground
from rigspec.rig import Output, one
from rigspec.signal import switched_input
from rigspec.value import Value

MOST_STAGES = 100


@frozen(eq=False, repr=False)
class Point(Value):
    """An output of a processor, and the gain from there to the amplifier's output, or to the powered loudspeaker.

    The gain holds what the inputs behind it load it down by, pads, splits, the amplifier's control and its bridge.
    """

    output: Output
    gain_db: float


class Ways:
    """The way back from inputs to the processors before them, as long as one signal alone comes that way.

    Where a processor or a mix adds several signals the way ends: a limiter before that does not hold their sum.
    """

    def __init__(self, ground: Ground) -> None:
        self._ground = ground
        self._fed: dict[str, list[str]] = {}
        for sink in ground.rig.wiring.sinks.values():
            if sink.gear.word == "processor" and sink.takes == "signal":
                self._fed.setdefault(sink.gear.full, []).append(sink.key)

    def before_channel(self, output: Output, gain_db: float) -> tuple[Point, ...]:
        """The processor outputs before an amplifier channel, the nearest first; ``gain_db`` is the channel's."""
        halves = output.port.split("+")
        source = min(halves, key=int) if len(halves) == 2 else switched_input(output.gear, halves[0])[0]
        return self.before_sink(f"{output.gear.full}.{source}", gain_db)

    def before_sink(self, key: str, gain_db: float = 0.0) -> tuple[Point, ...]:
        """The processor outputs before an input, the nearest first; ``gain_db`` is the gain behind that input."""
        points: list[Point] = []
        arrivals, signals = self._ground.trace.arrivals, self._ground.signals
        for _ in range(MOST_STAGES):
            arrival = arrivals.get(key)
            if arrival is None or arrival.output.carries != "signal":
                break
            output, gear = arrival.output, arrival.output.gear
            if output.key in signals.loops:
                break
            gain_db += arrival.gain_db - signals.loading(output).loss_db
            if gear.word == "split":
                loss = gear.measure("loss", "gain")
                key, gain_db = gear.full, gain_db - (abs(loss.value) if loss else 0.0)
                continue
            if gear.word != "processor":
                break
            points.append(Point(output, gain_db))
            source = self._only_input(output)
            if source is None:
                break
            key, gain_db = source[0], gain_db + source[1]
        return tuple(points)

    def _only_input(self, output: Output) -> tuple[str, float] | None:
        """The input that a processor output takes, if it takes one alone, and the gain from there to the output."""
        gear = output.gear
        facts = gear.ports.get(output.port, {})
        own, whole = one(facts, "gain", "gain"), gear.measure("gain", "gain")
        gain_db = (own.value if own else 0.0) + (whole.value if whole else 0.0)
        given = facts.get("from")
        if given is None:
            fed = self._fed.get(gear.full, [])
            return (fed[0], gain_db) if len(fed) == 1 else None
        if len(given.entries) != 1 or len(given.entries[0].refs) != 1:
            return None
        entry = given.entries[0]
        extra = entry.get("gain")
        return f"{gear.full}.{entry.refs[0].name}", gain_db + (extra.value if extra else 0.0)
