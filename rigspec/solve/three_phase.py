"""Feeders of one, two and three phases: what the neutral carries, and what voltage is left at the far end.

Currents are rms amperes of each phase, all taken to lag their own voltage alike, so that they differ by the angles of
the phases alone. Voltages are phasors against the neutral of the supply.
"""

from cmath import rect
from collections.abc import Sequence
from math import pi, sqrt

_TURN = 2 * pi
# By the number of phases of the supply: three are a third of a turn apart, two a half (the split phase of 120/240 V).
_ANGLES = {1: (0.0, 0.0, 0.0), 2: (0.0, _TURN / 2, 0.0), 3: (0.0, -_TURN / 3, _TURN / 3)}


def directions(phases: int) -> tuple[complex, complex, complex]:
    """Phasors of one unit for L1, L2 and L3 of a supply of so many phases."""
    first, second, third = (rect(1.0, angle) for angle in _ANGLES[phases])
    return first, second, third


def neutral_ampere(ampere: Sequence[float], phases: int = 3) -> float:
    """Current of the neutral while every phase carries a sine: the vector sum (Kirchhoff's current law)."""
    return abs(sum(each * unit for each, unit in zip(ampere, directions(phases), strict=False)))


def neutral_bound_ampere(sine: Sequence[float], pulses: Sequence[float], phases: int = 3) -> float:
    """The most that the neutral carries when some gear draws a sine and some draws pulses at the crests.

    Rectifiers draw at the crests of their own phase only; as their pulses do not meet in the neutral, each phase's
    share adds by energy: sqrt(3) times the phase current when all are alike, since the third harmonic and its multiples
    do not cancel. Both kinds of current add at most by size (Minkowski's inequality). With two phases of opposite
    sign pulses meet and cancel as sines do.
    """
    if phases != 3:
        return neutral_ampere([a + b for a, b in zip(sine, pulses, strict=True)], phases)
    return neutral_ampere(sine) + sqrt(sum(each * each for each in pulses))


def end_volts(
    volts: Sequence[complex], ampere: Sequence[float], conductor_ohm: float, phases: int
) -> tuple[complex, ...]:
    """Voltages at the far end of a lead, each phase against the neutral there (Ohm's and Kirchhoff's laws).

    ``conductor_ohm`` is one conductor's resistance; the neutral is as thick as the phases and carries their vector sum:
    of one phase alone its current there and back.
    Currents count as in phase with their voltages, which gives the greatest drop; reactance is left out, as it is small
    beside the resistance up to 16 mm2 (common practice).
    """
    units = directions(phases)
    flows = [each * unit for each, unit in zip(ampere, units, strict=False)]
    back = sum(flows, 0j)
    ends = [volt - conductor_ohm * (flow + back) for volt, flow in zip(volts, flows, strict=False)]
    # Past nothing there is no voltage of the other sign: no such current flows through such a lead.
    return tuple(end if (end * unit.conjugate()).real > 0 else 0j for end, unit in zip(ends, units, strict=False))


def phase_volt(supply_volt: float, phases: int, mains_volt: float | None) -> tuple[float, str]:
    """Voltage to neutral of a supply that may be said either way, and what was taken for granted.

    Three phases of 400 V are 230 V each: that is meant where it fits the mains of the place, or where it is too much
    for a voltage to neutral (above 300 V; IEC 60038 has 230/400 V).
    """
    between = supply_volt / (sqrt(3) if phases == 3 else 2.0)
    if phases == 1 or (mains_volt is None and supply_volt <= 300):
        return supply_volt, ""
    if mains_volt is not None and abs(between / mains_volt - 1) > 0.1:
        return supply_volt, ""
    return between, f"{supply_volt:g} V is the voltage between phases, {between:.0f} V to neutral"
