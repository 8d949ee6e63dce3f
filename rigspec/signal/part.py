"""One way of a feed to a place in the rig, and how loud several of them are together."""

from __future__ import annotations

from attrs import evolve, frozen

from rigspec.rig import Measure
from rigspec.signal.filters import Passed
from rigspec.trace import Turn
from rigspec.value import Value


@frozen(repr=False)
class Cap(Value):
    """The most that comes by way of a limiter: ``key`` is the output whose limiter it is, ``said`` where it is set.

    ``dbu`` is the level of a sine that reaches the highest peaks that are let through, here.
    """

    key: str
    dbu: float
    said: Measure


@frozen(repr=False)
class Part(Value):
    """One feed's share of a signal. ``gain_db`` is None where a gain on the way is not known.

    ``low_hz`` and ``high_hz`` bound the band that is left of it; None where nothing bounds it. ``held_level_db`` and
    ``held_peak_db`` are what limiters on the way take from its level and from its peaks, at the feed's levels; ``cap``
    is what the strictest peak limiter lets through at most.
    """

    feed: str
    turns: tuple[Turn, ...]
    gain_db: float | None
    delay_s: float
    low_hz: float | None
    high_hz: float | None
    unknown: str = ""  # why the gain is not known
    assumes: tuple[str, ...] = ()  # what the gain rests on
    held_level_db: float = 0.0
    held_peak_db: float = 0.0
    cap: Cap | None = None
    filters: tuple[Passed, ...] = ()  # in the order of the signal
    own_low_hz: float | None = None  # the feed's own band, which has no slope
    own_high_hz: float | None = None

    @property
    def inverted(self) -> bool:
        return len(self.turns) % 2 == 1

    def held_db(self, word: str) -> float:
        """What limiters take from the feed's ``level`` or ``peak``."""
        return self.held_peak_db if word == "peak" else self.held_level_db


@frozen(repr=False)
class Level(Value):
    """A level in dBu: on the whole, and the worst that it can be where some of it may be alike (see solve/summing)."""

    dbu: float
    worst_dbu: float


def louder(part: Part, gain_db: float | None, turns: tuple[Turn, ...] = (), unknown: str = "") -> Part:
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
