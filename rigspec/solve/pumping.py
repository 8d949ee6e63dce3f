"""How half-bridge class-D stages pump their supply: what one rail loses comes back in part on the other.

A half-bridge stage takes from one rail more than the load gets and gives the rest to the other rail. A supply that
only feeds cannot take it back, so the resting rail climbs until it is drawn from again: worse at low frequencies, into
low loads, with small reservoirs. International Rectifier's reference design RD-0617 and the data sheet of its
IRAUDAMP1 describe it and its cure, to drive two channels in opposite phase; the formula here is derived (circuit
theory) and was held against switched circuit simulations, not against a real amplifier. Full-bridge stages do not pump.

Figures are volts, ohms, siemens, farads, hertz; ``swing`` is the output's peak over the rail.
"""

from __future__ import annotations

from math import asin, cos, pi, sin

WORST_SWING = 2 / pi
"""The swing at which a resistive load makes the rail climb most: 40.5 % of full power, not full power."""

_SWINGS = 50


def rise_volt(
    rail_volt: float, hz: float, load_ohm: float, farad: float, swing: float, channels: float = 1, angle: float = 0.0
) -> float:
    """How far the resting rail climbs with ``channels`` alike channels in phase, each on this load of this angle."""
    share = 2 * swing - pi / 2 * swing * swing * cos(angle)
    return channels * rail_volt * share / (4 * pi * hz * load_ohm * farad)


def left_volt(
    rail_volt: float, hz: float, farad: float, normal_siemens: float, turned_siemens: float, swing: float
) -> float:
    """How far a rail climbs with channels in both polarities, on resistances that may differ.

    While the one polarity returns current to a rail, the other draws from it: in proportion to (1 - m sin) and to
    (1 + m sin). Of equal loads nothing is left. Of unequal ones the rail climbs while m sin is below their difference
    over their sum, and is drawn from in between; the supply holds it up.
    """
    more, both = abs(normal_siemens - turned_siemens), normal_siemens + turned_siemens

    def charge(angle: float) -> float:
        """What was returned from the beginning of the half wave up to an angle, for one volt of rail, times omega."""
        return swing / 2 * (more * (1 - cos(angle)) - both * swing * (angle - sin(angle) * cos(angle)) / 2)

    flank = 0.0 if swing * both <= more else charge(asin(more / both / swing))
    return rail_volt * max(charge(pi), flank, 0.0) / (2 * pi * hz * farad)


def most_left_volt(
    rail_volt: float, hz: float, farad: float, normal_siemens: float, turned_siemens: float
) -> tuple[float, float]:
    """The highest climb of a rail at any swing up to full, and that swing."""
    if not normal_siemens or not turned_siemens:
        return left_volt(rail_volt, hz, farad, normal_siemens, turned_siemens, WORST_SWING), WORST_SWING
    swings = [number / _SWINGS for number in range(1, _SWINGS + 1)]
    return max((left_volt(rail_volt, hz, farad, normal_siemens, turned_siemens, each), each) for each in swings)
