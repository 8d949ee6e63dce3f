"""What an amplifier does to a signal: which input its channels carry, and with which gain."""

from __future__ import annotations

from math import sqrt

from attrs import frozen

from rigspec.figures.trace import Turn
from rigspec.rig.model import Entry, Gear, Measure, Output, entries, one
from rigspec.solve.decibel import dbu_to_volt
from rigspec.solve.gain import sensitivity_gain_db
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class Gain(Value):
    """The gain of a channel with its control; ``db`` is None, and ``unknown`` says why, where it is not known.

    ``gain`` is where it was said, or else ``sensitivity`` and the rated output ``rated`` that it gives. ``control`` is
    the attenuator. ``assumes`` says which rated output was taken where the sensitivity does not say.
    """

    db: float | None
    unknown: str = ""
    assumes: str = ""
    gain: Measure | None = None
    sensitivity: Measure | None = None
    rated: Entry | None = None
    control: Measure | None = None


def switched_input(gear: Gear, channel: str) -> tuple[str, tuple[Turn, ...]]:
    """Whose input a channel carries: its own, or by the bridge or input switch the first channel's of its pair."""
    for first, second, word, each in gear.joined():
        if str(second) == channel:
            turn = (Turn(each.span, f"the bridge switch inverts {gear.full}.{second}"),)
            return str(first), turn if word == "bridge" else ()
    return channel, ()


def input_of(output: Output) -> str:
    """The key of the input whose signal a channel or a bridged pair carries."""
    source = output.first if output.bridged else switched_input(output.gear, output.port)[0]
    return f"{output.gear.full}.{source}"


def amplifier_gain(gear: Gear, channel: str) -> Gain:
    """The gain of a channel with its control: as it is said, or from the sensitivity and the rated output it gives."""
    own = gear.ports.get(channel)
    facts = {**gear.facts, **own} if own else gear.facts
    control = one(facts, "attenuator", "gain")
    cut = -abs(control.value) if control else 0.0
    gain = one(facts, "gain", "gain")
    if gain is not None:
        return Gain(gain.value + cut, gain=gain, control=control)
    sensitivity = one(facts, "sensitivity", "voltage") or one(facts, "sensitivity", "level")
    if sensitivity is None:
        return Gain(None, f"neither gain nor sensitivity of {gear.full} is given")
    rated, assumes = _rated_at(gear, one(facts, "sensitivity", "resistance"))
    output_volt = _volt(gear, rated) if rated else None
    if output_volt is None:
        return Gain(None, assumes or f"the rated output that belongs to the sensitivity of {gear.full} is not given")
    input_volt = sensitivity.value if sensitivity.kind == "voltage" else dbu_to_volt(sensitivity.value)
    if input_volt <= 0:
        return Gain(None, f"the sensitivity of {gear.full} is no voltage")
    db = sensitivity_gain_db(output_volt, input_volt) + cut
    return Gain(db, "", assumes, sensitivity=sensitivity, rated=rated, control=control)


def gains_by_sensitivity(gear: Gear) -> list[float]:
    """The gains that the sensitivity of an amplifier may stand for: one for each rated output it may be said of."""
    sensitivity = gear.measure("sensitivity", "voltage") or gear.measure("sensitivity", "level")
    if sensitivity is None:
        return []
    input_volt = sensitivity.value if sensitivity.kind == "voltage" else dbu_to_volt(sensitivity.value)
    load, given = gear.measure("sensitivity", "resistance"), gear.facts.get("rated")
    chosen, _ = _rated_at(gear, load)
    entries = list(given.entries) if given and load is None else [chosen] if chosen else []
    volts = [volt for each in entries if "bridge" not in each.words and (volt := _volt(gear, each))]
    return [sensitivity_gain_db(volt, input_volt) for volt in volts] if input_volt > 0 else []


def amplifier_gain_db(gear: Gear, channel: str) -> tuple[float | None, str]:
    """The gain of a channel with its control, or None and why it is not known."""
    gain = amplifier_gain(gear, channel)
    return gain.db, gain.unknown


def _rated_at(gear: Gear, load: Measure | None) -> tuple[Entry | None, str]:
    """The rated output of one channel that a sensitivity gives, and what is assumed of it or why there is none."""
    rated = [each for each in entries(gear.facts, "rated") if "bridge" not in each.words]
    rated = [each for each in rated if "alone" not in each.words] or rated
    if load is not None:
        for each in rated:
            said = each.get("resistance")
            if said is not None and abs(said.value / load.value - 1) < 0.02:
                return each, ""
        return None, f"{gear.full} has no rated output at {load.text}, at which its sensitivity is said"
    if len(rated) < 2:
        return (rated[0] if rated else None), ""
    first = " ".join(rated[0].span.text.split())
    return rated[0], f"the sensitivity of {gear.full} is taken for {first}, the first of its rated outputs"


def _volt(gear: Gear, rated: Entry) -> float | None:
    """The rms voltage of a rated output."""
    power, load, line = rated.get("power"), rated.get("resistance"), rated.get("voltage")
    if power is not None and load is not None and power.value * load.value > 0:
        return sqrt(power.value * load.value)
    line = line or (gear.measure("line", "voltage") if load is None else None)
    return line.value if line is not None and line.value > 0 else None
