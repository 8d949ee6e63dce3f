"""How far the rails of half-bridge amplifiers climb: as the rig is, with all in phase, and with channels opposed.

A check comes here only where a rig has such an amplifier. Nothing here was measured on a real amplifier.
"""

from __future__ import annotations

from collections.abc import Iterable
from math import isfinite, sqrt

from attrs import frozen

from rigspec.figures.supply import SharedSupply, half_bridge, low_edge, supply_facts
from rigspec.figures.values import BaseFigures, ChannelFigures
from rigspec.rig.model import Gear, Measure
from rigspec.solve.decibel import dbu_to_volt
from rigspec.solve.pumping import WORST_SWING, left_volt, most_left_volt
from rigspec.text.value import Value

SHARE = 0.1
"""The climb that counts where no limit of the amplifier is given: a tenth of the rail, as mains may rise by (EN 50160,
from memory); the supply's parts have to stand that anyway."""


@frozen(eq=False, repr=False)
class Pump(Value):
    """The rails of one supply of half-bridge stages at the deepest tone of its channels.

    ``rise_volt`` is how far a resting rail climbs as the rig is, from ``low_volt`` to ``high_volt`` with the tolerances
    of reservoir, rail and the feeds' peaks, and ``moved`` is how many volts each of these alone moves it;
    ``in_phase_volt`` with all alike channels in phase, ``opposed_volt`` with them opposed.
    ``swing`` is the output's peak over the rail at which that is: what the feed's peaks reach, or where it is worst.
    ``together`` is None where no two channels share bass; then the one that pumps most counts alone.
    """

    gear: Gear
    channels: tuple[ChannelFigures, ...]
    together: SharedSupply | None
    hz: float
    rail: Measure
    farad: Measure
    trip: Measure | None
    swing: float
    rise_volt: float
    low_volt: float
    high_volt: float
    in_phase_volt: float
    opposed_volt: float
    moved: tuple[tuple[Measure, float], ...]
    assumes: tuple[str, ...]

    @property
    def key(self) -> str:
        return " and ".join(channel.key for channel in self.channels)

    @property
    def room_volt(self) -> float:
        """How far a rail may climb: to where the amplifier protects itself, or by a tenth where that is not given."""
        return self.rail.value * SHARE if self.trip is None else self.trip.value - self.rail.value


def pumps(ground: BaseFigures, together: Iterable[SharedSupply]) -> list[Pump]:
    """Every supply of half-bridge stages of which reservoir, rail and the lowest tone of its channels are known."""
    found: list[Pump] = []
    paired: set[str] = set()
    for each in together:
        if each.supply.stage == "half-bridge" and each.supply.sharing == "shared" and not each.differs:
            paired |= {member.channel.key for member in each.members}
            found += _pump(each.gear, tuple(member.channel for member in each.members), each)
    alone: dict[str, list[Pump]] = {}
    for channel in ground.channels.values():
        lone = channel.key not in paired and channel.parts and not channel.output.bridged
        if lone and half_bridge(channel.gear):
            alone.setdefault(channel.gear.full, []).extend(_pump(channel.gear, (channel,), None))
    found += [max(each, key=lambda pump: (pump.rise_volt, pump.key)) for each in alone.values() if each]
    return found


def _pump(gear: Gear, channels: tuple[ChannelFigures, ...], together: SharedSupply | None) -> list[Pump]:
    supply = supply_facts(gear)
    low, assumed = low_edge(channels)
    if gear.doubt or supply is None or supply.stage != "half-bridge" or low is None:
        return []
    rail, farad = supply.rail, supply.farad
    if rail is None or farad is None or farad.low <= 0:
        return []
    whole = sum(1 / channel.load_ohm for channel in channels)
    normal, turned = (together.normal_siemens, together.turned_siemens) if together else (whole, 0.0)
    least, swing, most = (
        min(WORST_SWING, max(_swing(channel, rail.value, end) for channel in channels)) for end in (-1, 0, 1)
    )

    def climb(rail_volt: float, reservoir: float, swung: float) -> float:
        return _most(rail_volt, low, reservoir, normal, turned, swung)

    peaks = climb(rail.value, farad.value, most) - climb(rail.value, farad.value, least)
    loudest = max(channels, key=lambda channel: _swing(channel, rail.value, 1))
    moved = (
        (farad, climb(rail.value, farad.low, swing) - climb(rail.value, farad.high, swing)),
        (rail, climb(rail.high, farad.value, swing) - climb(rail.low, farad.value, swing)),
        *((said, peaks * db) for said, db in _shares(loudest)),
    )
    assumes = [text for text in (assumed,) if text]
    if any(channel.peak_volt is None for channel in channels):
        assumes.append("the peaks that arrive are not known: the worst swing is taken, 64 % of the rail")
    return [
        Pump(
            gear,
            channels,
            together,
            low,
            rail,
            farad,
            supply.trip,
            swing,
            climb(rail.value, farad.value, swing),
            climb(rail.low, farad.high, least),
            climb(rail.high, farad.low, most),
            left_volt(rail.value, low, farad.value, whole, 0.0, swing),
            _opposed(rail.value, low, farad.value, channels, (normal, turned), swing),
            tuple(each for each in moved if each[1] > 0),
            (*assumes, "loads are taken as resistances; at a box's resonance rails climb further"),
        )
    ]


def _swing(channel: ChannelFigures, rail_volt: float, end: int = 0) -> float:
    """The highest peak that arrives over the rail, at an end of the feeds' tolerances; 1 where no peak is known."""
    volt = channel.peak_volt
    if volt is None:
        return 1.0
    if end and channel.peak is not None and channel.peak.ends is not None and channel.rated_volt is not None:
        level = channel.peak.low if end < 0 else channel.peak.high
        volt = min(dbu_to_volt(level.worst_dbu), channel.rated_volt)
    return min(volt * sqrt(2) / rail_volt, 1.0)


def _shares(channel: ChannelFigures) -> list[tuple[Measure, float]]:
    """The peaks of feeds that have a tolerance, each with its share in how far they move the channel."""
    moved = channel.peak.moved if channel.peak is not None else ()
    whole = sum(db for _, db in moved)
    return [(said, db / whole) for said, db in moved] if whole and isfinite(whole) else []


def _most(rail_volt: float, hz: float, farad: float, normal: float, turned: float, swing: float) -> float:
    """The highest climb at any swing up to this one: of one polarity it grows up to the worst swing."""
    if not normal or not turned:
        return left_volt(rail_volt, hz, farad, normal, turned, swing)
    return most_left_volt(rail_volt, hz, farad, normal, turned)[0]


def _opposed(
    rail_volt: float,
    hz: float,
    farad: float,
    channels: tuple[ChannelFigures, ...],
    as_it_is: tuple[float, float],
    swing: float,
) -> float:
    if as_it_is[1]:
        return _most(rail_volt, hz, farad, *as_it_is, swing)
    loads = sorted((1 / channel.load_ohm for channel in channels), reverse=True)
    sides = [0.0, 0.0]
    for each in loads:
        sides[sides[1] < sides[0]] += each
    return _most(rail_volt, hz, farad, sides[0], sides[1], swing)
