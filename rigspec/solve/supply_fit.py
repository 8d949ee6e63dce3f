"""The supply of an amplifier from figures that a data sheet gives: its ratings, and the capacitance of its rails.

What a rating cannot tell is that of the family of supplies in `rails.Mains`: leakage, diodes, what a stage cannot use.
Ratings are made with all rails drawn alike, so they do not tell which share of the source both rails have in common.

Figures are in volts (peak), watts, ohms, farads and hertz.
"""

from __future__ import annotations

from math import pi, sqrt

from attrs import evolve, frozen

from rigspec.solve.rails import Mains, margin_at_tone, rested
from rigspec.solve.supply import SupplyDraw, reservoir_x
from rigspec.text.value import Content

SHEET_HZ = 1000.0
"""The tone of a rating where its data sheet names none (common practice, no source)."""
_LOST_VOLT = 3.0  # of the family; less of a low rail
_LEAST_OHM = 0.015
_ONE_ABOVE_X = 2.5  # mains frequency times load times capacitance: above, one supply alone was found to fit
_FACTOR = 1.5  # from one resistance that is tried to the next
_TRIES = 12
_NEAR = 2e-4  # of the rated peak


@frozen(eq=False, repr=False)
class Rating(Content):
    """The power of one channel alone, and of each of all ``channels``, into a load, at a tone."""

    load_ohm: float
    alone_watt: float
    driven_watt: float
    channels: int = 2
    hz: float = SHEET_HZ

    @property
    def alone_volt(self) -> float:
        return sqrt(2 * self.load_ohm * self.alone_watt)

    @property
    def driven_volt(self) -> float:
        return sqrt(2 * self.load_ohm * self.driven_watt)

    @property
    def contradicts(self) -> bool:
        """Is the rating with all driven the higher one, or so low that the rails would have collapsed?"""
        return self.driven_volt > self.alone_volt or self.channels * self.driven_volt <= self.alone_volt


def fitted(rating: Rating, farad: float, mains_hz: float, half_bridge: bool = False) -> tuple[Mains, ...]:
    """The supplies of the family that give this rating, the likeliest first; none where no supply does.

    Their resistance is looked for by the difference that driving all channels makes. On small reservoirs two supplies
    may show the same difference, a soft one and one so stiff that it charges in short pulses: the soft one is the
    likelier transformer. Where even the stiffest sags more on its reservoir than the rating does, the nearest is given.
    """
    if rating.contradicts:
        return ()
    droop = pi * rating.load_ohm * (rating.alone_volt - rating.driven_volt)
    ohm = max(droop / (rating.channels * rating.driven_volt - rating.alone_volt), _LEAST_OHM)
    made = _giving(Mains(rating.driven_volt + 4.0, ohm, farad, mains_hz, half_bridge=half_bridge), rating)
    tried = [(made, _too_soft(made, rating))]
    while tried[-1][1] < 0 and tried[-1][0].ohm < rating.load_ohm:  # stiffer than the rating: look above
        tried.append(_at(tried[-1][0], tried[-1][0].ohm * _FACTOR, rating))
    tried = tried[-2:][::-1]
    ambiguous = reservoir_x(mains_hz, rating.load_ohm, farad) < _ONE_ABOVE_X
    found: list[Mains] = []
    while len(found) < 2 and tried[-1][0].ohm > _LEAST_OHM and (ambiguous or not found):
        tried.append(_at(tried[-1][0], tried[-1][0].ohm / _FACTOR, rating))
        if tried[-1][1] * tried[-2][1] <= 0:
            found.append(_between(tried[-1], tried[-2], rating))
    return tuple(found) or (min(tried, key=lambda each: abs(each[1]))[0],)


def _between(low: tuple[Mains, float], high: tuple[Mains, float], rating: Rating) -> Mains:
    """The supply between two of which one is too stiff and one too soft."""
    found = low
    for _ in range(_TRIES):
        share = low[1] / (low[1] - high[1]) if low[1] != high[1] else 0.5
        ohm = low[0].ohm + min(max(share, 0.1), 0.9) * (high[0].ohm - low[0].ohm)
        found = _at(found[0], ohm, rating)
        if abs(found[1]) < _NEAR * rating.driven_volt:
            break
        low, high = (found, high) if found[1] * low[1] > 0 else (low, found)
    return found[0]


def _at(made: Mains, ohm: float, rating: Rating) -> tuple[Mains, float]:
    """The supply with another resistance, and how much too soft it is."""
    other = _giving(evolve(made, ohm=ohm), rating)
    return other, _too_soft(other, rating)


def _giving(made: Mains, rating: Rating) -> Mains:
    """The supply with the voltage that gives the rating with all channels driven."""
    for _ in range(_TRIES):
        left = slack_volt(made, rating, rating.channels)
        made = evolve(made, emf_volt=made.emf_volt - left)
        if abs(left) < _NEAR * rating.driven_volt / 2:
            break
    return made


def _too_soft(made: Mains, rating: Rating) -> float:
    """What one channel alone would give more than its rating, in volts, where all channels driven give theirs."""
    return slack_volt(made, rating, 1)


def slack_volt(mains: Mains, rating: Rating, channels: int) -> float:
    """What is left between rail and output at the rated peak with so many channels driven."""
    volt = rating.alone_volt if channels == 1 else rating.driven_volt
    return margin_at_tone(mains, SupplyDraw(channels / rating.load_ohm), rating.hz)(volt)


def described(rail_volt: float, ohm: float, farad: float, mains_hz: float, half_bridge: bool = False) -> Mains:
    """A supply whose rails have this voltage at idle; what its stages lose is that of the family."""
    lost = min(_LOST_VOLT, rail_volt / 4)
    mains = Mains(rail_volt + 1.0, ohm, farad, mains_hz, lost_volt=lost, half_bridge=half_bridge)
    _, (plus, *_) = rested(mains)[0]
    return evolve(mains, emf_volt=mains.emf_volt + rail_volt - plus)


def losing(mains: Mains, rating: Rating) -> Mains:
    """The same supply with what its stages lose of the rail as the rating with all channels driven leaves it."""
    nothing = evolve(mains, lost_volt=0.0)
    return evolve(mains, lost_volt=slack_volt(nothing, rating, rating.channels))
