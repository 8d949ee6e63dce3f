"""Working of the least loads and impedances: by curve or driver over frequency, else by 80 % of the rated figure."""

from __future__ import annotations

from math import pi

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.lines import taps_alone
from rigspec.figures.load import Box
from rigspec.figures.over_band import least_load
from rigspec.figures.spectrum import NOMINAL, SAID, Extreme
from rigspec.figures.sweep import Law, facts_of
from rigspec.language.words import SettingWord
from rigspec.rig.model import Facts, Measure, one
from rigspec.solve.impedance import LEAST_OF_RATED, Curve, Driver
from rigspec.text.units import FigureKind, show
from rigspec.why.derived import Derived
from rigspec.why.network import CIRCUIT, Reckoning
from rigspec.why.working import Step, given, numbered, taken

RATED = "IEC 60268-5: the least impedance in the rated band is at least 80 % of the rated one (clause from memory)"
SMALL = "circuit theory; the driver's equivalent circuit, R. H. Small, JAES 1972 and 1973, from memory"


def least_load_step(figures: Figures, key: str) -> Step | None:
    """The least that a channel sees, with every loudspeaker's impedance at that frequency."""
    channel = figures.channels.get(key)
    found = least_load(figures, channel) if channel is not None else None
    if channel is None or found is None or found.low is None:
        return None
    name, whole = f"least load of {key}", figures.spectrum.channels.get(key)
    if whole is None:
        method = "network of leads and boxes solved node by node, the shortest leads, every impedance at its low end"
        kinds = {(box.box.impedance_ohm, box.box.least, box.box.tapped): box.box for box in channel.boxes}
        parts = numbered([_at_least(figures, channel, box) for box in kinds.values()], "Z")
        assumed = "; ".join(found.assumes)
        return Step(name, found.low.value, "resistance", "Z", "", method, RATED, assumed=assumed, rests_on=parts)
    method = (
        f"leads and boxes solved at {len(whole.hertz)} frequencies from {show(whole.low_hz, 'frequency')} to"
        f" {show(whole.high_hz, 'frequency')}, the shortest leads; the least is at {show(found.low.hz, 'frequency')}"
    )
    laws: dict[object, tuple[Box, Law | None]] = {}
    for box in channel.boxes:
        spectrum = figures.spectrum.boxes.get(box.key)
        law = None if spectrum is None else spectrum.law
        known = law is not None and law.covers(found.low.hz)
        laws.setdefault(
            (law.span if law else None, box.box.impedance_ohm, box.box.least), (box.box, law if known else None)
        )
    steps = [
        _at_least(figures, channel, box) if law is None else _at(box, law, found.low) for box, law in laws.values()
    ]
    assumed = "; ".join(whole.assumes)
    return Step(
        name, found.low.value, "resistance", "Z", "", method, CIRCUIT, assumed=assumed, rests_on=numbered(steps, "Z")
    )


def least_impedance_step(figures: Figures, key: str) -> Step | None:
    """The least |Z| of a loudspeaker in the band that reaches it."""
    box = figures.boxes.get(key)
    if box is None or box.box.impedance_ohm is None:
        return None
    spectrum = figures.spectrum.boxes.get(key)
    if spectrum is None or spectrum.law is None or spectrum.least is None:
        return _at_least(figures, figures.channels[box.channel], box.box)
    return _at(box.box, spectrum.law, spectrum.least)


def _at_least(figures: Figures, channel: ChannelFigures, box: Box) -> Step:
    """What the stock says; else 80 % of a rated impedance, for want of anything better."""
    if box.least is not None and not box.tapped:
        return Step(
            f"least impedance of {box.key}, {box.least.text}",
            box.least_ohm(),
            "resistance",
            "Z",
            span=box.least.span,
            assumed=SAID,
        )
    rated = Reckoning(figures, channel).impedance(box).called("Z_rated")
    assert box.impedance_ohm is not None
    name = f"least impedance of {box.key}"
    formula = f"{LEAST_OF_RATED:g} * Z_rated"
    ohm, assumed = LEAST_OF_RATED * box.impedance_ohm, "; ".join((NOMINAL, *taps_alone([box])))
    return Step(name, ohm, "resistance", "Z", formula, "", RATED, assumed=assumed, rests_on=(rated,))


def _at(box: Box, law: Law, least: Extreme) -> Step:
    """|Z| of a loudspeaker at a frequency, from its curve or its driver, at the low end of tolerances."""
    name = f"impedance of {box.key} at {show(least.hz, 'frequency')}"
    facts = facts_of(box)
    if isinstance(law.lowest, Curve):
        return _read(name, facts, law.lowest, least.hz)
    inner = facts["driver"].inner or {}
    return _driver(name, inner, law, law.lowest, least.hz)


def _read(name: str, facts: Facts, curve: Curve, hz: float) -> Step:
    """|Z| read from a table: the points around the frequency."""
    points = [(e.get("frequency"), e.get("resistance")) for e in facts["curve"].entries]
    both = sorted(((f, z) for f, z in points if f is not None and z is not None), key=lambda each: each[0].value)
    below = [each for each in both if each[0].value <= hz * (1 + 1e-9)][-1:]
    above = [each for each in both if each[0].value >= hz * (1 - 1e-9)][:1]
    around = dict.fromkeys(below + above)
    steps = tuple(_low_end(f"measured |Z| at {f.text}", z, f"Z{number}") for number, (f, z) in enumerate(around, 1))
    method = "read from the measured table, on straight lines over log frequency and log |Z|; the low end of tolerances"
    ohm = curve.impedance_ohm(hz)
    return Step(name, ohm, "resistance", "Z", "", method, "the measured curve, as the stock gives it", rests_on=steps)


def _low_end(name: str, measure: Measure, symbol: str) -> Step:
    if measure.low == measure.value:
        return given(name, measure, symbol)
    return Step(f"{name}, the low end of {measure.text}", measure.low, measure.kind, symbol, span=measure.span)


def _given(name: str, facts: Facts, word: SettingWord, kind: FigureKind, symbol: str) -> Step:
    measure = one(facts, word, kind)
    assert measure is not None  # a driver without it has no law
    return _low_end(name, measure, symbol) if word == "dc-resistance" else given(name, measure, symbol)


def _driver(name: str, facts: Facts, law: Law, driver: Driver, hz: float) -> Step:
    """|Z| of a driver at a frequency, down to its parameters; with a vent there is no formula of one line."""
    coil = _given("resistance of the voice coil", facts, "dc-resistance", "resistance", "R_e")
    inductance = _inductance(facts, law)
    at = taken("frequency", hz, "frequency", "", "f", "where it is least")
    ohm, assumed = abs(driver.impedance_ohm(hz)), "; ".join(law.assumes)
    tuning = one(facts, "box", "frequency")
    if driver.vent_hz is not None and tuning is not None:
        free, mechanical, electrical = _free(facts)
        vented = (coil, inductance, free, mechanical, electrical, given("tuning of the box", tuning, "f_b"), at)
        method = "coil, motion and vented box as one circuit, at this frequency"
        return Step(name, ohm, "resistance", "Z", "", method, SMALL, assumed=assumed, rests_on=vented)
    resonance, mechanical, electrical = _in_box(facts, driver, tuning)
    lossy = (coil, mechanical, electrical)
    motion = _made("resistance of the motion", driver.motion_ohm, "resistance", "R_m = R_e * Q_ms / Q_es", lossy)
    off = hz / driver.resonance_hz - driver.resonance_hz / hz
    detuned = _made("how far off resonance", off, "number", "x = f / f_s - f_s / f", (at, resonance))
    coil_ohm = 2 * pi * hz * driver.coil_henry
    reactance = _made("reactance of the coil", coil_ohm, "resistance", f"X_L = {2 * pi!r} * f * L_e", (at, inductance))
    share = "(1 + Q_ms^2 * x^2)"
    formula = f"sqrt((R_e + R_m / {share})^2 + (X_L - R_m * Q_ms * x / {share})^2)"
    parts = (coil, motion, mechanical, detuned, reactance)
    return Step(name, ohm, "resistance", "Z", formula, "", SMALL, assumed=assumed, rests_on=parts)


def _made(name: str, value: float, kind: FigureKind, equation: str, parts: tuple[Step, ...]) -> Step:
    symbol, _, formula = equation.partition(" = ")
    return Step(name, value, kind, symbol, formula, "", SMALL, rests_on=parts)


def _inductance(facts: Facts, law: Law) -> Step:
    name, henry = "inductance of the voice coil", one(facts, "coil-inductance", "inductance")
    return taken(name, 0.0, "inductance", law.assumes[0], "L_e") if henry is None else given(name, henry, "L_e")


def _free(facts: Facts) -> tuple[Step, Step, Step]:
    """Resonance, mechanical and electrical Q as they are given."""
    return (
        _given("resonance", facts, "resonance", "frequency", "f_s"),
        _given("mechanical Q", facts, "mechanical-q", "number", "Q_ms"),
        _given("electrical Q", facts, "electrical-q", "number", "Q_es"),
    )


def _in_box(facts: Facts, driver: Driver, tuning: Measure | None) -> tuple[Step, Step, Step]:
    """The same in a sealed box, which raises all three alike if its own resonance is said."""
    free, mechanical, electrical = _free(facts)
    if tuning is None:
        return free, mechanical, electrical
    resonance, rest = given("resonance in the box", tuning, "f_s"), free.called("f_free")
    raised = [
        _made(
            f"{step.name} in the box",
            value,
            "number",
            f"{step.symbol} = {step.symbol} * f_s / f_free",
            (step, resonance, rest),
        )
        for step, value in ((mechanical, driver.mechanical_q), (electrical, driver.electrical_q))
    ]
    return resonance, raised[0], raised[1]


DERIVED = (
    Derived(
        "least-impedance", "an amplifier channel or a bridged pair", "the least that its load falls to", least_load_step
    ),
    Derived("least-impedance", "a loudspeaker", "the least of its impedance in its band", least_impedance_step),
)
