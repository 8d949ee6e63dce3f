"""The limiters that are set on the way to a channel, and the highest levels that its stages can give."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from attrs import frozen

from rigspec.figures.points import ProcessorPoint
from rigspec.figures.signal import limits_said
from rigspec.figures.values import ChannelFigures
from rigspec.rig.model import Facts, Measure, Output, one
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class SetLimiter(Value):
    """A limiter on the way to a channel.

    ``output`` is where it is set: a processor output or the channel itself. ``watches`` is ``rms`` or ``peak``;
    ``dbu`` is its threshold there, at a processor's output or an amplifier's input (at its output where the gain is
    not known), ``output_dbu`` the same threshold at the amplifier's output. ``worded``: it says what it watches.
    ``right_dbu`` is where it should stand there, None where no loudspeaker has a rating. Peaks are levels of the sine
    that reaches them.
    """

    output: Output
    watches: Literal["rms", "peak"]
    dbu: float
    output_dbu: float
    said: Measure
    worded: bool
    attack: Measure | None
    release: Measure | None
    right_dbu: float | None = None

    @property
    def over_db(self) -> float | None:
        """How far it stands above the right threshold."""
        return None if self.right_dbu is None else self.output_dbu - self.right_dbu

    @property
    def right_there_dbu(self) -> float | None:
        """The right threshold where it is set."""
        return None if self.right_dbu is None else self.dbu - self.output_dbu + self.right_dbu

    @property
    def on_amplifier(self) -> bool:
        return self.output.gear.word == "amp"


def limiters_set(channel: ChannelFigures, points: Sequence[ProcessorPoint]) -> list[SetLimiter]:
    """The limiters on the way to a channel, its own first."""
    found: list[SetLimiter] = []
    gear, gain_db = channel.gear, channel.gain_db
    own = gear.ports.get(channel.output.halves[0])
    facts = {**gear.facts, **own} if own else gear.facts
    if "limit" in facts:
        found += _set(facts, channel.output, gain_db or 0.0, gain_db or 0.0)
        if gain_db is None:  # a voltage at its output can be held against, a level at its input cannot
            found = [each for each in found if each.said.kind == "voltage"]
    for point in points:
        facts = point.output.gear.ports.get(point.output.port, {})
        if "limit" in facts:
            found += _set(facts, point.output, point.gain_db, 0.0)
    return found


def _set(facts: Facts, output: Output, behind_db: float, gain_db: float) -> list[SetLimiter]:
    attack, release = one(facts, "attack", "time"), one(facts, "release", "time")
    return [
        SetLimiter(output, limit.watches, limit.dbu, limit.dbu + behind_db, limit.said, limit.worded, attack, release)
        for limit in limits_said(facts, gain_db)
    ]


def ceilings(
    channel: ChannelFigures, clip_dbu: float | None, points: Sequence[ProcessorPoint]
) -> tuple[tuple[float, str], ...]:
    """The highest levels that the stages on the way can give, at the amplifier's output, with what gives each."""
    found = []
    if clip_dbu is not None:
        found.append((clip_dbu, f"{channel.key} clips"))
    entry = channel.gear.measure("input-peak", "level")
    if entry is not None and channel.gain_db is not None:
        # Its control lies behind the input that clips; a bridge's 6 dB are in the gain as well.
        found.append((entry.value + channel.gain_db, f"the input of {channel.key} clips"))
    for point in points:
        most = point.output.gear.measure("peak", "level")
        if most is not None:
            found.append((most.value + point.gain_db, f"{point.output.key} gives no more"))
    return tuple(found)
