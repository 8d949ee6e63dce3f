"""Rules about amplifiers that are too large or too small for the loudspeakers on them."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import BoxFigures, ChannelFigures, Figures
from rigspec.figures.protection import ChannelProtection
from rigspec.rig.model import Measure
from rigspec.rules.bounds import at_least, at_most
from rigspec.rules.limiting import channel_order
from rigspec.rules.loads import suited
from rigspec.rules.places import declared
from rigspec.rules.powers import PROGRAMME_OVER_CONTINUOUS, over_ratings
from rigspec.rules.rule import Rule
from rigspec.solve.decibel import dbu_to_volt, power_ratio_to_gain
from rigspec.text.finding import Finding, Label, Severity, few
from rigspec.text.units import show, show_pair
from rigspec.text.value import gathered

ROUNDED = 1.05  # ratings are round figures (common practice, no source)
LEAST_OF_CONTINUOUS = 0.25  # 6 dB: below that most of what a loudspeaker can do stays out of reach (common practice)


def amp_too_strong(figures: Figures) -> Iterable[Finding]:
    """An amplifier can give more than twice what its weakest loudspeaker stands for long, and no limiter is set."""
    over = over_ratings(figures)
    for row in _rows(figures):
        found: list[tuple[float, ChannelProtection, BoxFigures, Measure]] = []
        for channel in row:
            protection = figures.protection.channels[channel.key]
            weakest = protection.rms
            if weakest is None or protection.limiters or channel.nominal_volt is None or not protection.ceilings:
                continue
            if channel.key in over:
                continue  # then that is the finding
            volt = dbu_to_volt(min(dbu for dbu, _ in protection.ceilings))
            times = (volt / weakest.volt) ** 2
            if times > PROGRAMME_OVER_CONTINUOUS * ROUNDED:
                found.append((times, protection, weakest.box, weakest.rating))
        if found:
            found.sort(key=lambda each: (-round(each[0], 6), channel_order(each[1].channel)))
            yield _strong(found)


def _rows(figures: Figures) -> Iterable[list[ChannelFigures]]:
    """The channels of one row of amplifiers: what is true of one of them was meant for all."""
    rows = gathered(suited(figures), lambda channel: channel.gear.name)
    return rows.values()


def _others(keys: list[str]) -> str:
    return f"; so it is with {few(keys)}" if keys else ""


def _strong(found: list[tuple[float, ChannelProtection, BoxFigures, Measure]]) -> Finding:
    times, protection, box, rating = found[0]
    channel = protection.channel
    computed, allowed = show_pair(times * rating.value, PROGRAMME_OVER_CONTINUOUS * rating.value, "power")
    most, ceiling = min(protection.ceilings)
    return Finding(
        "amp-too-strong",
        channel.output.span,
        f"{channel.key} can give {box.key} {computed}, {times:.2g} times the {rating.text} it stands for long, and no"
        f" limiter is set{_others([each[1].channel.key for each in found[1:]])}",
        label=f"{show(dbu_to_volt(most), 'voltage')} at most: {ceiling}",
        related=(Label(rating.span, f"{box.key} stands {rating.text}"), *declared([box])),
        computed=f"{computed}, with a sine of {show(dbu_to_volt(most), 'voltage')} out of {channel.key}",
        allowed=f"at most {allowed} without a limiter, twice what it stands for long",
        help=_limiters(protection),
        subject=channel.key,
    )


def _limiters(protection: ChannelProtection) -> str:
    """The limiters to set, at the processor before the channel or at the channel itself."""
    levels = [protection.at_point_dbu(watches) for watches in ("rms", "peak")]
    where = protection.points[0].output.key if protection.points else protection.channel.key
    if not protection.points:
        levels = [protection.at_input_dbu(watches) for watches in ("rms", "peak")]
    if levels[0] is None or levels[1] is None:
        return f"set a limiter before {protection.channel.key}"
    rms, peak = (at_most(level, "level") for level in levels if level is not None)
    return f"set limiters, on {where} `limit {rms} rms` and `limit {peak} peak`; or use a smaller amplifier"


def amp_too_weak(figures: Figures) -> Iterable[Finding]:
    """An amplifier gives less than a quarter of what its loudspeakers stand, and nobody knows how loud it is driven."""
    for row in _rows(figures):
        found: list[tuple[float, ChannelFigures, BoxFigures, Measure]] = []
        for channel in row:
            if channel.nominal_volt is not None or channel.peak_volt is not None or not channel.parts:
                continue
            shares = [
                (box.rated_w / box.continuous.value, channel, box, box.continuous)
                for box in channel.boxes
                if box.rated_w is not None and box.continuous is not None and box.continuous.value > 0
            ]
            if shares and (most := max(shares, key=lambda each: each[0]))[0] < LEAST_OF_CONTINUOUS / ROUNDED:
                found.append(most)
        if found:
            found.sort(key=lambda each: (round(each[0], 6), channel_order(each[1])))
            yield _weak(found)


def _weak(found: list[tuple[float, ChannelFigures, BoxFigures, Measure]]) -> Finding:
    share, channel, box, rating = found[0]
    assert box.rated_w is not None  # it was judged by it
    computed, allowed = show_pair(box.rated_w, rating.value * LEAST_OF_CONTINUOUS, "power")
    short = show(-power_ratio_to_gain(share), "gain")
    return Finding(
        "amp-too-weak",
        channel.output.span,
        f"{channel.key} gives {box.key} {computed}, {share:.0%} of the {rating.text} it stands for long"
        f"{_others([each[1].key for each in found[1:]])}",
        label=f"clips {short} below what {box.key} stands",
        related=(Label(rating.span, f"{box.key} stands {rating.text}"), *declared([box])),
        computed=f"{computed} at its rated output",
        allowed=f"at least {allowed}, a quarter of {rating.text}, or levels that are known to need no more",
        assumes=channel.rated_assumes,
        help=f"say the `level` and `peak` of what feeds it, if that is enough; or use a larger amplifier:"
        f" {enough(channel, box)}",
        subject=channel.key,
    )


def larger(figures: Figures, channel: ChannelFigures) -> str:
    """The larger amplifier as a cure, where the loudspeakers of a channel stand more than twice what it gives."""
    weakest, clip_dbu = figures.protection.channels[channel.key].rms, figures.protection.channels[channel.key].clip_dbu
    if weakest is None or clip_dbu is None or weakest.dbu - clip_dbu < power_ratio_to_gain(2.0):
        return ""
    return f"; or use a larger amplifier: {enough(channel, weakest.box)}"


def enough(channel: ChannelFigures, box: BoxFigures) -> str:
    """How large an amplifier would drive a box to its continuous rating, into the load that the channel sees."""
    rating = box.continuous
    if rating is None or box.box.impedance_ohm is None or box.share_volt <= 0:
        return f"{box.key} stands more"
    watt = rating.value * box.box.impedance_ohm / box.share_volt**2 / channel.load_ohm
    ohm = show(channel.load_ohm, "resistance")
    return f"{at_least(watt, 'power')} into {ohm} would bring {box.key} the {rating.text} it stands for long"


RULES = (
    Rule(
        name="amp-too-strong",
        severity=Severity.ADVICE,
        summary="an amplifier can give far more than its loudspeakers stand, and no limiter is set",
        reason="one slip at the desk, a dropped microphone or feedback burns the loudspeaker",
        limit="twice the continuous rating of the weakest loudspeaker, whose sine has the peaks that crest factor 2"
        " allows; with the most that the amplifier, its input and the processors before it can give",
        authority="twice the continuous rating (programme): common practice, no source; crest factor 2: IEC 60268-5,"
        " from memory",
        cure="set the limiters that the finding names, or use a smaller amplifier",
        bad="feed f { level -14 dBu; peak -2 dBu }\namp a is twin\n"
        "speaker b is box { rated 200 W continuous, 800 W peak }\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f { level -14 dBu; peak -2 dBu }\namp a is twin { limit 2 dBu rms; limit 5 dBu peak }\n"
        "speaker b is box { rated 200 W continuous, 800 W peak }\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=amp_too_strong,
    ),
    Rule(
        name="amp-too-weak",
        severity=Severity.ADVICE,
        summary="an amplifier gives a small part of what its loudspeakers stand, and no level is known",
        reason="who wants what the loudspeakers can give drives it far into clipping, which sounds harsh and heats high"
        " frequency drivers",
        limit="a quarter of the continuous rating at the amplifier's rated output: 6 dB",
        authority="common practice, no source",
        cure="use a larger amplifier, or say the levels that are needed",
        bad="feed f\namp a is tiny\nspeaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n"
        "stock amp tiny { channels 2; rated 60 W at 8 ohm; gain 24 dB; input 20 kohm }\n",
        good="feed f { level 0 dBu; peak 4 dBu }\namp a is tiny\nspeaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n"
        "stock amp tiny { channels 2; rated 60 W at 8 ohm; gain 24 dB; input 20 kohm }\n",
        check=amp_too_weak,
    ),
)
