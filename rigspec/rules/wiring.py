"""Rules about how things hang together. Several of these faults destroy gear; they are looked for first."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.signal.loading import MOST_STAGES
from rigspec.figures.signal.signals import MOST_WAYS
from rigspec.rig.model import Gear, Output, Sink, Way
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity

_CIRCUIT = "common practice, no source"
_ORDER = "common practice, no source; each output then drives the other"

COMES = {"signal": "a line-level signal", "power": "an amplifier's output", "mains": "the mains"}


def origin(output: Output) -> Label:
    return Label(output.span, f"{COMES[output.carries]} comes from {output.key}")


def _arriving(figures: Figures, way: Way) -> Output | None:
    """The output whose signal stands at the joint of an arrival, as far as it is known."""
    for run in figures.trace.runs.values():
        if way.joint in run.conductors:
            return run.output
    return None


def is_box(gear: Gear) -> bool:
    return gear.word == "speaker" and not gear.says("powered")


def _fed_again(figures: Figures, sink: Sink) -> tuple[Output | None, Output | None, Way]:
    first, second = figures.rig.wiring.arrivals[sink.key][:2]
    return _arriving(figures, first), _arriving(figures, second), second


def outputs_tied(figures: Figures) -> Iterable[Finding]:
    """Two amplifier outputs, or an output and another one, meet at one loudspeaker or passage."""
    wiring = figures.rig.wiring
    for key, ways in wiring.arrivals.items():
        sink = wiring.sinks[key]
        if len(ways) < 2 or not is_box(sink.gear):
            continue
        first, second, way = _fed_again(figures, sink)
        if first is None or second is None or first.key == second.key:
            continue
        if sink.gear.doubt and first.carries != second.carries:
            continue  # it may well be a powered one, whose kind could not be found
        yield Finding(
            "outputs-tied",
            way.span,
            f"{key} hangs on {first.key} and on {second.key}: the two outputs are tied together",
            label=f"{second.key} arrives here",
            related=(Label(ways[0].span, f"{first.key} arrives here"), origin(first), origin(second)),
            computed="2 outputs on one loudspeaker",
            allowed="1 output",
            help=f"take {key} off one of them{_bridge(first, second)}",
            subject=key,
        )


def _bridge(first: Output, second: Output) -> str:
    """How two channels of one amplifier may be joined instead, where they can be."""
    if first.gear is not second.gear or not (first.port.isdigit() and second.port.isdigit()):
        return ""
    low, high = sorted((int(first.port), int(second.port)))
    if high != low + 1 or low % 2 == 0:
        return ""
    full = first.gear.full
    return (
        f"; to join the two channels bridge them, if the amplifier may be bridged into this load: `{full}.{low}+{high}`"
    )


def input_fed_twice(figures: Figures) -> Iterable[Finding]:
    """An input, or a loudspeaker by the same output, is reached by more than one path."""
    wiring = figures.rig.wiring
    for key, ways in wiring.arrivals.items():
        if len(ways) < 2:
            continue
        sink = wiring.sinks[key]
        if sink.gear.says("powered") and not figures.trace.doubtful.isdisjoint(way.joint for way in ways):
            continue  # what begins nobody knows where may be the mains
        first, second, way = _fed_again(figures, sink)
        tied = is_box(sink.gear) and first is not None and second is not None and first.key != second.key
        if tied:
            continue
        by = list(dict.fromkeys(output.key for output in (first, second) if output is not None))
        if len(by) == 1:
            names = f"twice by {by[0]}" if first and second else f"by {by[0]}, and once more"
        else:
            names = f"twice: by {' and '.join(by)}" if by else "twice"
        yield Finding(
            "input-fed-twice",
            way.span,
            f"{key} is fed {names}",
            label="fed again here",
            related=(Label(ways[0].span, "fed here already"),),
            computed=f"{len(ways)} paths arrive",
            allowed="1 path",
            help="keep one of the two paths"
            + ("" if is_box(sink.gear) else "; to add signals use `mix` or a processor with `from a, b`"),
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
    wiring = figures.rig.wiring
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
    for key, ways in wiring.arrivals.items():
        sink = wiring.sinks[key]
        if not ways and sink.takes == "power" and figures.trace.orphan(sink.joint):
            yield Finding(
                "end-dangling",
                sink.span,
                f"the path begins at `{sink.span.text}`, and nothing leads to {key}",
                label="nothing arrives here",
                related=(Label(sink.gear.span, "declared here"),),
                help=f"lead a path to it: `AMP.1 -> lead ... -> {key}`, or begin with what feeds it",
                subject=key,
            )
    for through in wiring.throughs.values():
        if figures.rig.doubt or figures.rig.doubt_of(through.gear):
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


def signal_loop(figures: Figures) -> Iterable[Finding]:
    """Outputs that feed themselves."""
    for loop in dict.fromkeys(figures.signals.loops.values()):
        if loop.tangled:
            continue
        first = loop.outputs[0]
        way = " -> ".join(output.key for output in (*loop.outputs, first))
        yield Finding(
            "signal-loop",
            first.span,
            f"the signal runs in a circle: {way}",
            label="comes round to here again",
            related=tuple(origin(output) for output in loop.outputs[1:6]),
            computed=f"a circle of {len(loop.outputs)} stage{'' if len(loop.outputs) == 1 else 's'}",
            allowed="none",
            help="take one of the connections out; nothing downstream of the circle is judged until then",
            subject=first.key,
        )


def signal_tangled(figures: Figures) -> Iterable[Finding]:
    """Outputs that so many stages or ways of signals lead to that they are not worked out."""
    tangled = [loop for loop in figures.signals.loops.values() if loop.tangled]
    for loop in {loop.outputs[0].gear.full: loop for loop in reversed(tangled)}.values():  # all its outputs are alike
        output = loop.outputs[0]
        yield Finding(
            "signal-tangled",
            output.span,
            f"the signal of {output.key} is not worked out: {loop.tangled}",
            label="left out from here on",
            computed=loop.tangled,
            allowed=f"at most {MOST_STAGES} stages and {MOST_WAYS} ways",
            help="take stages out that sum what comes from one and the same before them; nothing downstream is judged"
            " until then",
            subject=output.key,
        )


_SUMS = "p{0}.1 {{ from a, b }}\np{0}.2 {{ from a, b; inverted }}\n"
_NEXT = "p{0}.1 -> p{1}.a\np{0}.2 -> p{1}.b\n"


def _in_series(count: int) -> str:
    """Processors in series of which each sums both outputs of the one before, turned and not."""
    head = "feed send { level 4 dBu }\nspeaker mon is active\n"
    made = "".join(f"processor p{at} is cross\n" for at in range(count))
    sums = "".join(_SUMS.format(at) for at in range(count))
    ways = "".join(_NEXT.format(at, at + 1) for at in range(count - 1))
    return f"{head}{made}{sums}send -> p0.a\nsend -> p0.b\n{ways}p{count - 1}.1 -> mon\nspare p{count - 1}.2\n"


RULES = (
    Rule(
        name="outputs-tied",
        severity=Severity.ERROR,
        summary="two outputs meet at one loudspeaker",
        reason="each amplifier drives the other's output stage; that destroys one or both",
        limit="one output on each loudspeaker",
        authority=_ORDER,
        cure="leave one path; join channels only by bridging them",
        bad="amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 9 m -> s\nbass.2 -> lead 2.5 mm2 9 m -> s\n",
        good="amp bass is twin\nspeaker s is sub\nbass.1 -> lead 2.5 mm2 9 m -> s\n",
        check=outputs_tied,
    ),
    Rule(
        name="input-fed-twice",
        severity=Severity.ERROR,
        summary="an input is fed by two paths",
        reason="two outputs wired to one input drive each other, and both sound wrong",
        limit="one path to each input",
        authority="common practice, no source; a passive Y splits and must never sum",
        cure="keep one path, or add the signals in a mix or a processor",
        bad="feed a { level 4 dBu }\nfeed b { level 4 dBu }\nspeaker mon is active\na -> mon\nb -> mon\n",
        good="feed a { level 4 dBu }\nfeed b { level 4 dBu }\nspeaker mon is active\nmix m: a -3 dB, b -3 dB\n"
        "m -> mon\n",
        check=input_fed_twice,
    ),
    Rule(
        name="pair-used-twice",
        severity=Severity.ERROR,
        summary="a pair of a lead or a line of a panel is used twice",
        reason="two circuits on one pair are tied together",
        limit="one path on each side of each pair",
        authority=_CIRCUIT,
        cure="use another pair",
        bad="amp a is twin\nspeaker s[1..2] is sub\nlead w is twin-pair 10 m\na.1 -> w.1 -> s[1]\na.2 -> w.1 -> s[2]\n",
        good="amp a is twin\nspeaker s[1..2] is sub\nlead w is twin-pair 10 m\na.1 -> w.1 -> s[1]\n"
        "a.2 -> w.2 -> s[2]\n",
        check=pair_used_twice,
    ),
    Rule(
        name="end-dangling",
        severity=Severity.ERROR,
        summary="a path leads to nothing, or comes from nothing",
        reason="what hangs on it will be silent, and an open end can touch something",
        limit="every path runs from an output to a loudspeaker or an input",
        authority=_CIRCUIT,
        cure="go on with the path, or take it out",
        bad="amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\na.2 -> lead 2.5 mm2 9 m\n",
        good="amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\n",
        check=end_dangling,
    ),
    Rule(
        name="signal-loop",
        severity=Severity.ERROR,
        summary="a signal feeds itself",
        reason="a circle of gain howls at the first sound",
        limit="signals flow one way, from feeds to loudspeakers",
        authority=_CIRCUIT,
        cure="take one of the connections out",
        bad="processor p is cross\nprocessor q is cross\np.1 { from a }\nq.1 { from a }\np.1 -> q.a\nq.1 -> p.a\n",
        good="feed send { level 4 dBu }\nprocessor p is cross\np.1 { from a }\nspeaker mon is active\n"
        "send -> p.a\np.1 -> mon\n",
        check=signal_loop,
    ),
    Rule(
        name="signal-tangled",
        severity=Severity.ERROR,
        summary="more stages or ways lead to an output than are worked out",
        reason="where stages in a row sum what comes two ways from the one before, the ways double at each",
        limit="100 stages in a row, and 1000 ways to an output",
        authority="common practice, no source: no rig has so many",
        cure="take stages out, or sums of what is the same",
        bad=_in_series(12),
        good=_in_series(2),
        check=signal_tangled,
    ),
    Rule(
        name="gear-misplaced",
        severity=Severity.ERROR,
        summary="a thing stands where nothing of its sort can",
        reason="a rig cannot be built as it is written here",
        limit="what each place in a path or a list takes, as the reference says",
        authority=_CIRCUIT,
        cure="put the right sort of thing there, or begin a path of its own",
        bad="feed send { level 4 dBu }\namp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\na.2 -> send\n",
        good="feed send { level 4 dBu }\namp a is twin\nspeaker s is sub\nsend -> a.1 -> lead 2.5 mm2 9 m -> s\n",
    ),
    Rule(
        name="row-unlinked",
        severity=Severity.ERROR,
        summary="a row stands in a path without its links",
        reason="how the boxes hang together decides what each gets and what the links lose",
        limit="`linked` and a lead behind a row, or each box by name",
        authority="the rig language, grammar/reference.md",
        cure="write `linked 2.5 mm2 2 m` behind the row",
        bad="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1..2]\n",
        good="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1..2] linked 2.5 mm2 2 m\n",
    ),
    Rule(
        name="rows-unequal",
        severity=Severity.ERROR,
        summary="the rows in an `each` path do not fit each other",
        reason="which member goes to which would be a guess",
        limit="every row in an `each` path has the same number of members",
        authority="the rig language, grammar/reference.md",
        cure="name as many members at each hop",
        bad="amp a is twin\nspeaker s[1..3] is sub\neach a.1..2 -> lead 2.5 mm2 9 m -> s[1..3]\n",
        good="amp a is twin\nspeaker s[1..2] is sub\neach a.1..2 -> lead 2.5 mm2 9 m -> s[1..2]\n",
    ),
    Rule(
        name="lead-incomplete",
        severity=Severity.ERROR,
        summary="a lead's size or length is not said, or is impossible",
        reason="without a possible size and length its resistance is unknown, and a silent default would be a lie",
        limit="size and length; a range where nobody can look",
        authority="the rig language, grammar/reference.md",
        cure="write both, for example `lead 2.5 mm2 15 m` or `lead 1.5 mm2 to 2.5 mm2 20 m to 40 m`",
        bad="amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 -> s\n",
        good="amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 20 m to 30 m -> s\n",
    ),
)
