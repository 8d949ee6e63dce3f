"""Rules about how things hang together. Several of these faults destroy gear; they are looked for first."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.finding import Finding, Label, Severity
from rigspec.rig import Gear, Output, Sink, Way, runs
from rigspec.rules.rule import Rule

_CIRCUIT = "common practice, no source"
_ORDER = "common practice, no source; each output then drives the other"

_COMES = {"signal": "a line-level signal", "power": "an amplifier's output", "mains": "the mains"}


def _origin(output: Output) -> Label:
    return Label(output.span, f"{_COMES[output.carries]} comes from {output.key}")


def _arriving(figures: Figures, way: Way) -> Output | None:
    """The output whose signal stands at the joint of an arrival, as far as it is known."""
    for run in figures.trace.runs.values():
        if way.joint in run.conductors:
            return run.output
    return None


def _is_box(gear: Gear) -> bool:
    return gear.word == "speaker" and "powered" not in gear.facts


def _fed_again(figures: Figures, sink: Sink) -> tuple[Output | None, Output | None, Way]:
    first, second = figures.rig.wiring.arrivals[sink.key][:2]
    return _arriving(figures, first), _arriving(figures, second), second


def outputs_tied(figures: Figures) -> Iterable[Finding]:
    """Two amplifier outputs, or an output and another one, meet at one loudspeaker or passage."""
    wiring = figures.rig.wiring
    for key, ways in wiring.arrivals.items():
        sink = wiring.sinks[key]
        if len(ways) < 2 or not _is_box(sink.gear):
            continue
        first, second, way = _fed_again(figures, sink)
        if first is None or second is None or first.key == second.key:
            continue
        yield Finding(
            "outputs-tied",
            way.span,
            f"{key} hangs on {first.key} and on {second.key}: the two outputs are tied together",
            label=f"{second.key} arrives here",
            related=(Label(ways[0].span, f"{first.key} arrives here"), _origin(first), _origin(second)),
            computed="2 outputs on one loudspeaker",
            allowed="1 output",
            help=f"take {key} off one of them; to join two channels bridge them: `{first.gear.full}.1+2`",
            subject=key,
        )


def input_fed_twice(figures: Figures) -> Iterable[Finding]:
    """An input, or a loudspeaker by the same output, is reached by more than one path."""
    wiring = figures.rig.wiring
    for key, ways in wiring.arrivals.items():
        if len(ways) < 2:
            continue
        sink = wiring.sinks[key]
        first, second, way = _fed_again(figures, sink)
        tied = _is_box(sink.gear) and first is not None and second is not None and first.key != second.key
        if tied:
            continue
        names = " and ".join(output.key for output in (first, second) if output is not None)
        yield Finding(
            "input-fed-twice",
            way.span,
            f"{key} is fed twice" + (f": by {names}" if names else ""),
            label="fed again here",
            related=(Label(ways[0].span, "fed here already"),),
            computed=f"{len(ways)} paths arrive",
            allowed="1 path",
            help="keep one path; to add signals use `mix` or a processor with `from a, b`",
            subject=key,
        )


def pair_used_twice(figures: Figures) -> Iterable[Finding]:
    """A pair of a lead or a line of a panel has two paths on the same side."""
    for through in figures.rig.wiring.throughs.values():
        for ways, side in ((through.entered, "goes in"), (through.left, "comes out")):
            if len(ways) < 2:
                continue
            what = "pair" if through.gear.word == "lead" else "line"
            yield Finding(
                "pair-used-twice",
                ways[1].span,
                f"{through.key} is used twice: a second path {side} here",
                label=f"{side} again",
                related=(Label(ways[0].span, f"{side} here already"), Label(through.gear.span, "declared here")),
                computed=f"{len(ways)} paths on one side of one {what}",
                allowed="1 path on each side",
                help=f"use another {what}, or part the signal before it with `parallel(...)` or a split",
                subject=through.gear.full,
            )


def end_dangling(figures: Figures) -> Iterable[Finding]:
    """A path that leads to nothing, or that begins where nothing comes from."""
    wiring, silent = figures.rig.wiring, figures.rig.silent
    used = {piece.a for piece in wiring.pieces} | {series.joint for series in wiring.series}
    used |= {sink.joint for sink in wiring.sinks.values()}
    for end in wiring.ends:
        if end.joint not in used and end.joint not in figures.trace.doubtful:
            yield Finding(
                "end-dangling",
                end.span,
                f"the path ends at `{end.span.text}`, and nothing is connected there",
                label="nothing follows",
                help="go on with `-> ...` to a loudspeaker or an input, or take the path out",
                subject=end.span.text,
            )
    for through in wiring.throughs.values():
        if through.gear.name in silent or "*" in silent:
            continue
        if not through.entered and through.left:
            yield _unplugged(through.left[0], through.key, "nothing goes in at its other side", "nothing arrives")
        elif through.entered and not through.left:
            yield _unplugged(through.entered[0], through.key, "nothing comes out at its other side", "nothing follows")


def _unplugged(way: Way, key: str, what: str, label: str) -> Finding:
    return Finding(
        "end-dangling",
        way.span,
        f"{key} is connected on one side only: {what}",
        label=label,
        help=f"begin or end another path at {key}, or take it out of this one",
        subject=key,
    )


def amplifier_into_input(figures: Figures) -> Iterable[Finding]:
    return (found for found in _misfits(figures) if found.rule == "amplifier-into-input")


def carrier_mismatch(figures: Figures) -> Iterable[Finding]:
    return (found for found in _misfits(figures) if found.rule == "carrier-mismatch")


def _misfits(figures: Figures) -> Iterable[Finding]:
    """An amplifier's output at an input, a line signal at a loudspeaker, mains where no mains belongs, and so on."""
    for arrival in figures.trace.arrivals.values():
        sink, carries = arrival.sink, arrival.output.carries
        gear = sink.gear
        if gear.broken:
            continue
        if carries == sink.takes:
            continue
        needs = _COMES[sink.takes]
        rule = "amplifier-into-input" if (carries, sink.takes) == ("power", "signal") else "carrier-mismatch"
        yield Finding(
            rule,
            sink.span,
            f"{sink.key} is given {_COMES[carries]} ({arrival.output.key}), and it takes {needs}",
            label=f"takes {needs}",
            related=(_origin(arrival.output), Label(gear.span, "declared here")),
            help=_carrier_cure(gear, carries),
            subject=sink.key,
        )


def _carrier_cure(gear: Gear, carries: str) -> str:
    if gear.word == "speaker" and "powered" not in gear.facts:
        return "put an amplifier channel before it: `... -> AMP.1 -> lead 2.5 mm2 10 m -> BOX`"
    if gear.word == "speaker":
        return "a powered loudspeaker has its own amplifier: feed it from a feed, a split or a processor"
    if carries == "signal":
        return f"name a channel or an input: {gear.full}.1"
    return "connect an output of the right kind"


def signal_loop(figures: Figures) -> Iterable[Finding]:
    """Outputs that feed themselves."""
    for loop in dict.fromkeys(figures.signals.loops.values()):
        first = loop.outputs[0]
        way = " -> ".join(output.key for output in (*loop.outputs, first))
        yield Finding(
            "signal-loop",
            first.span,
            f"the signal runs in a circle: {way}",
            label="comes round to here again",
            related=tuple(_origin(output) for output in loop.outputs[1:6]),
            computed=f"a circle of {len(loop.outputs)} stages",
            allowed="none",
            help="take one of the connections out; nothing downstream of the circle is judged until then",
            subject=first.key,
        )


def nothing_connected(figures: Figures) -> Iterable[Finding]:
    """Things that the rig declares and never uses; loaded channels without a signal; fed channels without a load."""
    rig = figures.rig
    if "*" in rig.silent or not rig.gear:
        return
    wired = {sink.gear.full for sink in rig.wiring.sinks.values()}
    wired |= {output.gear.full for output in rig.wiring.outputs.values()}
    wired |= {through.gear.full for through in rig.wiring.throughs.values()}
    wired |= {part.name for roster in rig.rosters if roster.word in ("spare", "mix", "stereo") for part in roster.parts}
    for row in _rows(figures, wired):
        first = row[0]
        numbers = [gear.number for gear in row if gear.number is not None]
        names = f"{first.name}[{runs(numbers)}]" if numbers else first.full
        be, it = ("are", "them") if len(row) > 1 else ("is", "it")
        yield Finding(
            "nothing-connected",
            first.span,
            f"{names} {be} declared, and no path leads to {it}",
            label="not connected",
            help=f"connect {it}, list {it} under `spare {names}`, or take {it} out",
            subject=first.full,
        )
    yield from _half_connected(figures)


def _rows(figures: Figures, wired: set[str]) -> list[list[Gear]]:
    rows: dict[tuple[str, int], list[Gear]] = {}
    for gear in figures.rig.gear.values():
        if gear.full in wired or gear.word in ("place", "mains") or gear.name in figures.rig.silent or gear.broken:
            continue
        rows.setdefault((gear.name, gear.span.start), []).append(gear)
    return list(rows.values())


def _half_connected(figures: Figures) -> Iterable[Finding]:
    rig, traced = figures.rig, figures.trace
    if not any(output.carries == "signal" for output in rig.wiring.outputs.values()):
        return  # a rig without a feed describes its loudspeaker side only
    for key, run in traced.runs.items():
        output = run.output
        if output.carries != "power" or run.broken or output.gear.broken or output.gear.name in rig.silent:
            continue
        loaded = any(arrival.sink.takes == "power" for arrival in run.arrivals)
        parts = figures.signals.at_output(output)
        lead_on = bool(run.pieces)
        if loaded and not parts and not _feed_doubtful(figures, output):
            yield Finding(
                "nothing-connected",
                output.span,
                f"{key} has loudspeakers and no signal",
                label="nothing arrives at its input",
                help=f"end a path at it: `FEED -> {key}`",
                subject=key,
            )
        elif parts and not run.arrivals and not lead_on:
            yield Finding(
                "nothing-connected",
                output.span,
                f"{key} has a signal and no loudspeaker",
                label="nothing hangs on its output",
                help=f"go on with `-> lead ... -> BOX`, or list {key} under `spare`",
                subject=key,
            )


def _feed_doubtful(figures: Figures, output: Output) -> bool:
    """Could a fault elsewhere, or a loop, be why no signal arrives?"""
    wiring, traced = figures.rig.wiring, figures.trace
    if figures.signals.loops or figures.rig.silent & {output.gear.name}:
        return True
    keys = [sink for sink in wiring.sinks.values() if sink.gear is output.gear]
    if any(sink.joint in traced.doubtful for sink in keys):
        return True
    return any(not output.gear.broken and upstream.gear.broken for upstream in wiring.outputs.values())


RULES = (
    Rule(
        "outputs-tied",
        Severity.ERROR,
        "two outputs meet at one loudspeaker",
        "each amplifier drives the other's output stage; that destroys one or both",
        "one output on each loudspeaker",
        _ORDER,
        "leave one path; join channels only by bridging them",
        "amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 9 m -> s\nbass.2 -> lead 2.5 mm2 9 m -> s\n",
        "amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 9 m -> s\n",
        outputs_tied,
    ),
    Rule(
        "amplifier-into-input",
        Severity.ERROR,
        "an amplifier's output goes into an input",
        "tens of volts and amperes destroy an input made for a volt or two",
        "inputs take line-level signals",
        _CIRCUIT,
        "feed the input from a feed, a split or a processor",
        "amp a is twin\nspeaker mon is active\na.1 -> lead 2.5 mm2 9 m -> mon\n",
        "feed send { level 4 dBu }\nspeaker mon is active\nsend -> mon\n",
        amplifier_into_input,
    ),
    Rule(
        "carrier-mismatch",
        Severity.ERROR,
        "something arrives that this thing cannot take",
        "a line signal moves no cone, and mains on a signal input is dangerous to life",
        "loudspeakers take an amplifier's output, inputs a signal, inlets the mains",
        _CIRCUIT,
        "connect an output of the right kind",
        "feed send { level 4 dBu }\nspeaker s is sub\nsend -> s\n",
        "feed send { level 4 dBu }\namp a is twin\nspeaker s is sub\nsend -> a.1 -> lead 2.5 mm2 9 m -> s\n",
        carrier_mismatch,
    ),
    Rule(
        "input-fed-twice",
        Severity.ERROR,
        "an input is fed by two paths",
        "two outputs wired to one input drive each other, and both sound wrong",
        "one path to each input",
        "common practice, no source; a passive Y splits and must never sum",
        "keep one path, or add the signals in a mix or a processor",
        "feed a { level 4 dBu }\nfeed b { level 4 dBu }\nspeaker mon is active\na -> mon\nb -> mon\n",
        "feed a { level 4 dBu }\nfeed b { level 4 dBu }\nspeaker mon is active\nmix m: a -3 dB, b -3 dB\nm -> mon\n",
        input_fed_twice,
    ),
    Rule(
        "pair-used-twice",
        Severity.ERROR,
        "a pair of a lead or a line of a panel is used twice",
        "two circuits on one pair are tied together",
        "one path on each side of each pair",
        _CIRCUIT,
        "use another pair",
        "amp a is twin\nspeaker s[1..2] is sub\nlead w is twin-pair 10 m\na.1 -> w.1 -> s[1]\na.2 -> w.1 -> s[2]\n",
        "amp a is twin\nspeaker s[1..2] is sub\nlead w is twin-pair 10 m\na.1 -> w.1 -> s[1]\na.2 -> w.2 -> s[2]\n",
        pair_used_twice,
    ),
    Rule(
        "end-dangling",
        Severity.ERROR,
        "a path leads to nothing, or comes from nothing",
        "what hangs on it will be silent, and an open end can touch something",
        "every path runs from an output to a loudspeaker or an input",
        _CIRCUIT,
        "go on with the path, or take it out",
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\na.2 -> lead 2.5 mm2 9 m\n",
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\n",
        end_dangling,
    ),
    Rule(
        "signal-loop",
        Severity.ERROR,
        "a signal feeds itself",
        "a circle of gain howls at the first sound",
        "signals flow one way, from feeds to loudspeakers",
        _CIRCUIT,
        "take one of the connections out",
        "processor p is cross\nprocessor q is cross\np.1 { from a }\nq.1 { from a }\np.1 -> q.a\nq.1 -> p.a\n",
        "feed send { level 4 dBu }\nprocessor p is cross\np.1 { from a }\nspeaker mon is active\n"
        "send -> p.a\np.1 -> mon\n",
        signal_loop,
    ),
    Rule(
        "gear-misplaced",
        Severity.ERROR,
        "a thing stands where nothing of its sort can",
        "the path cannot be built as written",
        "what each place in a path or a list takes, as the reference says",
        _CIRCUIT,
        "put the right sort of thing there, or begin a path of its own",
        "feed send { level 4 dBu }\namp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\na.2 -> send\n",
        "feed send { level 4 dBu }\namp a is twin\nspeaker s is sub\nsend -> a.1 -> lead 2.5 mm2 9 m -> s\n",
    ),
    Rule(
        "row-unlinked",
        Severity.ERROR,
        "a row stands in a path without its links",
        "how the boxes hang together decides what each gets and what the links lose",
        "`linked` and a lead behind a row, or each box by name",
        "the rig language, grammar/reference.md",
        "write `linked 2.5 mm2 2 m` behind the row",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1..2]\n",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1..2] linked 2.5 mm2 2 m\n",
    ),
    Rule(
        "rows-unequal",
        Severity.ERROR,
        "the rows in an `each` path do not fit each other",
        "which member goes to which would be a guess",
        "every row in an `each` path has the same number of members",
        "the rig language, grammar/reference.md",
        "name as many members at each hop",
        "amp a is twin\nspeaker s[1..3] is sub\neach a.1..2 -> lead 2.5 mm2 9 m -> s[1..3]\n",
        "amp a is twin\nspeaker s[1..2] is sub\neach a.1..2 -> lead 2.5 mm2 9 m -> s[1..2]\n",
    ),
    Rule(
        "lead-incomplete",
        Severity.ERROR,
        "a lead's size or length is not said",
        "without both its resistance is unknown, and a silent default would be a lie",
        "size and length; a range where nobody can look",
        "the rig language, grammar/reference.md",
        "write both, for example `lead 2.5 mm2 15 m` or `lead 1.5 mm2 to 2.5 mm2 20 m to 40 m`",
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 -> s\n",
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 20 m to 30 m -> s\n",
    ),
    Rule(
        "nothing-connected",
        Severity.WARNING,
        "something is declared and left unconnected",
        "either a path was forgotten, or the crew will load gear for nothing",
        "everything declared is on a path or listed as spare",
        _CIRCUIT,
        "connect it, list it under `spare`, or take it out",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1]\n",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1]\nspare s[2]\n",
        nothing_connected,
    ),
)
