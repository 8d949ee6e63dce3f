"""The places in a rig that explain a finding: where boxes are declared and hung, and where a signal comes from."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from rigspec.figures import BoxFigures, Figures
from rigspec.figures.trace import Arrival
from rigspec.rig.model import Gear, Output, members
from rigspec.text.finding import Label
from rigspec.text.units import show
from rigspec.text.value import gathered

# ---- loudspeakers ---------------------------------------------------------------------------------------------------


def hung(boxes: Sequence[BoxFigures], most: int = 6) -> list[Label]:
    """The hops at which boxes hang: each place once, with the load it adds."""
    places = gathered(boxes, lambda box: box.box.arrival.sink.span)
    labels = []
    for span, here in list(places.items())[:most]:
        ohm = show(here[0].box.impedance_ohm or 0.0, "resistance")
        labels.append(Label(span, f"{len(here)} boxes of {ohm}" if len(here) > 1 else f"{here[0].key}: {ohm}"))
    return labels


def declared(boxes: Iterable[BoxFigures], most: int = 4) -> list[Label]:
    """The lines that say of which kind boxes are, and with which load or tap."""
    rows = gathered(boxes, lambda box: (box.box.gear.span, box.box.way, box.box.impedance_ohm))
    labels = []
    for (span, way, _), row in list(rows.items())[:most]:
        first = row[0].box
        load = show(first.impedance_ohm or 0.0, "resistance")
        what = f"its {way} way has {load}" if way else load
        said = f"{members(each.box.gear for each in row)} is {kind_of(first.gear)}: {what}"
        labels.append(Label(span, said + (" at its tap" if first.tapped else "")))
        if first.tapped and first.impedance is not None:
            labels.append(Label(first.impedance.span, f"its tap: {first.impedance.text}"))
    return labels


def kind_of(gear: Gear) -> str:
    return gear.kind.name if gear.kind else gear.word


# ---- signals, followed back to where they come from -----------------------------------------------------------------


def switch_of(gear: Gear, channel: str) -> tuple[str, Label] | None:
    """The channel whose input an amplifier's channel takes by a switch, and the place of that switch."""
    for first, second, word, each in gear.joined():
        if str(second) == channel:
            text = f"by `{word} {first}+{second}` {gear.full}.{channel} takes what channel {first} gets"
            return str(first), Label(each.span, text)
    return None


def inputs_of(figures: Figures, output: Output) -> list[str]:
    """The inputs that an output takes; none where it does not say, and for feeds and mixes."""
    gear, port = output.gear, output.port
    match gear.word:
        case "amp":
            switch = None if output.bridged else switch_of(gear, port)
            return [f"{gear.full}.{switch[0] if switch else output.first}"]
        case "split":
            return [gear.full]
        case "processor":
            given = gear.ports.get(port, {}).get("from")
            if given is not None:
                return [f"{gear.full}.{ref.name}" for each in given.entries for ref in each.refs]
            fed = fed_inputs(figures, gear)
            return fed if len(fed) == 1 else []
    return []


def fed_inputs(figures: Figures, gear: Gear) -> list[str]:
    """The inputs of a processor that a path ends at."""
    wiring = figures.rig.wiring
    letters = "abcdefghijklmnopqrstuvwxyz"[: gear.count("inputs", 2)]
    keys = [gear.full, *(f"{gear.full}.{letter}" for letter in letters)]
    return [key for key in keys if (sink := wiring.sinks.get(key)) is not None and sink.takes == "signal"]


def _arrivals(figures: Figures, output: Output) -> list[Arrival]:
    arrivals = figures.trace.arrivals
    return [arrivals[key] for key in inputs_of(figures, output) if key in arrivals]


def _sources(figures: Figures, output: Output) -> list[Output]:
    if output.gear.word != "mix":
        return [arrival.output for arrival in _arrivals(figures, output)]
    outputs = figures.rig.wiring.outputs
    roster = next((each for each in figures.rig.rosters_of("mix") if each.name == output.gear.name), None)
    names = [part.key for part in roster.parts] if roster else []
    return [outputs[name] for name in names if name in outputs]


def upstream(figures: Figures, output: Output) -> Iterator[Output]:
    """An output and every output that its signal comes from, the nearest first."""
    todo, seen = [output], {output.key}
    while todo:
        here = todo.pop(0)
        yield here
        for source in _sources(figures, here):
            if source.key not in seen:
                seen.add(source.key)
                todo.append(source)


def filters(figures: Figures, channel: str, key: str) -> list[Label]:
    """The filters and the feeds' bands that bound what reaches a box by way of a channel."""
    labels = []
    for output in upstream(figures, figures.channels[channel].output):
        port = output.halves[0]
        facts = {**output.gear.facts, **output.gear.ports.get(port, {})}
        for word in ("high-pass", "low-pass", "band"):
            given = facts.get(word)
            if given is not None:
                labels.append(Label(given.span, f"on the way to {key}: {output.key}"))
    return labels


def switches(figures: Figures, channel: str, key: str) -> list[Label]:
    """The input switches that decide what signal a box gets; those that turn it are told with the turns."""
    hung = figures.channels.get(channel)
    if hung is None:  # a powered one has no channel
        return []
    output = hung.output
    if output.bridged or output.gear.word != "amp":
        return []
    switch = switch_of(output.gear, output.port)
    return [Label(switch[1].span, f"on the way to {key}: {switch[1].text}")] if switch else []


def why_silent(figures: Figures, output: Output) -> tuple[list[Label], str]:
    """The way back from an output without a signal to the first place at which nothing arrives, and its name."""
    labels: list[Label] = []
    seen: set[str] = set()
    while output.key not in seen:
        seen.add(output.key)
        gear, keys = output.gear, inputs_of(figures, output)
        switch = switch_of(gear, output.port) if gear.word == "amp" and not output.bridged else None
        if switch is not None:
            labels.append(Label(switch[1].span, f"{switch[1].text}, not its own input"))
        if gear.word == "processor" and not keys:
            several = "which input it takes" if fed_inputs(figures, gear) else "an input"
            labels.append(Label(output.span, f"{output.key} does not say {several}: `{output.key} {{ from a }}`"))
            return labels, output.key
        arrived = _arrivals(figures, output)
        if arrived:
            output = arrived[0].output
            continue
        if gear.word in ("amp", "processor", "split"):
            given = gear.ports.get(output.port, {}).get("from") if gear.word == "processor" else None
            where = given.span if given else gear.span
            labels.append(Label(where, f"{output.key} takes {' and '.join(keys)}, and nothing arrives there"))
        return labels, keys[0] if keys else output.key
    return labels, output.key
