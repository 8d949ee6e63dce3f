"""How far tolerances and ranges leave open what power a loudspeaker gets against its rating."""

from __future__ import annotations

from math import inf, isfinite

from attrs import frozen

from rigspec.figures import BoxFigures, ChannelFigures
from rigspec.figures.signal import Level, amplifier_gain
from rigspec.rig.model import Measure, entries
from rigspec.rules.certainty import Dominant, dominant
from rigspec.solve.decibel import gain_to_power_ratio
from rigspec.text.value import Value

Factor = tuple[Measure, tuple[float, float]]
"""A given figure with the factors by which its ends change a power."""


@frozen(eq=False, repr=False)
class PowerRange(Value):
    """The ends of a power and of the rating it is held against, as factors of what they are; and what moves them."""

    least: float
    most: float
    weakest: float
    strongest: float
    moved: tuple[tuple[Measure, float], ...] = ()

    @property
    def dominant(self) -> Dominant:
        """What decides most; made anew, for it speaks of lines, which move."""
        return dominant(self.moved)


EXACT = PowerRange(1.0, 1.0, 1.0, 1.0)


@frozen(eq=False, repr=False)
class DrivenRange(Value):
    """What drives a loudspeaker where its feeds' levels are known: of these the ``level`` that counts, or the ``peak``.

    ``asked`` is the power that the feeds ask for over what arrives: above 1 where the amplifier clips. ``clip`` is the
    power at which it clips over what arrives: no level and no gain brings more than that.
    """

    level: Level
    peak: bool
    asked: float = 1.0
    clip: float | None = None


def ends_of(channel: ChannelFigures, box: BoxFigures, limit: Measure, driven: DrivenRange | None = None) -> PowerRange:
    """The ends for one loudspeaker: by the feeds' levels and the gain, or by the amplifier's ratings where it clips.

    Where no level is known the ratings count alone.
    """
    weakest, strongest = _share(limit)
    ratings = _ratings(channel)
    factors, (least, most) = ratings, _times(ratings)
    if driven is not None:
        levels = _gain(channel) + _levels(driven)
        low, high = _times(levels)
        if driven.asked > 1.0001:
            # It clips as the levels are said. At their low ends it need not.
            if low * driven.asked < least:
                factors, least = ratings + levels, low * driven.asked
        else:
            clip = inf if driven.clip is None else max(1.0, driven.clip) * most
            factors, least, most = levels, low, min(high, clip)
    least, most = least * box.least_power, most * box.most_power
    if least == most and weakest == strongest:
        return EXACT
    moved = [(measure, high / low) for measure, (low, high) in factors if high > low > 0]
    moved += [(limit, strongest / weakest)] if strongest > weakest > 0 else []
    impedance = box.box.impedance
    if impedance is not None and impedance.low != impedance.high:
        moved.append((impedance, box.most_power / box.least_power))
    return PowerRange(least, most, weakest, strongest, tuple(moved))


def _times(factors: list[Factor]) -> tuple[float, float]:
    low = high = 1.0
    for _, (least, most) in factors:
        low, high = low * least, high * most
    return low, high


def _levels(driven: DrivenRange) -> list[Factor]:
    """The levels of the feeds, where they are said with a tolerance: together as far as they move the power.

    Each is given its part in that, by how far it moves it alone.
    """
    level, low, high = driven.level, driven.level.low, driven.level.high
    if level.ends is None:
        return []
    here, least, most = (each.worst_dbu if driven.peak else each.dbu for each in (level, low, high))
    whole = sum(db for _, db in level.moved)
    if not all(map(isfinite, (here, least, most, whole))) or not whole:
        return []
    return [
        (said, (gain_to_power_ratio((least - here) * db / whole), gain_to_power_ratio((most - here) * db / whole)))
        for said, db in level.moved
    ]


def _share(measure: Measure) -> tuple[float, float]:
    """The ends of a figure over the figure itself."""
    return (measure.low / measure.value, measure.high / measure.value) if measure.value else (1.0, 1.0)


def _ratings(channel: ChannelFigures) -> list[Factor]:
    """The rated power with the widest tolerance: all of one amplifier are off together."""
    use = {"bridge"} if channel.halves else set()
    rated = entries(channel.gear.facts, "rated")
    said = [power for each in rated if set(each.words) == use and (power := each.get("power"))]
    widest = max(said, key=lambda power: (power.high - power.low) / power.value if power.value else 0.0, default=None)
    return [] if widest is None else [(widest, _share(widest))]


def _gain(channel: ChannelFigures) -> list[Factor]:
    """The amplifier's gain, where it is said with a tolerance."""
    gain = amplifier_gain(channel.gear, channel.output.halves[0]).gain
    if gain is None or gain.low == gain.high:
        return []
    return [(gain, (gain_to_power_ratio(gain.low - gain.value), gain_to_power_ratio(gain.high - gain.value)))]
