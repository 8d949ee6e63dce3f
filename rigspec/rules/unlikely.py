"""Rules about figures that nobody means: far outside what is usual, by a slip of unit or digit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rigspec.figures import Figures
from rigspec.figures.powered import players
from rigspec.language.words import SettingWord
from rigspec.rig.model import Facts, Measure, Piece, one
from rigspec.rules.alike import outputs
from rigspec.rules.rule import Rule
from rigspec.text.finding import Edit, Finding, Fix, Label, Severity
from rigspec.text.units import FigureKind, show
from rigspec.text.value import gathered

# From the least to the most that is usual, in base units, wide enough for all real gear (common practice, no source).
USUAL: dict[tuple[SettingWord, FigureKind], tuple[float, float]] = {
    ("high-pass", "frequency"): (10.0, 20_000.0),
    ("low-pass", "frequency"): (20.0, 24_000.0),
    ("delay", "time"): (0.0, 0.6),
    ("delay", "length"): (0.0, 206.0),
    ("latency", "time"): (0.0, 0.1),
    ("capacitance", "capacitance"): (0.5e-3, 1.0),
    ("weight", "mass"): (0.01, 5000.0),
    ("inrush", "current"): (0.1, 1000.0),
}
BASS_HZ = 1000.0  # a low-pass above it leaves a bass box unfiltered
BASS_BAND_HZ = 300.0
FEET = 0.3048
FACTORS = (1e-3, 1e3, 1e-1, 1e1, 1e-6, 1e6)
MOST_SPREAD = 2.5  # leads of like boxes differ by less (common practice, no source)
LEAST_LIKE = 3


def figure_unlikely(figures: Figures) -> Iterable[Finding]:
    """A figure far from what is usual for its setting, or from its like."""
    seen: set[object] = set()
    for subject, facts in _all_facts(figures):
        for word, measure in _measures(facts):
            usual = USUAL.get((word, measure.kind))
            if usual is None or measure.span in seen or usual[0] <= measure.value <= usual[1]:
                continue
            seen.add(measure.span)
            yield _far(subject, word, measure, usual)
    yield from _bass_wide_open(figures, seen)
    yield from _feet(figures)


def _all_facts(figures: Figures) -> Iterator[tuple[str, Facts]]:
    for kind in figures.rig.kinds.values():
        yield kind.name, kind.facts
    for name, gear in figures.rig.gear.items():
        yield name, gear.facts
        for port, facts in gear.ports.items():
            yield f"{name}.{port}", facts


def _measures(facts: Facts) -> Iterator[tuple[SettingWord, Measure]]:
    for given in facts.values():
        for entry in given.entries:
            yield from ((given.word, measure) for measure in entry.measures)
        yield from _measures(given.inner or {})


def _far(subject: str, word: SettingWord, measure: Measure, usual: tuple[float, float]) -> Finding:
    kind = measure.kind
    low, high = (show(each, kind) for each in usual)
    meant = next((measure.value * factor for factor in FACTORS if usual[0] <= measure.value * factor <= usual[1]), None)
    text = None if meant is None else show(meant, kind)
    return Finding(
        "figure-unlikely",
        measure.span,
        f"nobody sets `{word}` to {measure.text}: {low} to {high} are usual",
        label=f"{text}?" if text else "far from what is usual",
        computed=measure.text,
        allowed=f"{low} to {high}",
        help=f"write {text} if that is meant; else `allow` it with the reason" if text else "correct the figure",
        choices=(Fix(f"write {text}", (Edit(measure.span, text),)),) if text else (),
        subject=subject,
    )


def _bass_wide_open(figures: Figures, seen: set[object]) -> Iterator[Finding]:
    """A low-pass for bass boxes alone that stands in the treble."""
    heard = gathered(
        ((output.key, box) for box in players(figures) for output in outputs(figures, box)), lambda each: each[0]
    )
    for key, boxes in heard.items():
        output = figures.rig.wiring.outputs.get(key)
        corner = one(output.gear.ports.get(output.port, {}), "low-pass", "frequency") if output is not None else None
        if corner is None or corner.span in seen or corner.value <= BASS_HZ:
            continue
        bands = [one(box.box.gear.way(box.box.way), "band", "frequency") for _, box in boxes]
        if all(band is not None and band.high <= BASS_BAND_HZ for band in bands):
            seen.add(corner.span)
            yield _far(key, "low-pass", corner, (20.0, BASS_HZ))


def _feet(figures: Figures) -> Iterator[Finding]:
    """One lead in feet beside leads of like boxes in metres, as long as these if it were metres too."""
    for lot in gathered(players(figures), lambda box: (box.box.gear.kind, box.box.way)).values():
        last = (_last_lead(figures, box.box.arrival.sink.joint, box.channel) for box in lot)
        leads = {piece.span: piece.spec for piece in last if piece is not None and piece.spec is not None}
        lengths = [spec.length for spec in leads.values() if spec.length is not None]
        feet = [each for each in lengths if each.text.rstrip().endswith("ft")]
        metres = [each for each in lengths if each not in feet]
        if len(feet) != 1 or len(metres) < LEAST_LIKE:
            continue
        (odd,) = feet
        number = odd.value / FEET
        if all(1 / MOST_SPREAD <= number / each.value <= MOST_SPREAD for each in metres):
            yield Finding(
                "figure-unlikely",
                odd.span,
                f"{odd.text} stand beside {len(metres)} leads to boxes of this kind in metres",
                label=f"{number:g} m?",
                related=(Label(metres[0].span, "the first of them"),),
                help=f"write {number:g} m if that is meant; else `allow` it with the reason",
                choices=(Fix(f"write {number:g} m", (Edit(odd.span, f"{number:g} m"),)),),
                subject=lot[0].box.gear.full,
            )


def _last_lead(figures: Figures, joint: int, channel: str) -> Piece | None:
    run = figures.trace.runs.get(channel)
    return next(reversed(run.leads_to(joint)), None) if run is not None else None


RULES = (
    Rule(
        name="figure-unlikely",
        severity=Severity.WARNING,
        summary="a figure is so far from what is usual that another unit or digit is meant",
        reason="a slip of unit or digit passes every other check as a strange but possible rig",
        limit="filters between 10 Hz and 24 kHz, below 1 kHz for bass boxes; delays up to 0.6 s; reservoirs of 0.5 mF"
        " and more; no lead in feet among at least three in metres that are about as long in metres",
        authority="common practice, no source",
        cure="correct the unit or the digit; what is meant so is allowed with its reason",
        bad="feed f { level 0 dBu }\namp a is twin\nspeaker s is box\n"
        "processor x is cross\nx.1 { from a; delay 1.31 s }\nf -> x.a\nx.1 -> a.1 -> s\n",
        good="feed f { level 0 dBu }\namp a is twin\nspeaker s is box\n"
        "processor x is cross\nx.1 { from a; delay 131 ms }\nf -> x.a\nx.1 -> a.1 -> s\n",
        check=figure_unlikely,
    ),
)
