"""The impedance of a loudspeaker over frequency: from its driver's parameters, from a measured table, or rated alone.

Figures are ohms, henries and hertz. A driver is a voice coil in series with its motion, which shows at the terminals as
resistance, capacitance (moving mass) and inductance (compliance) in parallel; a vent adds a series resonant circuit
beside them (A. N. Thiele, 1961; R. H. Small, JAES 1972 and 1973, from memory). The coil's inductance is taken as an
ideal one: eddy currents in iron make a real coil's impedance rise less steeply far above its resonance.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Sequence
from math import ceil, exp, inf, log, log2, pi, sqrt

from attrs import frozen

from rigspec.text.value import Content

LEAST_OF_RATED = 0.8
"""The least |Z| in the rated band over the rated impedance (IEC 60268-5, rated impedance; clause 16 from memory)."""

STEPS_PER_OCTAVE = 12
STEPS_OF_UNLIKE = 48
"""Unlike drivers on one output resonate with each other, more sharply than each of them alone."""


@frozen(eq=False, repr=False)
class Driver(Content):
    """A driver in its box, as its terminals show it.

    ``coil_ohm`` is the voice coil's direct-current resistance, ``coil_henry`` its inductance. ``resonance_hz``,
    ``mechanical_q`` and ``electrical_q`` describe the motion without a vent. With a vent the box is tuned to
    ``vent_hz``, ``compliance_ratio`` is the driver's compliance over that of the box's air, and ``box_q`` says what
    leaks there (inf: no losses, the lowest impedance at the tuning).
    """

    coil_ohm: float
    coil_henry: float
    resonance_hz: float
    mechanical_q: float
    electrical_q: float
    vent_hz: float | None = None
    compliance_ratio: float = 1.0
    box_q: float = inf

    @property
    def motion_ohm(self) -> float:
        """The resistance that the losses of the motion show at the terminals: Re Qms/Qes."""
        return self.coil_ohm * self.mechanical_q / self.electrical_q

    @property
    def marks_hz(self) -> tuple[float, ...]:
        """Where its impedance has peaks and dips, and the flanks of the peaks: what a grid must not step over."""
        peaks = (self.resonance_hz,) if self.vent_hz is None else vent_peaks_hz(self)
        flanks = [
            peak * (1 + side / (2 * q)) for peak in peaks for q in (self.mechanical_q, 2.0) for side in (-0.5, 0.5)
        ]
        return tuple(sorted({*peaks, *flanks, *((self.vent_hz,) if self.vent_hz is not None else ())}))

    def impedance_ohm(self, hz: float) -> complex:
        """The complex impedance at a frequency above 0."""
        off = hz / self.resonance_hz - self.resonance_hz / hz
        siemens = (1 + 1j * self.mechanical_q * off) / self.motion_ohm
        if self.vent_hz is not None:
            siemens = _beside(siemens, self._vent_ohm(hz, self.vent_hz))
        return self.coil_ohm + 2j * pi * hz * self.coil_henry + 1 / siemens

    def _vent_ohm(self, hz: float, vent_hz: float) -> complex:
        """Inductance (the air in the box), capacitance (the air in the vent) and leakage in series."""
        # The driver's compliance shows as Re / (2 pi fs Qes) henry; a stiffer box shows as less.
        henry = self.coil_ohm / (2 * pi * self.resonance_hz * self.electrical_q * self.compliance_ratio)
        at_tuning_ohm = 2 * pi * vent_hz * henry
        return at_tuning_ohm / self.box_q + 1j * at_tuning_ohm * (hz / vent_hz - vent_hz / hz)


def _beside(siemens: complex, ohm: complex) -> complex:
    """An admittance with an impedance in parallel, which at a tuning without losses is none at all."""
    return siemens + 1 / ohm if ohm else inf


def in_sealed_box(driver: Driver, box_hz: float) -> Driver:
    """A driver known in free air, in a sealed box that raises its resonance to ``box_hz``.

    The moving mass and the losses stay what they are, so both Q rise in proportion (R. H. Small, JAES 1972, from
    memory; the mass of the air at the cone is taken as the same in and out of the box).
    """
    share = box_hz / driver.resonance_hz
    return Driver(driver.coil_ohm, driver.coil_henry, box_hz, driver.mechanical_q * share, driver.electrical_q * share)


def vent_peaks_hz(driver: Driver) -> tuple[float, float]:
    """Where the two peaks of a vented box lie, without losses and without the coil's inductance.

    Their product is the driver's resonance times the tuning, the sum of their squares (1 + a) fs^2 + fb^2, with the
    compliance ratio a (R. H. Small, JAES 1973, from memory).
    """
    if driver.vent_hz is None:
        raise ValueError("a box without a vent has one peak")
    square = (1 + driver.compliance_ratio) * driver.resonance_hz**2 + driver.vent_hz**2
    product = driver.resonance_hz * driver.vent_hz
    apart = sqrt(square * square - 4 * product * product)
    return sqrt((square - apart) / 2), sqrt((square + apart) / 2)


@frozen(eq=False, repr=False)
class Curve(Content):
    """A measured table of |Z|: frequencies in rising order, and the ohms there. Nothing is known beyond its ends."""

    hertz: tuple[float, ...]
    ohm: tuple[float, ...]

    @property
    def low_hz(self) -> float:
        return self.hertz[0]

    @property
    def high_hz(self) -> float:
        return self.hertz[-1]

    def covers(self, hz: float) -> bool:
        """Is this frequency inside the table, but for rounding?"""
        return self.low_hz * (1 - 1e-9) <= hz <= self.high_hz * (1 + 1e-9)

    def impedance_ohm(self, hz: float) -> float:
        """|Z| between two points on the straight line of double logarithmic paper; ValueError beyond the ends."""
        if not self.covers(hz):
            raise ValueError(f"the table does not reach {hz:g} Hz")
        above = min(bisect_right(self.hertz, hz), len(self.hertz) - 1)
        below = max(above - 1, 0)
        near, far = self.hertz[below], self.hertz[above]
        if hz <= near or near == far:
            return self.ohm[below]
        if hz >= far:
            return self.ohm[above]
        share = log(hz / near) / log(far / near)
        return exp(log(self.ohm[below]) * (1 - share) + log(self.ohm[above]) * share)


def curve_of(points: Sequence[tuple[float, float]]) -> Curve:
    """A table from (hertz, ohm) in any order; of two figures at one frequency the lower counts. ValueError if empty."""
    if not points:
        raise ValueError("a table has at least one point")
    least: dict[float, float] = {}
    for hz, ohm in points:
        least[hz] = min(ohm, least.get(hz, inf))
    ordered = sorted(least)
    return Curve(tuple(ordered), tuple(least[hz] for hz in ordered))


def grid_hz(low_hz: float, high_hz: float, marks: Sequence[float], steps: int) -> tuple[float, ...]:
    """The frequencies at which a band is looked at: its ends, the marks inside it, and so many steps an octave.

    Between the points of a table its |Z| is monotone, so the points are enough for it; a driver needs the steps.
    """
    found = {low_hz, high_hz, *(hz for hz in marks if low_hz < hz < high_hz)}
    if steps and high_hz > low_hz:
        count = ceil(steps * log2(high_hz / low_hz) - 1e-9)
        found.update(low_hz * (high_hz / low_hz) ** (number / count) for number in range(1, count))
    return tuple(sorted(found))


def resistive(ohm: complex) -> float:
    """|Z| for an impedance whose phase is not known, or not to be trusted beside such a one.

    Side by side with others this gives the least load, and behind a lead the greatest loss, that any phase could.
    """
    return abs(ohm)


def real_power_watt(volt: float, ohm: complex) -> float:
    """What a voltage (rms) turns into heat and sound in an impedance: V^2 times the real part of 1/Z."""
    return volt * volt * (1 / ohm).real
