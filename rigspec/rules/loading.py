"""Rules about line-level loading: what an output loses to all that hangs on it."""

from __future__ import annotations

from collections.abc import Iterable
from math import floor

from rigspec.figures import Figures
from rigspec.figures.signal import Loading
from rigspec.figures.stages import LevelPoint
from rigspec.rig.model import Measure
from rigspec.rules.bounds import at_least
from rigspec.rules.certainty import dominant
from rigspec.rules.rule import Rule
from rigspec.solve.gain import loading_loss_db, parallel_ohm
from rigspec.text.finding import Finding, Label, Severity, few
from rigspec.text.source import Span
from rigspec.text.units import show, show_pair

LEAST_RATIO = 10.0  # of load to source (common practice, no source)
MOST_LOSS_DB = 1.0  # as for leads (common practice, no source)

_DIVIDER = "circuit theory: the voltage divider; the limit is common practice, no source"


def output_loaded_down(figures: Figures) -> Iterable[Finding]:
    """An output loses more than a dB in its own impedance."""
    return _loaded(figures, heavily=True)


def output_loaded(figures: Figures) -> Iterable[Finding]:
    """An output drives less than ten times its own impedance, and loses less than a dB to it."""
    return _loaded(figures, heavily=False)


def _loaded(figures: Figures, *, heavily: bool) -> Iterable[Finding]:
    for point in figures.levels.outputs.values():
        loading = point.loading
        if loading is None or loading.ratio is None or point.gear.doubt:
            continue
        mild, bad = _ends(loading)
        heavy = loading_loss_db(bad[0], bad[1]) > MOST_LOSS_DB + 1e-9
        if heavy is not heavily:
            continue
        if heavily:
            yield _finding(point, loading, bad, loading_loss_db(*mild) <= MOST_LOSS_DB + 1e-9, heavily=True)
        elif bad[1] < bad[0] * LEAST_RATIO * (1 - 1e-9):
            yield _finding(point, loading, bad, mild[1] >= mild[0] * LEAST_RATIO * (1 - 1e-9), heavily=False)


def _ends(loading: Loading) -> tuple[tuple[float, float], tuple[float, float]]:
    """Source and load in ohms at the mild and at the bad end of what the tolerances leave."""
    assert loading.source is not None
    inputs = [measure for _, measure in loading.inputs]
    mild = loading.source.low, parallel_ohm(measure.high for measure in inputs)
    return mild, (loading.source.high, parallel_ohm(measure.low for measure in inputs))


def _finding(
    point: LevelPoint, loading: Loading, bad: tuple[float, float], possible: bool, *, heavily: bool
) -> Finding:
    source, load_ohm = bad
    assert loading.source is not None
    loss_db = loading_loss_db(source, load_ohm)
    drives = f"drives {show(load_ohm, 'resistance')} from {show(source, 'resistance')}"
    drives = drives.replace("drives", "may drive") if possible else drives
    number = len(loading.inputs)
    inputs = f"{number} input{'' if number == 1 else 's'}"
    if heavily:
        message = f"{point.key} {drives} and loses {show(loss_db, 'gain')} to the {inputs} on it"
        computed, allowed = show_pair(loss_db, MOST_LOSS_DB, "gain")
    else:
        message = f"{point.key} {drives}, {load_ohm / source:.3g} times its own impedance, with {inputs} on it"
        computed, allowed = f"{load_ohm / source:.3g} times", f"{LEAST_RATIO:g} times the source's impedance"
    decides = dominant(_moves(loading)) if possible else dominant(())
    labels = [Label(loading.source.span, f"the impedance of {point.key}: {loading.source.text}")]
    labels += _inputs(loading)
    return Finding(
        "output-loaded-down" if heavily else "output-loaded",
        point.span,
        message,
        label=f"{inputs} on it",
        related=(*labels, *decides.labels),
        computed=computed,
        allowed=f"at most {allowed}" if heavily else f"at least {allowed}",
        assumes=tuple(loading.note.split("; ")) if loading.note else (),
        help=_cure(loading, source),
        subject=point.key,
        possible=possible,
        decides=decides.text,
    )


def _inputs(loading: Loading) -> list[Label]:
    """Where the impedances of the inputs are said, each place once."""
    places: dict[Span, tuple[Measure, list[str]]] = {}
    for key, measure in loading.inputs:
        places.setdefault(measure.span, (measure, []))[1].append(key)
    labels = []
    for span, (measure, keys) in list(places.items())[:4]:
        labels.append(Label(span, f"the input of {few(keys, 2)}: {measure.text}"))
    return labels


def _moves(loading: Loading) -> Iterable[tuple[Measure, float]]:
    assert loading.source is not None
    for measure in (loading.source, *(measure for _, measure in loading.inputs)):
        if measure.low != measure.high:
            yield measure, (measure.high - measure.low) / measure.value


def _cure(loading: Loading, source_ohm: float) -> str:
    """How many of these inputs it may drive, or the least load."""
    least = at_least(source_ohm * LEAST_RATIO, "resistance")
    ohms = {measure.low for _, measure in loading.inputs}
    split = "part it with an active split"
    if len(ohms) == 1 and len(loading.inputs) > 1:
        most = floor(ohms.pop() / (source_ohm * LEAST_RATIO) + 1e-9)
        if most >= 1:
            return f"drive at most {most} of these inputs from it, or {split}: {least} are ten times its impedance"
    return f"give it a load of at least {least}, ten times its impedance, or {split}"


RULES = (
    Rule(
        name="output-loaded-down",
        severity=Severity.WARNING,
        summary="an output loses much of its level to the inputs on it",
        reason="the level falls with every input that is plugged in, and the output's treble and distortion suffer",
        limit=f"{MOST_LOSS_DB:g} dB lost: a load of 8.2 times the source's impedance",
        authority=_DIVIDER,
        cure="drive fewer inputs, or part the signal with an active split",
        bad="feed f { level 4 dBu; source 600 ohm }\nspeaker m[1..5] is active\neach f -> m[1..5]\n",
        good="feed f { level 4 dBu; source 100 ohm }\nspeaker m[1..5] is active\neach f -> m[1..5]\n",
        check=output_loaded_down,
    ),
    Rule(
        name="output-loaded",
        severity=Severity.ADVICE,
        summary="an output drives less than ten times its own impedance",
        reason="the level changes audibly when an input is added or taken off",
        limit=f"a load of at least {LEAST_RATIO:g} times the source's impedance",
        authority=_DIVIDER,
        cure="drive fewer inputs, or part the signal with an active split",
        bad="feed f { level 4 dBu; source 450 ohm }\nspeaker m[1..5] is active\neach f -> m[1..5]\n",
        good="feed f { level 4 dBu; source 400 ohm }\nspeaker m[1..5] is active\neach f -> m[1..5]\n",
        check=output_loaded,
    ),
)
