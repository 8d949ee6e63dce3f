"""Rules about where limiters stand: those that protect nothing, that can never act, or that eat headroom."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.figures.limiters import SetLimiter
from rigspec.figures.protection import ChannelProtection, Weakest
from rigspec.figures.signal import Level
from rigspec.rules.certainty import Dominant, decides, dominant
from rigspec.rules.limiting import (
    TOLD_DB,
    also_for,
    at_output,
    each_limiter,
    judged_limiters,
    limiter_assumes,
    limiter_name,
    limiter_places,
    most_of,
    strictest,
    threshold,
    told_as_over,
    weakest_of,
    written,
)
from rigspec.rules.rule import Rule
from rigspec.solve.decibel import gain_to_power_ratio, power_ratio_to_gain, ratio_to_gain
from rigspec.solve.limiter import eaten_w
from rigspec.text.finding import Finding, Severity
from rigspec.text.units import show, show_pair

EATEN_DB = 6.02  # a quarter of the power; half of it is a cautious long-term limit (common practice, no source)

_DATA_SHEET = "the loudspeaker's data sheet, as the stock gives it; P = V^2/Z at the rated impedance"


# ---- too high -------------------------------------------------------------------------------------------------------


def limiter_high(figures: Figures) -> Iterable[Finding]:
    """A limiter lets through more than the weakest loudspeaker behind it stands, and the amplifier can give it."""
    found = []
    for protection, limiter in judged_limiters(figures):
        weakest = weakest_of(protection, limiter)
        if (
            weakest is None
            or limiter is not strictest(protection, limiter.watches)
            or told_as_over(figures, protection)
        ):
            continue
        over_db = limiter.output_dbu - _end_dbu(weakest, weakest.low_volt)
        if over_db > TOLD_DB and _can_exceed(protection, limiter, weakest):
            found.append((over_db, (protection, limiter)))
    for protection, limiter, keys in each_limiter(found):
        yield _high(figures, protection, limiter, keys)


def _end_dbu(weakest: Weakest, volt: float) -> float:
    """An end of the right threshold at the amplifier's output, in dBu."""
    return weakest.dbu + ratio_to_gain(volt / weakest.volt)


def _can_exceed(protection: ChannelProtection, limiter: SetLimiter, weakest: Weakest) -> bool:
    """Can what comes out of the amplifier be more than this loudspeaker stands, by more than is worth telling?"""
    most = most_of(protection, limiter)
    return most is None or most[0] > _end_dbu(weakest, weakest.low_volt) + TOLD_DB


def _high(figures: Figures, protection: ChannelProtection, limiter: SetLimiter, keys: list[str]) -> Finding:
    weakest = weakest_of(protection, limiter)
    assert weakest is not None  # it was judged by it
    low_dbu, high_dbu = (_end_dbu(weakest, volt) for volt in (weakest.low_volt, weakest.high_volt))
    possible = limiter.output_dbu - high_dbu <= TOLD_DB
    most_dbu, ceiling = most_of(protection, limiter) or (limiter.output_dbu, "")
    never = most_dbu < limiter.output_dbu - TOLD_DB
    reached_w = weakest.watt * gain_to_power_ratio(min(limiter.output_dbu, most_dbu) - weakest.dbu)
    computed, allowed = show_pair(reached_w, weakest.watt, "power")
    peaks = "peaks of " if limiter.watches == "peak" else ""
    verb = "may let" if possible else "lets"
    idle = f", and never acts: {ceiling} {show(limiter.output_dbu - most_dbu, 'gain')} below it" if never else ""
    exact = weakest.low_volt == weakest.high_volt
    deciding = Dominant() if exact else _decides(figures, protection, weakest)
    return Finding(
        "limiter-high",
        limiter.said.span,
        f"{limiter_name(limiter)} {verb} {weakest.box.key} get {peaks}{computed}, more than the {allowed} it stands"
        f"{idle}{also_for(keys, protection)}",
        label=f"{show(limiter.output_dbu - weakest.dbu, 'gain')} too high",
        related=(*limiter_places(protection, limiter, weakest), *deciding.labels),
        computed=threshold(protection, limiter, limiter.output_dbu),
        allowed=f"at most {threshold(protection, limiter, low_dbu)}",
        assumes=limiter_assumes(protection, limiter, weakest),
        help=f"set it to this or lower: `limit {written(limiter, low_dbu, down=True)}`",
        subject=limiter.output.key,
        possible=possible,
        decides=deciding.text,
    )


def _decides(figures: Figures, protection: ChannelProtection, weakest: Weakest) -> Dominant:
    """Which inexact figure moves the right threshold most: the rating, or something of the loudspeakers' network."""
    rating, key = weakest.rating, weakest.box.key
    rating_db = power_ratio_to_gain(rating.high / rating.low) if rating.low > 0 else 0.0
    spread_db = ratio_to_gain(weakest.high_volt / weakest.low_volt)
    if rating_db > spread_db / 2:
        return dominant([(rating, rating_db)])
    return decides(figures, protection.channel, lambda network: ratio_to_gain(1 / network.box_volt[key]))


# ---- without effect -------------------------------------------------------------------------------------------------


def limiter_idle(figures: Figures) -> Iterable[Finding]:
    """A limiter stands above the highest level that can come, where the loudspeakers would stand that level."""
    found = []
    for protection, limiter in judged_limiters(figures):
        most = most_of(protection, limiter)
        weakest = weakest_of(protection, limiter)
        if most is None or limiter.output_dbu <= most[0] + TOLD_DB:
            continue
        if weakest is not None and _can_exceed(protection, limiter, weakest):
            continue  # then it is too high
        # Before several channels it acts as soon as one of them lets it.
        found.append((most[0] - limiter.output_dbu, (protection, limiter)))
    idle = {id(each[1][1]) for each in found}
    acting = {(each.said.span, each.watches) for _, each in judged_limiters(figures) if id(each) not in idle}
    never = [each for each in found if (each[1][1].said.span, each[1][1].watches) not in acting]
    for protection, limiter, keys in each_limiter(never):
        yield _idle(protection, limiter, keys)


def _idle(protection: ChannelProtection, limiter: SetLimiter, keys: list[str]) -> Finding:
    most_dbu, ceiling = most_of(protection, limiter) or (limiter.output_dbu, "")
    clips = (most_dbu, ceiling) in protection.ceilings
    so = ", so that the signal is limited before it clips" if clips else ", or take it out"
    above_db = limiter.output_dbu - most_dbu
    weakest = weakest_of(protection, limiter)
    stands = ""
    if weakest is not None:
        stands = f"; {weakest.box.key} stands {at_output(protection, limiter, weakest.dbu)}, which never comes"
    return Finding(
        "limiter-idle",
        limiter.said.span,
        f"{limiter_name(limiter)} can never act: {ceiling} {show(above_db, 'gain')} below it"
        f"{also_for(keys, protection)}",
        label=f"{show(above_db, 'gain')} above all that can come",
        related=limiter_places(protection, limiter, weakest),
        computed=threshold(protection, limiter, limiter.output_dbu),
        allowed=f"below {threshold(protection, limiter, most_dbu)}{stands}",
        assumes=limiter_assumes(protection, limiter, None),
        help=f"set it to this or lower{so}: `limit {written(limiter, most_dbu, down=True)}`",
        subject=limiter.output.key,
    )


# ---- too low --------------------------------------------------------------------------------------------------------


def limiter_low(figures: Figures) -> Iterable[Finding]:
    """A limiter stands far below what the loudspeakers and the amplifier allow, and acts at the nominal level."""
    found = []
    for protection, limiter in judged_limiters(figures):
        allowed = _allowed_dbu(protection, limiter)
        nominal = figures.signals.level(protection.channel.parts, limited=False)
        if allowed is None or nominal is None or nominal.high.dbu <= limiter.output_dbu + TOLD_DB:
            continue
        if allowed - limiter.output_dbu > EATEN_DB + TOLD_DB:
            found.append((allowed - limiter.output_dbu, (protection, limiter)))
    for protection, limiter, keys in each_limiter(found):
        nominal = figures.signals.level(protection.channel.parts, limited=False)
        assert nominal is not None  # it was judged by it
        yield _low(protection, limiter, keys, nominal)


def _allowed_dbu(protection: ChannelProtection, limiter: SetLimiter) -> float | None:
    """The highest threshold that protects the loudspeakers and can act."""
    weakest = weakest_of(protection, limiter)
    if weakest is None:
        return None
    most = most_of(protection, limiter)
    return weakest.dbu if most is None else min(weakest.dbu, most[0])


def _low(protection: ChannelProtection, limiter: SetLimiter, keys: list[str], nominal: Level) -> Finding:
    weakest, allowed_dbu = weakest_of(protection, limiter), _allowed_dbu(protection, limiter)
    assert weakest is not None  # it was judged by it
    assert allowed_dbu is not None
    left = show(eaten_w(weakest.watt, weakest.dbu - limiter.output_dbu), "power")
    peaks = "peaks of " if limiter.watches == "peak" else ""
    may = nominal.low.dbu <= limiter.output_dbu + TOLD_DB  # at the low end of the feeds' levels it rests
    held = show((nominal.high.dbu if may else nominal.dbu) - limiter.output_dbu, "gain")
    dominant_level = dominant(nominal.moved) if may else Dominant()
    return Finding(
        "limiter-low",
        limiter.said.span,
        f"{limiter_name(limiter)} {'may take' if may else 'takes'} {held} at the nominal level and leaves"
        f" {weakest.box.key} {peaks}{left} of the {show(weakest.watt, 'power')} it stands{also_for(keys, protection)}",
        label=f"{show(allowed_dbu - limiter.output_dbu, 'gain')} lower than it has to be",
        related=(*limiter_places(protection, limiter, weakest), *dominant_level.labels),
        computed=threshold(protection, limiter, limiter.output_dbu),
        allowed=f"{threshold(protection, limiter, allowed_dbu)}, which protects it",
        assumes=tuple(dict.fromkeys(limiter_assumes(protection, limiter, weakest) + protection.channel.level_assumes)),
        help=f"set it to `limit {written(limiter, allowed_dbu, down=True)}`, or turn down what feeds it until it rests",
        subject=limiter.output.key,
        possible=may,
        decides=dominant_level.text,
    )


RULES = (
    Rule(
        name="limiter-high",
        severity=Severity.WARNING,
        summary="a limiter lets through more than the weakest loudspeaker behind it stands",
        reason="it looks like protection and is none: the loudspeaker burns or tears before the limiter acts",
        limit="the voltage at which the weakest loudspeaker reaches its rating, through leads, gain and bridge; 0.25"
        " dB are let pass",
        authority=_DATA_SHEET,
        cure="set it to the threshold that the finding names",
        bad="feed f { level -14 dBu; peak -2 dBu }\namp a is twin { limit 3 dBu rms }\n"
        "speaker b is box { rated 200 W continuous, 800 W peak }\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f { level -14 dBu; peak -2 dBu }\namp a is twin { limit 2.4 dBu rms }\n"
        "speaker b is box { rated 200 W continuous, 800 W peak }\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=limiter_high,
    ),
    Rule(
        name="limiter-idle",
        severity=Severity.ADVICE,
        summary="a limiter stands above everything that can come",
        reason="it can never act, and whoever reads its setting takes the channel for limited while it clips",
        limit="the amplifier's rated output into its load, the highest level that its input and the processors before"
        " it take or give, and for the mean what a peak limiter lets through; 0.25 dB are let pass",
        authority="circuit theory; the gear's data, as the stock gives them",
        cure="set it to the level at which the signal clips, or lower",
        bad="feed f { level -14 dBu; peak -2 dBu }\namp a is twin { limit 8 dBu rms }\nspeaker b is sub\n"
        "f -> a.1 -> lead 4 mm2 9 m -> b\n",
        good="feed f { level -14 dBu; peak -2 dBu }\namp a is twin { limit 6 dBu rms }\nspeaker b is sub\n"
        "f -> a.1 -> lead 4 mm2 9 m -> b\n",
        check=limiter_idle,
    ),
    Rule(
        name="limiter-low",
        severity=Severity.ADVICE,
        summary="a limiter acts at the nominal level, far below what the loudspeakers stand",
        reason="it squeezes the whole programme, and power that was paid for is never heard",
        limit="6 dB, a quarter of the power, below the least of the weakest loudspeaker and of what the amplifier"
        " gives; half the power is a cautious long-term limit",
        authority="common practice, no source",
        cure="raise it, or turn down what feeds it",
        bad="feed f { level 0 dBu; peak 4 dBu }\namp a is twin { limit -4 dBu rms }\nspeaker b is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f { level 0 dBu; peak 4 dBu }\namp a is twin { limit 4 dBu rms }\nspeaker b is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=limiter_low,
    ),
)
