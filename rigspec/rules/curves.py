"""Rules about the data of impedance: curves that end too soon, and drivers that cannot be right."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import pi

from rigspec.figures import BoxFigures, Figures
from rigspec.figures.spectrum import BEYOND, BoxSpectrum, Extreme
from rigspec.figures.sweep import Law, driver_of, facts_of
from rigspec.rig.model import Facts, Measure, one
from rigspec.rules.bounds import at_most
from rigspec.rules.places import declared, kind_of
from rigspec.rules.pushing import by_name
from rigspec.rules.rule import Rule
from rigspec.solve.impedance import STEPS_PER_OCTAVE, grid_hz
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show, show_pair

APART = 1.25  # how far the least |Z| of a curve and of a driver may differ (common practice, no source)
RESONANCE_ABOVE = 4.0  # two octaves: what is tuned beside its band is left alone (common practice, no source)
CHOKED_HZ = 50.0  # where a coil's reactance passes its resistance, at the least (common practice, no source)
SHORT_OCTAVES = 1 / 3  # a curve that ends so close to the band's end is taken as whole (common practice, no source)


def kinds(figures: Figures) -> Iterator[tuple[BoxFigures, BoxSpectrum, Law]]:
    """The first by name of all loudspeakers with one law and one rated impedance that an amplifier reaches."""
    seen: set[tuple[Span, float | None]] = set()
    for box in by_name(box for box in figures.boxes.values() if box.key in figures.spectrum.boxes):
        spectrum = figures.spectrum.boxes[box.key]
        if spectrum.law is not None and (spectrum.law.span, box.box.impedance_ohm) not in seen:
            seen.add((spectrum.law.span, box.box.impedance_ohm))
            yield box, spectrum, spectrum.law


def named_kind(box: BoxFigures) -> str:
    """The kind of a loudspeaker, with the way that is meant."""
    kind = kind_of(box.box.gear)
    return f"the {box.box.way} way of {kind}" if box.box.way else kind


def place(box: BoxFigures, law: Law, hz: float) -> Span:
    """The point of a curve at or next to a frequency; the driver where there is no curve."""
    given = facts_of(box.box).get("curve")
    if law.curve is None or given is None:
        return law.span
    points = [(f.value, each.span) for each in given.entries if (f := each.get("frequency")) is not None]
    return min(points, key=lambda point: abs(point[0] - hz))[1] if points else law.span


def curve_short(figures: Figures) -> Iterable[Finding]:
    """A measured curve leaves a good part of the band that reaches its loudspeaker."""
    for box, spectrum, law in kinds(figures):
        missing = [(low, high) for low, high in spectrum.uncovered if high >= low * 2**SHORT_OCTAVES]
        if not missing or law.curve is None:
            continue
        parts = " and ".join(f"{show(low, 'frequency')} to {show(high, 'frequency')}" for low, high in missing)
        whole = f"{show(spectrum.low_hz, 'frequency')} to {show(spectrum.high_hz, 'frequency')}"
        yield Finding(
            "curve-short",
            law.span,
            f"the curve of {named_kind(box)} says nothing of {parts}, which reaches {box.key}",
            label=f"from {show(law.curve.low_hz, 'frequency')} to {show(law.curve.high_hz, 'frequency')}",
            related=(Label(box.box.arrival.sink.span, f"{box.key} gets {whole}"), *declared([box])),
            computed=f"{parts} left out",
            allowed=f"a curve from {whole}",
            assumes=(BEYOND,),
            help=f"measure |Z| over {parts} too",
            subject=box.box.gear.full,
        )


def curve_driver_apart(figures: Figures) -> Iterable[Finding]:
    """A loudspeaker's curve and its driver's parameters give least impedances that cannot both be right."""
    for box, _, law in kinds(figures):
        given = facts_of(box.box).get("driver")
        if law.curve is None or given is None:
            continue
        driver = driver_of(given.inner or {}).driver
        if driver is None:
            continue
        # Far above its resonance a real coil is less than its inductance says, and other drivers may take over.
        top_hz = driver.coil_ohm / (2 * pi * driver.coil_henry) if driver.coil_henry else law.curve.high_hz
        low, high = law.curve.low_hz, min(law.curve.high_hz, top_hz)
        if high <= low:
            continue
        hertz = grid_hz(low, high, law.curve.hertz, STEPS_PER_OCTAVE)
        measured = min((law.curve.impedance_ohm(hz), hz) for hz in hertz)
        reckoned = min((abs(driver.impedance_ohm(hz)), hz) for hz in hertz)
        if not 1 / APART <= measured[0] / reckoned[0] <= APART:
            yield _apart(box, law, given.span, Extreme(*measured), Extreme(*reckoned))


def _apart(box: BoxFigures, law: Law, driver: Span, measured: Extreme, reckoned: Extreme) -> Finding:
    here, there = show_pair(measured.value, reckoned.value, "resistance")
    said = f"{there} at {show(reckoned.hz, 'frequency')}"
    return Finding(
        "curve-driver-apart",
        place(box, law, measured.hz),
        f"{named_kind(box)} is measured at {here} at the least, and its driver's parameters say {there}",
        label=f"{here} at {show(measured.hz, 'frequency')}",
        related=(Label(driver, f"by these {said}"), *declared([box])),
        computed=f"{here} at {show(measured.hz, 'frequency')} measured, {said} reckoned",
        allowed=f"no more than {APART - 1:.0%} apart",
        assumes=("the curve counts, being a measurement",),
        help="put right the one that is wrong, or take the driver's parameters out",
        subject=box.box.gear.full,
    )


def driver_unlikely(figures: Figures) -> Iterable[Finding]:
    """Parameters of a driver that no driver has, or that are not of this one."""
    for box, named, facts, span in _drivers(figures):
        yield from _coil_unlikely(box, named, facts)
        yield from _motion_unlikely(box, named, facts, span)


def _coil_unlikely(box: BoxFigures, named: str, facts: Facts) -> Iterator[Finding]:
    """A coil above the rated impedance, or one whose inductance chokes the bass."""
    coil, rated = one(facts, "dc-resistance", "resistance"), box.box.impedance
    inductance = one(facts, "coil-inductance", "inductance")
    if coil is not None and rated is not None and coil.low > rated.high:
        yield Finding(
            "driver-unlikely",
            coil.span,
            f"the voice coil of {named} has {coil.text}, more than its rated {rated.text}",
            label="more than rated",
            related=(Label(rated.span, f"rated here: {rated.text}"), *declared([box])),
            computed=coil.text,
            allowed=f"at most {rated.text}",
            help="put the resistance or the rated impedance right; a coil has about 60 to 85 % of the rated figure",
            subject=box.box.gear.full,
            authority="circuit theory: |Z| is never below the resistance of the coil",
        )
    if coil is None or inductance is None or inductance.low <= 0 or coil.high >= 2 * pi * CHOKED_HZ * inductance.low:
        return
    hz = coil.value / (2 * pi * inductance.value)
    yield Finding(
        "driver-unlikely",
        inductance.span,
        f"the coil of {named} has {inductance.text}, which chokes it from {show(hz, 'frequency')} upward",
        label=f"as much as its {coil.text} at {show(hz, 'frequency')}",
        related=(Label(coil.span, f"its resistance: {coil.text}"), *declared([box])),
        computed=inductance.text,
        allowed=f"at most {at_most(coil.value / (2 * pi * CHOKED_HZ), 'inductance')} beside {coil.text}",
        help="put the inductance right: most coils have 0.05 to 5 mH",
        subject=box.box.gear.full,
        authority="common practice, no source",
    )


def _motion_unlikely(box: BoxFigures, named: str, facts: Facts, span: Span) -> Iterator[Finding]:
    """Q that look exchanged, or a resonance above all that the loudspeaker is made for."""
    electrical, mechanical = one(facts, "electrical-q", "number"), one(facts, "mechanical-q", "number")
    resonance, band = one(facts, "resonance", "frequency"), one(facts_of(box.box), "band", "frequency")
    if electrical is not None and mechanical is not None and electrical.low > mechanical.high:
        yield Finding(
            "driver-unlikely",
            electrical.span,
            f"the electrical Q of {named} is {electrical.text}, above its mechanical Q of {mechanical.text}",
            label="above the mechanical Q",
            related=(Label(mechanical.span, f"mechanical Q: {mechanical.text}"), Label(span, "of this driver")),
            computed=electrical.text,
            allowed=f"below {mechanical.text}",
            help="exchange the two: the motion of a driver is braked by its coil far more than by its suspension",
            subject=box.box.gear.full,
            authority="common practice, no source",
        )
    if resonance is not None and band is not None and resonance.low > RESONANCE_ABOVE * band.high:
        yield Finding(
            "driver-unlikely",
            resonance.span,
            f"{named} would resonate at {resonance.text}, far above all of its own band",
            label="far above its band",
            related=(Label(band.span, f"its band: {band.text}"), *declared([box])),
            computed=resonance.text,
            allowed=f"at most {show(RESONANCE_ABOVE * band.high, 'frequency')}, two octaves above its band",
            help="put the resonance right: it lies near the lower end of the band",
            subject=box.box.gear.full,
            authority="common practice, no source",
        )


def curve_doubled(figures: Figures) -> Iterable[Finding]:
    """A curve that has two impedances at one frequency."""
    told: set[Span] = set()
    for box in by_name(figures.boxes.values()):
        given = facts_of(box.box).get("curve")
        if given is None or given.span in told:
            continue
        told.add(given.span)
        points: dict[float, tuple[Measure, Span]] = {}
        for each in given.entries:
            hz, ohm = each.get("frequency"), each.get("resistance")
            if hz is None or ohm is None:
                continue
            first, where = points.setdefault(hz.value, (ohm, each.span))
            if ohm.value != first.value:
                yield Finding(
                    "curve-doubled",
                    each.span,
                    f"the curve of {named_kind(box)} has {ohm.text} at {hz.text}, and {first.text} there too",
                    label="a second figure",
                    related=(Label(where, f"the first: {first.text}"), *declared([box])),
                    computed=ohm.text,
                    allowed=first.text,
                    help="take out the one that is wrong, or correct its frequency",
                    subject=box.box.gear.full,
                )
                break


def driver_incomplete(figures: Figures) -> Iterable[Finding]:
    """A driver whose parameters are not enough to know its impedance, where no curve does."""
    for box, named, facts, span in _drivers(figures):
        lacks = driver_of(facts).lacks
        if lacks and "curve" not in facts_of(box.box):
            words = ", ".join(lacks)
            yield Finding(
                "driver-incomplete",
                span,
                f"the driver of {named} lacks {words}, so only its rated impedance counts",
                label=f"no {lacks[0].removeprefix('the ')}",
                related=tuple(declared([box])),
                help=f"give {words} from its data sheet, or measure a curve",
                subject=box.box.gear.full,
            )


def _drivers(figures: Figures) -> Iterator[tuple[BoxFigures, str, Facts, Span]]:
    """The first loudspeaker by name of each driver that is described, with the settings of that driver."""
    seen: set[Span] = set()
    described = [box for box in figures.boxes.values() if "driver" in facts_of(box.box)]
    for box in by_name(described):
        given = facts_of(box.box).get("driver")
        if given is not None and given.inner is not None and given.span not in seen and not box.box.tapped:
            seen.add(given.span)
            yield box, named_kind(box), given.inner, given.span


HANG = "amp a is twin\nspeaker s[1..2] is {}\nspare a.2\na.1 -> lead 4 mm2 5 m -> s[1..2] linked 4 mm2 1 m\n"
STOCK = (
    "stock speaker own {{\n  impedance {}\n  rated 500 W continuous, 2000 W peak\n  band 60 Hz to 18 kHz\n  {}\n}}\n"
)
_DRIVER = "dc-resistance 5.6 ohm; resonance 70 Hz; mechanical-q 4; electrical-q 0.5"


def _example(ohm: str, more: str) -> str:
    return STOCK.format(ohm, more.replace("; driver", "\n  driver").replace("; coil", "\n    coil")) + HANG.format(
        "own"
    )


def example_curve(curve: str) -> str:
    return _example("8 ohm", f"curve {curve}")


RULES = (
    Rule(
        name="curve-doubled",
        severity=Severity.WARNING,
        summary="a measured curve has two figures at one frequency",
        reason="one of them is a slip, and the load that is computed may rest on it",
        limit="one impedance at each frequency",
        authority="circuit theory",
        cure="take out the one that is wrong",
        bad=example_curve("9 ohm at 60 Hz, 30 ohm at 90 Hz, 6.5 ohm at 90 Hz, 12 ohm at 18 kHz"),
        good=example_curve("9 ohm at 60 Hz, 30 ohm at 90 Hz, 6.5 ohm at 250 Hz, 12 ohm at 18 kHz"),
        check=curve_doubled,
    ),
    Rule(
        name="curve-short",
        severity=Severity.ADVICE,
        summary="a measured curve leaves out part of the band",
        reason="nothing is known of its impedance there, and the least may lie there",
        limit="the band that reaches the loudspeaker, but for a third of an octave at each end",
        authority="common practice, no source",
        cure="measure the rest of the band",
        bad=example_curve("9 ohm at 60 Hz, 30 ohm at 90 Hz, 6.5 ohm at 250 Hz, 12 ohm at 8 kHz"),
        good=example_curve("9 ohm at 60 Hz, 30 ohm at 90 Hz, 6.5 ohm at 250 Hz, 12 ohm at 18 kHz"),
        check=curve_short,
    ),
    Rule(
        name="curve-driver-apart",
        severity=Severity.ADVICE,
        summary="a measured curve and the driver's parameters contradict each other",
        reason="one of the two is of another driver, or written wrong",
        limit="their least impedances agree within a quarter",
        authority="common practice, no source",
        cure="put right the one that is wrong",
        bad=_example(
            "8 ohm",
            f"curve 9 ohm at 60 Hz, 30 ohm at 90 Hz, 9 ohm at 250 Hz, 9 ohm at 18 kHz;"
            f" driver {{ {_DRIVER}; coil-inductance 1 mH }}",
        ),
        good=_example(
            "8 ohm",
            f"curve 20 ohm at 60 Hz, 30 ohm at 90 Hz, 6.5 ohm at 250 Hz, 9 ohm at 18 kHz;"
            f" driver {{ {_DRIVER}; coil-inductance 1 mH }}",
        ),
        check=curve_driver_apart,
    ),
    Rule(
        name="driver-unlikely",
        severity=Severity.WARNING,
        summary="a driver's parameters cannot be right",
        reason="the load that is reckoned from them is as wrong as they are",
        limit="a voice coil of at most the rated impedance, with a reactance below its resistance up to 50 Hz; an"
        " electrical Q below the mechanical one; a resonance no more than two octaves above the band",
        authority="circuit theory: |Z| is never below the coil's resistance; the others, common practice, no source",
        cure="correct them from the data sheet",
        bad=_example("8 ohm", "driver { dc-resistance 56 ohm; resonance 70 Hz; mechanical-q 4; electrical-q 0.5 }"),
        good=_example("8 ohm", "driver { dc-resistance 6.5 ohm; resonance 70 Hz; mechanical-q 4; electrical-q 0.5 }"),
        check=driver_unlikely,
    ),
    Rule(
        name="driver-incomplete",
        severity=Severity.ADVICE,
        summary="a driver's parameters are not enough to know its impedance",
        reason="they look as if they counted, and its rated impedance alone does",
        limit="dc-resistance, resonance, mechanical-q and electrical-q; of a vented box the tuning too",
        authority="the rig language, grammar/reference.md",
        cure="give what is lacking, or take the driver out",
        bad=_example("8 ohm", "driver { dc-resistance 6.5 ohm; resonance 70 Hz; mechanical-q 4 }"),
        good=_example("8 ohm", "driver { dc-resistance 6.5 ohm; resonance 70 Hz; mechanical-q 4; electrical-q 0.5 }"),
        check=driver_incomplete,
    ),
)
