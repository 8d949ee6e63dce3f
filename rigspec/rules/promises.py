"""Rules about what the engineer promises and excuses."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from math import isfinite

from attrs import frozen

from rigspec.figures import Figures
from rigspec.figures.over_band import over_band
from rigspec.figures.signal import Level, input_of
from rigspec.figures.stages import Stage
from rigspec.figures.trace import Run
from rigspec.rig.model import Expectation, ListMember, Measure, Output
from rigspec.rules.certainty import Dominant, decides, dominant
from rigspec.rules.found import Answers, Found
from rigspec.rules.places import declared, hung, kind_of
from rigspec.rules.rule import Rule
from rigspec.rules.space_promises import answers, of_places
from rigspec.text.finding import Finding, Label, Severity, Told, few
from rigspec.text.units import show, show_pair
from rigspec.text.value import Value
from rigspec.why import derive, figure_of
from rigspec.why.groups import difference_step
from rigspec.why.lacking import BAND_FIGURES, of_its_sort, why_lacking
from rigspec.why.working import assumptions

_HOLDS: dict[str, Callable[[float, float], bool]] = {
    ">=": lambda a, b: a >= b - abs(b) * 1e-9,
    "<=": lambda a, b: a <= b + abs(b) * 1e-9,
    ">": lambda a, b: a > b,
    "<": lambda a, b: a < b,
    "=": lambda a, b: abs(a - b) <= abs(b) * 0.005,
}
_WORDS = {">=": "at least", "<=": "at most", ">": "more than", "<": "less than", "=": ""}
_ASCII = {"≥": ">=", "≤": "<="}

_NO_BAND = (
    "promise it without a band, or promise the least-impedance of a channel; loads, losses, impedances and"
    " powers are known"
    " over frequency where the stock gives a `curve` or a `driver`"
)
_LATER = "promise a figure that `rigspec figures` shows, or leave this one for a version that computes it"


def computed(figures: Figures, what: str, part: ListMember) -> Found | None:
    """The figure of a thing; None where this version cannot compute it or the rig does not say enough."""
    key = part.key
    value = figure_of(figures, what, key)
    if value is None:
        return None
    if isinstance(value, str):
        return Found(value, 0.0, 0.0)
    low, high = _range(figures, what, key) or (value, value)
    return Found(value, low, high)


def all_computed(figures: Figures, expectation: Expectation) -> Answers:
    """The figure of each thing that is spoken of, by its key; a difference is one figure of all of them together.

    Words in place of a figure say why it is not known in the band that is spoken of.
    """
    what = expectation.statement.figure
    keys = [part.key for part in expectation.subjects]
    if of_places(figures, expectation):
        return answers(figures, expectation)
    if expectation.at is not None or expectation.after:
        condition = f"at {expectation.at.text}" if expectation.at else "of one after another"
        return [(key, f"this version computes no {what} {condition}") for key in keys]
    if expectation.band is not None:
        return [(key, _in_band(figures, expectation, key, expectation.band)) for key in keys]
    if what != "difference":
        return [(key, computed(figures, what, part)) for key, part in zip(keys, expectation.subjects, strict=True)]
    said = [item.span.text for clause in expectation.statement.clauses for item in clause.items]
    step = difference_step(figures, keys, " and ".join(said))
    unlike = isinstance(expectation.value, Measure) and expectation.value.kind != "gain"
    if step is None or unlike:
        return [(" and ".join(said), None)]
    value = float(step.value)
    return [(" and ".join(said), Found(value, value, value, assumptions(step)))]


def _in_band(figures: Figures, expectation: Expectation, key: str, band: Measure) -> Found | str:
    """The end of a figure in a band that a promise is about; or in words why it is not known there."""
    what = expectation.statement.figure
    over = over_band(figures, what, key, (band.low, band.high))
    if isinstance(over, str):
        return over
    comparison = _ASCII.get(expectation.statement.comparison, expectation.statement.comparison)
    ends = {">": (over.low,), "<": (over.high,)}.get(comparison[0], (over.low, over.high))
    known = [end for end in ends if end is not None]
    if not known:
        least, most = ("least", "greatest") if over.high is None else ("greatest", "least")
        return f"of the {what} of {key} in a band only the {least} is known, and not the {most}"
    worst = known[0] if len(known) == 1 else max(known, key=lambda end: abs(end.value - _wanted(expectation)))
    where = f" at {show(worst.hz, 'frequency')}" if worst.hz else ""
    return Found(worst.value, worst.value, worst.value, over.assumes, where)


def _wanted(expectation: Expectation) -> float:
    return expectation.value.value if isinstance(expectation.value, Measure) else 0.0


def _range(figures: Figures, what: str, key: str) -> tuple[float, float] | None:
    """What the tolerances and ranges that are said leave open of a figure, where that is computed."""
    channel, box = figures.channels.get(key), figures.boxes.get(key)
    if channel is not None and what == "load":
        return channel.least_seen_ohm, channel.most_seen_ohm
    if box is not None and what == "loss":
        return box.loss_low_db, box.loss_high_db
    if what == "level" and (level := _level(figures, key)) is not None:
        return level.low.dbu, level.high.dbu
    if what == "headroom":
        stages = _stages(figures, key)
        ends = [(stage.clip_dbu - level.high.dbu, stage.clip_dbu - level.low.dbu) for stage, level in stages]
        return (min(low for low, _ in ends), min(high for _, high in ends)) if ends else None
    return None


def _level(figures: Figures, key: str) -> Level | None:
    """The nominal level at an input, or else at an output; of an amplifier's output that at its input."""
    levels, output = figures.levels, figures.rig.wiring.outputs.get(key)
    if key not in levels.inputs and output is not None and output.carries == "power":
        key = input_of(output)
    point = levels.inputs.get(key) or levels.outputs.get(key)
    return None if point is None else point.level


def _stages(figures: Figures, key: str) -> list[tuple[Stage, Level]]:
    """The stages whose headroom is that of a thing, each with its nominal level: on the way to it, or itself."""
    chain = figures.levels.chains.get(key)
    stages = chain.stages if chain is not None else _stages_at(figures, key)[:1]
    return [(stage, level) for stage in stages if (level := stage.point.level) is not None and isfinite(level.dbu)]


def _stages_at(figures: Figures, key: str) -> tuple[Stage, ...]:
    return tuple(stage for chain in figures.levels.chains.values() for stage in chain.stages if stage.key == key)


def expect_unmet(figures: Figures) -> Iterable[Finding]:
    """A promise that the figures do not keep; of several things the worst speaks for all."""
    for expectation in figures.rig.expectations:
        broken: list[_Broken] = []
        for key, found in all_computed(figures, expectation):
            if isinstance(found, Found) and (miss := _miss(expectation, found)) is not None:
                broken.append(_Broken(key, found, *miss))
        if broken:
            yield _unmet(figures, expectation, sorted(broken, key=_worst_first))


@frozen(eq=False, repr=False)
class _Broken(Value):
    """A thing of which a promise is broken: the end of its figure that breaks it, by how much, and whether surely."""

    key: str
    found: Found
    value: float | str
    by: float
    possible: bool


def _miss(expectation: Expectation, found: Found) -> tuple[float | str, float, bool] | None:
    """The end of a figure that misses a promise most, by how much, and if the other end keeps it; None: it is kept."""
    wanted = expectation.value
    comparison = _ASCII.get(expectation.statement.comparison, expectation.statement.comparison)
    if isinstance(wanted, Measure) and isinstance(found.value, float):
        holds = _HOLDS[comparison]
        ends = sorted((found.low, found.high), key=lambda end: -abs(end - wanted.value))
        missed = [end for end in ends if not holds(end, wanted.value)]
        if comparison == "=" and holds(found.value, wanted.value):
            return None
        return (missed[0], abs(missed[0] - wanted.value), len(missed) < 2) if missed else None
    return None if found.value == wanted else (found.value, 0.0, False)


def _worst_first(each: _Broken) -> tuple[bool, float, str]:
    """What is certain first, then the worst miss; of equal ones, whatever rounding left between them, by name."""
    return each.possible, -float(f"{each.by:.6g}"), each.key


def _unmet(figures: Figures, expectation: Expectation, broken: list[_Broken]) -> Finding:
    statement, wanted = expectation.statement, expectation.value
    comparison = _WORDS[_ASCII.get(statement.comparison, statement.comparison)]
    worst = broken[0]
    if isinstance(wanted, Measure) and isinstance(worst.value, float):
        shown, allowed = show_pair(worst.value, wanted.value, wanted.kind)
    else:
        shown, allowed = str(worst.value), str(wanted)
    allowed = f"{comparison} {allowed}".strip()
    others = [each.key for each in broken[1:]]
    also = f"; nor is it kept by {few(others)}" if others else ""
    may_be = "may be" if worst.possible else "is"
    dominant = _decides(figures, statement.figure, worst.key)
    return Finding(
        "expect-unmet",
        statement.span,
        f"the {statement.figure} of {worst.key} {may_be} {shown}{worst.found.where}, but {allowed} is promised{also}",
        label=shown,
        related=(*_rests_on(figures, worst.key, statement.figure), *dominant.labels),
        computed=shown,
        allowed=allowed,
        assumes=_assumes(figures, statement.figure, worst),
        help=f"change the rig until the promise holds, or change the promise; {_shown_by(figures, expectation, worst)}",
        subject=worst.key,
        possible=worst.possible,
        decides=dominant.text,
        follows=_follows(figures, expectation, broken),
    )


# By the figure that is too low or too high: the rules that tell it already.
_TOO_LOW = {
    "load": "load-too-low",
    "least-impedance": "least-load-low",
    "damping": "damping-low",
    "headroom": "headroom-short",
}
_TOO_HIGH = {
    "loss": "lead-loss-high",
    "share": "breaker-overloaded",
    "drop": "mains-drop-high",
    "neutral": "neutral-overloaded",
}
_INVERTED = ("polarity-clash", "polarity-stereo", "polarity-shared")


def _follows(figures: Figures, expectation: Expectation, broken: Iterable[_Broken]) -> tuple[tuple[Told, ...], ...]:
    """Which findings tell why a promise is broken, for each thing of which it is."""
    figure = expectation.statement.figure
    if figure == "polarity":
        return tuple(tuple((rule, each.key) for rule in _INVERTED) for each in broken)
    causes: list[tuple[Told, ...]] = []
    for each in broken:
        low = isinstance(each.value, float) and each.value < _wanted(expectation)
        rule = (_TOO_LOW if low else _TOO_HIGH).get(figure, "")
        stages = [stage.key for stage, _ in _stages(figures, each.key)] if figure == "headroom" else []
        causes.append(tuple((rule, key) for key in (each.key, *stages)) if rule else ())
    return tuple(causes)


def _shown_by(figures: Figures, expectation: Expectation, broken: _Broken) -> str:
    """Which command tells more of a figure."""
    if of_places(figures, expectation):
        return "`rigspec reach` shows who is heard where, and when"
    return f'`rigspec figures --why "{expectation.statement.figure} of {broken.key}"` shows how it comes about'


def _assumes(figures: Figures, what: str, broken: _Broken) -> tuple[str, ...]:
    if broken.found.assumes is not None:
        return broken.found.assumes
    step = derive(figures, what, broken.key)
    return () if step is None else assumptions(step)


def _decides(figures: Figures, what: str, key: str) -> Dominant:
    """Which inexact figure decides most about a load, a loss or a level."""
    channel, box = figures.channels.get(key), figures.boxes.get(key)
    if channel is not None and what == "load":
        return decides(figures, channel, lambda network: network.load_ohm)
    if box is not None and what == "loss":
        channel = figures.channels[box.channel]
        return decides(figures, channel, lambda network: network.box_volt[key])
    if what == "level" and (level := _level(figures, key)) is not None:
        return dominant(level.moved)
    if what == "headroom" and (stages := _stages(figures, key)):
        return dominant(min(stages, key=lambda each: each[0].clip_dbu - each[1].high.dbu)[1].moved)
    return Dominant()


def _rests_on(figures: Figures, key: str, what: str) -> tuple[Label, ...]:
    """The places that dominate a figure: what hangs on a channel, or what lies on the way to a loudspeaker."""
    channel, box = figures.channels.get(key), figures.boxes.get(key)
    if channel is not None:
        amplifier = () if what in ("load", "least-impedance") else (_amplifier(channel.output),)
        return (*amplifier, *hung(channel.boxes, 4), *declared(channel.boxes, 3))
    if box is None or what in BAND_FIGURES:
        return _leaves(figures, key, what)
    run = figures.trace.runs[box.channel]
    leads = [Label(piece.span, "a lead on its way") for piece in run.leads_to(box.box.arrival.sink.joint)]
    parts = box.parts[:1] if what == "polarity" else ()
    turns = [Label(turn.span, turn.text) for part in parts for turn in part.turns + box.own_turns]
    here = Label(box.box.arrival.sink.span, f"{key} hangs here")
    amplifier = (_amplifier(run.output),) if what == "power" else ()
    return (here, *leads[:3], *turns[:4], *declared([box]), *amplifier)


def _leaves(figures: Figures, key: str, what: str) -> tuple[Label, ...]:
    """The given figures that any other figure rests on, each place once."""
    step = derive(figures, what, key)
    places = {leaf.span: leaf.name for leaf in step.walk() if leaf.span is not None} if step else {}
    return tuple(Label(span, f"{name}, on which it rests") for span, name in list(places.items())[:5])


def _amplifier(output: Output) -> Label:
    """The line that says of which kind an amplifier is, with what that kind gives in this use."""
    gear = output.gear
    rated = gear.facts.get("rated")
    use = {"bridge"} if output.bridged else set()
    fit = [each.span.text for each in rated.entries if set(each.words) == use] if rated else []
    return Label(gear.span, f"{gear.full} is {kind_of(gear)}" + (f", rated {', '.join(fit[:3])}" if fit else ""))


def expect_unjudged(figures: Figures) -> Iterable[Finding]:
    """A promise that cannot be held against a figure: never silent about that."""
    for expectation in figures.rig.expectations:
        statement = expectation.statement
        all_found = all_computed(figures, expectation)
        lacking = [number for number, (_, found) in enumerate(all_found) if not isinstance(found, Found)]
        faulty = [gear for gear in figures.rig.gear.values() if gear.doubt]
        named = {subject.name for subject in expectation.subjects}
        wide = of_places(figures, expectation) or any(each.word == "feed" or each.full in named for each in faulty)
        if lacking and faulty and wide:
            continue  # what is lacking may be the thing with the fault
        if not lacking or any(_faulty(figures, statement.figure, expectation.subjects[number]) for number in lacking):
            continue
        why, cure = _unjudged_why(figures, statement.figure, expectation.subjects[lacking[0]])
        said = all_found[lacking[0]][1]
        if isinstance(said, str) and expectation.subjects[lacking[0]].key not in figures.unknown:
            why, cure = said, _cure(figures, expectation)
        yield Finding(
            "expect-unjudged",
            statement.span,
            f"this promise is neither kept nor broken: {why}",
            label="not judged",
            help=cure,
            subject=expectation.subjects[0].name,
            follows=tuple((("bridge-half-free", expectation.subjects[number].name),) for number in lacking),
        )


def _cure(figures: Figures, expectation: Expectation) -> str:
    if of_places(figures, expectation):
        return "say it in the rig, or take the promise out; `rigspec reach` shows what is known"
    return _NO_BAND if expectation.band is not None else _LATER


def _unjudged_why(figures: Figures, what: str, part: ListMember) -> tuple[str, str]:
    """Why a figure is not there: nobody computes it, or the rig does not say enough; and what to do about it."""
    key = part.key
    why = why_lacking(figures, what, key, part.name)
    if key in figures.unknown:
        return why, "do what the finding about this load says"
    if "this version" in why:
        return why, _LATER
    if why.startswith(("no path leads", "no loudspeaker hangs")):
        return why, "connect it, or take the promise out"
    if "that is a figure of" in why or why.startswith("a difference is"):
        return why, "promise it of a thing that has it, or take the promise out"
    return why, "say it in the rig, or take the promise out"


def _faulty(figures: Figures, what: str, part: ListMember) -> bool:
    """Is there a finding already that tells why this thing has no such figure, so that silence here is right?"""
    rig, traced, key = figures.rig, figures.trace, part.key
    gear = rig.gear.get(part.name)
    run, arrival, sink = traced.runs.get(key), traced.arrivals.get(key), rig.wiring.sinks.get(key)
    if run is None and arrival is not None:
        run = traced.runs[arrival.output.key]
    if (gear is not None and gear.doubt) or (run is not None and run.doubt):
        return True
    if (key in figures.boxes and figures.boxes[key].in_doubt) or (run is not None and run.output.key in figures.aside):
        return True
    if gear is None or not of_its_sort(what, key, gear):
        return False
    if run is not None:
        return gear.word == "amp" and not run.arrivals and _ends_open(figures, run)
    if sink is not None and gear.word == "speaker":
        return True  # a path leads here from nowhere, or from something in doubt: both are told there
    if rig.doubt or rig.doubt_of(gear):
        return True
    # A promise speaks of other things too than the one that a change concerns.
    wired = {each.gear.full for each in rig.wiring.sinks.values()}
    wired |= {each.gear.full for each in rig.wiring.outputs.values()}
    return gear.full not in wired and not _spared(figures, part)  # told by `nothing-connected`


def _ends_open(figures: Figures, run: Run) -> bool:
    """Does a path from an output end on the way? That is told there, or the statement that would go on has a fault."""
    wiring = figures.rig.wiring
    ends = [through.near for through in wiring.throughs.values() if not through.left]
    return any(joint in run.conductors for joint in (*ends, *(end.joint for end in wiring.ends)))


def _spared(figures: Figures, part: ListMember) -> bool:
    spares = {each.key for roster in figures.rig.rosters_of("spare") for each in roster.parts}
    return bool({part.name, part.key} & spares)


RULES = (
    Rule(
        name="expect-unmet",
        severity=Severity.ERROR,
        summary="a promise is not kept",
        reason="somebody relies on it; the rig as written does not do it",
        limit="what the `expect` statement says",
        authority="the rig's own `expect` statement",
        cure="change the rig, or the promise",
        bad="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1..2] linked 2.5 mm2 2 m\n"
        "expect load of a.1 >= 8 ohm\n",
        good="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1..2] linked 2.5 mm2 2 m\n"
        "expect load of a.1 >= 4 ohm\n",
        check=expect_unmet,
    ),
    Rule(
        name="expect-unjudged",
        severity=Severity.ADVICE,
        summary="a promise cannot be judged",
        reason="it looks as if it were kept, and nobody has looked",
        limit="every `expect` is held against a figure",
        authority="the rig language, grammar/reference.md",
        cure="say what the figure needs, or leave the promise for a version that computes it",
        bad="amp a is twin\nspeaker s is sub\nplace lawn { at 0 m, 20 m }\na.1 -> lead 2.5 mm2 9 m -> s\n"
        "expect level at lawn >= 98 dB SPL\n",
        good="amp a is twin\nspeaker s is sub\nplace lawn { at 0 m, 20 m }\na.1 -> lead 2.5 mm2 9 m -> s\n"
        "expect loss of s <= 0.5 dB\n",
        check=expect_unjudged,
    ),
    Rule(
        name="allow-unused",
        severity=Severity.WARNING,
        summary="an exception excuses nothing",
        reason="it hides the next fault of this sort, and its reason no longer holds",
        limit="every `allow` excuses at least one finding",
        authority="the rig's own `allow` statement",
        cure="take it out, or correct the rule or the thing it names",
        bad="amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\n"
        'allow lead-loss-high on s because "one night only"\n',
        good="amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 90 m -> s\n"
        'allow lead-loss-high on s because "one night only"\n',
    ),
)
