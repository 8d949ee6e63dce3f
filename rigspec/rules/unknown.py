"""Rules about what the rig does not say although a judgement needs it: never silent about that."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures, line_volt
from rigspec.rig.model import Gear
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity


def load_unknown(figures: Figures) -> Iterable[Finding]:
    """Channels whose load is not known, or cannot be held against anything."""
    for key, why in figures.unknown.items():
        run = figures.trace.runs[key]
        boxes = [arrival.sink.gear for arrival in run.arrivals if arrival.sink.takes == "power"]
        if run.doubt or run.output.gear.doubt or any(box.doubt for box in boxes):
            continue
        named = next((box for box in boxes if box.full in why or box.name in why), None)
        yield Finding(
            "load-unknown",
            run.output.span,
            f"the load of {key} is not known: {why}",
            label="neither load nor power is judged here",
            related=(Label(named.span, f"{named.full} is declared here"),) if named else (),
            help=_missing(named),
            subject=key,
        )
    for channel in figures.channels.values():
        gear = channel.gear
        if channel.limit is None and channel.bridge_limit is None and line_volt(gear) is None and not gear.doubt:
            yield Finding(
                "load-unknown",
                channel.output.span,
                f"the load of {channel.key} cannot be judged: {gear.full} has neither `least-load` nor `rated`",
                label=f"{channel.load_ohm:.3g} ohm here",
                related=(Label(gear.span, "declared here"),),
                computed=f"{channel.load_ohm:.3g} ohm",
                allowed="not known",
                help="give the amplifier's data: `least-load 4 ohm` and `rated 500 W at 4 ohm`",
                subject=channel.key,
            )


def _missing(box: Gear | None) -> str:
    """What would make the load known."""
    taps = box.facts.get("taps") if box else None
    powers = [power.text for each in taps.entries if (power := each.get("power"))] if taps else []
    if box and powers:
        return f"set one of its taps ({', '.join(powers)}): `{box.full} {{ tap {powers[0]} }}`"
    return "give its impedance, in the stock or behind the box: `{ impedance 8 ohm }`"


def source_unsaid(figures: Figures) -> Iterable[Finding]:
    """Processor outputs that do not say which of several fed inputs they take."""
    rig = figures.rig
    fed: dict[str, list[str]] = {}
    for sink in rig.wiring.sinks.values():
        if sink.gear.word == "processor" and sink.takes == "signal":
            fed.setdefault(sink.gear.full, []).append(sink.port or "a")
    for output in rig.wiring.outputs.values():
        gear = output.gear
        inputs = sorted(fed.get(gear.full, []))
        if gear.word != "processor" or len(inputs) < 2 or "from" in gear.ports.get(output.port, {}) or gear.doubt:
            continue
        yield Finding(
            "source-unsaid",
            output.span,
            f"{output.key} does not say which of its inputs it takes: {' or '.join(inputs)}",
            label="no signal comes out until that is said",
            related=(Label(gear.span, "declared here"),),
            computed=f"{len(inputs)} inputs with a signal",
            allowed="one, or those that `from` names",
            help=f"write `{output.key} {{ from {inputs[0]} }}`",
            subject=output.key,
        )


RULES = (
    Rule(
        name="load-unknown",
        severity=Severity.WARNING,
        summary="the load of a channel is not known or cannot be judged",
        reason="what is not computed looks as if it were in order",
        limit="every box has an impedance or a tap, every amplifier a least load or a rating",
        authority="the rig language, grammar/reference.md",
        cure="give the missing figure",
        bad="amp a is twin\nspeaker h is horn\na.1 -> lead 2.5 mm2 9 m -> h\n",
        good="amp a is street\nspeaker h is horn { tap 15 W }\na.1 -> lead 2.5 mm2 9 m -> h\n",
        check=load_unknown,
    ),
    Rule(
        name="source-unsaid",
        severity=Severity.ERROR,
        summary="a processor output does not say which input it takes",
        reason="nothing comes out of it, or not what was meant",
        limit="with several inputs in use every output names its own",
        authority="the rig language, grammar/reference.md",
        cure="say it: `xo.1 { from a }`",
        bad="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nprocessor xo is cross\nspeaker m[1..2] is active\n"
        "l -> xo.a\nr -> xo.b\nxo.1 -> m[1]\nxo.2 -> m[2]\n",
        good="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nprocessor xo is cross\nspeaker m[1..2] is active\n"
        "l -> xo.a\nr -> xo.b\nxo.1 -> m[1]\nxo.2 -> m[2]\nxo.1 { from a }\nxo.2 { from b }\n",
        check=source_unsaid,
    ),
)
