"""Everything that is known of the supplies of a rig's amplifiers; made when somebody asks for it, never for a check."""

from __future__ import annotations

from collections.abc import Sequence
from math import ceil, log2

from attrs import frozen

from rigspec.figures.opposed import OpposedGain, OpposedModel, bass_of, prospect, tones, worth
from rigspec.figures.opposed_hits import HitGain, hits
from rigspec.figures.pumped import Pump, pumps
from rigspec.figures.supply import SharedSupply, SupplyFacts, supply_facts
from rigspec.figures.values import ChannelFigures
from rigspec.figures.whole import Figures
from rigspec.rig.model import Gear
from rigspec.text.value import Value, gathered


@frozen(eq=False, repr=False)
class SupplyPair(Value):
    """Channels that share bass and a supply: what opposed drive gives them, at each tone and to what does not last."""

    prospect: OpposedModel
    worths: tuple[OpposedGain, ...]
    hits: tuple[HitGain, ...]

    @property
    def together(self) -> SharedSupply:
        return self.prospect.together

    @property
    def best(self) -> OpposedGain | None:
        """The tone at which opposed drive gives most."""
        return max(self.worths, key=lambda each: each.gain, default=None)


@frozen(eq=False, repr=False)
class AmpSupply(Value):
    """The supply of one amplifier, with the channels that draw on it.

    ``why`` says why no two of its channels are compared, where there are none. ``bridged`` are its bridged pairs, whose
    halves are opposed by nature.
    """

    gear: Gear
    supply: SupplyFacts
    channels: tuple[ChannelFigures, ...]
    bridged: tuple[ChannelFigures, ...]
    pairs: tuple[SupplyPair, ...]
    pumps: tuple[Pump, ...]
    why: str


def supplies(figures: Figures) -> list[AmpSupply]:
    """Every amplifier of which the stock says something of the supply and that drives something; in rig order."""
    of_gear = gathered(figures.channels.values(), lambda channel: channel.gear.full)
    pairs: dict[str, list[SupplyPair]] = {}
    for together in figures.together:
        pairs.setdefault(together.gear.full, []).append(_pair(figures, together))
    climbing = gathered(pumps(figures, figures.together), lambda pump: pump.gear.full)
    found = []
    for name, channels in of_gear.items():
        supply = supply_facts(channels[0].gear)
        if supply is None:
            continue
        bridged = [channel for channel in channels if channel.output.bridged]
        here = pairs.get(name, [])
        why = "" if here else _why(supply, channels, bridged)
        found.append(
            AmpSupply(
                channels[0].gear,
                supply,
                tuple(channels),
                tuple(bridged),
                tuple(here),
                tuple(climbing.get(name, ())),
                why,
            )
        )
    return found


def _pair(figures: Figures, together: SharedSupply) -> SupplyPair:
    made = prospect(figures, together)
    return SupplyPair(made, tuple(worths(made)), tuple(hits(made)))


def _why(supply: SupplyFacts, channels: Sequence[ChannelFigures], bridged: Sequence[ChannelFigures]) -> str:
    """Why no two channels of an amplifier are compared."""
    if bridged and len(bridged) == len(channels):
        return "the two halves of a bridged pair are opposed by nature: each rail feeds one of them at every instant"
    if not supply.sharing:
        return "it is not said whether its channels share a supply (`shared`) or have separate ones"
    if not any(channel.parts for channel in channels):
        return "no signal reaches it"
    single = [channel for channel in channels if channel.parts and channel not in bridged]
    if len(single) < 2:
        return "no more than one of its channels is driven"
    return "no two of its channels on one supply carry the same bass"


def worths(made: OpposedModel) -> list[OpposedGain]:
    """Every tone of the band."""
    return [found for hz in tones(made.together) if (found := worth(made, hz)) is not None]


def curve(made: OpposedModel) -> list[OpposedGain]:
    """From the lower end of the bass to the upper, a sixth of an octave from tone to tone, for drawing."""
    low, high = bass_of(made.together)
    count = max(1, ceil(6 * log2(max(high / low, 1.0))))
    steps = [low * (high / low) ** (number / count) for number in range(count + 1)] if high >= low else []
    return [found for hz in steps if (found := worth(made, hz)) is not None]
