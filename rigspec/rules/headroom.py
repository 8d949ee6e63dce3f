"""Rules about what is left: headroom over the nominal level, and power that is never used."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import Figures
from rigspec.rig.model import Measure
from rigspec.rules.certainty import Dominant, dominant
from rigspec.rules.controls import turned_at
from rigspec.rules.level_words import (
    Told,
    also,
    assumed,
    clips_already,
    deciding,
    each_row,
    feeds_of,
    said_at,
    shown_cut,
)
from rigspec.rules.rule import Rule
from rigspec.solve.decibel import gain_to_power_ratio
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair

UNUSED_DB = 20.0  # a hundredth of the power (common practice, no source)


def headroom_short(figures: Figures) -> Iterable[Finding]:
    """Less room from the nominal level to the clip than this rig wants; what clips at the peaks is told already."""
    own = figures.rig.limit("headroom", "gain")
    if own is None:
        return
    wanted_db = abs(own.value)
    short: list[Told] = []
    for chain in figures.levels.chains.values():
        levels = [(stage, stage.point.level) for stage in chain.stages]
        rooms = [(stage.clip_dbu - level.most_dbu, stage) for stage, level in levels if level is not None]
        if not rooms or chain.silent or clips_already(chain):
            continue
        room_db, stage = min(rooms, key=lambda each: round(each[0], 6))
        if room_db < wanted_db - 1e-6:
            short.append((chain, stage, wanted_db - room_db))
    for found in each_row(short):
        yield _short(figures, found, own, wanted_db)


def _short(figures: Figures, found: list[Told], own: Measure, wanted_db: float) -> Finding:
    chain, stage, lacking_db = found[0]
    level = stage.point.level
    assert level is not None  # its headroom is known
    may = stage.clip_dbu - level.least_dbu >= wanted_db - 1e-6
    room_db = wanted_db - lacking_db if may else stage.clip_dbu - level.worst_dbu
    computed, allowed = show_pair(room_db, wanted_db, "gain")
    decides = deciding(stage, level) if may else Dominant()
    cut = shown_cut(lacking_db)
    down = f"turn {chain.gear.full} down by at least {cut}" if stage is chain.last else f"lower its level by {cut}"
    at = turned_at(figures, found)
    return Finding(
        "headroom-short",
        at or stage.point.span,
        f"{stage.key} {'may have' if may else 'has'} {computed} of headroom over its nominal level, less than the"
        f" {allowed} that this rig wants{also(found)}",
        label=f"{computed} of headroom",
        related=(
            Label(own.span, f"this rig's own limit: {own.text}"),
            *([Label(stage.point.span, f"{stage.key} has it here")] if at else []),
            *(each for each in said_at(figures, found) if each.span != at),
            *decides.labels,
        ),
        computed=computed,
        allowed=f"at least {allowed}",
        assumes=assumed(stage, level if may else None),
        possible=may,
        decides=decides.text,
        help=f"{down}; or use gear that clips later, or say in `limits` that less will do",
        subject=stage.key,
    )


def gain_unused(figures: Figures) -> Iterable[Finding]:
    """Even the feed's peaks leave an amplifier or a powered loudspeaker far below what it could give."""
    low: list[Told] = []
    for chain in figures.levels.chains.values():
        last = chain.last
        if last is None or chain.silent or last.point.wanted_peak is None:
            continue
        left_db = last.clip_dbu - last.point.wanted_peak.low.worst_dbu
        if UNUSED_DB < left_db < float("inf"):
            low.append((chain, last, left_db))
    for found in each_row(low):
        chain, stage, most_db = found[0]
        peak = stage.point.wanted_peak
        assert peak is not None  # it was judged by it
        may = stage.clip_dbu - peak.high.worst_dbu <= UNUSED_DB
        decides = dominant(peak.moved) if may else Dominant()
        left_db = most_db if may else stage.clip_dbu - peak.worst_dbu
        fraction = gain_to_power_ratio(left_db)
        at = turned_at(figures, found, max(db for _, _, db in found) - UNUSED_DB)
        yield Finding(
            "gain-unused",
            at or stage.point.span,
            f"even the peaks of {feeds_of(stage)} {'may leave' if may else 'leave'} {stage.key}"
            f" {show(left_db, 'gain')} below {stage.limit}:"
            f" 1/{fraction:.0f} of its power{also(found)}",
            label=f"{show(left_db, 'gain')} unused",
            related=(
                *([Label(stage.point.span, f"{stage.key} has it left here")] if at else []),
                *(each for each in said_at(figures, found) if each.span != at),
                *decides.labels,
            ),
            computed=f"{show(left_db, 'gain')} below full output at the peaks",
            allowed=f"at most {show(UNUSED_DB, 'gain')}",
            assumes=assumed(stage),
            help="open its attenuator or raise what drives it, as far as the boxes stand it; or use a smaller one",
            subject=stage.key,
            possible=may,
            decides=decides.text,
        )


def feed_peak_low(figures: Figures) -> Iterable[Finding]:
    """A feed whose highest level lies below its nominal one; perhaps not, where their tolerances meet."""
    for gear in figures.rig.gear.values():
        level, peak = gear.measure("level", "level"), gear.measure("peak", "level")
        if gear.word != "feed" or gear.doubt or level is None or peak is None or peak.value >= level.value:
            continue
        computed, allowed = show_pair(peak.value, level.value, "level")
        may = peak.high >= level.low
        widest = [(each, each.high - each.low) for each in (peak, level) if each.low != each.high]
        decides = dominant(widest) if may else Dominant()
        yield Finding(
            "feed-peak-low",
            peak.span,
            f"the peak level of {gear.full} {'may be' if may else 'is'} {computed}, below its nominal level of"
            f" {allowed}",
            label=computed,
            related=(Label(level.span, f"its nominal level: {level.text}"), *decides.labels),
            computed=computed,
            allowed=f"at least {allowed}",
            help="exchange the two, or say the level of a sine that reaches the highest peaks",
            subject=gear.full,
            possible=may,
            decides=decides.text,
        )


RULES = (
    Rule(
        name="headroom-short",
        severity=Severity.WARNING,
        summary="a stage has less headroom than this rig wants",
        reason="the first loud passage clips",
        limit="the rig's own `limits { headroom ... }`, from the nominal level to the clip of the nearest stage",
        authority="the rig's own `limits`",
        cure="turn the channel down, or use gear that clips later",
        bad='rig "hall" { limits { headroom 15 dB } }\nfeed f { level 4 dBu; peak 14 dBu }\n'
        "amp a is twin { attenuator -8 dB }\n"
        "speaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good='rig "hall" { limits { headroom 10 dB } }\nfeed f { level 4 dBu; peak 14 dBu }\n'
        "amp a is twin { attenuator -12 dB }\n"
        "speaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=headroom_short,
    ),
    Rule(
        name="gain-unused",
        severity=Severity.ADVICE,
        summary="an amplifier never comes near what it could give",
        reason="its noise stays as loud as ever, so the sound is 20 dB nearer to it than it need be",
        limit=f"within {UNUSED_DB:g} dB of full output at the feed's peak level",
        authority="common practice, no source",
        cure="raise the level before it or its gain, or use a smaller amplifier",
        bad="feed f { level -20 dBu; peak -10 dBu }\namp a is twin { attenuator -10 dB }\nspeaker b is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f { level -20 dBu; peak -10 dBu }\namp a is twin\nspeaker b is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=gain_unused,
    ),
    Rule(
        name="feed-peak-low",
        severity=Severity.WARNING,
        summary="a feed's peak level lies below its nominal level",
        reason="headroom, clipping and limiters are worked out from the wrong peaks",
        limit="the peak level is at least the nominal one",
        authority="the rig language, grammar/reference.md",
        cure="exchange the two, or correct one of them",
        bad="feed f { level 17 dBu; peak 4 dBu }\nspeaker m is active\nf -> m\n",
        good="feed f { level 4 dBu; peak 17 dBu }\nspeaker m is active\nf -> m\n",
        check=feed_peak_low,
    ),
)
