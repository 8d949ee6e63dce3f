"""The processor outputs on the way to an amplifier channel or a powered loudspeaker, and the gain from there."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures.values import BaseFigures
from rigspec.rig.model import Output, one
from rigspec.text.value import Value

MOST_STAGES = 100


@frozen(eq=False, repr=False)
class ProcessorPoint(Value):
    """An output of a processor, and the gain from there to the amplifier's output, or to the powered loudspeaker.

    The gain holds what the inputs behind it load it down by, pads, splits, the amplifier's control and its bridge.
    """

    output: Output
    gain_db: float


def before_channel(ground: BaseFigures, output: Output, gain_db: float) -> tuple[ProcessorPoint, ...]:
    """The processor outputs before an amplifier channel, the nearest first; ``gain_db`` is the channel's gain."""
    inputs = ground.signals.inputs(output)
    return before_sink(ground, inputs[0][0], gain_db) if inputs else ()


def before_sink(ground: BaseFigures, key: str, gain_db: float = 0.0) -> tuple[ProcessorPoint, ...]:
    """The processor outputs before an input, the nearest first; ``gain_db`` is the gain behind that input.

    Where a processor or a mix adds several signals the way ends: a limiter before that does not hold their sum.
    """
    points: list[ProcessorPoint] = []
    arrivals, signals = ground.trace.arrivals, ground.signals
    for _ in range(MOST_STAGES):
        arrival = arrivals.get(key)
        if arrival is None or arrival.output.carries != "signal" or arrival.output.key in signals.loops:
            break
        output, gear = arrival.output, arrival.output.gear
        gain_db += arrival.gain_db - signals.loading(output).loss_db
        if gear.word == "processor":
            points.append(ProcessorPoint(output, gain_db))
            own = one(gear.ports.get(output.port, {}), "gain", "gain"), gear.measure("gain", "gain")
            gain_db += sum(measure.value for measure in own if measure is not None)
        elif gear.word == "split":
            loss = gear.measure("loss", "gain")
            gain_db -= abs(loss.value) if loss else 0.0
        inputs = signals.inputs(output)
        if len(inputs) != 1:
            break
        key, gain_db = inputs[0][0], gain_db + inputs[0][1]
    return tuple(points)
