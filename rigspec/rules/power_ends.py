"""How far tolerances and ranges leave open what power a loudspeaker gets against its rating."""

from __future__ import annotations

from attrs import frozen

from rigspec.figures import BoxFigures, ChannelFigures
from rigspec.figures.rated import entries
from rigspec.rig import Measure
from rigspec.rules.certainty import Dominant, dominant
from rigspec.signal import amplifier_gain
from rigspec.solve.decibel import gain_to_power_ratio
from rigspec.value import Value


@frozen(eq=False, repr=False)
class Ends(Value):
    """The ends of a power and of the rating it is held against, as factors of what they are; and what decides."""

    least: float
    most: float
    weakest: float
    strongest: float
    dominant: Dominant


EXACT = Ends(1.0, 1.0, 1.0, 1.0, Dominant())


def ends_of(channel: ChannelFigures, box: BoxFigures, limit: Measure, *, told: bool, clip: float | None = None) -> Ends:
    """The ends for one loudspeaker. ``told``: the feed's level and the gain decide; else the amplifier's ratings do.

    ``clip`` is the power at which the amplifier clips over the power that it gives: no gain brings more than that.
    """
    weakest, strongest = _share(limit)
    least, most = box.least_power, box.most_power
    factors = _gain(channel) if told else _ratings(channel)
    for _, (low, high) in factors:
        least, most = least * low, most * high
    if told and clip is not None:
        ratings = max((high for _, (_, high) in _ratings(channel)), default=1.0)
        most = min(most, max(1.0, clip) * box.most_power * ratings)
    if least == most and weakest == strongest:
        return EXACT
    factors.append((limit, (weakest, strongest)))
    moved = [(measure, high / low) for measure, (low, high) in factors if high > low > 0]
    impedance = box.box.impedance
    if impedance is not None and impedance.low != impedance.high:
        moved.append((impedance, box.most_power / box.least_power))
    return Ends(least, most, weakest, strongest, dominant(moved))


def _share(measure: Measure) -> tuple[float, float]:
    """The ends of a figure over the figure itself."""
    return (measure.low / measure.value, measure.high / measure.value) if measure.value else (1.0, 1.0)


def _ratings(channel: ChannelFigures) -> list[tuple[Measure, tuple[float, float]]]:
    """The rated power with the widest tolerance: all of one amplifier are off together."""
    use = {"bridge"} if channel.halves else set()
    said = [power for each in entries(channel.gear, "rated") if set(each.words) == use and (power := each.get("power"))]
    widest = max(said, key=lambda power: (power.high - power.low) / power.value if power.value else 0.0, default=None)
    return [] if widest is None else [(widest, _share(widest))]


def _gain(channel: ChannelFigures) -> list[tuple[Measure, tuple[float, float]]]:
    """The amplifier's gain, where it is said with a tolerance."""
    gain = amplifier_gain(channel.gear, channel.output.port.partition("+")[0]).gain
    if gain is None or gain.low == gain.high:
        return []
    return [(gain, (gain_to_power_ratio(gain.low - gain.value), gain_to_power_ratio(gain.high - gain.value)))]
