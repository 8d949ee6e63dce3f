"""What gear takes from the mains: power from output power and efficiency, current from power and power factor.

Power is in W, apparent power in VA, current in A (rms). The drive levels are conventions: an eighth of rated power is
what programme at the edge of clipping takes on average (test level of IEC 60065 and IEC 62368-1 Annex E, from memory),
a third is music driven into continual clipping (an older convention, quoted in amplifiers' manuals).
"""

from math import sqrt

from attrs import frozen

from rigspec.text.value import Content

EIGHTH = 1 / 8
THIRD = 1 / 3

BTU_PER_H_PER_W = 3.412142
"""Heat in BTU/h for one watt (the international table BTU is 1055.056 J)."""


# What stands in for an efficiency that nobody gave: the low end of what real stages reach (common practice, no source).
LINEAR_EFFICIENCY = 0.5  # class AB and H at rated output: 50 to 65 %
SWITCHING_EFFICIENCY = 0.8  # class D: 80 to 90 % at rated output
# What stands in for a power factor: the low end of supplies without correction, 0.6 to 0.7 (common practice).
POWER_FACTOR = 0.6
# From here on a supply is taken to draw a sine; below, pulses at the crests (common practice: 0.95 to 0.99 corrected).
CORRECTED = 0.9

LINEAR_STAGES = frozenset({"class-ab", "class-h"})
SWITCHING_STAGES = frozenset({"half-bridge", "full-bridge"})


@frozen(eq=False, repr=False)
class Efficiency(Content):
    """Output over input power of an amplifier's stages at one drive level, and what was taken for granted."""

    ratio: float
    assumes: tuple[str, ...]


def efficiency_at(share: float, rated: float | None, stage: str) -> Efficiency:
    """The efficiency of an amplifier at a share of its rated output, from that at rated output.

    ``stage`` is how its output works, as the stock says it; an unknown one counts as class AB. Class AB and H follow
    the law of class B: supply current goes with the output voltage, so efficiency with the root of power. For class H
    that is less than it reaches, so what it takes is an upper bound. Class D keeps its efficiency; what it loses at
    low levels is in its idle draw.
    """
    assumes = []
    switching = stage in SWITCHING_STAGES
    if rated is None:
        rated = SWITCHING_EFFICIENCY if switching else LINEAR_EFFICIENCY
        assumes.append(
            f"no efficiency is given: {100 * rated:.0f} % at rated output, the low end of what such stages reach"
        )
    if not switching and stage not in LINEAR_STAGES:
        assumes.append("how its output stage works is not said: class AB, which takes the most at low levels")
    if switching:
        return Efficiency(rated, tuple(assumes))
    return Efficiency(rated * sqrt(share), tuple(assumes))


def input_w(idle_w: float, output_w: float, efficiency: float) -> float:
    """Power from the mains: what it takes without signal, and output power over efficiency (energy balance)."""
    return idle_w + (output_w / efficiency if output_w else 0.0)


def heat_w(input_w: float, output_w: float) -> float:
    """Power that stays in the rack as heat (energy balance)."""
    return input_w - output_w


def btu_per_h(watt: float) -> float:
    """Heat as American cooling plant is rated."""
    return watt * BTU_PER_H_PER_W


def apparent_va(power_w: float, power_factor: float) -> float:
    """Apparent power: real power over power factor (definition, IEC 60050-131)."""
    return power_w / power_factor


def ampere(apparent_va: float, volt: float) -> float:
    """Current of one phase: apparent power over its voltage to neutral (definition)."""
    return apparent_va / volt
