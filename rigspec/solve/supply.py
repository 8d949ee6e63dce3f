"""Channels on one supply: what draws on which rail, and what opposed drive is worth where no ripple counts.

A supply feeds a plus and a minus rail; class-B channels hang between them. Alike bass in phase draws on one rail while
the other rests; opposed, each rail feeds half the channels at every instant. The total draw is the same, so the mains
see no difference; what changes is the ripple on each rail, and with it how far the output can swing. Supplies with a
mains transformer are followed in time by `solve/rails.py`.

All figures are in volts (peak), watts, ohms, siemens, farads and hertz.
"""

from __future__ import annotations

from attrs import frozen

from rigspec.solve.decibel import power_ratio_to_gain
from rigspec.text.value import Content

LEAST_X = 1.2
"""Below this mains frequency times load times capacitance ratings alone give no number (circuit simulation)."""
JUST_HEARD_DB = 1.0
"""The least step in level that is just heard (common practice, no source)."""


@frozen(eq=False, repr=False)
class SupplyDraw(Content):
    """The channels that carry one alike signal: the conductances of their loads together, by electrical polarity."""

    normal_siemens: float
    turned_siemens: float = 0.0

    @property
    def total_siemens(self) -> float:
        return self.normal_siemens + self.turned_siemens

    @property
    def in_phase(self) -> SupplyDraw:
        return SupplyDraw(self.total_siemens)


def alone_w(driven_w_at_twice: float) -> float:
    """The power of one channel alone into R, from that of each of two channels into 2R: P1(R) = 2 P2(2R).

    Exact for two ideal class-B channels on one supply (circuit theory): both draw the same current from the same rail.
    """
    return 2 * driven_w_at_twice


def reservoir_x(mains_hz: float, load_ohm: float, farad: float) -> float:
    """Mains frequency times load on each of two channels times capacitance of a rail: how stiff a reservoir is."""
    return mains_hz * load_ohm * farad


def pair_ohm(draw: SupplyDraw) -> float:
    """The load on each of two channels that draw as much as these together."""
    return 2 / draw.total_siemens


def power_w(peak: float, load_ohm: float) -> float:
    """The power of a sine of this peak into a load."""
    return peak * peak / (2 * load_ohm)


def switch_mode_gain(load_ohm: float, rail_ohm: float) -> float:
    """The gain of opposed drive on a switch-mode supply: only a resistance in series with each rail counts.

    In phase both channels' currents meet in one rail's resistance, opposed each has a rail's to itself.
    """
    return ((load_ohm + 2 * rail_ohm) / (load_ohm + rail_ohm)) ** 2 - 1


def gain_db(share: float) -> float:
    """A gain in power in decibels: 0.1 (ten percent) is 0.41 dB."""
    return power_ratio_to_gain(1 + share)
