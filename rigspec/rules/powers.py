"""Rules about power: what a loudspeaker gets, and what it stands."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from math import inf, sqrt

from attrs import evolve, frozen

from rigspec.figures import BoxFigures, ChannelFigures, Figures
from rigspec.figures.limiters import SetLimiter
from rigspec.figures.protection import ChannelProtection
from rigspec.figures.signal import Level
from rigspec.rig.model import Measure
from rigspec.rules.bounds import at_least, at_most
from rigspec.rules.loads import suited
from rigspec.rules.places import declared
from rigspec.rules.power_ends import EXACT, DrivenRange, PowerRange, ends_of
from rigspec.rules.rule import Rule
from rigspec.solve.decibel import dbu_to_volt, gain_to_power_ratio, power_ratio_to_gain, volt_to_dbu
from rigspec.solve.limiter import peak_level_dbu
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show, show_pair
from rigspec.text.value import Value, once

PEAK_OVER_CONTINUOUS = 4.0  # crest factor 2, IEC 60268-1 programme noise as used by IEC 60268-5 (from memory)
PROGRAMME_OVER_CONTINUOUS = 2.0  # common practice, no source
ROUNDING = 1.0001  # breaks no limit
HELD_DB = 0.25  # half of the half decibel in which most limiters are set (common practice, no source)

_TIMES = {1.0: "the", 2.0: "twice the", 4.0: "four times the"}


@frozen(eq=False, repr=False)
class _Excess(Value):
    """More than a loudspeaker stands: watts it gets, watts that the feed asks for, and the rating ``times`` a factor.

    ``told``: the feed's level is known; else the amplifier's rated output stands for it, or what the limiter ``by``
    lets through. ``ends`` is how far tolerances and ranges may bring these watts and that rating from what is said;
    ``slacks`` is how far beyond the rating is let pass at the least of these watts and at the most.
    """

    rule: str
    watt: float
    wanted_w: float
    limit: Measure
    times: float
    told: bool
    assumes: tuple[str, ...]
    by: SetLimiter | None = None
    ends: PowerRange = EXACT
    slacks: tuple[float, float] = (ROUNDING, ROUNDING)

    @property
    def allowed_w(self) -> float:
        return self.limit.value * self.times

    @property
    def ratio(self) -> float:
        return self.watt / self.allowed_w

    @property
    def worth_telling(self) -> bool:
        return self.ratio * self.ends.most > self.slacks[1] * self.ends.weakest

    @property
    def possible(self) -> bool:
        """Is it only over its rating at the bad end of what the tolerances leave open?"""
        return self.ratio * self.ends.least <= self.slacks[0] * self.ends.strongest


def _continuous(box: BoxFigures, protection: ChannelProtection) -> _Excess | None:
    limit = box.continuous
    if limit is None or limit.value <= 0:
        return None
    channel = protection.channel
    if box.nominal_w is not None and channel.level is not None:
        wanted_w = max(box.nominal_wanted_w or 0.0, box.nominal_w)
        by = _holding(protection, channel.nominal_volt, ("rms", "peak"))
        driven = _driven(channel.level, False, box.nominal_w, wanted_w, box.rated_w)
        ends, slacks = ends_of(channel, box, limit, driven), _slacks(protection, driven, ("rms", "peak"))
        found = _Excess("box-over-continuous", box.nominal_w, wanted_w, limit, 1.0, True, (), by, ends, slacks)
    elif box.rated_w is not None:
        watt, by = _held(box, protection, box.rated_w, ("rms", "peak"))
        stands = "what the limiter lets through" if by else "the amplifier's rated output"
        assumes = (
            f"no level of a feed is known here, so {stands} is held against twice the continuous"
            " rating (programme; common practice, no source)",
        )
        ends, times = ends_of(channel, box, limit), PROGRAMME_OVER_CONTINUOUS
        found = _Excess("box-over-continuous", watt, watt, limit, times, False, assumes, by, ends, (_slack(by),) * 2)
    else:
        return None
    return found if found.worth_telling else None


def _peak(box: BoxFigures, protection: ChannelProtection) -> _Excess | None:
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
    channel = protection.channel
    if box.peak_w is not None and channel.peak is not None:
        wanted_w = max(box.peak_wanted_w or 0.0, box.peak_w)
        by = _holding(protection, channel.peak_volt, ("peak",))
        most_w = None if box.rated_w is None else 2 * box.rated_w  # a sine's peak power is twice its mean
        driven = _driven(channel.peak, True, box.peak_w, wanted_w, most_w)
        ends, slacks = ends_of(channel, box, limit, driven), _slacks(protection, driven, ("peak",))
        found = _Excess("box-over-peak", box.peak_w, wanted_w, limit, times, True, assumes, by, ends, slacks)
    elif box.rated_w is not None:
        watt, by = _held(box, protection, box.rated_w, ("peak",))
        stands = "what the limiter lets through" if by else "the amplifier's rated output"
        assumes += (f"no peak level of a feed is known here: {stands} stands for it",)
        ends = ends_of(channel, box, limit)
        slacks = (_slack(by),) * 2
        found = _Excess("box-over-peak", 2 * watt, 2 * watt, limit, times, False, assumes, by, ends, slacks)
    else:
        return None
    return found if found.worth_telling else None


def _held(
    box: BoxFigures, protection: ChannelProtection, watt: float, watching: tuple[str, ...]
) -> tuple[float, SetLimiter | None]:
    """The mean power of a sine that comes through the strictest limiter of a sort, if that is less than ``watt``."""
    limiters = [each for each in protection.limiters if each.watches in watching]
    strictest = min(limiters, key=lambda each: each.output_dbu, default=None)
    if strictest is None or not box.box.impedance_ohm:
        return watt, None
    held_w = (dbu_to_volt(strictest.output_dbu) * box.share_volt) ** 2 / box.box.impedance_ohm
    return (held_w, strictest) if held_w < watt else (watt, None)


def _holding(protection: ChannelProtection, volt: float | None, watching: tuple[str, ...]) -> SetLimiter | None:
    """The limiter at whose threshold the amplifier's output stands, if one holds it."""
    for limiter in protection.limiters:
        if volt and limiter.watches in watching and abs(volt_to_dbu(volt) - limiter.output_dbu) < 1e-6:
            return limiter
    return None


def _driven(level: Level, peak: bool, watt: float, wanted_w: float, clip_w: float | None) -> DrivenRange:
    if watt <= 0:
        return DrivenRange(level, peak)
    return DrivenRange(level, peak, wanted_w / watt, clip_w / watt if clip_w else None)


def _slack(by: SetLimiter | None) -> float:
    return gain_to_power_ratio(HELD_DB) if by else ROUNDING


def _slacks(protection: ChannelProtection, driven: DrivenRange, watching: tuple[str, ...]) -> tuple[float, float]:
    """What is let pass at both ends of the feeds' levels: more where a limiter holds the amplifier's output."""
    rated = protection.channel.rated_volt
    low, high = (
        dbu_to_volt(each.worst_dbu if driven.peak else each.dbu) for each in (driven.level.low, driven.level.high)
    )
    most = inf if rated is None else rated
    return (
        _slack(_holding(protection, min(low, most), watching)),
        _slack(_holding(protection, min(high, most), watching)),
    )


def _both(box: BoxFigures, protection: ChannelProtection) -> tuple[_Excess | None, _Excess | None]:
    """What is over, with one finding for one cause: what rests on the amplifier alone is told once, by the worse."""
    mean, peak = _continuous(box, protection), _peak(box, protection)
    if mean is None or peak is None or (mean.told and peak.told):
        return mean, peak
    if mean.told or mean.ratio >= peak.ratio:
        return mean, None
    return None, peak


Over = tuple[tuple[BoxFigures, tuple[_Excess | None, _Excess | None]], ...]


@once
def _over_on(protection: ChannelProtection) -> Over:
    """The loudspeakers of a channel that are over one of their ratings."""
    found = ((box, _both(box, protection)) for box in protection.channel.boxes)
    return tuple((box, both) for box, both in found if both != (None, None))


@once
def over_ratings(figures: Figures) -> Mapping[str, Over]:
    """The channels with a loudspeaker over one of its ratings, by key: a rule of this family tells of it."""
    found = ((channel.key, _over_on(figures.protection.channels[channel.key])) for channel in suited(figures))
    return {key: over for key, over in found if over}


def box_over_continuous(figures: Figures) -> Iterable[Finding]:
    """More mean power than a loudspeaker stands: at the feed's level, or by the amplifier alone where none is given."""
    return _worst_of_each(figures, 0)


def box_over_peak(figures: Figures) -> Iterable[Finding]:
    """A higher peak than a loudspeaker stands."""
    return _worst_of_each(figures, 1)


def _worst_of_each(figures: Figures, which: int) -> Iterable[Finding]:
    """One finding for the boxes of one kind on one channel: the worst of them speaks for all."""
    for key, over in over_ratings(figures).items():
        channel = figures.channels[key]
        kinds: dict[tuple[int, str], list[tuple[_Excess, BoxFigures]]] = {}
        protection = figures.protection.channels[channel.key]
        if protection.in_doubt:
            continue
        for box, both in over:
            excess = both[which]
            if excess is not None:
                kinds.setdefault((id(box.box.gear.kind), box.box.way), []).append((excess, box))
        for found in kinds.values():
            found.sort(key=lambda each: -each[0].ratio)
            excess, worst = found[0]
            finding = _over(figures, channel, worst, excess, protection)
            others = tuple(
                Label(box.box.arrival.sink.span, f"{box.key} likewise")
                for _, box in found[1:4]
                if box.box.arrival.sink.span != finding.span
            )
            yield evolve(
                finding,
                related=finding.related + others + tuple(declared(box for _, box in found)),
                also=tuple(box.key for _, box in found),
                follows=tuple((("pairs-exchanged", box.box.gear.full),) for _, box in found if box.box.way),
            )


def _over(
    figures: Figures, channel: ChannelFigures, box: BoxFigures, excess: _Excess, protection: ChannelProtection
) -> Finding:
    # Both at their bad ends where only there the rating is passed, else both as they are said.
    most, weakest = (excess.ends.most, excess.ends.weakest) if excess.possible else (1.0, 1.0)
    computed, allowed = show_pair(excess.watt * most, excess.allowed_w * weakest, "power")
    gets, stands = "may get" if excess.possible else "gets", "stands at the least" if weakest < 1 else "stands"
    dominant = excess.ends.dominant
    rating = allowed if excess.times == 1 else show(excess.limit.value * weakest, "power")
    times = _TIMES[excess.times]
    at = f"at the feed's {'peak ' if excess.rule == 'box-over-peak' else ''}level"
    what = at if excess.told else "with the amplifier at its rated output"
    if excess.by is not None:
        key = excess.by.output.key
        what = f"{at}, held by the limiter of {key}" if excess.told else f"through the limiter of {key}"
    clips = excess.told and excess.wanted_w > excess.watt * 1.0001
    if clips:
        what += " (the amplifier clips)"
    asked = f"; the feed asks for {show(excess.wanted_w, 'power')}, and the amplifier is at its limit" if clips else ""
    here, place = box.box.arrival.sink.span, _set_at(figures, channel, excess)
    return Finding(
        excess.rule,
        place or here,
        f"{box.key} {gets} {computed} {what}, more than {times} {rating} it {stands}",
        label=f"{computed} at {box.key}" if place else f"{computed} here",
        related=(
            *([Label(here, f"{box.key} gets it here")] if place else []),
            Label(excess.limit.span, f"this sets the limit: {excess.limit.text}"),
            *(each for each in _set_too_high(protection, excess) if each.span != place),
            *dominant.labels,
        ),
        computed=f"{computed} ({box.channel}){asked}",
        allowed=f"at most {allowed}" if excess.times == 1 else f"at most {allowed}, {times} {rating} it {stands}",
        at_most=Severity.WARNING if len(excess.assumes) > 1 else None,
        assumes=excess.assumes + (channel.level_assumes if excess.told else ()),
        help=_turned_down(box, excess, protection) if excess.told else _made_known(channel, box, excess, protection),
        subject=box.key,
        possible=excess.possible,
        decides=dominant.text,
    )


def _set_at(figures: Figures, channel: ChannelFigures, excess: _Excess) -> Span | None:
    """The one place to edit, if there is one: the limiter that holds it, or the control of channels with too much."""
    from rigspec.rules.controls import in_stock, sole_control  # they know levels, which need this file

    if excess.by is not None:
        return None if excess.by.said.span in in_stock(figures) else excess.by.said.span
    return sole_control(figures, [(channel.key, "output")], over_ratings(figures)) if excess.told else None


def _set_too_high(protection: ChannelProtection, excess: _Excess) -> Iterable[Label]:
    """The limiters on the way that let this through."""
    watching = ("peak",) if excess.rule == "box-over-peak" else ("rms", "peak")
    for limiter in protection.limiters:
        if limiter.watches in watching:
            yield Label(limiter.said.span, f"the limiter of {limiter.output.key} lets it through")


def _turned_down(box: BoxFigures, excess: _Excess, protection: ChannelProtection) -> str:
    # Below its limits the amplifier gives what the feed asks for, so the ends are those of the feed's way.
    peak = excess.rule == "box-over-peak"
    level = protection.channel.peak if peak else protection.channel.level
    ends = ends_of(protection.channel, box, excess.limit, None if level is None else DrivenRange(level, peak))
    worst = excess.wanted_w * ends.most / (excess.allowed_w * ends.weakest)
    over_db = at_least(power_ratio_to_gain(worst), "gain")
    limit = _limited(box, excess, protection)
    return f"turn {box.channel} down by {over_db} (attenuator, pad or feed level), or {limit}"


def _made_known(channel: ChannelFigures, box: BoxFigures, excess: _Excess, protection: ChannelProtection) -> str:
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
    return f"{say}; or {_limited(box, excess, protection)}"


def _limited(box: BoxFigures, excess: _Excess, protection: ChannelProtection) -> str:
    """The limiter that would hold this box to its rating, where it would be set."""
    peak = excess.rule == "box-over-peak"
    rating_w = excess.limit.low * (excess.times if peak else 1.0)
    volt = sqrt(rating_w * (box.box.impedance_ohm or 0.0)) / box.share_volt if box.share_volt else 0.0
    if volt <= 0:
        return "limit it"
    weakest = protection.peak if peak else protection.rms
    volt = min(volt, weakest.low_volt) if weakest else volt  # it holds all that hangs on the channel
    kind = "peak" if peak else "rms"
    dbu = peak_level_dbu(volt) if peak else volt_to_dbu(volt)
    limit = f"limit {box.channel} at {at_most(volt, 'voltage')} {kind}"
    gain_db = protection.channel.gain_db
    if protection.points:
        point = protection.points[0]
        return f"{limit}, at {point.output.key} `limit {at_most(dbu - point.gain_db, 'level')} {kind}`"
    return limit if gain_db is None else f"{limit}, at its input `limit {at_most(dbu - gain_db, 'level')} {kind}`"


def _feeds(channel: ChannelFigures) -> str:
    return " and ".join(dict.fromkeys(part.feed for part in channel.parts))


RULES = (
    Rule(
        name="box-over-continuous",
        severity=Severity.ERROR,
        summary="a loudspeaker gets more mean power than it stands",
        reason="the voice coil burns out within minutes",
        limit="its continuous rating at the feed's level; twice that for the amplifier alone where no level is known",
        authority="the loudspeaker's data sheet, as the stock gives it; IEC 60268-5, from memory",
        cure="turn the channel down or limit it",
        bad="feed f { level 4 dBu; peak 4 dBu }\namp a is twin\n"
        "speaker b is box { rated 200 W continuous, 800 W peak }\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f { level -4 dBu; peak 4 dBu }\namp a is twin\n"
        "speaker b is box { rated 200 W continuous, 800 W peak }\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=box_over_continuous,
    ),
    Rule(
        name="box-over-peak",
        severity=Severity.ERROR,
        summary="a loudspeaker gets higher peaks than it stands",
        reason="cone or diaphragm travel too far and tear",
        limit="its peak rating, or four times its continuous one, at the feed's peak level",
        authority="the loudspeaker's data sheet; peak over continuous by crest factor 2; IEC 60268-5, from memory",
        cure="turn the channel down or limit its peaks",
        bad="feed f { level -4 dBu; peak 14 dBu }\namp a is twin\n"
        "speaker b is box { rated 200 W continuous, 800 W peak }\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f { level -4 dBu; peak 4 dBu }\namp a is twin\n"
        "speaker b is box { rated 200 W continuous, 800 W peak }\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=box_over_peak,
    ),
)
