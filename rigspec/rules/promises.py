"""Rules about what the engineer promises and excuses."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from attrs import evolve

from rigspec.figures import ChannelFigures, Figures
from rigspec.finding import Finding, Label, Severity
from rigspec.load import solve_run
from rigspec.rig import Expectation, Measure, Output, Part
from rigspec.rules.places import declared, hung, kind_of
from rigspec.rules.rule import Rule
from rigspec.units import show_pair

LEAST_OF_RATED = 0.8  # IEC 60268-5: the least impedance is at least 80 % of the rated one

_HOLDS: dict[str, Callable[[float, float], bool]] = {
    ">=": lambda a, b: a >= b - abs(b) * 1e-9,
    "<=": lambda a, b: a <= b + abs(b) * 1e-9,
    ">": lambda a, b: a > b,
    "<": lambda a, b: a < b,
    "=": lambda a, b: abs(a - b) <= abs(b) * 0.005,
}
_WORDS = {">=": "at least", "<=": "at most", ">": "more than", "<": "less than", "=": ""}
_ASCII = {"≥": ">=", "≤": "<="}

_LATER = "promise a figure that `rigspec figures` shows, or leave this one for a version that computes it"

Value = tuple[float | str, tuple[str, ...]]  # the figure in the base unit of its kind, or a word; what it assumes


def _least_load(figures: Figures, channel: ChannelFigures) -> Value | None:
    run = figures.trace.runs[channel.key]
    case = evolve(figures.case, copper=-1, impedance=-1)
    solved = solve_run(run, [box.box for box in channel.boxes], case, share_of_rated=LEAST_OF_RATED)
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
                found, assumes = channel.load_ohm, channel.load_assumes
            case "least-load":
                return _least_load(figures, channel)
            case "power":
                found, assumes = channel.rated_w, channel.rated_assumes
            case "voltage":
                found, assumes = channel.rated_volt, channel.rated_assumes
            case "level":
                found, assumes = channel.input_dbu, channel.level_assumes
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
    """A promise that the figures do not keep; of several things the worst speaks for all."""
    for expectation in figures.rig.expectations:
        if expectation.band is not None:
            continue
        broken: list[tuple[float, str, Value]] = []
        for part in expectation.subjects:
            value = computed(figures, expectation.statement.figure, part)
            if value is not None and (miss := _miss(expectation, value[0])) is not None:
                broken.append((miss, f"{part.name}.{part.port}" if part.port else part.name, value))
        if broken:
            yield _unmet(figures, expectation, sorted(broken, key=_worst_first))


def _miss(expectation: Expectation, found: float | str) -> float | None:
    """By how much a promise is missed, for choosing the worst; None where it is kept."""
    wanted = expectation.value
    comparison = _ASCII.get(expectation.statement.comparison, expectation.statement.comparison)
    if isinstance(wanted, Measure) and isinstance(found, float):
        return None if _HOLDS[comparison](found, wanted.value) else abs(found - wanted.value)
    return None if found == wanted else 0.0


def _worst_first(each: tuple[float, str, Value]) -> tuple[float, str]:
    """The worst miss first; of equal ones, whatever rounding left between them, the first by name."""
    return -float(f"{each[0]:.6g}"), each[1]


def _unmet(figures: Figures, expectation: Expectation, broken: list[tuple[float, str, Value]]) -> Finding:
    statement, wanted = expectation.statement, expectation.value
    comparison = _WORDS[_ASCII.get(statement.comparison, statement.comparison)]
    _, key, (found, assumes) = broken[0]
    if isinstance(wanted, Measure) and isinstance(found, float):
        shown, allowed = show_pair(found, wanted.value, wanted.kind)
    else:
        shown, allowed = str(found), str(wanted)
    allowed = f"{comparison} {allowed}".strip()
    others = [each for _, each, _ in broken[1:]]
    also = f"; nor is it kept by {', '.join(others[:3])}" if others else ""
    more = f" and {len(others) - 3} more" if len(others) > 3 else ""
    return Finding(
        "expect-unmet",
        statement.span,
        f"the {statement.figure} of {key} is {shown}, but {allowed} is promised{also}{more}",
        label=shown,
        related=_rests_on(figures, key, statement.figure),
        computed=shown,
        allowed=allowed,
        assumes=assumes,
        help="change the rig until the promise holds, or change the promise; `rigspec figures` shows all figures",
        subject=key,
    )


def _rests_on(figures: Figures, key: str, what: str) -> tuple[Label, ...]:
    """The places that dominate a figure: what hangs on a channel, or what lies on the way to a loudspeaker."""
    channel, box = figures.channels.get(key), figures.boxes.get(key)
    if channel is not None:
        amplifier = () if what in ("load", "least-load") else (_amplifier(channel.output),)
        return (*amplifier, *hung(channel.boxes, 4), *declared(channel.boxes, 3))
    if box is None:
        return ()
    run = figures.trace.runs[box.channel]
    leads = [Label(piece.span, "a lead on its way") for piece in run.leads_to(box.box.arrival.sink.joint)]
    parts = box.parts[:1] if what == "polarity" else ()
    turns = [Label(turn.span, turn.text) for part in parts for turn in part.turns + box.own_turns]
    here = Label(box.box.arrival.sink.span, f"{key} hangs here")
    amplifier = (_amplifier(run.output),) if what == "power" else ()
    return (here, *leads[:3], *turns[:4], *declared([box]), *amplifier)


def _amplifier(output: Output) -> Label:
    """The line that says of which kind an amplifier is, with what that kind gives in this use."""
    gear = output.gear
    rated = gear.facts.get("rated")
    use = {"bridge"} if "+" in output.port else set()
    fit = [each.span.text for each in rated.entries if set(each.words) == use] if rated else []
    return Label(gear.span, f"{gear.full} is {kind_of(gear)}" + (f", rated {', '.join(fit[:3])}" if fit else ""))


def expect_unjudged(figures: Figures) -> Iterable[Finding]:
    """A promise that cannot be held against a figure: never silent about that."""
    for expectation in figures.rig.expectations:
        statement = expectation.statement
        if expectation.band is not None:
            why, cure = "figures in a band are not computed by this version", _LATER
        else:
            lacking = [part for part in expectation.subjects if not computed(figures, statement.figure, part)]
            if not lacking or any(_faulty(figures, part) for part in lacking):
                continue
            why, cure = _unjudged_why(figures, statement.figure, lacking[0])
        yield Finding(
            "expect-unjudged",
            statement.span,
            f"this promise is neither kept nor broken: {why}",
            label="not judged",
            help=cure,
            subject=expectation.subjects[0].name,
        )


def _unjudged_why(figures: Figures, what: str, part: Part) -> tuple[str, str]:
    """Why a figure is not there: nobody computes it, or the rig does not say enough; and what to do about it."""
    key = f"{part.name}.{part.port}" if part.port else part.name
    gear = figures.rig.gear.get(part.name)
    if key in figures.unknown:
        return figures.unknown[key], "do what the finding about this load says"
    if gear is not None and gear.word == "place":
        return f"this version computes no {what} at a place", _LATER
    of_channel, of_box = key in figures.channels, key in figures.boxes
    if what in ("power", "voltage", "level") and (of_channel or (of_box and what == "power")):
        return _missing(figures, what, key), "say it in the rig, or take the promise out"
    if of_channel or of_box:
        return f"this version computes no {what} of {'a channel' if of_channel else 'a loudspeaker'}", _LATER
    return f"{key} is no channel and no loudspeaker with figures", "promise it of a channel or a loudspeaker"


def _missing(figures: Figures, what: str, key: str) -> str:
    """What the rig does not say although a power, a voltage or a level rests on it."""
    channel = figures.channels.get(key) or figures.channels[figures.boxes[key].channel]
    if what != "level":
        return f"no `rated` power of {channel.gear.full} at this load is given"
    if not channel.parts:
        return f"no feed reaches {key}"
    gear = figures.rig.gear
    feeds = [part.feed for part in channel.parts if gear[part.feed].measure("level", "level") is None]
    unknown = [
        part.unknown or f"a gain on the way to {key} is not known" for part in channel.parts if part.gain_db is None
    ]
    if feeds:
        return f"no `level` of {' and '.join(dict.fromkeys(feeds))} is given"
    return unknown[0] if unknown else f"the feeds of {key} cancel each other, and nothing is left of them"


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
