"""Tables about amplifier channels: what they see, and what their outputs give."""

from __future__ import annotations

from collections.abc import Iterator

from rigspec.figures import ChannelFigures, Figures
from rigspec.show.tables.question import Column, Question


def rows(figures: Figures) -> list[ChannelFigures]:
    return list(figures.channels.values())


def range_of(low: float, high: float, decimals: int) -> str | None:
    """A range where the two ends look different, else nothing."""
    ends = f"{low:.{decimals}f}", f"{high:.{decimals}f}"
    return None if ends[0] == ends[1] else "..".join(ends)


def _half(channel: ChannelFigures) -> float | None:
    return min((ohm for _, ohm in channel.halves), default=None)


def _least_half(channel: ChannelFigures) -> float | None:
    return min((ohm for _, ohm in channel.least_halves), default=None)


def _strain(channel: ChannelFigures) -> float:
    """The least load that is stood over the lowest that is seen: above 1 it is too low."""
    half = _least_half(channel)
    pairs = [
        (channel.limit, channel.least_seen_ohm if half is None else half),
        (channel.bridge_limit, channel.least_seen_ohm),
    ]
    return max((limit.value / ohm for limit, ohm in pairs if limit is not None and ohm > 0), default=0.0)


def _said_of_channels(figures: Figures) -> list[str]:
    """What the words of the first table mean, where they stand in it."""
    channels, said = figures.channels.values(), []
    if any(channel.halves for channel in channels):
        said.append("Each half of a bridged pair sees half the load of the pair; `stands` is for each half.")
    if any(channel.alone_w is not None for channel in channels):
        said.append(
            "Rated: with all channels driven; alone: with the others at rest. Between rated points its supply sags."
        )
    return said


def _stopped(figures: Figures) -> list[str]:
    """What it means that a level is no higher than the rated output."""
    channels = figures.channels.values()
    if not any(c.peak_volt is not None and c.peak_volt == c.rated_volt for c in channels):
        return []
    return ["V at level and at peak stop at the rated output: there the amplifier clips."]


def _damping(channel: ChannelFigures) -> float | None:
    return None if not channel.source_ohm else channel.load_ohm / channel.source_ohm


def all_assumes(figures: Figures) -> Iterator[tuple[str, str]]:
    """What loads, outputs and levels rest on, by channel."""
    for channel in figures.channels.values():
        for text in channel.assumes:
            yield text, channel.key


def _assumes(figures: Figures) -> Iterator[tuple[str, str]]:
    for channel in figures.channels.values():
        for text in channel.rated_assumes:
            yield text, channel.key


QUESTIONS: tuple[Question, ...] = (
    Question(
        word="channels",
        title="Amplifier channels: loads in ohms with their leads, and the rated output into them (sine, rms)",
        columns=(
            Column("channel", "channel", lambda c: c.key).says(
                "the amplifier channel or bridged pair, by its full name"
            ),
            Column("load_ohm", "sees ohm", lambda c: c.load_ohm, 2).says(
                "the load with its leads, from rated impedances"
            ),
            Column(
                "load_range",
                "least..most",
                lambda c: range_of(c.least_seen_ohm, c.most_seen_ohm, 2),
                programs=False,
            ),
            Column("load_low_ohm", "least", lambda c: c.least_seen_ohm, people=False).says(
                "the least that the load may be by the tolerances that are given"
            ),
            Column("load_high_ohm", "most", lambda c: c.most_seen_ohm, people=False).says(
                "the most that the load may be by the tolerances that are given"
            ),
            Column("half_ohm", "each half", _half, 2).says("what each half of a bridged pair sees"),
            Column("least_half_ohm", "least of a half", _least_half, people=False).says(
                "the least that a half of a bridged pair may see"
            ),
            Column("limit_ohm", "stands ohm", lambda c: c.limit.value if c.limit else None).says(
                "the least load that the amplifier stands on each channel"
            ),
            Column(
                "bridge_limit_ohm", "bridged stands", lambda c: c.bridge_limit.value if c.bridge_limit else None
            ).says("the least load that the amplifier stands bridged"),
            Column("rated_volt", "rated V", lambda c: c.rated_volt).says(
                "the rated output into this load, as the voltage (rms) of a sine"
            ),
            Column("rated_watt", "rated W", lambda c: c.rated_w).says(
                "the rated output into this load, all channels driven"
            ),
            Column("alone_watt", "W alone", lambda c: c.alone_w).says("the same with the other channels at rest"),
            Column("limited_by", "limited by", lambda c: c.limited_by or None).says("what ends the rated output"),
        ),
        rows=rows,
        worst=_strain,
        mark="the lowest load for what its amplifier stands",
        note=_said_of_channels,
        assumes=_assumes,
    ),
    Question(
        word="outputs",
        title="Amplifier outputs: gain as set, levels of the feeds, the most that the ratings show, damping factor",
        columns=(
            Column("channel", "channel", lambda c: c.key).says(
                "the amplifier channel or bridged pair, by its full name"
            ),
            Column("gain_db", "gain dB", lambda c: c.gain_db, 1).says("the gain of the channel as it is set"),
            Column("input_dbu", "input dBu", lambda c: c.input_dbu, 1).says("the nominal level at its input"),
            Column("nominal_volt", "V at level", lambda c: c.nominal_volt).says(
                "the voltage at its output at the nominal level, no more than its rated output"
            ),
            Column("peak_level_volt", "V at peak", lambda c: c.peak_volt).says(
                "the same (rms) for a sine with the highest peaks"
            ),
            Column("clips", "clips", lambda c: c.clips, people=False, holds="flag").says(
                "true where the level of the feeds goes beyond its rated output"
            ),
            Column("most_volt", "most V", lambda c: c.volt_limit).says("the most voltage (rms) that its ratings show"),
            Column("most_ampere", "most A", lambda c: c.ampere_limit).says(
                "the most current (rms) that its ratings show"
            ),
            Column("source_ohm", "source ohm", lambda c: c.source_ohm).says(
                "its output impedance, from its damping factor"
            ),
            Column("damping", "damping", _damping, holds="number").says("the load over its output impedance"),
        ),
        rows=rows,
        worst=lambda c: float(c.clips),
        mark="the feeds' level asks for more than the rated output",
        note=_stopped,
        assumes=all_assumes,
    ),
)
