"""Rules about distributed lines: room in their amplifiers, bass in their transformers, taps that give too little."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.lines import LineChannel, TapFigures, tap_ends, taps_alone
from rigspec.figures.load import tap_volt
from rigspec.rig.model import entries, members
from rigspec.rules.bounds import at_least
from rigspec.rules.certainty import Dominant, dominant
from rigspec.rules.limiting import channel_order
from rigspec.rules.places import declared, filters, kind_of
from rigspec.rules.rule import Rule
from rigspec.solve.decibel import power_ratio_to_gain
from rigspec.solve.line import HEADROOM, HIGH_PASS_FROM_HZ, HIGH_PASS_TO_HZ, most_taps_w, tap_takes_w
from rigspec.text.finding import Finding, Label, Severity, few
from rigspec.text.units import show, show_pair

SHORT_OF_TAP = 0.6  # a tap made for 100 V takes half on a line of 70.7 V, and 64 % at 80 V is still near it
_HIGH_PASS = f"{HIGH_PASS_FROM_HZ:g} to {HIGH_PASS_TO_HZ:g} Hz"


def _lines(figures: Figures) -> Iterable[LineChannel]:
    """The lines on which nothing but tapped loudspeakers hang; what hangs wrong there is told by `line-mismatch`."""
    for line in figures.lines.channels.values():
        if len(line.taps) == len(line.channel.boxes):
            yield line


# ---- room in the amplifier ------------------------------------------------------------------------------------------


def line_full(figures: Figures) -> Iterable[Finding]:
    """The taps of a line leave less than a fifth of the amplifier's rated power; beyond that it is overloaded."""
    for line in _lines(figures):
        rated_w = line.rated_w
        if rated_w is None:
            continue
        ends = tap_ends([tap.box.box for tap in line.taps], line.line_volt)
        if ends.most_w > rated_w * 1.0001 or ends.most_w <= most_taps_w(rated_w) * 1.0001:
            continue
        channel = line.channel
        possible = ends.least_w <= most_taps_w(rated_w) * 1.0001
        taps_w = ends.most_w if possible else line.taps_w
        decided = dominant(ends.moved) if possible else Dominant()
        rated = channel.gear.facts["rated"]
        computed, allowed = show_pair(taps_w, most_taps_w(rated_w), "power")
        count, less = len(line.taps), at_least(ends.most_w - most_taps_w(rated_w), "power")
        yield Finding(
            "line-full",
            channel.output.span,
            f"the taps on {channel.key} {'may take' if possible else 'take'} {computed} of its"
            f" {show(rated_w, 'power')}, and leave less than"
            f" {HEADROOM:.0%} of it free",
            label=f"{count} tap{'' if count == 1 else 's'}, {computed} together",
            related=(
                Label(rated.span, f"its rated output: {rated.entries[0].span.text}"),
                *declared(channel.boxes),
                *decided.labels,
            ),
            computed=f"{computed}, {taps_w / rated_w:.0%} of its rated output",
            allowed=f"at most {allowed}",
            assumes=taps_alone(box.box for box in channel.boxes),
            help=f"set lower taps, {less} less together, or leave it so if nothing is to be added",
            subject=channel.key,
            possible=possible,
            decides=decided.text,
        )


# ---- bass in line transformers --------------------------------------------------------------------------------------


def line_bass(figures: Figures) -> Iterable[Finding]:
    """Deep bass comes to line transformers, with no high-pass on its way; one finding for the channels of one row."""
    rows: dict[str, list[LineChannel]] = {}
    for line in _lines(figures):
        if line.signal and (line.low_hz is None or line.low_hz < HIGH_PASS_FROM_HZ * 0.9999):
            rows.setdefault(line.channel.gear.name, []).append(line)
    for found in rows.values():
        found.sort(key=lambda each: (each.low_hz or 0.0, channel_order(each.channel)))
        line = found[0]
        channel = line.channel
        what = "everything" if line.low_hz is None else f"what is above {show(line.low_hz, 'frequency')}"
        others = [each.channel.key for each in found if each is not line]
        also = f"; so {'does' if len(others) == 1 else 'do'} {few(others)}" if others else ""
        yield Finding(
            "line-bass",
            channel.output.span,
            f"the line on {channel.key} gets {what}, and its transformers saturate in deep bass{also}",
            label="no high-pass on its way" if line.low_hz is None else f"from {show(line.low_hz, 'frequency')} on",
            related=(*filters(figures, channel.key, channel.key), *declared(channel.boxes, most=2)),
            computed="no high-pass" if line.low_hz is None else show(line.low_hz, "frequency"),
            allowed=f"a high-pass at {_HIGH_PASS} or above",
            assumes=("where a feed has no `band` and no filter stands on the way, everything comes through",),
            help=f"set one: `{channel.gear.full} {{ high-pass {HIGH_PASS_TO_HZ:g} Hz 12 dB/octave butterworth }}`; or"
            " give the feed its `band` where what comes in ends there already",
            subject=channel.key,
        )


# ---- taps that give too little --------------------------------------------------------------------------------------


def tap_short(figures: Figures) -> Iterable[Finding]:
    """A loudspeaker takes far less than its tap says: it is made for a higher line, or the line never gets there."""
    for line in _lines(figures):
        rows: dict[tuple[int, float], list[TapFigures]] = {}
        for tap in line.taps:
            if tap.asks_w < tap.tap_w * SHORT_OF_TAP:
                rows.setdefault((id(tap.box.box.gear.kind), tap.tap_w), []).append(tap)
        for found in rows.values():
            found.sort(key=lambda tap: (tap.box.box.gear.name, tap.box.box.gear.number or 0))
            yield _made_for_more(line, found)
        rated_volt = line.channel.rated_volt
        if rated_volt is not None and (rated_volt / line.line_volt) ** 2 < SHORT_OF_TAP and not rows:
            yield _line_low(line, rated_volt)


def _made_for_more(line: LineChannel, found: list[TapFigures]) -> Finding:
    tap, channel = found[0], line.channel
    gear = tap.box.box.gear
    said, amp_line = tap_volt(gear), channel.gear.measure("line", "voltage")
    computed, allowed = show_pair(tap.asks_w, tap.tap_w, "power")
    names = members(each.box.box.gear for each in found)
    lost = show(power_ratio_to_gain(tap.tap_w / tap.asks_w), "gain")
    made_for, volt = show(tap.made_for_volt, "voltage"), show(line.line_volt, "voltage")
    labels = [Label(m.span, text) for m, text in ((said, f"made for {made_for}"), (amp_line, f"a line of {volt}")) if m]
    powers = sorted(p.value for each in entries(gear.facts, "taps") if (p := each.get("power")))
    higher = next((p for p in powers if tap_takes_w(p, tap.made_for_volt, line.line_volt) >= tap.tap_w * 0.99), None)
    raise_it = f"set the {show(higher, 'power')} tap, or " if higher else ""
    return Finding(
        "tap-short",
        tap.box.box.arrival.sink.span,
        f"{names} take{'s' if len(found) == 1 else ''} {computed} at the {allowed} tap, made for {made_for} on a line"
        f" of {volt}",
        label=f"{lost} quieter than the tap says",
        related=(*labels, *declared([each.box for each in found], most=1)),
        computed=f"{computed} at full output",
        allowed=f"{allowed}, as the tap says",
        help=f"{raise_it}use a {kind_of(gear)} made for {volt}; if it is meant to be quieter, say so with `allow`",
        subject=gear.full,
    )


def _line_low(line: LineChannel, rated_volt: float) -> Finding:
    channel = line.channel
    computed, allowed = show_pair(rated_volt, line.line_volt, "voltage")
    amp_line = channel.gear.measure("line", "voltage")
    rated = channel.gear.facts["rated"]
    labels = [Label(amp_line.span, f"said to drive a line of {amp_line.text}")] if amp_line else []
    share = (rated_volt / line.line_volt) ** 2
    return Finding(
        "tap-short",
        channel.output.span,
        f"{channel.key} gives {computed} at its rated output, so every tap on this {allowed} line takes {share:.0%} of"
        " what it says",
        label=f"{show(-power_ratio_to_gain(share), 'gain')} quieter than the taps say",
        related=(*labels, Label(rated.span, f"its rated output: {rated.entries[0].span.text}")),
        computed=f"{computed} into {show(channel.load_ohm, 'resistance')}",
        allowed=f"{allowed}, the voltage of its line",
        assumes=channel.rated_assumes,
        help="use an amplifier that reaches the voltage of the line, a transformer behind it, or set higher taps",
        subject=channel.key,
        follows=((("load-too-low", channel.key),),),  # too many taps pull it down
    )


RULES = (
    Rule(
        name="line-full",
        severity=Severity.ADVICE,
        summary="the taps of a line leave nothing free in its amplifier",
        reason="losses of the transformers and their least impedance come on top, and nothing can be added",
        limit="80 % of the amplifier's rated power",
        authority="common practice, no source; the sum of the taps: EIA SE-101-A, as public pages reproduce it",
        cure="set lower taps",
        bad="amp a is street\nspeaker h[1..7] is horn { tap 30 W }\n"
        "a.1 -> lead 2.5 mm2 9 m -> h[1..7] linked 2.5 mm2 5 m\n",
        good="amp a is street\nspeaker h[1..6] is horn { tap 30 W }\n"
        "a.1 -> lead 2.5 mm2 9 m -> h[1..6] linked 2.5 mm2 5 m\n",
        check=line_full,
    ),
    Rule(
        name="line-bass",
        severity=Severity.WARNING,
        summary="deep bass comes to line transformers",
        reason="their cores saturate: they turn into a short, the amplifier protects itself, and everything distorts",
        limit=f"a high-pass at {_HIGH_PASS}",
        authority="common practice, no source",
        cure="set a high-pass",
        bad="feed f { level 0 dBu; peak 2 dBu }\namp a is street\nspeaker h is horn { tap 15 W }\n"
        "f -> a.1 -> lead 1.5 mm2 30 m -> h\n",
        good="feed f { level 0 dBu; peak 2 dBu }\namp a is street { high-pass 80 Hz 12 dB/octave butterworth }\n"
        "speaker h is horn { tap 15 W }\nf -> a.1 -> lead 1.5 mm2 30 m -> h\n",
        check=line_bass,
    ),
    Rule(
        name="tap-short",
        severity=Severity.ADVICE,
        summary="a loudspeaker takes far less than its tap says",
        reason="it is quieter than was planned, and nobody sees why",
        limit="60 % of the tap's power: a tap made for 100 V takes half on a line of 70.7 V",
        authority="a tap takes P (V/V made for)^2: Ohm's law, EIA SE-101-A",
        cure="set a higher tap, or use one made for this line",
        bad="amp a is street { line 70.7 V; rated 240 W at 70.7 V }\nspeaker h is horn { tap 15 W }\n"
        "a.1 -> lead 1.5 mm2 30 m -> h\n",
        good="amp a is street\nspeaker h is horn { tap 15 W }\na.1 -> lead 1.5 mm2 30 m -> h\n",
        check=tap_short,
    ),
)
