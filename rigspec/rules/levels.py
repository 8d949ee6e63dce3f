"""Rules about levels: what clips at the feed's peaks, how much room is left, and how much is never used."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from math import ceil

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.stages import TOLD_DB, Chain, Stage
from rigspec.finding import Finding, Label, Severity
from rigspec.rig import Measure
from rigspec.rules.amplifier_size import larger
from rigspec.rules.places import switch_of
from rigspec.rules.powers import PEAK_OVER_CONTINUOUS
from rigspec.rules.rule import Rule
from rigspec.signal import amplifier_gain
from rigspec.solve.decibel import dbu_to_volt, gain_to_power_ratio
from rigspec.units import show, show_pair

UNUSED_DB = 20.0  # a hundredth of the power (common practice, no source)

_CLIPPING = "circuit theory: a stage gives no more than it can; the gear's data, as the stock gives them"

# What may or may not add up by voltage: several feeds, or ways of one feed with different delays.
_ALIKE = (
    "both sides of a stereo pair are taken as alike, as a voice in the middle is",
    "ways of one feed with different delays are taken as in step, as at some tones they are",
)
_DECIDES = (
    "whether both sides of the stereo pair carry the same decides",
    "whether a tone comes that is in step by both ways decides",
)

Told = tuple[Chain, Stage, float]  # by how many dB the stage is exceeded, or falls short


# ---- what clips -----------------------------------------------------------------------------------------------------


def stage_clips(figures: Figures) -> Iterable[Finding]:
    """A processor clips at the feed's peaks before the amplifier behind it gives its rated output."""
    for found in _each_once(_clipping(figures, lambda stage: stage.point.gear.word == "processor")):
        chain, stage, over_db = found[0]
        cut = _shown_cut(over_db)
        if stage.point.end == "output":
            gain = stage.point.gear.ports.get(stage.key.rpartition(".")[2], {}).get("gain")
            now = _first_gain(gain.entries[0].get("gain")) if gain else 0.0
            cure = f"lower it by at least {cut}, `{stage.key} {{ gain {now - _tenths(over_db):.4g} dB }}`"
            cure += _opened(chain, _tenths(over_db))
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
    for found in _each_once(wanted):
        stage = found[0][1]
        cure = (
            f"lower what drives it by at least {_shown_cut(found[0][2])}, with a pad or at the output before it: its"
            " own attenuator stands behind the stage that clips"
        )
        what = f"the peaks of {{feeds}} drive the input of {stage.key} {{over}}"
        yield _clips(figures, "input-overdriven", found, what, cure)


def amp_clips(figures: Figures) -> Iterable[Finding]:
    """The feed's peaks ask an amplifier for more than its rated output."""
    wanted = _clipping(figures, lambda stage: stage.point.end == "output" and stage.point.gear.word == "amp")
    told = (each for each in wanted if not _box_over(figures.channels[each[1].key]))
    for found in _each_row(told):
        _, stage, over_db = found[0]
        channel = figures.channels[stage.key]
        control = amplifier_gain(channel.gear, channel.output.port.partition("+")[0]).control
        now = -abs(control.value) if control else 0.0
        cut = _shown_cut(over_db)
        cure = f"turn {stage.key} down by at least {cut} (attenuator at {now - _tenths(over_db):.4g} dB), or put"
        cure += f" `pad {cut}` before it"
        wanted_volt = dbu_to_volt(stage.clip_dbu + over_db)
        asks, gives = show_pair(wanted_volt, dbu_to_volt(stage.clip_dbu), "voltage")
        what = f"the peaks of {{feeds}} ask {stage.key} for {asks}, {{over}} {gives} it gives into this load"
        yield _clips(figures, "amp-clips", found, what, f"{cure}{larger(figures, channel)}")


def box_overdriven(figures: Figures) -> Iterable[Finding]:
    """A powered loudspeaker gets more than what makes it give its full output."""
    for found in _each_row(_clipping(figures, lambda stage: stage.point.gear.word == "speaker")):
        stage = found[0][1]
        cure = f"put `pad {_shown_cut(found[0][2])}` before it, or as much more where there is one"
        yield _clips(figures, "box-overdriven", found, f"the peaks of {{feeds}} drive {stage.key} {{over}}", cure)


def _clipping(figures: Figures, wanted: Callable[[Stage], bool]) -> Iterator[Told]:
    """The first stage to clip on each way, where the feed's peaks make it clip."""
    for chain in figures.levels.chains.values():
        stage = chain.first
        if stage is None or chain.muted or not wanted(stage) or chain.reference != "peak":
            continue
        over_db = stage.over_db
        if over_db is not None and over_db > TOLD_DB:
            yield chain, stage, over_db


def _clips(figures: Figures, rule: str, found: list[Told], what: str, cure: str) -> Finding:
    """``what`` is the message with places for the feeds and for how far over."""
    _, stage, over_db = found[0]
    peak = stage.point.peak
    assert peak is not None  # it is over by it
    may = peak.dbu - stage.clip_dbu <= TOLD_DB
    if may:
        what = what.replace("drive", "may drive").replace("ask", "may ask", 1)
    beyond = f"beyond what it {'gives' if stage.point.end == 'output' else 'takes'}"
    beyond = "more than the" if rule == "amp-clips" else beyond
    over = f"{show(over_db, 'gain')} {beyond}"
    nominal = stage.headroom_db is not None and stage.headroom_db < 0
    computed, allowed = show_pair(peak.worst_dbu, stage.clip_dbu, "level")
    if stage.point.end == "output" and stage.point.gear.word == "amp":
        computed, allowed = (show(dbu_to_volt(dbu), "voltage") for dbu in (peak.worst_dbu, stage.clip_dbu))
    also = _also(found)
    return Finding(
        rule,
        stage.point.span,
        what.format(feeds=_feeds(stage), over=over) + (", and its nominal level does too" if nominal else "") + also,
        label=f"{show(over_db, 'gain')} over at the peaks",
        related=tuple(_places(figures, found)),
        computed=f"{computed} at the peaks",
        allowed=f"at most {allowed}, {stage.limit}",
        assumes=_assumes(stage, may=may),
        help=cure,
        subject=stage.key,
        possible=may,
        decides=_DECIDES[_one_feed(stage)] if may else "",
    )


def _also(found: list[Told]) -> str:
    others = list(dict.fromkeys(stage.key for _, stage, _ in found if stage.key != found[0][1].key))
    if not others:
        return ""
    more = f" and {len(others) - 3} more" if len(others) > 3 else ""
    return f"; so {'is' if len(others) == 1 else 'are'} {', '.join(others[:3])}{more}"


def _assumes(stage: Stage, *, may: bool) -> tuple[str, ...]:
    """What a level and its clip point rest on."""
    notes = [text for part in stage.point.parts for text in part.assumes]
    if may:
        notes.insert(0, _ALIKE[_one_feed(stage)])
    return tuple(dict.fromkeys((*notes, *stage.assumes)))


def _one_feed(stage: Stage) -> bool:
    return len({part.feed for part in stage.point.parts}) == 1


def _feeds(stage: Stage) -> str:
    return " and ".join(list(dict.fromkeys(part.feed for part in stage.point.parts))[:3])


def _places(figures: Figures, found: list[Told]) -> Iterator[Label]:
    """Where the feeds' peaks, the limit and the controls on the way are said, and what else is driven so."""
    chain, stage, _ = found[0]
    for feed in list(dict.fromkeys(part.feed for part in stage.point.parts))[:3]:
        peak = figures.signals.said(feed, "peak")
        if peak is not None:
            yield Label(peak.span, f"{feed}: {peak.text}")
    if stage.said is not None:
        yield Label(stage.said, f"this sets the limit of {stage.key}")
    if chain.gear.word == "amp":
        port = chain.key.removeprefix(f"{chain.gear.full}.").partition("+")[0]
        control = amplifier_gain(chain.gear, port).control
        switch = switch_of(chain.gear, port)
        if control is not None:
            yield Label(control.span, f"the attenuator of {chain.gear.full}: {control.text}")
        if switch is not None:
            yield switch[1]
    for _, other, _ in found[1:4]:
        if other.point.span != stage.point.span:
            yield Label(other.point.span, f"{other.key} likewise")


def _each_once(told: Iterable[Told]) -> Iterator[list[Told]]:
    """Findings about one stage, however many ways lead over it."""
    stages: dict[int, list[Told]] = {}
    for each in told:
        stages.setdefault(id(each[1]), []).append(each)
    yield from stages.values()


def _each_row(told: Iterable[Told]) -> Iterator[list[Told]]:
    """Findings about one row of gear, the worst first: a control that was forgotten was forgotten on all."""
    rows: dict[str, list[Told]] = {}
    for each in told:
        rows.setdefault(each[1].point.gear.name, []).append(each)
    for found in rows.values():
        yield sorted(found, key=lambda each: -round(each[2], 6))


def _box_over(channel: ChannelFigures) -> bool:
    """Does a box on this channel get more than it stands at the feed's levels? Then that is the finding."""
    for box in channel.boxes:
        mean, peak = box.continuous, box.peak
        most_w = peak.value if peak else PEAK_OVER_CONTINUOUS * mean.value if mean else None
        if mean is not None and box.nominal_w is not None and box.nominal_w > mean.value * 1.0001:
            return True
        if most_w is not None and box.peak_w is not None and box.peak_w > most_w * 1.0001:
            return True
    return False


def _first_gain(gain: Measure | None) -> float:
    return gain.value if gain is not None else 0.0


def _tenths(db: float) -> float:
    """So many tenths of a dB as are needed."""
    return ceil(db * 10 - 1e-6) / 10


def _shown_cut(db: float) -> str:
    return f"{_tenths(db):.4g} dB"


# ---- what is left ---------------------------------------------------------------------------------------------------


def headroom_short(figures: Figures) -> Iterable[Finding]:
    """Less room from the nominal level to the clip than this rig wants; what clips at the peaks is told already."""
    own = figures.rig.limit("headroom", "gain")
    if own is None:
        return
    wanted_db = abs(own.value)
    short: list[Told] = []
    for chain in figures.levels.chains.values():
        rooms = [(stage.headroom_db, stage) for stage in chain.stages if stage.headroom_db is not None]
        if not rooms or chain.muted or _clips_already(chain):
            continue
        room_db, stage = min(rooms, key=lambda each: round(each[0], 6))
        if room_db < wanted_db - 1e-6:
            short.append((chain, stage, wanted_db - room_db))
    for found in _each_row(short):
        yield _short(figures, found, own, wanted_db)


def _clips_already(chain: Chain) -> bool:
    stage = chain.first
    return stage is not None and chain.reference == "peak" and stage.over_db is not None and stage.over_db > TOLD_DB


def _short(figures: Figures, found: list[Told], own: Measure, wanted_db: float) -> Finding:
    chain, stage, lacking_db = found[0]
    computed, allowed = show_pair(wanted_db - lacking_db, wanted_db, "gain")
    level = stage.point.level
    assert level is not None  # its headroom is known
    cut = _shown_cut(lacking_db)
    down = f"turn {chain.gear.full} down by at least {cut}" if stage is chain.last else f"lower its level by {cut}"
    return Finding(
        "headroom-short",
        stage.point.span,
        f"{stage.key} has {computed} of headroom over its nominal level, less than the {allowed} that this rig wants"
        f"{_also(found)}",
        label=f"{computed} of headroom",
        related=(Label(own.span, f"this rig's own limit: {own.text}"), *_places(figures, found)),
        computed=computed,
        allowed=f"at least {allowed}",
        assumes=_assumes(stage, may=False),
        help=f"{down}; or use gear that clips later, or say in `limits` that less will do",
        subject=stage.key,
    )


def gain_unused(figures: Figures) -> Iterable[Finding]:
    """Even the feed's peaks leave an amplifier or a powered loudspeaker far below what it could give."""
    low: list[Told] = []
    for chain in figures.levels.chains.values():
        last = chain.last
        if last is None or chain.muted or last.point.wanted_peak is None:
            continue
        left_db = last.clip_dbu - last.point.wanted_peak.worst_dbu
        if UNUSED_DB < left_db < float("inf"):
            low.append((chain, last, left_db))
    for found in _each_row(low):
        chain, stage, left_db = found[0]
        fraction = gain_to_power_ratio(left_db)
        yield Finding(
            "gain-unused",
            stage.point.span,
            f"even the peaks of {_feeds(stage)} leave {stage.key} {show(left_db, 'gain')} below {stage.limit}:"
            f" 1/{fraction:.0f} of its power{_also(found)}",
            label=f"{show(left_db, 'gain')} unused",
            related=tuple(_places(figures, found)),
            computed=f"{show(left_db, 'gain')} below full output at the peaks",
            allowed=f"at most {show(UNUSED_DB, 'gain')}",
            assumes=_assumes(stage, may=False),
            help="open its attenuator or raise what drives it, as far as the boxes stand it; or use a smaller one",
            subject=stage.key,
        )


def feed_peak_low(figures: Figures) -> Iterable[Finding]:
    """A feed whose highest level lies below its nominal one."""
    for gear in figures.rig.gear.values():
        level, peak = gear.measure("level", "level"), gear.measure("peak", "level")
        if gear.word != "feed" or level is None or peak is None or peak.value >= level.value:
            continue
        computed, allowed = show_pair(peak.value, level.value, "level")
        yield Finding(
            "feed-peak-low",
            peak.span,
            f"the peak level of {gear.full} is {computed}, below its nominal level of {allowed}",
            label=computed,
            related=(Label(level.span, f"its nominal level: {level.text}"),),
            computed=computed,
            allowed=f"at least {allowed}",
            help="exchange the two, or say the level of a sine that reaches the highest peaks",
            subject=gear.full,
        )


RULES = (
    Rule(
        "stage-clips",
        Severity.WARNING,
        "a processor clips before the amplifier is at its rated output",
        "it distorts although the amplifier has power left, and no limiter behind it can help",
        "the level that its inputs take or its outputs give, at the feed's peak level",
        _CLIPPING,
        "lower the level before the stage, and raise the gain behind it",
        "feed f { level 4 dBu; peak 17 dBu }\nprocessor xo is cross { peak 20 dBu }\nxo.1 { from a; gain 6 dB }\n"
        "amp a is twin { attenuator -24 dB }\nspeaker b is box\nf -> xo.a\nxo.1 -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        "feed f { level 4 dBu; peak 17 dBu }\nprocessor xo is cross { peak 20 dBu }\nxo.1 { from a }\n"
        "amp a is twin { attenuator -18 dB }\nspeaker b is box\nf -> xo.a\nxo.1 -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        stage_clips,
    ),
    Rule(
        "input-overdriven",
        Severity.WARNING,
        "an amplifier's input clips before its gain control",
        "turning the amplifier down makes the distortion softer and does not take it away",
        "the amplifier's `input-peak`, at the feed's peak level",
        _CLIPPING,
        "put a pad before the input, or lower the output that drives it",
        "feed f { level 10 dBu; peak 24 dBu }\namp a is twin { input-peak 21 dBu; attenuator -24 dB }\n"
        "speaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        "feed f { level 10 dBu; peak 24 dBu }\namp a is twin { input-peak 21 dBu; attenuator -14 dB }\n"
        "speaker b is box\nf -> pad 10 dB -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        input_overdriven,
    ),
    Rule(
        "amp-clips",
        Severity.WARNING,
        "the feed's peaks ask an amplifier for more than its rated output",
        "clipped peaks sound harsh, and they carry more mean power and more treble than the boxes were meant to get",
        "its rated voltage into this load, at the feed's peak level; not told where a box gets too much of it",
        _CLIPPING,
        "turn the channel down, or lower what drives it",
        "feed f { level 4 dBu; peak 17 dBu }\namp a is twin\nspeaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        "feed f { level 4 dBu; peak 17 dBu }\namp a is twin { attenuator -12 dB }\nspeaker b is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        amp_clips,
    ),
    Rule(
        "box-overdriven",
        Severity.WARNING,
        "a powered loudspeaker gets more than what makes it give its full output",
        "its amplifier clips, or its limiter works all the time and takes the life out of the sound",
        "its `drive`, at the feed's peak level",
        _CLIPPING,
        "put a pad before it, or turn its own control down and say the `drive` that this makes",
        "feed f { level 4 dBu; peak 17 dBu }\nspeaker m is active { drive 4 dBu }\nf -> m\n",
        "feed f { level 4 dBu; peak 17 dBu }\nspeaker m is active { drive 4 dBu }\nf -> pad 13 dB -> m\n",
        box_overdriven,
    ),
    Rule(
        "headroom-short",
        Severity.WARNING,
        "a stage has less headroom than this rig wants",
        "the first loud passage clips",
        "the rig's own `limits { headroom ... }`, from the nominal level to the clip of the nearest stage",
        "the rig's own `limits`",
        "turn the channel down, or use gear that clips later",
        'rig "hall" { limits { headroom 15 dB } }\nfeed f { level 4 dBu; peak 14 dBu }\n'
        "amp a is twin { attenuator -8 dB }\n"
        "speaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        'rig "hall" { limits { headroom 10 dB } }\nfeed f { level 4 dBu; peak 14 dBu }\n'
        "amp a is twin { attenuator -12 dB }\n"
        "speaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        headroom_short,
    ),
    Rule(
        "gain-unused",
        Severity.ADVICE,
        "an amplifier never comes near what it could give",
        "its noise stays as loud as ever, so the sound is 20 dB nearer to it than it need be",
        f"within {UNUSED_DB:g} dB of full output at the feed's peak level",
        "common practice, no source",
        "raise the level before it or its gain, or use a smaller amplifier",
        "feed f { level -20 dBu; peak -10 dBu }\namp a is twin { attenuator -10 dB }\nspeaker b is box\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        "feed f { level -20 dBu; peak -10 dBu }\namp a is twin\nspeaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n",
        gain_unused,
    ),
    Rule(
        "feed-peak-low",
        Severity.WARNING,
        "a feed's peak level lies below its nominal level",
        "headroom, clipping and limiters are worked out from the wrong peaks",
        "the peak level is at least the nominal one",
        "the rig language, grammar/reference.md",
        "exchange the two, or correct one of them",
        "feed f { level 17 dBu; peak 4 dBu }\nspeaker m is active\nf -> m\n",
        "feed f { level 4 dBu; peak 17 dBu }\nspeaker m is active\nf -> m\n",
        feed_peak_low,
    ),
)
