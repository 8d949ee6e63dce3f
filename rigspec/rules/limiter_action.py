"""Rules about how limiters act: how fast, and on what."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve

from rigspec.figures import Figures
from rigspec.figures.limiters import SetLimiter
from rigspec.figures.protection import ChannelProtection
from rigspec.rig.model import Measure
from rigspec.rules.limiting import (
    TOLD_DB,
    also_for,
    channel_order,
    each_limiter,
    judged_limiters,
    limiter_assumes,
    limiter_name,
    limiter_places,
    strictest,
    told_as_over,
    written,
)
from rigspec.rules.rule import Rule
from rigspec.solve.decibel import dbu_to_volt
from rigspec.solve.limiter import SINE_CREST_FACTOR, mean_over_rated, period_s
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair

SHORTEST_PERIODS = 0.25  # what acts within a quarter of a period follows the wave itself (circuit theory)
LONGEST_PERIODS = 4.0  # the usual table has one to three periods (common practice, no source)


# ---- too fast, too slow ---------------------------------------------------------------------------------------------


def limiter_timing(figures: Figures) -> Iterable[Finding]:
    """A limiter acts within a quarter of a period of the lowest frequency, or only after several."""
    told: set[object] = set()
    in_order = sorted(judged_limiters(figures), key=lambda each: channel_order(each[0].channel))
    for protection, limiter in in_order:
        given = tuple(measure.span for measure in (limiter.attack, limiter.release) if measure is not None)
        if protection.low_hz is None or given in told:
            continue
        period = period_s(protection.low_hz)
        for measure, word in ((limiter.attack, "attack"), (limiter.release, "release")):
            if measure is None or measure.value <= 0:
                continue
            wrong = _wrong_time(limiter, word, measure.value / period)
            if wrong:
                told.add(given)
                yield _timing(protection, limiter, measure, word, wrong)
                break  # the cure names both times


def _wrong_time(limiter: SetLimiter, word: str, periods: float) -> str:
    """What is wrong with a time of so many periods; a limiter for the mean may be as slow as a voice coil warms."""
    if word == "release":
        return "follows the wave itself" if periods < 1 - 1e-9 else ""
    if periods < SHORTEST_PERIODS - 1e-9:
        return "follows the wave itself"
    slow = limiter.watches == "peak" and periods > LONGEST_PERIODS + 1e-9
    return "lets whole waves through before it acts" if slow else ""


def _timing(protection: ChannelProtection, limiter: SetLimiter, measure: Measure, word: str, wrong: str) -> Finding:
    times, low_hz = protection.times, protection.low_hz
    assert times is not None  # the band is known
    assert low_hz is not None
    period = period_s(low_hz)
    bounds = (SHORTEST_PERIODS * period, LONGEST_PERIODS * period)
    allowed = f"at least {show(period, 'time')}"
    if word == "attack":
        allowed = f"at least {show(bounds[0], 'time')}"
        if limiter.watches == "peak":
            allowed = f"{show(bounds[0], 'time')} to {show(bounds[1], 'time')}"
    usual = f"attack {show(times.attack_s, 'time')}; release {show(times.release_s, 'time')}"
    return Finding(
        "limiter-timing",
        measure.span,
        f"with {word} {measure.text} {limiter_name(limiter)} {wrong}: one period of {show(low_hz, 'frequency')} takes"
        f" {show(period, 'time')}",
        label=f"{measure.value / period:.2g} periods of {show(low_hz, 'frequency')}",
        related=(
            Label(limiter.said.span, f"the limiter: {limiter.said.text}"),
            Label(
                protection.channel.output.span,
                f"its band begins at {show(low_hz, 'frequency')} on {protection.channel.key}",
            ),
        ),
        computed=f"{measure.text}, {measure.value / period:.2g} periods",
        allowed=allowed,
        help=f"usual for this band: `{usual}`",
        subject=limiter.output.key,
    )


# ---- peaks alone ----------------------------------------------------------------------------------------------------


def limiter_peak_alone(figures: Figures) -> Iterable[Finding]:
    """A peak limiter stands alone before a loudspeaker whose level nobody knows: the mean is not capped."""
    found = []
    for protection, limiter in judged_limiters(figures):
        weakest, channel = protection.rms, protection.channel
        if limiter is not strictest(protection, "peak") or strictest(protection, "rms") is not None:
            continue
        if weakest is None or channel.nominal_volt is not None or protection.in_doubt:
            continue
        if told_as_over(figures, protection):
            continue
        over_db = min((limiter.output_dbu, *(dbu for dbu, _ in protection.ceilings))) - weakest.dbu
        if over_db > TOLD_DB:
            found.append((over_db, (protection, limiter)))
    for protection, limiter, keys in each_limiter(found):
        yield _alone(protection, limiter, keys)


def _alone(protection: ChannelProtection, limiter: SetLimiter, keys: list[str]) -> Finding:
    weakest = protection.rms
    assert weakest is not None  # it was judged by it
    most_dbu = min((limiter.output_dbu, *(dbu for dbu, _ in protection.ceilings)))
    times = mean_over_rated(dbu_to_volt(most_dbu) * SINE_CREST_FACTOR, weakest.volt)
    computed, allowed = show_pair(times * weakest.watt, weakest.watt, "power")
    right = written(evolve(limiter, watches="rms"), weakest.dbu, down=True)
    return Finding(
        "limiter-peak-alone",
        limiter.said.span,
        f"{limiter_name(limiter)} holds peaks alone: a steady tone brings {weakest.box.key} {computed}, more than the"
        f" {allowed} it stands{also_for(keys, protection)}",
        label="the mean is not held",
        related=limiter_places(protection, limiter, weakest),
        computed=f"{computed}, {times:.2g} times what it stands",
        allowed=f"at most {allowed}",
        assumes=limiter_assumes(protection, limiter, weakest),
        help=f"set one for the mean as well: `limit {right}`; it may take seconds to act",
        subject=limiter.output.key,
    )


RULES = (
    Rule(
        name="limiter-timing",
        severity=Severity.ADVICE,
        summary="a limiter is too fast or too slow for its band",
        reason="one that follows the wave distorts it; a slow one lets the peaks through that it is set against",
        limit="a quarter of a period of the lowest frequency at least, and four at most where it watches peaks; a"
        " period at least for its release",
        authority="common practice, no source; about one period is usual for the attack, and 2 to 16 of these for the"
        " release",
        cure="use the times that the finding names",
        bad="feed f { level 0 dBu; peak 4 dBu; band 40 Hz to 100 Hz }\n"
        "amp a is twin { limit 5 dBu rms; attack 2 ms; release 720 ms }\nspeaker b is sub\n"
        "f -> a.1 -> lead 4 mm2 9 m -> b\n",
        good="feed f { level 0 dBu; peak 4 dBu; band 40 Hz to 100 Hz }\n"
        "amp a is twin { limit 5 dBu rms; attack 45 ms; release 720 ms }\nspeaker b is sub\n"
        "f -> a.1 -> lead 4 mm2 9 m -> b\n",
        check=limiter_timing,
    ),
    Rule(
        name="limiter-peak-alone",
        severity=Severity.ADVICE,
        summary="a limiter holds the peaks and nothing holds the mean, where no level is known",
        reason="a steady tone, feedback above all, carries twice the rated power below the peaks that a loudspeaker"
        " stands",
        limit="its continuous rating, with a sine held at the limiter's threshold",
        authority="circuit theory: a sine of crest factor 1.41 at the peaks of crest factor 2 has twice the mean power",
        cure="set a limiter for the mean beside it",
        bad="feed f\namp a is twin { limit 4.5 dBu peak }\nspeaker b is box { rated 200 W continuous, 800 W peak }\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f\namp a is twin { limit 4.5 dBu peak; limit 2 dBu rms }\n"
        "speaker b is box { rated 200 W continuous, 800 W peak }\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=limiter_peak_alone,
    ),
)
