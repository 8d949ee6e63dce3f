"""Protective devices of the mains: circuit-breakers, residual-current devices, generators, and the codes about them."""

from collections.abc import Sequence

# Where the instant trip lies, in multiples of the rated current: it surely holds up to the first and surely trips at
# the second (IEC 60898-1 table 2, from memory).
INSTANT = {"B": (3.0, 5.0), "C": (5.0, 10.0), "D": (10.0, 20.0)}

# What trips within the conventional time of an hour, in multiples of the rated current: nothing up to the first
# (IEC 60898-1 table 7, from memory), surely the second. UL 489 has 135 % within an hour (from memory).
THERMAL = {"iec": (1.13, 1.45), "nec": (1.0, 1.35)}

RATINGS_AMPERE = {
    "iec": (6, 10, 13, 16, 20, 25, 32, 40, 50, 63, 80, 100, 125),  # IEC 60898-1, from memory
    "nec": (15, 20, 25, 30, 35, 40, 45, 50, 60, 70, 80, 90, 100, 110, 125, 150, 175, 200),  # NEC 240.6(A)
}

CONTINUOUS = 1.25
"""What a continuous load of three hours or more counts for (NEC 210.20(A))."""

# By breaker, the thinnest cord that it protects: NEC 240.5(B) for cord sets, from memory.
CORD_GAUGE = {20: 16, 30: 14, 50: 12}

RESIDUAL_STANDING = 0.3
"""The share of its rating that standing leakage of a residual-current device may take: IEC 60364-5-53, from memory."""

RESIDUAL_MAY_TRIP = 0.5
"""From this share of its rating on a residual-current device may trip (IEC 61008-1, from memory)."""

GENERATOR_POWER_FACTOR = 0.8
"""The power factor at which a generator's apparent power is rated (ISO 8528-1, from memory)."""

GENERATOR_MEAN = 0.7
"""The share of its prime power that a generator may give on average over a day (ISO 8528-1, from memory)."""

DROP = 0.05
"""The most drop from the supply to gear other than lights: IEC 60364-5-52 annex G, NEC 210.19(A) note, from memory."""

VOLTAGE_TOLERANCE = {"iec": 0.10, "nec": 0.05}
"""How far the mains may lie from its nominal voltage (IEC 60038; ANSI C84.1 range A, from memory)."""


def holds_ampere(rated_ampere: float, curve: str) -> float:
    """The inrush that a breaker of this curve surely holds: its instant trip lies higher."""
    return rated_ampere * INSTANT[curve][0]


def trips_ampere(rated_ampere: float, curve: str) -> float:
    """The inrush at which a breaker of this curve surely trips."""
    return rated_ampere * INSTANT[curve][1]


def counted_ampere(ampere: float, code: str) -> float:
    """What a load current counts for against a breaker: a quarter more by the NEC, as a show lasts three hours."""
    return ampere * CONTINUOUS if code == "nec" else ampere


def next_rating(ampere: float, code: str) -> float | None:
    """The least usual rating that is not below a current; None above the list."""
    return next((float(each) for each in RATINGS_AMPERE[code] if each >= ampere * (1 - 1e-9)), None)


def allowed_ampere(capacity_ampere: float, code: str, gauge: float | None) -> float:
    """The greatest breaker that protects a lead of this ampacity.

    IEC 60364-4-43: no more than the ampacity. NEC 240.4(B): the next usual rating above it, but for gauges thinner
    than 8 AWG, for which 240.4(D) has figures of its own.
    """
    if code == "nec" and gauge is not None and gauge <= 8:
        return next_rating(capacity_ampere, "nec") or capacity_ampere
    return capacity_ampere


def cord_serves(breaker_ampere: float, gauge: float) -> bool:
    """May a loose cord of this gauge be plugged into a circuit with this breaker (NEC 240.5(B))?"""
    return any(breaker_ampere <= least and gauge <= thinnest for least, thinnest in CORD_GAUGE.items())


def generator_share(apparent_va: float, power_w: float, phases_va: Sequence[float], rating_va: float) -> float:
    """How much of a generator is used: by current, by real power, or by its most loaded phase, whichever is most.

    A generator of three phases gives a third of its rating on each (definition of its rating, ISO 8528-1, from memory).
    """
    real = power_w / (GENERATOR_POWER_FACTOR * rating_va)
    return max(apparent_va / rating_va, real, len(phases_va) * max(phases_va, default=0.0) / rating_va)


def unevenness(ampere: Sequence[float]) -> float:
    """How far the most loaded phase lies above the mean, as a share of the mean (as NEMA MG 1 reckons it for volts)."""
    mean = sum(ampere) / len(ampere)
    return max(ampere) / mean - 1 if mean > 0 else 0.0
