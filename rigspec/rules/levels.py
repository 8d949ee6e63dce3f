"""Rules about levels: what clips at the feed's peaks."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from math import isfinite

from rigspec.figures import ChannelFigures, Figures, line_volt
from rigspec.figures.signal import amplifier_gain
from rigspec.figures.stages import TOLD_DB, Chain, Stage
from rigspec.rig.model import Measure
from rigspec.rules.amplifier_size import larger
from rigspec.rules.certainty import Dominant
from rigspec.rules.controls import turned_at
from rigspec.rules.level_words import (
    Told,
    also,
    assumed,
    deciding,
    each_once,
    each_row,
    feeds_of,
    first_over,
    said_at,
    shown_cut,
    tenths,
)
from rigspec.rules.powers import PEAK_OVER_CONTINUOUS
from rigspec.rules.rule import Rule
from rigspec.solve.decibel import dbu_to_volt, gain_to_power_ratio, volt_to_dbu
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show, show_pair

CLIPPED_DB = 0.5  # of the highest peak, which nobody hears clipped (common practice, no source)
_CLIPPING = "circuit theory: a stage gives no more than it can; the gear's data, as the stock gives them"

# ---- what clips -----------------------------------------------------------------------------------------------------


def stage_clips(figures: Figures) -> Iterable[Finding]:
    """A processor clips at the feed's peaks before the amplifier behind it gives its rated output."""
    for found in each_once(_clipping(figures, lambda stage: stage.point.gear.word == "processor")):
        chain, stage, over_db = found[0]
        cut = shown_cut(over_db)
        if stage.point.end == "output":
            gain = stage.point.gear.ports.get(stage.key.rpartition(".")[2], {}).get("gain")
            now = _first_gain(gain.entries[0].get("gain")) if gain else 0.0
            cure = f"lower it by at least {cut}, `{stage.key} {{ gain {now - tenths(over_db):.4g} dB }}`"
            cure += _opened(chain, tenths(over_db))
        else:
            cure = f"put `pad {cut}` before it, or lower the level of {stage.feed} by as much"
        yield _clips(figures, "stage-clips", found, f"the peaks of {{feeds}} drive {stage.key} {{over}}", cure)


def _opened(chain: Chain, by_db: float) -> str:
    """How the amplifier makes up for it, where its attenuator leaves it room."""
    if chain.gear.word != "amp":
        return ""
    control = amplifier_gain(chain.gear, chain.key.removeprefix(f"{chain.gear.full}.").partition("+")[0]).control
    if control is None or abs(control.value) < by_db:
        return ""
    return (
        f", and open the attenuator of {chain.gear.full} to {by_db - abs(control.value):.4g} dB to be as loud as before"
    )


def input_overdriven(figures: Figures) -> Iterable[Finding]:
    """An amplifier's input clips at the feed's peaks, before its own gain control."""
    wanted = _clipping(figures, lambda stage: stage.point.end == "input" and stage.point.gear.word == "amp")
    for found in each_once(wanted):
        stage = found[0][1]
        cure = (
            f"lower what drives it by at least {shown_cut(found[0][2])}, with a pad or at the output before it: its"
            " own attenuator stands behind the stage that clips"
        )
        what = f"the peaks of {{feeds}} drive the input of {stage.key} {{over}}"
        yield _clips(figures, "input-overdriven", found, what, cure)


def amp_clips(figures: Figures) -> Iterable[Finding]:
    """The feed's peaks ask an amplifier for more than its rated output."""
    wanted = _clipping(figures, lambda stage: stage.point.end == "output" and stage.point.gear.word == "amp")
    wanted = (each for each in wanted if each[2] > CLIPPED_DB)
    told = (each for each in wanted if not _told_otherwise(figures.channels[each[1].key], each[1]))
    for found in each_row(told):
        _, stage, over_db = found[0]
        channel = figures.channels[stage.key]
        control = amplifier_gain(channel.gear, channel.output.halves[0]).control
        now = -abs(control.value) if control else 0.0
        cut = shown_cut(over_db)
        cure = f"turn {stage.key} down by at least {cut} (attenuator at {now - tenths(over_db):.4g} dB), or put"
        cure += f" `pad {cut}` before it"
        asks, gives = show_pair(dbu_to_volt(_peak_dbu(stage)), dbu_to_volt(stage.clip_dbu), "voltage")
        what = f"the peaks of {{feeds}} ask {stage.key} for {asks}, {{over}} {gives} it gives into this load"
        yield _clips(figures, "amp-clips", found, what, f"{cure}{larger(figures, channel)}")


def box_overdriven(figures: Figures) -> Iterable[Finding]:
    """A powered loudspeaker gets more than what makes it give its full output."""
    for found in each_row(_clipping(figures, lambda stage: stage.point.gear.word == "speaker")):
        stage = found[0][1]
        control = stage.point.gear.measure("attenuator", "gain")
        now = -abs(control.value) if control is not None else 0.0
        cut = shown_cut(found[0][2])
        turned = f"attenuator {now - tenths(found[0][2]):.4g} dB"
        cure = f"turn it down by {cut} at its own control, `{turned}`; or put `pad {cut}` before it"
        yield _clips(figures, "box-overdriven", found, f"the peaks of {{feeds}} drive {stage.key} {{over}}", cure)


def _clipping(figures: Figures, wanted: Callable[[Stage], bool]) -> Iterator[Told]:
    """The first stage to clip on each way, where the feed's peaks make it clip."""
    for chain in figures.levels.chains.values():
        found = None if chain.silent else first_over(chain)
        if found is not None and wanted(found[0]):
            yield chain, *found


def _maybe(stage: Stage) -> bool:
    """Is it open whether a stage clips at the feed's peaks, by how they add up or by their tolerances?"""
    peak = stage.point.peak
    return peak is not None and peak.least_dbu - stage.clip_dbu <= TOLD_DB


def _peak_dbu(stage: Stage) -> float:
    """The peaks of a finding: as they are said, or at their bad end where only there the stage clips."""
    peak = stage.point.peak
    assert peak is not None  # it is over by it
    return peak.most_dbu if _maybe(stage) else peak.worst_dbu


def _clips(figures: Figures, rule: str, found: list[Told], what: str, cure: str) -> Finding:
    """``what`` is the message with places for the feeds and for how far over."""
    stage = found[0][1]
    peak, may, peak_dbu = stage.point.peak, _maybe(stage), _peak_dbu(stage)
    over_db = peak_dbu - stage.clip_dbu
    decides = deciding(stage, peak) if may and peak is not None else Dominant()
    if may:
        verb = "ask" if rule == "amp-clips" else "drive"
        what = what.replace(f" {verb} ", f" may {verb} ", 1)
    beyond = f"beyond what it {'gives' if stage.point.end == 'output' else 'takes'}"
    beyond = "more than the" if rule == "amp-clips" else beyond
    over = f"{show(over_db, 'gain')} {beyond}"
    nominal = stage.headroom_db is not None and stage.headroom_db < 0
    computed, allowed = show_pair(peak_dbu, stage.clip_dbu, "level")
    if stage.point.end == "output" and stage.point.gear.word == "amp":
        computed, allowed = (show(dbu_to_volt(dbu), "voltage") for dbu in (peak_dbu, stage.clip_dbu))
    at = turned_at(figures, found)
    return Finding(
        rule,
        at or stage.point.span,
        what.format(feeds=feeds_of(stage), over=over)
        + (", and its nominal level does too" if nominal else "")
        + also(found),
        label=f"{show(over_db, 'gain')} over at the peaks",
        related=(
            *([Label(stage.point.span, f"{stage.key} clips here")] if at else []),
            *(each for each in said_at(figures, found) if each.span != at),
            *decides.labels,
        ),
        computed=f"{computed} at the peaks",
        allowed=f"at most {allowed}, {stage.limit}",
        assumes=assumed(stage, peak if may else None),
        help=cure,
        subject=stage.key,
        possible=may,
        decides=decides.text,
    )


def _told_otherwise(channel: ChannelFigures, stage: Stage) -> bool:
    """Does a box here get more than it stands at the feed's levels, or not suit its line? Then that is the finding.

    Where it is open whether the amplifier clips, the levels count at their high ends.
    """
    level, peaks = (channel.level, channel.peak) if _maybe(stage) else (None, None)
    most = 1.0 if level is None else _at_most(channel, level.dbu, level.high.dbu)
    most_peak = 1.0 if peaks is None else _at_most(channel, peaks.worst_dbu, peaks.high.worst_dbu)
    lined = line_volt(channel.gear) is not None
    if any(box.box.tapped != lined for box in channel.boxes):
        return True
    for box in channel.boxes:
        mean, peak = box.continuous, box.peak
        most_w = peak.value if peak else PEAK_OVER_CONTINUOUS * mean.value if mean else None
        if mean is not None and box.nominal_w is not None and box.nominal_w * most > mean.value * 1.0001:
            return True
        if most_w is not None and box.peak_w is not None and box.peak_w * most_peak > most_w * 1.0001:
            return True
    return False


def _at_most(channel: ChannelFigures, dbu: float, high_dbu: float) -> float:
    """By how much the power at the high ends of the feeds' levels is above that at the levels, up to the clip."""
    if dbu >= high_dbu or not channel.rated_volt or not isfinite(dbu):
        return 1.0
    clip_dbu = volt_to_dbu(channel.rated_volt)
    return gain_to_power_ratio(min(high_dbu, clip_dbu) - min(dbu, clip_dbu))


def _first_gain(gain: Measure | None) -> float:
    return gain.value if gain is not None else 0.0


RULES = (
    Rule(
        name="stage-clips",
        severity=Severity.WARNING,
        summary="a processor clips before the amplifier is at its rated output",
        reason="it distorts although the amplifier has power left, and no limiter behind it can help",
        limit="the level that its inputs take or its outputs give, at the feed's peak level",
        authority=_CLIPPING,
        cure="lower the level before the stage, and raise the gain behind it",
        bad="feed f { level 4 dBu; peak 17 dBu }\nprocessor xo is cross { peak 20 dBu }\nxo.1 { from a; gain 6 dB }\n"
        "amp a is twin { attenuator -24 dB }\nspeaker b is box\nf -> xo.a\nxo.1 -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f { level 4 dBu; peak 17 dBu }\nprocessor xo is cross { peak 20 dBu }\nxo.1 { from a }\n"
        "amp a is twin { attenuator -18 dB }\nspeaker b is box\nf -> xo.a\nxo.1 -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=stage_clips,
    ),
    Rule(
        name="input-overdriven",
        severity=Severity.WARNING,
        summary="an amplifier's input clips before its gain control",
        reason="turning the amplifier down makes the distortion softer and does not take it away",
        limit="the amplifier's `input-peak`, at the feed's peak level",
        authority=_CLIPPING,
        cure="put a pad before the input, or lower the output that drives it",
        bad="feed f { level 10 dBu; peak 24 dBu }\namp a is twin { input-peak 21 dBu; attenuator -24 dB }\n"
        "speaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f { level 10 dBu; peak 24 dBu }\namp a is twin { input-peak 21 dBu; attenuator -14 dB }\n"
        "speaker b is box\nf -> pad 10 dB -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=input_overdriven,
    ),
    Rule(
        name="amp-clips",
        severity=Severity.WARNING,
        summary="the feed's peaks ask an amplifier for more than its rated output",
        reason="clipped peaks sound harsh, and they carry more mean power and more treble than the boxes were meant to"
        " get",
        limit=f"at most {show(CLIPPED_DB, 'gain')} over its rated voltage into this load, at the feed's peak level; not"
        " told where a box gets too much of it",
        authority=_CLIPPING,
        cure="turn the channel down, or lower what drives it",
        bad="feed f { level 4 dBu; peak 17 dBu }\namp a is twin\nspeaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        good="feed f { level 4 dBu; peak 17 dBu }\namp a is twin { attenuator -12 dB }\nspeaker b is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        check=amp_clips,
    ),
    Rule(
        name="box-overdriven",
        severity=Severity.WARNING,
        summary="a powered loudspeaker gets more than what makes it give its full output",
        reason="its amplifier clips, or its limiter works all the time and takes the life out of the sound",
        limit="its `drive`, at the feed's peak level",
        authority=_CLIPPING,
        cure="put a pad before it, or turn its own control down and say the `drive` that this makes",
        bad="feed f { level 4 dBu; peak 17 dBu }\nspeaker m is active { drive 4 dBu }\nf -> m\n",
        good="feed f { level 4 dBu; peak 17 dBu }\nspeaker m is active { drive 4 dBu }\nf -> pad 13 dB -> m\n",
        check=box_overdriven,
    ),
)
