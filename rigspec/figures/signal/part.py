"""One way of a feed to a place in the rig, and how loud several of them are together."""

from __future__ import annotations

from attrs import evolve, frozen

from rigspec.figures.signal.filters import Passed
from rigspec.figures.trace import Turn
from rigspec.rig.model import Measure
from rigspec.solve.decibel import gain_to_ratio, ratio_to_gain
from rigspec.text.value import Content


@frozen(eq=False, repr=False)
class LimiterCeiling(Content):
    """The most that comes by way of a limiter: ``key`` is the output whose limiter it is, ``said`` where it is set.

    ``dbu`` is the level of a sine that reaches the highest peaks that are let through, here.
    """

    key: str
    dbu: float
    said: Measure


@frozen(eq=False, repr=False)
class GainReduction(Content):
    """What limiters on the way take from a level and from peaks."""

    level_db: float = 0.0
    peak_db: float = 0.0


NOTHING_HELD = (GainReduction(), GainReduction(), GainReduction())


@frozen(eq=False, repr=False)
class Contribution(Content):
    """One feed's share of a signal. ``gain_db`` is None where a gain on the way is not known.

    ``low_hz`` and ``high_hz`` bound the band that is left of it; None where nothing bounds it. ``held`` is what
    limiters on the way take: with the feeds' levels at the low ends of their tolerances, as they are said, and at the
    high ends. ``cap`` is what the strictest peak limiter lets through at most.
    """

    feed: str
    turns: tuple[Turn, ...]
    gain_db: float | None
    delay_s: float
    low_hz: float | None
    high_hz: float | None
    unknown: str = ""  # why the gain is not known
    assumes: tuple[str, ...] = ()  # what the gain rests on
    held: tuple[GainReduction, GainReduction, GainReduction] = NOTHING_HELD
    cap: LimiterCeiling | None = None
    filters: tuple[Passed, ...] = ()  # in the order of the signal
    own_low_hz: float | None = None  # the feed's own band, which has no slope
    own_high_hz: float | None = None
    latency_s: float = 0.0  # what processors take on the way, whether it is wanted or not

    @property
    def inverted(self) -> bool:
        return len(self.turns) % 2 == 1

    def held_db(self, word: str, end: int = 0) -> float:
        """What limiters take from the feed's ``level`` or ``peak``, at an end of what its tolerances leave: -1 or 1."""
        held = self.held[end + 1]
        return held.peak_db if word == "peak" else held.level_db


@frozen(eq=False, repr=False)
class Level(Content):
    """A level in dBu: on the whole, and the worst that it can be where some of it may be alike (see solve/summing).

    ``ends`` is the same at the lowest and at the highest that the tolerances of the feeds' levels leave; None where
    they are exact. ``moved`` are those that are not, each with how many dB it moves this one from end to end.
    """

    dbu: float
    worst_dbu: float
    ends: tuple[Level, Level] | None = None
    moved: tuple[tuple[Measure, float], ...] = ()

    @property
    def low(self) -> Level:
        return self.ends[0] if self.ends else self

    @property
    def high(self) -> Level:
        return self.ends[1] if self.ends else self

    @property
    def least_dbu(self) -> float:
        """The lowest end, on the whole: what is beyond a limit here surely is."""
        return self.low.dbu

    @property
    def most_dbu(self) -> float:
        """The highest end, at the worst: what is within a limit here surely is."""
        return self.high.worst_dbu


def louder(part: Contribution, gain_db: float | None, turns: tuple[Turn, ...] = (), unknown: str = "") -> Contribution:
    """The part behind a gain, None where that is not known; ``unknown`` says why. 0 dB and no turns change nothing."""
    if gain_db == 0 and not turns and not unknown:
        return part
    known = part.gain_db is not None and gain_db is not None
    cap = part.cap
    if cap is not None and gain_db:
        cap = evolve(cap, dbu=cap.dbu + gain_db)
    return evolve(
        part,
        turns=part.turns + turns,
        gain_db=part.gain_db + gain_db if part.gain_db is not None and gain_db is not None else None,
        unknown=part.unknown or unknown,
        cap=cap if known else None,
    )


FEW = 16  # so many ways are told one by one, alike or not


def together(parts: tuple[Contribution, ...]) -> tuple[Contribution, ...]:
    """Many parts with those as one that differ by their gain alone: signals that are alike add by voltage.

    Where each of several stages in a row sums what comes two ways from the one before, ways double at each.
    """
    if len(parts) <= FEW:
        return parts
    alike: dict[object, list[Contribution]] = {}
    for part in parts:
        cap = part.cap and (part.cap.key, part.cap.dbu, id(part.cap.said))
        ids = tuple(map(id, part.turns)), tuple(map(id, part.filters))
        said = part.unknown, part.assumes, part.held, part.gain_db is None
        band = part.low_hz, part.high_hz, part.own_low_hz, part.own_high_hz
        alike.setdefault((part.feed, part.delay_s, part.latency_s, ids, cap, said, band), []).append(part)
    return tuple(map(_sum, alike.values()))


def _sum(alike: list[Contribution]) -> Contribution:
    gains = [part.gain_db for part in alike if part.gain_db is not None]
    return evolve(alike[0], gain_db=ratio_to_gain(sum(map(gain_to_ratio, gains)))) if gains[1:] else alike[0]
