"""Rules about loads: what amplifiers work into, and whether boxes suit the line they hang on."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigspec.figures import BoxFigures, ChannelFigures, Figures, judged, line_volt, rated_points
from rigspec.figures.lines import tap_ends, taps_alone
from rigspec.figures.load import tap_volt
from rigspec.figures.trace import Arrival
from rigspec.rig.model import Gear, Measure, entries
from rigspec.rules.certainty import Dominant, decides, dominant
from rigspec.rules.places import declared, hung, kind_of
from rigspec.rules.rule import Rule
from rigspec.solve.line import exact_volt
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair
from rigspec.text.value import once

LINE_SPREAD = 1.05  # 70 V and 70.7 V are one line, 100 V is another (common practice, no source)
_SUM_OF_TAPS = "the amplifier's data sheet, as the stock gives it; the sum of the taps, common practice, no source"


@once
def suited(figures: Figures) -> list[ChannelFigures]:
    """The channels whose boxes suit them; what else would be said of the others follows from `line-mismatch`."""
    return [channel for channel in figures.channels.values() if _suits(channel)]


def _suits(channel: ChannelFigures) -> bool:
    lined = line_volt(channel.gear) is not None
    return all(box.box.tapped == lined for box in channel.boxes)


# ---- too low a load -------------------------------------------------------------------------------------------------


def load_too_low(figures: Figures) -> Iterable[Finding]:
    """The load of a channel, of a half of a bridged pair or of the pair lies below what the amplifier stands."""
    for channel in (*suited(figures), *filter(_suits, figures.aside.values())):
        volt = line_volt(channel.gear)
        if volt is not None:
            yield from _line_overloaded(channel, volt)
            continue
        limit, pair = channel.limit, channel.bridge_limit
        if channel.halves and limit is not None:
            worst, least_ohm = min(channel.least_halves, key=lambda half: half[1])
            if least_ohm < judged(limit, 1):
                yield _half_low(figures, channel, worst, least_ohm, limit)
                continue
        elif limit is not None and channel.least_seen_ohm < judged(limit, 1):
            yield _low(figures, channel, channel.least_seen_ohm, limit, f"{channel.key} works into {{}}")
            continue
        if pair is not None and channel.least_seen_ohm < judged(pair, 1):
            yield _low(figures, channel, channel.least_seen_ohm, pair, f"{channel.key} works into {{}}")


def _half_low(figures: Figures, channel: ChannelFigures, half: str, ohm: float, limit: Measure) -> Finding:
    """One half of a bridged pair sees too little: half of what hangs across, or that beside a load of its own."""
    across = channel.least_seen_ohm
    own = figures.channels.get(f"{channel.gear.full}.{half}")
    if own is None:
        said = f"half of the {show(across, 'resistance')} across the bridge"
        return _low(figures, channel, ohm, limit, f"each half of {channel.key} sees {{}} ({said})")
    said = f"{show(across / 2, 'resistance')} from the bridge beside {show(own.load_ohm, 'resistance')} of its own"
    what = f"channel {half} of the bridge {channel.key} sees {{}} ({said})"
    return _low(figures, channel, ohm, limit, what, beside=own)


def _low(
    figures: Figures,
    channel: ChannelFigures,
    ohm: float,
    limit: Measure,
    what: str,
    beside: ChannelFigures | None = None,
) -> Finding:
    """The finding for ``ohm``, the least that is seen; it is certain if the most that may be seen is too little too."""
    most = ohm * channel.most_seen_ohm / channel.least_seen_ohm  # halves move as the whole
    possible = most >= judged(limit, -1)
    computed, allowed = show_pair(ohm, limit.high if possible else limit.value, "resistance")
    assumes = [channel.limit_assumed] if channel.limit_assumed and limit is channel.limit else []
    boxes = (*channel.boxes, *(beside.boxes if beside else ()))
    said = what.replace("works into", "may work into").replace("sees", "may see") if possible else what
    dominant = decides(figures, channel, lambda network: network.load_ohm, ((limit, limit.high - limit.low),))
    plain = not (figures.trace.runs[channel.key].splits or channel.halves or beside)
    odd = _odd_one(channel.boxes, 1 / judged(limit)) if plain else None
    uncertain = f", at most {show(most, 'resistance')}" if most > ohm * 1.0001 else ""
    return Finding(
        "load-too-low",
        odd.box.arrival.sink.span if odd else channel.output.span,
        f"{said.format(computed)}, less than the {allowed} it stands",
        label=f"without {odd.key} the others would fit" if odd else f"{computed} here",
        related=(
            *([Label(channel.output.span, f"{computed} here")] if odd else []),
            Label(limit.span, f"this sets the limit: {limit.text}"),
            *hung(boxes),
            *declared(boxes),
            *dominant.labels,
        ),
        computed=computed + uncertain + _made_of(figures, channel, beside),
        allowed=f"at least {allowed}",
        assumes=tuple(assumes),
        help=_lighter(channel, limit),
        subject=channel.key,
        possible=possible,
        decides=dominant.text,
    )


def _odd_one(boxes: Sequence[BoxFigures], most_siemens: float) -> BoxFigures | None:
    """The one of several boxes in parallel without which the others would fit, where that is so of no other."""
    each = {box.key: 1 / (box.box.impedance_ohm or 1e12) for box in boxes}
    left = sum(each.values())
    cures = [box for box in boxes if left - each[box.key] <= most_siemens * 1.0001]
    return cures[0] if len(cures) == 1 and len(boxes) > 2 else None


def _made_of(figures: Figures, channel: ChannelFigures, beside: ChannelFigures | None) -> str:
    """How a plain parallel load comes about, in words; nothing where it is less plain than that."""
    run = figures.trace.runs[channel.key]
    if run.splits or channel.halves or beside or len(channel.boxes) < 2:
        return ""
    counts: dict[str, int] = {}
    for box in channel.boxes:
        ohm = show(box.box.impedance_ohm or 0.0, "resistance")
        counts[ohm] = counts.get(ohm, 0) + 1
    boxes = " and ".join(f"{count} box{'' if count == 1 else 'es'} of {ohm}" for ohm, count in counts.items())
    leads = any(lead.loop_ohm > 0 for lead in channel.leads)
    return f": {boxes} in parallel{' and their leads' if leads else ''}"


def _lighter(channel: ChannelFigures, limit: Measure) -> str:
    """What would bring the load back: with equal boxes in parallel, how many the channel carries."""
    advice = "move boxes to another channel, use boxes of a higher impedance, or an amplifier with a lower least load"
    loads = {round(box.box.impedance_ohm or 0.0, 6) for box in channel.boxes}
    if len(loads) != 1 or len(channel.boxes) < 2:
        return advice
    each = loads.pop()
    seen = 2 if channel.halves else 1
    fit = int(each / (judged(limit) * seen) + 1e-9)
    if 0 < fit < len(channel.boxes):
        return (
            f"{advice}; {fit} of these {show(each, 'resistance')} boxes would fit here, {len(channel.boxes)} hang on it"
        )
    return advice


def _line_overloaded(channel: ChannelFigures, volt: float) -> Iterable[Finding]:
    points = rated_points(channel.gear, "all")
    if not points:
        return
    rated = max(point.power_w for point in points)
    ends = tap_ends([box.box for box in channel.boxes], volt)
    if ends.most_w <= rated * 1.0001:
        return
    possible = ends.least_w <= rated * 1.0001
    drawn = volt * volt * sum(1 / (box.box.impedance_ohm or 1e12) for box in channel.boxes)
    computed, allowed = show_pair(ends.most_w if possible else drawn, rated, "power")
    decided = dominant(ends.moved) if possible else Dominant()
    given = next(m for each in channel.gear.facts["rated"].entries if (m := each.get("power")))
    places = {box.box.arrival.sink.span: box.key for box in channel.boxes}
    count = len(channel.boxes)
    odd = _odd_one(channel.boxes, rated / volt**2)
    tap = odd.box.impedance if odd else None
    yield Finding(
        "load-too-low",
        tap.span if tap else channel.output.span,
        f"the line on {channel.key} {'may take' if possible else 'takes'} {computed}, more than the {allowed} it gives",
        label=f"without {odd.key} the others would fit"
        if odd
        else f"{count} tap{'' if count == 1 else 's'}, {computed} together",
        related=(
            *([Label(channel.output.span, f"{count} taps, {computed} together")] if tap else []),
            Label(given.span, f"this sets the limit: {given.text}"),
            *(Label(span, f"{key} hangs here") for span, key in list(places.items())[:4]),
            *declared(channel.boxes),
            *decided.labels,
        ),
        assumes=taps_alone(box.box for box in channel.boxes),
        computed=f"{computed} at {show(volt, 'voltage')}, a load of {show(channel.load_ohm, 'resistance')}",
        allowed=f"at most {allowed}",
        help="set lower taps, or move boxes to another channel",
        subject=channel.key,
        authority=_SUM_OF_TAPS,
        possible=possible,
        decides=decided.text,
    )


# ---- boxes and lines ------------------------------------------------------------------------------------------------


def line_mismatch(figures: Figures) -> Iterable[Finding]:
    """A low-impedance box across a distributed line, or a box with a tap on an ordinary amplifier."""
    for channel in figures.channels.values():
        volt = line_volt(channel.gear)
        for box in channel.boxes:
            ohm = box.box.impedance_ohm or 0.0
            if volt is not None and not box.box.tapped:
                computed = f"{show(volt * volt / ohm, 'power')} into this box at full output"
                yield _across_line(channel, box.key, box.box.arrival, f" of {show(ohm, 'resistance')}", computed)
            elif volt is None and box.box.tapped and box.box.impedance is not None:
                computed = f"{show(box.rated_w, 'power')} at rated output" if box.rated_w else ""
                places = (Label(box.box.impedance.span, f"its tap: {box.box.impedance.text}"),)
                what = f"{box.key} is tapped for a line and hangs on {channel.key}, which drives none"
                label = f"a load of {show(ohm, 'resistance')}"
                yield _without_line(channel.output.gear, box.box.arrival, what, label, places, computed)
            elif volt is not None and (made_for := tap_volt(box.box.gear)) and volt > made_for.value * LINE_SPREAD:
                yield _overdriven(channel, box, volt, made_for)


def _overdriven(channel: ChannelFigures, box: BoxFigures, volt: float, made_for: Measure) -> Finding:
    """A box for a lower line voltage: each of its taps takes more than it says."""
    amp, gear = channel.gear, box.box.gear
    line = amp.measure("line", "voltage")
    assert line is not None
    return Finding(
        "line-mismatch",
        box.box.arrival.sink.span,
        f"{box.key} is made for a {show(made_for.value, 'voltage')} line and hangs on one of {show(volt, 'voltage')}",
        label="takes more than its tap says",
        related=(
            Label(made_for.span, f"made for {made_for.text}"),
            Label(line.span, f"{amp.full} drives a line of {line.text}"),
            Label(gear.span, f"{kind_of(gear)} is made for {made_for.text}"),
        ),
        computed=f"{show(volt * volt / (box.box.impedance_ohm or 1e12), 'power')} into this box at full output,"
        f" {(volt / exact_volt(made_for.value)) ** 2:.2g} times its tap",
        allowed=f"a line of {made_for.text}",
        help=f"use a box made for {line.text}, or feed it from a line of {made_for.text}",
        subject=gear.full,
    )


def _across_line(channel: ChannelFigures, key: str, arrival: Arrival, load: str, computed: str) -> Finding:
    amp, gear = channel.gear, arrival.sink.gear
    line = amp.measure("line", "voltage")
    assert line is not None
    return Finding(
        "line-mismatch",
        arrival.sink.span,
        f"{key}{load} hangs across a {show(line.value, 'voltage')} line",
        label="no tap is set" if gear.says("taps") else "no line transformer",
        related=(
            Label(line.span, "this makes it a line"),
            Label(amp.span, f"{kind_of(amp)} drives a line of {line.text}"),
            Label(gear.span, f"{kind_of(gear)} {'has taps' if 'taps' in gear.facts else 'has no line transformer'}"),
        ),
        computed=computed,
        allowed="a box with a line transformer, set to a tap",
        help=f"{_set_a_tap(gear)}; or feed it from an ordinary channel",
        subject=gear.full,
    )


def _set_a_tap(gear: Gear) -> str:
    taps = [power.text for each in entries(gear.facts, "taps") if (power := each.get("power"))]
    if not taps:
        return "use a box with a line transformer, and set its tap"
    return f"set one of its taps, {', '.join(taps)}: `{{ tap {taps[0]} }}`"


def _without_line(
    amp: Gear, arrival: Arrival, what: str, label: str, places: tuple[Label, ...], computed: str
) -> Finding:
    gear = arrival.sink.gear
    return Finding(
        "line-mismatch",
        arrival.sink.span,
        what,
        label=label,
        related=(
            *places,
            Label(amp.span, f"{kind_of(amp)} drives no line"),
            Label(gear.span, f"{kind_of(gear)} is tapped for a line"),
        ),
        computed=computed,
        allowed="an amplifier with `line 100 V` or `line 70.7 V` in its data",
        help="feed it from a line amplifier, or use a box without a transformer",
        subject=gear.full,
    )


RULES = (
    Rule(
        name="load-too-low",
        severity=Severity.ERROR,
        summary="an amplifier works into a lower load than it stands",
        reason="it overheats, cuts out in the middle of the show, or fails",
        limit="the least load in its data; of each half where it is bridged; the rated power of a line",
        authority="the amplifier's data sheet, as the stock gives it; rated impedance held against rated load, IEC"
        " 60268-3, from memory",
        cure="move boxes to another channel or use boxes of a higher impedance",
        bad="amp a is twin\nspeaker s[1..3] is sub\na.1 -> lead 4 mm2 2 m -> s[1..3] linked 4 mm2 1 m\n",
        good="amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 4 mm2 2 m -> s[1..2] linked 4 mm2 1 m\n",
        check=load_too_low,
    ),
    Rule(
        name="line-mismatch",
        severity=Severity.ERROR,
        summary="a box does not suit the line it hangs on",
        reason="a low-impedance box across a line burns, and the amplifier with it; a tapped one elsewhere is barely"
        " heard",
        limit="tapped boxes on line amplifiers, others on ordinary ones",
        authority="common practice, no source; the load of a tap is V^2/P",
        cure="put the box where it belongs",
        bad="amp a is street\nspeaker b is box\na.1 -> lead 1.5 mm2 30 m -> b\n",
        good="amp a is street\nspeaker h is horn { tap 15 W }\na.1 -> lead 1.5 mm2 30 m -> h\n",
        check=line_mismatch,
    ),
)
