"""What an amplifier gives into a load: its rated points joined by load lines, nothing guessed beyond them.

Figures are ohms, volts (rms) and watts. Between two rated loads the output voltage lies on the straight line through
both points over current (the load line of a source with internal resistance: circuit theory). Above the highest rated
load the voltage of that load holds (a voltage source gives no more into less current). Below the lowest rated load,
down to the least load, the current of that load holds. Below the least load there is no figure.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import sqrt

from attrs import frozen

from rigspec.text.value import Content


@frozen(eq=False, repr=False)
class RatedPoint(Content):
    load_ohm: float
    power_w: float

    @property
    def volt(self) -> float:
        return sqrt(self.power_w * self.load_ohm)

    @property
    def ampere(self) -> float:
        return sqrt(self.power_w / self.load_ohm)


@frozen(eq=False, repr=False)
class RatedOutput(Content):
    """The rated output into a load; ``assumes`` says in words what stood in for a rated point."""

    volt: float
    assumes: str = ""


def rated_output(points: Sequence[RatedPoint], load_ohm: float, least_ohm: float) -> RatedOutput | None:
    """The rated output voltage into a load; None below the least load or without rated points."""
    if not points or load_ohm < least_ohm or load_ohm <= 0:
        return None
    ordered = sorted(points, key=lambda point: point.load_ohm)
    lowest, highest = ordered[0], ordered[-1]
    for point in ordered:
        if abs(load_ohm / point.load_ohm - 1) < 1e-9:
            return RatedOutput(point.volt)
    if load_ohm > highest.load_ohm:
        return RatedOutput(highest.volt, f"above {highest.load_ohm:g} ohm the voltage rated there is taken to hold")
    if load_ohm < lowest.load_ohm:
        return RatedOutput(
            lowest.ampere * load_ohm, f"below {lowest.load_ohm:g} ohm the current rated there is taken to hold"
        )
    above = next(point for point in ordered if point.load_ohm > load_ohm)
    below = ordered[ordered.index(above) - 1]
    return RatedOutput(
        _on_load_line(below, above, load_ohm),
        f"the rated voltage is read on the load line between {below.load_ohm:g} and {above.load_ohm:g} ohm",
    )


def _on_load_line(below: RatedPoint, above: RatedPoint, load_ohm: float) -> float:
    """The voltage where the line through two points of (ampere, volt) meets the load."""
    across = above.ampere - below.ampere
    if abs(across) < 1e-12 * above.ampere:  # current-limited between the two: the current is the same at both
        return above.ampere * load_ohm
    slope_ohm = (above.volt - below.volt) / across
    return (below.volt - slope_ohm * below.ampere) / (1 - slope_ohm / load_ohm)


def bridged_points(points: Sequence[RatedPoint]) -> list[RatedPoint]:
    """The rated points of a bridged pair from those of each channel: twice the load, twice the power."""
    return [RatedPoint(2 * point.load_ohm, 2 * point.power_w) for point in points]
