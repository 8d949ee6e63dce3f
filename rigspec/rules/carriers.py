"""Rules about what flows where: signals, an amplifier's output and the mains each need what is made for them."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.rig.model import Gear
from rigspec.rules.rule import Rule
from rigspec.rules.wiring import COMES, is_box, origin
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span

_CIRCUIT = "common practice, no source"


def amplifier_into_input(figures: Figures) -> Iterable[Finding]:
    return (found for found in _misfits(figures) if found.rule == "amplifier-into-input")


def carrier_mismatch(figures: Figures) -> Iterable[Finding]:
    return (found for found in _misfits(figures) if found.rule == "carrier-mismatch")


def _misfits(figures: Figures) -> Iterable[Finding]:
    """An amplifier's output at an input, a line signal at a loudspeaker, mains where no mains belongs, and so on."""
    for arrival in figures.trace.arrivals.values():
        sink, carries = arrival.sink, arrival.output.carries
        gear = sink.gear
        if gear.doubt:
            continue
        if carries == sink.takes:
            continue
        needs = COMES[sink.takes]
        rule = "amplifier-into-input" if (carries, sink.takes) == ("power", "signal") else "carrier-mismatch"
        yield Finding(
            rule,
            sink.span,
            f"{sink.key} is given {COMES[carries]} ({arrival.output.key}), and it takes {needs}",
            label=f"takes {needs}",
            related=(origin(arrival.output), Label(gear.span, "declared here")),
            help=_carrier_cure(gear, carries),
            subject=sink.key,
        )


def _carrier_cure(gear: Gear, carries: str) -> str:
    if is_box(gear):
        return "put an amplifier channel before it: `... -> AMP.1 -> lead 2.5 mm2 10 m -> BOX`"
    if gear.word == "speaker":
        return "a powered loudspeaker has its own amplifier: feed it from a feed, a split or a processor"
    if carries == "signal":
        return f"name a channel or an input: {gear.full}.1"
    if carries == "power":
        return "feed it from a feed, a split or a processor"
    return f"end the path at gear with a mains inlet; {gear.full} has none"


def hop_unsuited(figures: Figures) -> Iterable[Finding]:
    """A pad or a delay behind an amplifier or in the mains, or a `series` of inputs."""
    for run in figures.trace.runs.values():
        carries = run.output.carries
        found: list[tuple[Span, str]] = []
        if carries != "signal":
            found += [(piece.span, f"a {piece.what}") for piece in run.pieces if piece.what in ("pad", "delay")]
        if carries != "power":
            found += [(series.span, "`series(...)`") for series in run.splits]
        for span, what in found:
            yield Finding(
                "hop-unsuited",
                span,
                f"{what} cannot stand here, where {COMES[carries]} runs ({run.output.key})",
                label="made for a line-level signal" if what.startswith("a ") else "loudspeakers hang in series",
                related=(origin(run.output),),
                help=_suited(what, carries),
                subject=run.output.key,
            )


def _suited(what: str, carries: str) -> str:
    if not what.startswith("a "):
        return "use `parallel(...)`: inputs hang side by side on one output"
    return f"put the {what[2:]} before the amplifier's input" if carries == "power" else "take it out"


def mains_crossed(figures: Figures) -> Iterable[Finding]:
    """The two conductors of a mains path are exchanged."""
    for run in figures.trace.runs.values():
        if run.output.carries != "mains":
            continue
        for piece in run.pieces:
            span = piece.span if piece.what == "invert" else piece.inverted
            if span is not None:
                yield Finding(
                    "mains-crossed",
                    span,
                    f"live and neutral of the mains from {run.output.key} are exchanged",
                    label="exchanged here",
                    related=(origin(run.output),),
                    computed="live on the neutral contact",
                    allowed="every conductor on its own contact",
                    help="take it out; a mains lead that is made crossed is to be withdrawn from use",
                    subject=run.output.key,
                )


RULES = (
    Rule(
        name="amplifier-into-input",
        severity=Severity.ERROR,
        summary="an amplifier's output goes into an input",
        reason="tens of volts and amperes destroy an input made for a volt or two",
        limit="inputs take line-level signals",
        authority=_CIRCUIT,
        cure="feed the input from a feed, a split or a processor",
        bad="amp a is twin\nspeaker mon is active\na.1 -> lead 2.5 mm2 9 m -> mon\n",
        good="feed send { level 4 dBu }\nspeaker mon is active\nsend -> mon\n",
        check=amplifier_into_input,
    ),
    Rule(
        name="carrier-mismatch",
        severity=Severity.ERROR,
        summary="something arrives that this thing cannot take",
        reason="a line signal moves no cone, and mains on a signal input is dangerous to life",
        limit="loudspeakers take an amplifier's output, inputs a signal, inlets the mains",
        authority=_CIRCUIT,
        cure="connect an output of the right kind",
        bad="feed send { level 4 dBu }\nspeaker s is sub\nsend -> s\n",
        good="feed send { level 4 dBu }\namp a is twin\nspeaker s is sub\nsend -> a.1 -> lead 2.5 mm2 9 m -> s\n",
        check=carrier_mismatch,
    ),
    Rule(
        name="hop-unsuited",
        severity=Severity.ERROR,
        summary="a hop stands where it cannot work",
        reason="a pad or a delay is made for a volt or two and burns behind an amplifier; nobody wires inputs in"
        " series",
        limit="pads and delays in signal paths, `series` in loudspeaker paths",
        authority=_CIRCUIT,
        cure="move it to where it belongs",
        bad="feed send { level -4 dBu; peak 6 dBu }\namp a is twin\nspeaker s is sub\n"
        "send -> a.1 -> pad 10 dB -> lead 2.5 mm2 9 m -> s\n",
        good="feed send { level -4 dBu; peak 6 dBu }\namp a is twin\nspeaker s is sub\n"
        "send -> pad 10 dB -> a.1 -> lead 2.5 mm2 9 m -> s\n",
        check=hop_unsuited,
    ),
    Rule(
        name="mains-crossed",
        severity=Severity.ERROR,
        summary="live and neutral of a mains path are exchanged",
        reason="gear that is switched off stays live inside; that is dangerous to life",
        limit="no inversion in a mains path",
        authority="common practice, no source",
        cure="take it out",
        bad="mains house { supply 230 V; residual 30 mA }\nfeed send { level 4 dBu }\nspeaker mon is active\n"
        "send -> mon\nhouse -> invert -> mon\n",
        good="mains house { supply 230 V; residual 30 mA }\nfeed send { level 4 dBu }\nspeaker mon is active\n"
        "send -> mon\nhouse -> mon\n",
        check=mains_crossed,
    ),
)
