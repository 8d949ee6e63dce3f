"""Everything that is known of the supplies of a rig's amplifiers; made when somebody asks for it, never for a check."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from rigspec.figures.opposed import CLOSED_FORM, SIMULATION, OpposedGain, OpposedModel, prospect, tones, worth
from rigspec.figures.opposed_rails import simulated
from rigspec.figures.pumped import Pump, pumps
from rigspec.figures.supply import SharedSupply, SupplyFacts, supply_facts
from rigspec.figures.values import ChannelFigures
from rigspec.figures.whole import Figures
from rigspec.rig.model import Gear
from rigspec.text.value import Value, gathered

_FINE = 2 ** (1 / 12)


@frozen(eq=False, repr=False)
class SupplyPair(Value):
    """Channels that share bass and a supply: what opposed drive gives them, at each tone.

    ``curve`` has the same by the closed form at tones a twelfth of an octave apart, for drawing.
    """

    prospect: OpposedModel
    worths: tuple[OpposedGain, ...]
    curve: tuple[OpposedGain, ...]

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
    known: dict[object, tuple[OpposedGain, ...]] = {}
    pairs: dict[str, list[SupplyPair]] = {}
    for together in figures.together:
        pairs.setdefault(together.gear.full, []).append(_pair(figures, together, known))
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


def _pair(figures: Figures, together: SharedSupply, known: dict[object, tuple[OpposedGain, ...]]) -> SupplyPair:
    """Amplifiers that are alike in all that counts are worked out once."""
    made = prospect(figures, together)
    supply = together.supply
    measures = (supply.farad, supply.ohm, supply.rail)
    given = [None if each is None else (each.value, each.low, each.high) for each in measures]
    loads = (together.normal_siemens, together.turned_siemens)
    band = (together.low_hz, together.high_hz)
    alike = (*given, loads, band, made.rated, made.mains_hz, made.method, together.supplied)
    if alike not in known:
        known[alike] = tuple(worths(made, simulate=True))
    found = known[alike]
    return SupplyPair(made, found, _curve(made, found))


def _curve(made: OpposedModel, found: Sequence[OpposedGain]) -> tuple[OpposedGain, ...]:
    """Between the first and the last tone in small steps; the tones themselves where the closed form has no say."""
    if len(found) < 2 or made.method != CLOSED_FORM or found[0].simulation:
        return tuple(found)
    hz, points = found[0].hz, []
    while hz < found[-1].hz:
        each = worth(made, hz)
        points += [] if each is None else [each]
        hz *= _FINE
    return (*points, found[-1])


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


def worths(made: OpposedModel, simulate: bool = False) -> list[OpposedGain]:
    """Every tone of the band; with ``simulate`` held against a simulation of the rails, or taken from it.

    The simulation counts where the supply is described in full: the resistance and the voltage of its rails.
    """
    found = [each for hz in tones(made.together) if (each := worth(made, hz)) is not None]
    if not simulate or made.method not in (CLOSED_FORM, SIMULATION):
        return found
    return simulated(made, found, tones(made.together))
