"""Working of the right limiter thresholds: from a rating back through leads, amplifier and signal path."""

from __future__ import annotations

from rigspec.figures import Figures
from rigspec.figures.points import MOST_STAGES
from rigspec.figures.protection import ChannelProtection, Weakest
from rigspec.rig.model import Output
from rigspec.solve.decibel import volt_to_dbu
from rigspec.solve.limiter import CREST_FACTOR
from rigspec.why.derived import Derived
from rigspec.why.network import Reckoning
from rigspec.why.signal_way import DECIBEL, SignalStep, SignalWay, as_level, channel_gain
from rigspec.why.working import Step, given, numbered

RATING = "P = U^2/Z at the rated impedance: IEC 60268-5, from memory"
CREST = "crest factor 2, four times the power: IEC 60268-5, from memory"


def _limit(watches: str, figures: Figures, key: str) -> Step | None:
    """The right threshold at an amplifier's input, at a processor's output, or at a powered loudspeaker's input."""
    protection = figures.protection.channels.get(key)
    if protection is not None:
        return _at_input(figures, protection, watches)
    output = figures.protection.outputs.get(key)
    if output is not None:
        found = [_at_processor(figures, each, watches) for each in output.channels]
        steps = [step for step in found if step is not None]
        if len(steps) < 2:
            return steps[0] if steps else None
        parts = numbered(steps, "T")
        least = min(float(step.value) for step in steps)
        formula = f"min({', '.join(step.symbol for step in parts)})"
        method_of = "the strictest of the channels behind it"
        return Step(f"{_called(watches)} at {key}", least, "level", "T", formula, "", method_of, rests_on=parts)
    return _at_powered(figures, key) if watches == "peak" else None


def _called(watches: str) -> str:
    return f"right threshold for the {'mean' if watches == 'rms' else 'peaks'}"


def _at_input(figures: Figures, protection: ChannelProtection, watches: str) -> Step | None:
    dbu, gain = protection.at_input_dbu(watches), channel_gain(protection.channel.output)
    if dbu is None or gain is None:
        return None
    parts = (_at_output(figures, protection, watches).called("T_out"), gain.called("G"))
    name = f"{_called(watches)} at the input of {protection.channel.key}"
    return Step(name, dbu, "level", "T", "T_out - G", "", DECIBEL, rests_on=parts)


def _at_processor(figures: Figures, protection: ChannelProtection, watches: str) -> Step | None:
    dbu, gain = protection.at_point_dbu(watches), channel_gain(protection.channel.output)
    if dbu is None or gain is None:
        return None
    output = protection.points[0].output
    way = _way(figures, figures.signals.inputs(protection.channel.output)[0][0], output)
    ahead = _at_output(figures, protection, watches).called("T_out")
    gains, losses = (numbered([step for step in way if step.symbol == symbol], symbol) for symbol in ("G", "a"))
    parts = (ahead, gain.called("G"), *(step.called(f"G_{n}") for n, step in enumerate(gains, 1)), *losses)
    formula = "T_out - G" + "".join(f" - G_{n}" for n in range(1, len(gains) + 1))
    formula += "".join(f" + {step.symbol}" for step in losses)
    name = f"{_called(watches)} at {output.key} for {protection.channel.key}"
    return Step(name, dbu, "level", "T", formula, "", DECIBEL, rests_on=parts)


def _way(figures: Figures, key: str, goal: Output) -> list[Step]:
    """The gains (``G``) and losses (``a``) from a processor's output to an input, the nearest to the input first."""
    way, steps = SignalWay(figures, SignalStep()), []
    for _ in range(MOST_STAGES):
        arrival = figures.trace.arrivals.get(key)
        if arrival is None:
            break
        steps += [step.called("G") for step in way.pads(arrival)]
        steps.append(way.loss(arrival.output).called("a"))
        if arrival.output is goal:
            break
        loss = arrival.output.gear.measure("loss", "gain")
        if loss is not None:
            steps.append(Step(f"loss of {arrival.output.key}", abs(loss.value), "gain", "a", span=loss.span))
        inputs = figures.signals.inputs(arrival.output)
        if not inputs:
            break
        key = inputs[0][0]
    return steps


def _at_output(figures: Figures, protection: ChannelProtection, watches: str) -> Step:
    """The right threshold at the amplifier's output: of the weakest loudspeaker, as a level."""
    weakest = protection.rms if watches == "rms" else protection.peak
    assert weakest is not None  # the threshold is known
    reckoning = Reckoning(figures, protection.channel)
    power = _rated(weakest)
    parts = (power, reckoning.impedance(weakest.box.box).called("Z"), reckoning.share(weakest.box.box).called("k"))
    what = "rms" if watches == "rms" else "peak"
    name = f"{what} voltage out of {protection.channel.key} at which {weakest.box.key}, the weakest, reaches its rating"
    volt = Step(name, weakest.volt, "voltage", "U", "sqrt(P * Z) / k", "", RATING, rests_on=parts)
    name = f"that voltage as a level at the output of {protection.channel.key}"
    return as_level(name, weakest.dbu, "T_out", volt, peak=watches != "rms")


def _rated(weakest: Weakest) -> Step:
    if not weakest.assumed:
        return given(f"what {weakest.box.key} stands", weakest.rating, "P")
    rated = given(f"what {weakest.box.key} stands for long", weakest.rating, "P_c")
    name, formula = f"peak power that {weakest.box.key} stands", f"{CREST_FACTOR:g}^2 * P_c"
    return Step(name, weakest.watt, "power", "P", formula, "", CREST, assumed=weakest.assumed, rests_on=(rated,))


def _at_powered(figures: Figures, key: str) -> Step | None:
    powered = figures.protection.powered.get(key)
    if powered is None:
        return None
    name = f"input level that gives the full output of {key}"
    if powered.drive.kind == "level":
        return given(name, powered.drive, "T")
    volt = given("input voltage that gives its full output", powered.drive)
    return as_level(name, volt_to_dbu(powered.drive.value), "T", volt)


def _rms(figures: Figures, key: str) -> Step | None:
    return _limit("rms", figures, key)


def _peak(figures: Figures, key: str) -> Step | None:
    return _limit("peak", figures, key)


WHERE = "an amplifier channel (at its input) or a processor's output"
DERIVED = (
    Derived("limit", WHERE, "where a limiter for the mean has to stand", _rms),
    Derived("limit-peak", f"{WHERE}, or a powered loudspeaker", "where a limiter for peaks has to stand", _peak),
)
