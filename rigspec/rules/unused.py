"""Rules about what is left over: things without a path, inputs without a signal, outputs without a load."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import frozen

from rigspec.figures import Figures
from rigspec.rig.model import Gear, Output, Sink, members
from rigspec.rules.places import fed_inputs, inputs_of, upstream, why_silent
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity, few
from rigspec.text.source import Span
from rigspec.text.value import Value, gathered

_CIRCUIT = "common practice, no source"


def _listed(figures: Figures, *words: str) -> set[str]:
    """What lists of these sorts name: things by their full name, ports as ``bass.2``."""
    rosters = [roster for roster in figures.rig.rosters if roster.word in words]
    return {part.key for each in rosters for part in each.parts}


def nothing_connected(figures: Figures) -> Iterable[Finding]:
    """Things that the rig declares and never uses; loads without a signal; signals without a load."""
    rig = figures.rig
    if rig.doubt or not rig.gear:
        return
    spared = _listed(figures, "spare")
    yield from _without_path(figures, spared)
    yield from _ways_left(figures, spared)
    yield from _outputs_left(figures, spared)
    if any(output.carries == "signal" for output in rig.wiring.outputs.values()):
        # A rig without a feed describes its loudspeaker side only.
        yield from _without_signal(figures)
        yield from _without_loudspeaker(figures, spared)


# ---- things on no path ----------------------------------------------------------------------------------------------


def _without_path(figures: Figures, spared: set[str]) -> Iterable[Finding]:
    wiring = figures.rig.wiring
    mains = {sink.gear.full for sink in wiring.sinks.values() if sink.takes == "mains"}
    wired = {sink.gear.full for sink in wiring.sinks.values() if sink.takes != "mains"}
    wired |= {output.gear.full for output in wiring.outputs.values()}
    wired |= {through.gear.full for through in wiring.throughs.values()}
    wired |= {name.partition(".")[0] for name in spared | _listed(figures, "mix", "stereo")}
    rows: dict[tuple[str, int, bool], list[Gear]] = {}
    for gear in figures.rig.gear.values():
        if gear.full in wired or gear.word in ("place", "area", "mains") or figures.rig.doubt_of(gear):
            continue
        rows.setdefault((gear.name, gear.span.start, gear.full in mains), []).append(gear)
    for (_, _, plugged), row in rows.items():
        first, names = row[0], members(row)
        be, it, get = ("are", "them", "get") if len(row) > 1 else ("is", "it", "gets")
        what = f"{be} declared, and no path leads {'from' if first.word == 'feed' else 'to'} {it}"
        yield Finding(
            "nothing-connected",
            first.span,
            f"{names} {f'{get} the mains and no signal' if plugged else what}",
            label="no signal" if plugged else "not connected",
            help=f"connect {it}, list {it} under `spare {names}`, or take {it} out",
            subject=first.full,
        )


def _ways_left(figures: Figures, spared: set[str]) -> Iterable[Finding]:
    """A loudspeaker of which one way is connected and another is not."""
    sinks = figures.rig.wiring.sinks
    for gear in figures.rig.gear.values():
        if gear.word != "speaker" or not gear.ways or figures.rig.doubt_of(gear) or gear.full in spared:
            continue
        found = [(way, sinks.get(f"{gear.full}.{way}")) for way in gear.ways]
        wired = [sink for _, sink in found if sink is not None]
        for way, sink in found:
            key = f"{gear.full}.{way}"
            if sink is None and wired and key not in spared:
                yield Finding(
                    "nothing-connected",
                    wired[0].span,
                    f"{key} is not connected, though {wired[0].key} is",
                    label=f"only {' and '.join(each.port for each in wired)}",
                    related=(Label(gear.span, "declared here"),),
                    help=f"lead a path to {key}, or list it under `spare {key}`",
                    subject=gear.full,
                )


def _outputs_left(figures: Figures, spared: set[str]) -> Iterable[Finding]:
    """Processor outputs that are set and that no path leaves."""
    outputs = figures.rig.wiring.outputs
    wired = {sink.gear.full for sink in figures.rig.wiring.sinks.values()} | {o.gear.full for o in outputs.values()}
    mixed = _listed(figures, "mix")
    for gear in figures.rig.gear.values():
        if gear.word != "processor" or gear.full not in wired or gear.full in spared or figures.rig.doubt_of(gear):
            continue
        for port, facts in gear.ports.items():
            key = f"{gear.full}.{port}"
            if not facts or "muted" in facts or key in outputs or key in spared or key in mixed:
                continue
            first = min((given.span for given in facts.values()), key=lambda span: span.start)
            yield Finding(
                "nothing-connected",
                first,
                f"{key} is set, and no path leaves it",
                label="its settings reach nothing",
                related=(*_leaving_twice(figures, gear), Label(gear.span, "declared here")),
                help=f"begin a path at it: `{key} -> ...`; or list it under `spare {key}`",
                subject=key,
            )


def _leaving_twice(figures: Figures, gear: Gear) -> list[Label]:
    """Where an output of the same gear leaves a second time: one of the two may be meant for the output left over."""
    wiring = figures.rig.wiring
    labels = []
    for output in wiring.outputs.values():
        if output.gear.full != gear.full:
            continue
        places = {way.span for ways in wiring.arrivals.values() for way in ways if way.joint == output.joint}
        places |= {piece.span for piece in wiring.pieces if piece.a == output.joint}
        second = sorted(places, key=lambda span: (span.path, span.start))[1:2]
        labels += [Label(span, f"{output.key} goes here as well") for span in second]
    return labels[:2]


# ---- loads without a signal -----------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class _Silent(Value):
    """A channel or a powered box that no signal reaches, the way back from it, and the input or output to blame."""

    key: str
    span: Span
    channel: bool
    labels: tuple[Label, ...]
    cause: str


def _without_signal(figures: Figures) -> Iterable[Finding]:
    """Channels and powered boxes that nothing reaches; those with one cause are told together."""
    causes = gathered(_silent(figures), lambda silent: silent.cause)
    for cause, found in causes.items():
        first = found[0]
        names = [each.key for each in found]
        have = "have" if len(names) > 1 else "has"
        yield Finding(
            "nothing-connected",
            first.span,
            f"{few(names)} {have} {'loudspeakers and ' if first.channel else ''}no signal",
            label="nothing arrives here",
            related=(*first.labels, *(Label(each.span, f"{each.key} likewise") for each in found[1:5])),
            help=f"end a path at it: `FEED -> {cause}`",
            subject=first.key,
        )


def _silent(figures: Figures) -> Iterable[_Silent]:
    traced, signals = figures.trace, figures.signals
    if signals.loops or any(output.gear.doubt for output in figures.rig.wiring.outputs.values()):
        return  # told elsewhere; what is behind a circle or a faulty thing is not judged
    for key, run in traced.runs.items():
        output = run.output
        if output.carries != "power" or run.doubt or figures.rig.doubt_of(output.gear):
            continue
        loaded = any(arrival.sink.takes == "power" for arrival in run.arrivals)
        if loaded and not signals.at_output(output) and not _doubtful(figures, output):
            labels, cause = why_silent(figures, output)
            yield _Silent(key, output.span, True, tuple(labels), cause)
    for sink in figures.rig.wiring.sinks.values():
        gear = sink.gear
        doubt = figures.rig.doubt_of(gear) or sink.joint in traced.doubtful
        if gear.word != "speaker" or sink.takes != "signal" or doubt:
            continue
        arrival = traced.arrivals.get(sink.key)
        if arrival is None:
            if not figures.rig.wiring.arrivals.get(sink.key):  # else the fault lies before it and is told there
                label = Label(gear.span, f"no path ends at {sink.key}")
                yield _Silent(sink.key, sink.span, False, (label,), sink.key)
        elif arrival.output.carries == "signal" and not (
            signals.at_sink(sink.key) or _doubtful(figures, arrival.output)
        ):
            labels, cause = why_silent(figures, arrival.output)
            yield _Silent(sink.key, sink.span, False, tuple(labels), cause)


def _doubtful(figures: Figures, output: Output) -> bool:
    """Could a fault that is told elsewhere be why no signal arrives?"""
    wiring, traced = figures.rig.wiring, figures.trace
    for source in upstream(figures, output):
        gear, inputs = source.gear, inputs_of(figures, source)
        if figures.rig.doubt_of(gear):
            return True
        if gear.word == "amp" and _switched_away(figures, gear):
            return True  # told by `switch-conflict`
        fed = fed_inputs(figures, gear) if gear.word == "processor" else []
        if gear.word == "processor" and not inputs and len(fed) > 1:
            return True  # told by `source-unsaid`
        letters = "abcdefghijklmnopqrstuvwxyz"[: gear.count("inputs", 2)]
        if gear.word == "processor" and any(key.rpartition(".")[2] not in letters for key in inputs if "." in key):
            return True  # `from` names no input; told by `port-unknown`
        for key in inputs:
            sink = wiring.sinks.get(key)
            if sink is not None and (sink.joint in traced.doubtful or key not in traced.arrivals):
                return True  # a path ends here and something before it is at fault
    return False


def _switched_away(figures: Figures, gear: Gear) -> bool:
    """Is an input of this amplifier fed that its switch leaves out?"""
    arrivals = figures.rig.wiring.arrivals
    return any(
        arrivals.get(f"{gear.full}.{second}")
        for word in ("bridge", "joined")
        if (given := gear.facts.get(word)) is not None
        for each in given.entries
        for _, second in each.pairs
    )


# ---- signals without a load -----------------------------------------------------------------------------------------


def _without_loudspeaker(figures: Figures, spared: set[str]) -> Iterable[Finding]:
    bridged = {
        f"{output.gear.full}.{half}"
        for output in figures.rig.wiring.outputs.values()
        if output.bridged
        for half in output.halves
    }
    for key, run in figures.trace.runs.items():
        output = run.output
        if output.carries != "power" or run.doubt or figures.rig.doubt_of(output.gear) or key in bridged:
            continue
        if run.arrivals or run.pieces or {key, output.gear.full} & spared or not figures.signals.at_output(output):
            continue
        yield Finding(
            "nothing-connected",
            output.span,
            f"{key} has a signal and no loudspeaker",
            label="nothing hangs on its output",
            help=f"go on with `-> lead ... -> BOX`, or list {key} under `spare`",
            subject=key,
        )


def input_ignored(figures: Figures) -> Iterable[Finding]:
    """An input of a processor or a split that is fed and that no output takes."""
    rig = figures.rig
    if rig.doubt:
        return
    leaving = gathered(rig.wiring.outputs.values(), lambda output: output.gear.full)
    fed: dict[str, list[Sink]] = {}
    for sink in rig.wiring.sinks.values():
        if sink.gear.word in ("processor", "split") and sink.takes == "signal" and not figures.rig.doubt_of(sink.gear):
            fed.setdefault(sink.gear.full, []).append(sink)
    for full, sinks in fed.items():
        gear, outputs = sinks[0].gear, leaving.get(full, [])
        if gear.word == "split":
            taken = {full} if outputs else set()
        else:
            # Outputs that are set and lead nowhere are told by `nothing-connected`; what they take counts as taken.
            known = {output.port for output in outputs}
            unwired = [
                Output(f"{full}.{port}", gear, port, "signal", -1, gear.span)
                for port in gear.ports
                if port not in known
            ]
            every = [(output, inputs_of(figures, output)) for output in (*outputs, *unwired)]
            if len(sinks) > 1 and any(not inputs for _, inputs in every):
                continue  # told by `source-unsaid`
            taken = {key for _, inputs in every for key in inputs}
        for sink in sinks:
            if sink.key not in taken:
                yield _ignored(sink, outputs)


def _ignored(sink: Sink, outputs: list[Output]) -> Finding:
    gear = sink.gear
    what = "leg" if gear.word == "split" else "output"
    why = f"no {what} of {gear.full} takes it" if outputs else f"no path leaves {gear.full}"
    given = [outputs[0].gear.ports.get(output.port, {}).get("from") for output in outputs]
    said = tuple(Label(each.span, "takes another input") for each in given if each is not None)[:4]
    letter = sink.port or "a"
    cure = (
        f"take it at an output: `{gear.full}.1 {{ from {letter} }}`; or take" if what == "output" else "go on; or take"
    )
    return Finding(
        "input-ignored",
        sink.span,
        f"{sink.key} is fed, and {why}",
        label="the signal ends here",
        related=(*said, Label(gear.span, "declared here")),
        help=f"{cure} this path out",
        subject=sink.key,
    )


RULES = (
    Rule(
        name="nothing-connected",
        severity=Severity.WARNING,
        summary="something is declared and left unconnected",
        reason="either a path was forgotten, or the crew will load gear for nothing",
        limit="everything declared or set is on a path or listed as spare",
        authority=_CIRCUIT,
        cure="connect it, list it under `spare`, or take it out",
        bad="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1]\n",
        good="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1]\nspare s[2]\n",
        check=nothing_connected,
    ),
    Rule(
        name="input-ignored",
        severity=Severity.WARNING,
        summary="a signal goes into an input that no output takes",
        reason="what is plugged in there will not be heard, and nobody notices until the show",
        limit="every input that is fed is taken by an output that leads on",
        authority=_CIRCUIT,
        cure="take the input at an output, or take the path out",
        bad="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nprocessor xo is cross\nspeaker m is active\n"
        "l -> xo.a\nr -> xo.b\nxo.1 { from a }\nxo.1 -> m\n",
        good="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nprocessor xo is cross\nspeaker m is active\n"
        "l -> xo.a\nr -> xo.b\nxo.1 { from a, b }\nxo.1 -> m\n",
        check=input_ignored,
    ),
)
