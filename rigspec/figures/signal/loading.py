"""What an output loses in its own impedance to the inputs that it drives."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from math import isfinite
from typing import TypeAlias

from attrs import frozen

from rigspec.figures.trace import Trace
from rigspec.rig.model import Gear, Measure, Output
from rigspec.solve.gain import loading_loss_db, parallel_ohm
from rigspec.text.value import Value

MOST_STAGES = 100

OutputsOf: TypeAlias = "Callable[[str], Sequence[Output]]"
"""The outputs of a thing, by its full name."""


@frozen(eq=False, repr=False)
class Loading(Value):
    """An output and its load: ``loss_db`` is 0 where one side is not known, and ``note`` says so.

    ``inputs`` are what it drives, by the key of each input, with what was said of its impedance.
    """

    source: Measure | None
    load_ohm: float | None
    loss_db: float
    note: str
    inputs: tuple[tuple[str, Measure], ...] = ()

    @property
    def ratio(self) -> float | None:
        """The load over the source; None where one is not known."""
        if self.source is None or self.load_ohm is None or self.source.value <= 0:
            return None
        return self.load_ohm / self.source.value


def passes(gear: Gear) -> bool:
    """Does a split pass the load of its legs on to what drives it? A passive one does, and a transformer that has no
    impedance of its own said."""
    if gear.word != "split" or gear.says("active") or gear.says("input"):
        return False
    return gear.says("passive") or gear.says("transformer")


def loading(output: Output, trace: Trace, outputs_of: OutputsOf) -> Loading:
    """The loading of one output; ``outputs_of`` gives the outputs of each thing."""
    gear = output.gear
    if passes(gear):
        return Loading(None, None, 0.0, "", ())  # no output stage of its own: what drives it is loaded
    found: list[tuple[str, Measure]] = []
    notes: list[str] = []
    lacking = _gather(output, trace, outputs_of, found, notes, 0)
    source = gear.measure("source", "resistance") if gear.word != "mix" else None
    load_ohm = None if lacking or not found else parallel_ohm(measure.value for _, measure in found)
    if source is None or load_ohm is None:
        lacks = "its source impedance" if source is None else lacking or "its inputs' impedance"
        note = f"{gear.full} loses nothing to what it drives, for {lacks} is not given"
        return Loading(source, load_ohm, 0.0, note, ())
    loss_db = loading_loss_db(source.value, load_ohm)
    said = "; ".join(dict.fromkeys(notes))
    return Loading(source, load_ohm, loss_db if isfinite(loss_db) else 0.0, said, tuple(found))


def _gather(
    output: Output,
    trace: Trace,
    outputs_of: OutputsOf,
    found: list[tuple[str, Measure]],
    notes: list[str],
    depth: int,
) -> str:
    """Collect the inputs that an output drives; the name of what lacks, or nothing."""
    run = trace.runs.get(output.key)
    if run is None or run.doubt or depth > MOST_STAGES:
        return "what it drives"
    for arrival in run.arrivals:
        gear = arrival.sink.gear
        if arrival.gain_db:
            notes.append("a pad is taken to load what drives it as that loads which lies behind it")
        if passes(gear):
            if gear.says("transformer"):
                notes.append(f"the transformer of {gear.full} is taken as 1:1: it passes on the load of its legs")
            for leg in outputs_of(gear.full):
                lacking = _gather(leg, trace, outputs_of, found, notes, depth + 1)
                if lacking:
                    return lacking
            continue
        impedance = gear.measure("input", "resistance")
        if impedance is None or impedance.value <= 0:
            return f"the input impedance of {gear.full}"
        found.append((arrival.sink.key, impedance))
    return ""
