"""Rules about what the engineer promises and excuses."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from rigspec.figures import ChannelFigures, Figures
from rigspec.finding import Finding, Label, Severity
from rigspec.load import SHORTEST, solve_run
from rigspec.rig import Expectation, Measure, Part
from rigspec.rules.rule import Rule
from rigspec.units import show, show_pair

LEAST_OF_RATED = 0.8  # IEC 60268-5: the least impedance is at least 80 % of the rated one

_HOLDS: dict[str, Callable[[float, float], bool]] = {
    ">=": lambda a, b: a >= b - abs(b) * 1e-9,
    "<=": lambda a, b: a <= b + abs(b) * 1e-9,
    ">": lambda a, b: a > b,
    "<": lambda a, b: a < b,
    "=": lambda a, b: abs(a - b) <= abs(b) * 0.005,
}
_ASCII = {"≥": ">=", "≤": "<="}

Value = tuple[float | str, tuple[str, ...]]  # the figure in the base unit of its kind, or a word; what it assumes


def _least_load(figures: Figures, channel: ChannelFigures) -> Value | None:
    run = figures.trace.runs[channel.key]
    solved = solve_run(run, [box.box for box in channel.boxes], SHORTEST, share_of_rated=LEAST_OF_RATED)
    said = "each loudspeaker at 80 % of its rated impedance (IEC 60268-5)"
    return None if solved is None else (solved.load_ohm, (said,))


def computed(figures: Figures, what: str, part: Part) -> Value | None:
    """The figure of a thing; None where this version cannot compute it or the rig does not say enough."""
    key = f"{part.name}.{part.port}" if part.port else part.name
    channel, box = figures.channels.get(key), figures.boxes.get(key)
    found: float | str | None = None
    assumes: tuple[str, ...] = ()
    if channel is not None:
        match what:
            case "load":
                found, assumes = channel.load_ohm, channel.assumes[:2]
            case "least-load":
                return _least_load(figures, channel)
            case "power":
                found, assumes = channel.rated_w, channel.assumes
            case "voltage":
                found, assumes = channel.rated_volt, channel.assumes
            case "level":
                found = channel.input_dbu
    elif box is not None:
        match what:
            case "power":
                found = box.rated_w
                assumes = ("the amplifier at its rated output for this load",)
            case "loss":
                found = box.loss_db
            case "impedance":
                found = box.box.impedance_ohm
            case "polarity":
                turns = {(len(p.turns) + len(box.own_turns)) % 2 for p in box.parts} or {len(box.own_turns) % 2}
                found = None if len(turns) != 1 else "inverted" if turns.pop() else "normal"
    return None if found is None else (found, assumes)


def expect_unmet(figures: Figures) -> Iterable[Finding]:
    """A promise that the figures do not keep."""
    for expectation in figures.rig.expectations:
        if expectation.band is not None:
            continue
        for part in expectation.subjects:
            value = computed(figures, expectation.statement.figure, part)
            if value is not None:
                yield from _judge(figures, expectation, part, value)


def _judge(figures: Figures, expectation: Expectation, part: Part, value: Value) -> Iterable[Finding]:
    statement, wanted = expectation.statement, expectation.value
    what, comparison = statement.figure, _ASCII.get(statement.comparison, statement.comparison)
    found, assumes = value
    key = f"{part.name}.{part.port}" if part.port else part.name
    if isinstance(wanted, Measure) and isinstance(found, float):
        if _HOLDS[comparison](found, wanted.value):
            return
        shown, allowed = show_pair(found, wanted.value, wanted.kind)
    elif isinstance(wanted, str) and isinstance(found, str):
        if found == wanted:
            return
        shown, allowed = found, wanted
    else:
        return
    yield Finding(
        "expect-unmet",
        statement.span,
        f"the {what} of {key} is {shown}, but {comparison} {allowed} is promised",
        label=f"{shown}",
        related=_rests_on(figures, key),
        computed=shown,
        allowed=f"{comparison} {allowed}",
        assumes=assumes,
        help="change the rig until the promise holds, or change the promise; `rigspec figures` shows all figures",
        subject=key,
    )


def _rests_on(figures: Figures, key: str) -> tuple[Label, ...]:
    """The places that dominate a figure: the loads of a channel, or the leads and turns on the way to a loudspeaker."""
    channel, box = figures.channels.get(key), figures.boxes.get(key)
    if channel is not None:
        spans = {each.box.arrival.sink.span: each for each in channel.boxes}
        ohms = [Label(span, f"{b.key}: {show(b.box.impedance_ohm or 0.0, 'resistance')}") for span, b in spans.items()]
        return (Label(channel.output.span, channel.key), *ohms[:4])
    if box is None:
        return ()
    run = figures.trace.runs[box.channel]
    leads = [Label(piece.span, "a lead on its way") for piece in run.leads_to(box.box.arrival.sink.joint)]
    turns = [Label(turn.span, turn.text) for part in box.parts[:1] for turn in part.turns + box.own_turns]
    return (Label(box.box.arrival.sink.span, f"{key} hangs here"), *leads[:3], *turns[:4])


def expect_unjudged(figures: Figures) -> Iterable[Finding]:
    """A promise that cannot be held against a figure: never silent about that."""
    for expectation in figures.rig.expectations:
        statement = expectation.statement
        if expectation.band is not None:
            why = "figures in a band are not computed by this version"
        else:
            lacking = [part for part in expectation.subjects if not computed(figures, statement.figure, part)]
            if not lacking or any(_faulty(figures, part) for part in lacking):
                continue
            key = f"{lacking[0].name}.{lacking[0].port}" if lacking[0].port else lacking[0].name
            why = figures.unknown.get(
                key, f"no {statement.figure} of {key} is computed, or the rig says too little for it"
            )
        yield Finding(
            "expect-unjudged",
            statement.span,
            f"this promise is neither kept nor broken: {why}",
            label="not judged",
            help="`rigspec figures` shows what is computed",
            subject=expectation.subjects[0].name,
        )


def _faulty(figures: Figures, part: Part) -> bool:
    """Is there a finding about this thing already, so that silence here is right?"""
    gear = figures.rig.gear.get(part.name)
    key = f"{part.name}.{part.port}" if part.port else part.name
    arrival = figures.trace.arrivals.get(key)
    run = figures.trace.runs.get(arrival.output.key if arrival else key)
    return (gear is not None and gear.broken) or (run is not None and run.broken)


RULES = (
    Rule(
        "expect-unmet",
        Severity.ERROR,
        "a promise is not kept",
        "somebody relies on it; the rig as written does not do it",
        "what the `expect` statement says",
        "the rig's own `expect` statement",
        "change the rig, or the promise",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1..2] linked 2.5 mm2 2 m\n"
        "expect load of a.1 >= 8 ohm\n",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1..2] linked 2.5 mm2 2 m\n"
        "expect load of a.1 >= 4 ohm\n",
        expect_unmet,
    ),
    Rule(
        "expect-unjudged",
        Severity.ADVICE,
        "a promise cannot be judged",
        "it looks as if it were kept, and nobody has looked",
        "every `expect` is held against a figure",
        "the rig language, grammar/reference.md",
        "say what the figure needs, or leave the promise for a version that computes it",
        "amp a is twin\nspeaker s is sub\nplace lawn { at 0 m, 20 m }\na.1 -> lead 2.5 mm2 9 m -> s\n"
        "expect level at lawn >= 98 dB SPL\n",
        "amp a is twin\nspeaker s is sub\nplace lawn { at 0 m, 20 m }\na.1 -> lead 2.5 mm2 9 m -> s\n"
        "expect loss of s <= 0.5 dB\n",
        expect_unjudged,
    ),
    Rule(
        "allow-unused",
        Severity.WARNING,
        "an exception excuses nothing",
        "it hides the next fault of this sort, and its reason no longer holds",
        "every `allow` excuses at least one finding",
        "the rig's own `allow` statement",
        "take it out, or correct the rule or the thing it names",
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\n"
        'allow lead-loss-high on s because "one night only"\n',
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 90 m -> s\n"
        'allow lead-loss-high on s because "one night only"\n',
    ),
)
