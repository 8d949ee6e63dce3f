"""Rules about power: what a loudspeaker gets, and what it stands."""

from __future__ import annotations

from collections.abc import Iterable
from math import sqrt

from attrs import evolve, frozen

from rigspec.figures import BoxFigures, ChannelFigures, Figures
from rigspec.finding import Finding, Label, Severity
from rigspec.rig import Measure
from rigspec.rules.loads import suited
from rigspec.rules.places import declared
from rigspec.rules.rule import Rule
from rigspec.signal import amplifier_gain_db
from rigspec.solve.decibel import power_ratio_to_gain, ratio_to_gain, volt_to_dbu
from rigspec.units import show, show_pair
from rigspec.value import Value

PEAK_OVER_CONTINUOUS = 4.0  # crest factor 2, IEC 60268-1 programme noise as used by IEC 60268-5 (from memory)
PROGRAMME_OVER_CONTINUOUS = 2.0  # common practice, no source

_TIMES = {1.0: "the", 2.0: "twice the", 4.0: "four times the"}


@frozen(eq=False, repr=False)
class _Excess(Value):
    """More than a loudspeaker stands: watts it gets, watts that the feed asks for, and the rating ``times`` a factor.

    ``told``: the feed's level is known; else the amplifier's rated output stands for it.
    """

    rule: str
    watt: float
    wanted_w: float
    limit: Measure
    times: float
    told: bool
    assumes: tuple[str, ...]

    @property
    def allowed_w(self) -> float:
        return self.limit.value * self.times

    @property
    def ratio(self) -> float:
        return self.watt / self.allowed_w


def _continuous(box: BoxFigures) -> _Excess | None:
    limit = box.continuous
    if limit is None or limit.value <= 0:
        return None
    if box.nominal_w is not None:
        wanted_w = max(box.nominal_wanted_w or 0.0, box.nominal_w)
        found = _Excess("box-over-continuous", box.nominal_w, wanted_w, limit, 1.0, True, ())
    elif box.rated_w is not None:
        assumes = (
            "no level of a feed is known here, so the amplifier's rated output is held against twice the continuous"
            " rating (programme; common practice, no source)",
        )
        times = PROGRAMME_OVER_CONTINUOUS
        found = _Excess("box-over-continuous", box.rated_w, box.rated_w, limit, times, False, assumes)
    else:
        return None
    return found if found.ratio > 1.0001 else None


def _peak(box: BoxFigures) -> _Excess | None:
    limit, times = box.peak, 1.0
    assumes: tuple[str, ...] = ()
    if limit is None and box.continuous is not None:
        limit, times = box.continuous, PEAK_OVER_CONTINUOUS
        assumes = (
            "no peak rating is given: four times the continuous one stands for it; crest factor 2, IEC 60268-5,"
            " from memory",
        )
    if limit is None or limit.value <= 0:
        return None
    if box.peak_w is not None:
        wanted_w = max(box.peak_wanted_w or 0.0, box.peak_w)
        found = _Excess("box-over-peak", box.peak_w, wanted_w, limit, times, True, assumes)
    elif box.rated_w is not None:
        assumes += ("no peak level of a feed is known here: the amplifier's rated output stands for it",)
        found = _Excess("box-over-peak", 2 * box.rated_w, 2 * box.rated_w, limit, times, False, assumes)
    else:
        return None
    return found if found.ratio > 1.0001 else None


def _both(box: BoxFigures) -> tuple[_Excess | None, _Excess | None]:
    """What is over, with one finding for one cause: what rests on the amplifier alone is told once, by the worse."""
    mean, peak = _continuous(box), _peak(box)
    if mean is None or peak is None or (mean.told and peak.told):
        return mean, peak
    if mean.told or mean.ratio >= peak.ratio:
        return mean, None
    return None, peak


def box_over_continuous(figures: Figures) -> Iterable[Finding]:
    """More mean power than a loudspeaker stands: at the feed's level, or by the amplifier alone where none is given."""
    return _worst_of_each(figures, 0)


def box_over_peak(figures: Figures) -> Iterable[Finding]:
    """A higher peak than a loudspeaker stands."""
    return _worst_of_each(figures, 1)


def _worst_of_each(figures: Figures, which: int) -> Iterable[Finding]:
    """One finding for the boxes of one kind on one channel: the worst of them speaks for all."""
    for channel in suited(figures):
        kinds: dict[tuple[int, str], list[tuple[_Excess, BoxFigures]]] = {}
        for box in channel.boxes:
            excess = _both(box)[which]
            if excess is not None:
                kinds.setdefault((id(box.box.gear.kind), box.box.way), []).append((excess, box))
        for found in kinds.values():
            found.sort(key=lambda each: -each[0].ratio)
            excess, worst = found[0]
            finding = _over(channel, worst, excess)
            others = tuple(
                Label(box.box.arrival.sink.span, f"{box.key} likewise")
                for _, box in found[1:4]
                if box.box.arrival.sink.span != finding.span
            )
            yield evolve(finding, related=finding.related + others + tuple(declared(box for _, box in found)))


def _over(channel: ChannelFigures, box: BoxFigures, excess: _Excess) -> Finding:
    computed, allowed = show_pair(excess.watt, excess.allowed_w, "power")
    rating = allowed if excess.times == 1 else show(excess.limit.value, "power")
    times = _TIMES[excess.times]
    at = f"at the feed's {'peak ' if excess.rule == 'box-over-peak' else ''}level"
    what = at if excess.told else "with the amplifier at its rated output"
    clips = excess.told and excess.wanted_w > excess.watt * 1.0001
    if clips:
        what += " (the amplifier clips)"
    asked = f"; the feed asks for {show(excess.wanted_w, 'power')}, and the amplifier is at its limit" if clips else ""
    return Finding(
        excess.rule,
        box.box.arrival.sink.span,
        f"{box.key} gets {computed} {what}, more than {times} {rating} it stands",
        label=f"{computed} here",
        related=(Label(excess.limit.span, f"this sets the limit: {excess.limit.text}"),),
        computed=f"{computed} ({box.channel}){asked}",
        allowed=f"at most {allowed}" if excess.times == 1 else f"at most {allowed}, {times} {rating} it stands",
        assumes=excess.assumes + (channel.level_assumes if excess.told else ()),
        help=_turned_down(box, excess) if excess.told else _made_known(channel, box, excess),
        subject=box.key,
    )


def _turned_down(box: BoxFigures, excess: _Excess) -> str:
    over_db = show(power_ratio_to_gain(excess.wanted_w / excess.allowed_w), "gain")
    return f"turn {box.channel} down by {over_db} (attenuator, pad or feed level), or limit it in the processor"


def _made_known(channel: ChannelFigures, box: BoxFigures, excess: _Excess) -> str:
    """Where no level is known turning down cures nothing: the level is to be said, or the channel to be limited."""
    if not channel.parts:
        say = f"say what feeds {box.channel}, with its `level` and `peak`, so that it can be judged"
    elif excess.rule == "box-over-peak" and box.nominal_w is not None:
        say = f"say the `peak` of {_feeds(channel)}, so that it can be judged"
    elif any(part.gain_db is None for part in channel.parts):
        unknown = next(part.unknown for part in channel.parts if part.gain_db is None)
        say = f"say what is not known ({unknown or 'a gain on the way'}), so that it can be judged"
    else:
        say = f"say the `level` and `peak` of {_feeds(channel)}, so that it can be judged"
    peak = excess.rule == "box-over-peak"
    watt = excess.limit.value * (excess.times / 2 if peak else 1.0)  # a sine's peak is twice its mean power
    volt = sqrt(watt * (box.box.impedance_ohm or 0.0)) / box.share_volt if box.share_volt else 0.0
    gain_db, _ = amplifier_gain_db(channel.gear, channel.output.port.split("+")[0])
    at_input = ""
    if gain_db is not None and volt > 0:
        bridged_db = ratio_to_gain(2.0) if "+" in channel.output.port else 0.0
        at_input = f" ({show(volt_to_dbu(volt) - gain_db - bridged_db, 'level')} at its input)"
    limit = f"limit {box.channel} at {show(volt, 'voltage')} rms{at_input}"
    return f"{say}; or {limit} and say so with `allow`, since a limiter is not computed here"


def _feeds(channel: ChannelFigures) -> str:
    return " and ".join(dict.fromkeys(part.feed for part in channel.parts))


RULES = (
    Rule(
        "box-over-continuous",
        Severity.ERROR,
        "a loudspeaker gets more mean power than it stands",
        "the voice coil burns out within minutes",
        "its continuous rating at the feed's level; twice that for the amplifier alone where no level is known",
        "the loudspeaker's data sheet, as the stock gives it; IEC 60268-5, from memory",
        "turn the channel down or limit it",
        "feed f { level 4 dBu; peak 4 dBu }\namp a is twin\nspeaker b is box { rated 200 W continuous, 800 W peak }\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        "feed f { level -4 dBu; peak 4 dBu }\namp a is twin\nspeaker b is box { rated 200 W continuous, 800 W peak }\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        box_over_continuous,
    ),
    Rule(
        "box-over-peak",
        Severity.ERROR,
        "a loudspeaker gets higher peaks than it stands",
        "cone or diaphragm travel too far and tear",
        "its peak rating, or four times its continuous one, at the feed's peak level",
        "the loudspeaker's data sheet; peak over continuous by crest factor 2; IEC 60268-5, from memory",
        "turn the channel down or limit its peaks",
        "feed f { level -4 dBu; peak 14 dBu }\namp a is twin\nspeaker b is box { rated 200 W continuous, 800 W peak }\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        "feed f { level -4 dBu; peak 4 dBu }\namp a is twin\nspeaker b is box { rated 200 W continuous, 800 W peak }\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        box_over_peak,
    ),
)
