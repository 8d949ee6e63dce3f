"""The limiters that are set, as levels, and what they take from a signal."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal

from attrs import evolve, frozen

from rigspec.figures.signal.part import Contribution, GainReduction, Level, LimiterCeiling
from rigspec.rig.model import Facts, Measure, entries
from rigspec.solve.decibel import dbu_to_volt, volt_to_dbu
from rigspec.solve.limiter import peak_level_dbu
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class LimitSaid(Value):
    """A limiter that is set: it watches ``rms`` or ``peak``; ``dbu`` is a level, or that of a sine with such peaks."""

    watches: Literal["rms", "peak"]
    dbu: float
    said: Measure
    worded: bool = True  # does it say what it watches?


def limits_said(facts: Facts, gain_db: float = 0.0) -> list[LimitSaid]:
    """The limiters of an output or a channel. A voltage with ``peak`` is one of instantaneous volts.

    ``gain_db`` is the gain of a channel: a level stands for one at its input, a voltage for one at its output. Without
    a word a limiter watches peaks (common practice, no source): that is what a plain limiter does.
    """
    found = []
    for each in entries(facts, "limit"):
        watches: Literal["rms", "peak"] = "rms" if "rms" in each.words else "peak"
        level, volt = each.get("level"), each.get("voltage")
        if level is not None:
            found.append(LimitSaid(watches, level.value, level, bool(each.words)))
        elif volt is not None and volt.value > 0:
            dbu = peak_level_dbu(volt.value) if watches == "peak" else volt_to_dbu(volt.value)
            found.append(LimitSaid(watches, dbu - gain_db, volt, bool(each.words)))
    return found


def held(
    parts: tuple[Contribution, ...],
    limit: LimitSaid,
    key: str,
    offset_db: float,
    level: Level | None,
    peak: Level | None,
) -> tuple[Contribution, ...]:
    """The parts behind a limiter whose threshold stands ``offset_db`` lower than what it means here.

    ``level`` and ``peak`` are what arrives. A limiter for the mean holds the level and lets peaks through, for it is
    slow; one for peaks holds both below its threshold.
    """
    threshold = limit.dbu + offset_db
    levels = (None, None, None) if level is None else (level.low, level, level.high)
    peaks = (None, None, None) if peak is None or limit.watches == "rms" else (peak.low, peak, peak.high)
    taken = tuple(
        GainReduction(
            0.0 if level is None else max(level.dbu - threshold, 0.0),
            0.0 if peak is None else max(peak.worst_dbu - threshold, 0.0),
        )
        for level, peak in zip(levels, peaks, strict=True)
    )
    acts = any(each.level_db or each.peak_db for each in taken)
    cap = LimiterCeiling(key, threshold, limit.said) if limit.watches == "peak" else None
    if cap is not None and (before := most_dbu(parts)) is not None and before <= threshold:
        cap = None
    return tuple(
        evolve(
            part,
            held=_more(part.held, taken) if acts else part.held,
            cap=cap or part.cap,
        )
        for part in parts
    )


def _more(
    before: Iterable[GainReduction], taken: Iterable[GainReduction]
) -> tuple[GainReduction, GainReduction, GainReduction]:
    low, said, high = (
        GainReduction(one.level_db + other.level_db, one.peak_db + other.peak_db)
        for one, other in zip(before, taken, strict=True)
    )
    return low, said, high


def most_dbu(parts: tuple[Contribution, ...]) -> float | None:
    """The most that peak limiters on the way let through of a signal; None where some of it passes none."""
    volts: dict[str, float] = {}
    for part in parts:
        if part.cap is None:
            return None
        volts[part.cap.key] = max(volts.get(part.cap.key, 0.0), dbu_to_volt(part.cap.dbu))
    return volt_to_dbu(sum(volts.values())) if volts else None
