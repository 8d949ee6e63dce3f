"""What opposed drive is worth to what does not last: a hit of a kick drum, a burst, beside a lasting tone.

A recording's own start is not known, so that what it gains is a range. Nothing here was measured on a real amplifier.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from attrs import frozen

from rigspec.figures.opposed import OpposedModel, bass_of
from rigspec.solve.supply_hits import Burst, Hit
from rigspec.text.value import Value

KICK_HZ = 50.0
"""The tone of a kick drum, in the middle of what they are tuned to (common practice, no source)."""
_KICK_MOST_HZ = 80.0  # channels that begin above carry no kick drum (common practice, no source)
KICK_DECAY_S = 0.08
"""After this a kick drum is down to 1/e (common practice, no source)."""
SOFTEST_S = 0.005
"""The softest start of a kick drum that is looked at: its loudness builds up in this time (common practice)."""
_RESERVOIRS = 6  # to each side, for a curve


@frozen(eq=False, repr=False)
class HitGain(Value):
    """What one sort of signal gains: power at its peak in phase and opposed, the gain as a share with its range.

    ``kick``: it is a kick drum, which a recording may have sharper or softer.
    """

    name: str
    hz: float
    in_phase_w: float
    opposed_w: float
    gain: float
    low: float
    high: float
    kick: bool


def hits(made: OpposedModel) -> Iterable[HitGain]:
    """A lasting tone, bursts and kick drums at one tone of the band; nothing where no supply is simulated."""
    if made.supply is None or made.x is None:
        return
    low, high = bass_of(made.together)
    if low > high:
        return
    hz = min(max(KICK_HZ, low), high)
    signals: list[tuple[str, float | Hit | Burst]] = [
        ("lasting tone", hz),
        ("burst of 4 cycles", Burst(hz, 4)),
        ("burst of 1 cycle", Burst(hz, 1)),
    ]
    if hz <= _KICK_MOST_HZ:
        signals += [
            ("kick, sharp start", Hit(hz, KICK_DECAY_S)),
            ("kick, start of 2 ms", Hit(hz, KICK_DECAY_S, 0.002)),
            ("kick, start of 5 ms", Hit(hz, KICK_DECAY_S, SOFTEST_S)),
        ]
    points = made.supply.points(made.x)
    for name, signal in signals:
        found = made.supply.swings(made.draw, signal)
        if made.supply.collapses(found):
            return
        in_phase, opposed = (volt * volt / made.channel_ohm for volt in (found.in_phase_volt, found.opposed_volt))
        kick = isinstance(signal, Hit)
        yield HitGain(name, hz, in_phase, opposed, found.gain, found.low - points, found.high + points, kick)


def kick_range(found: Sequence[HitGain]) -> tuple[float, float] | None:
    """The least and the most that a kick drum gains whose start is not known, with what else is left open."""
    kicks = [each for each in found if each.kick]
    if not kicks:
        return None
    return min(each.low for each in kicks), max(each.high for each in kicks)


@frozen(eq=False, repr=False)
class ReservoirGain(Value):
    """What the same supply would gain with another reservoir: the deepest tone of the band, and a sharp kick drum."""

    farad: float
    deepest: float
    kick: float


def by_reservoir(made: OpposedModel) -> list[ReservoirGain]:
    """The gain against the reservoir, from a quarter of it to four times as much; all else as it is."""
    low, high = bass_of(made.together)
    if made.supply is None or low > high:
        return []
    kick = Hit(min(max(KICK_HZ, low), high), KICK_DECAY_S)
    found = []
    for step in range(-_RESERVOIRS, _RESERVOIRS + 1):
        model = made.supply.with_reservoir(4 ** (step / _RESERVOIRS))
        gains = (model.swings(made.draw, signal).gain for signal in (low, kick))
        found.append(ReservoirGain(model.mains.farad, *gains))
    return found
