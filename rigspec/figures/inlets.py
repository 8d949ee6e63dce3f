"""What each piece of gear takes from the mains at the usual drive levels, from its data."""

from __future__ import annotations

from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from typing import TypeAlias

from attrs import frozen

from rigspec.figures.rated import points_in_use
from rigspec.figures.values import BaseFigures
from rigspec.language.words import SettingWord
from rigspec.rig.model import Gear, Measure, choice, first, one
from rigspec.solve.mains import (
    CORRECTED,
    EIGHTH,
    POWER_FACTOR,
    THIRD,
    efficiency_at,
    heat_w,
    input_w,
)
from rigspec.text.source import Span
from rigspec.text.value import Content, Value

IDLE, AT_EIGHTH, AT_THIRD = 0, 1, 2
DRIVES = (0.0, EIGHTH, THIRD)
"""The drive levels of all mains figures, as shares of rated output: none, 1/8 and 1/3."""


@frozen(eq=False, repr=False)
class MainsCorner(Content):
    """Which end is taken of every figure with a range or a tolerance: -1 the mild one, 1 the bad one, 0 as given.

    ``only``: nothing but the figure that stands at this place is moved, to see what it alone decides. ``supply``: a
    supply whose tolerance nobody says has that of the standard at the bad end.
    """

    end: int = 0
    only: Span | None = None
    supply: bool = True

    def of(self, measure: Measure, bad: int = 1) -> float:
        """A figure at this end; ``bad``: 1 where more of it is bad, -1 where less is."""
        if not self.end or measure.low == measure.high or (self.only is not None and measure.span != self.only):
            return measure.value
        return measure.high if self.end * bad > 0 else measure.low


TYPICAL, MILD, BAD = MainsCorner(), MainsCorner(-1), MainsCorner(1)


@frozen(eq=False, repr=False)
class MainsDraw(Content):
    """What gear takes at one drive level: from the mains, apparent, given on to loudspeakers, and left as heat."""

    power_w: float
    apparent_va: float
    output_w: float
    heat_w: float


Draws: TypeAlias = "tuple[MainsDraw | None, MainsDraw | None, MainsDraw | None]"
"""What gear takes idle, at 1/8 and at 1/3 of rated output; None where it cannot be known."""


@frozen(eq=False, repr=False)
class Appliance(Value):
    """The data of one piece of gear that has a mains inlet, before any end of a range is taken.

    ``rated_w`` is the output of all channels that have a load, at their rated output into it. ``sources`` are the
    channels and what each gives. ``draw`` stands for gear whose draw is said as one figure. ``unknown`` says why what
    it takes cannot be known.
    """

    gear: Gear
    draw: Measure | None
    idle: Measure | None
    efficiency: Measure | None
    factor: Measure | None
    inrush: Measure | None
    leakage: Measure | None
    stage: str
    rated_w: float
    sources: tuple[tuple[str, float], ...]
    unknown: str
    assumes: tuple[str, ...]

    @property
    def pulsed(self) -> bool:
        """Does its supply draw pulses at the crests of the mains rather than a sine?"""
        return self.power_factor() < CORRECTED

    @property
    def guessed(self) -> bool:
        """Do figures that nobody gave stand in for what it takes when driven?"""
        if self.draw is not None or not self.sources:
            return False
        rated = self.efficiency.value if self.efficiency else None
        return self.factor is None or bool(efficiency_at(EIGHTH, rated, self.stage).assumes)

    def power_factor(self, ends: MainsCorner = TYPICAL) -> float:
        return min(ends.of(self.factor, -1), 1.0) if self.factor else POWER_FACTOR

    def draws(self, volt: float | None, ends: MainsCorner = TYPICAL) -> Draws:
        """What it takes at each drive level; ``volt`` is its mains, which a draw given in ampere needs."""
        return _draws(self, volt, ends)


def _draws(appliance: Appliance, volt: float | None, ends: MainsCorner) -> Draws:
    if appliance.unknown:
        return None, None, None
    factor = appliance.power_factor(ends)
    if appliance.draw is not None:
        drawn = _drawn(appliance.draw, volt, factor, ends)
        if drawn is None:
            return None, None, None
        return drawn, drawn, drawn
    idle = _drawn(appliance.idle, volt, factor, ends) if appliance.idle else MainsDraw(0.0, 0.0, 0.0, 0.0)
    if idle is None:
        return None, None, None
    eighth, third = (_driven(appliance, idle, share, factor, ends) for share in (EIGHTH, THIRD))
    return (idle if appliance.idle else None), eighth, third


def _driven(appliance: Appliance, idle: MainsDraw, share: float, factor: float, ends: MainsCorner) -> MainsDraw:
    output_w = share * appliance.rated_w
    rated = ends.of(appliance.efficiency, -1) if appliance.efficiency else None
    taken_w = input_w(idle.power_w, output_w, efficiency_at(share, rated, appliance.stage).ratio)
    return MainsDraw(taken_w, taken_w / factor, output_w, heat_w(taken_w, output_w))


def _drawn(measure: Measure, volt: float | None, factor: float, ends: MainsCorner) -> MainsDraw | None:
    """What is said as power, apparent power or current; all of it counts as heat."""
    value = ends.of(measure)
    if measure.kind == "current":
        if volt is None:
            return None
        value *= volt
    if measure.kind == "power":
        return MainsDraw(value, value / factor, 0.0, value)
    return MainsDraw(value * factor, value, 0.0, value * factor)


def appliances(ground: BaseFigures) -> dict[str, Appliance]:
    """Every piece of gear with a mains inlet, by its full name."""
    gears = ground.rig.gear.values()
    driving = _driving(ground, {gear.full for gear in gears if gear.word == "amp"})
    return {
        gear.full: _amplifier(gear, *driving[gear.full]) if gear.word == "amp" else _fixed(gear)
        for gear in gears
        if gear.word in ("amp", "processor") or (gear.word == "speaker" and gear.says("powered"))
    }


Driving: TypeAlias = "tuple[tuple[tuple[str, float], ...], tuple[str, ...]]"
"""The channels of an amplifier that have a load, each with its rated output into it; and those of unknown load."""


def _driving(ground: BaseFigures, amplifiers: AbstractSet[str]) -> dict[str, Driving]:
    given: dict[str, dict[str, float]] = {full: {} for full in amplifiers}
    unrated: dict[str, list[str]] = {full: [] for full in amplifiers}
    for key, channel in ground.channels.items():
        if channel.rated_w is not None and channel.gear.full in amplifiers:
            given[channel.gear.full][key] = channel.rated_w
    for key, run in ground.trace.runs.items():
        full = run.output.gear.full
        loaded = run.output.carries == "power" and (run.arrivals or run.doubt)
        if full in amplifiers and loaded and key not in given[full]:
            unrated[full].append(key)
    return {full: (tuple(given[full].items()), tuple(unrated[full])) for full in amplifiers}


def _amplifier(gear: Gear, given: tuple[tuple[str, float], ...], unrated: tuple[str, ...]) -> Appliance:
    sources, assumes, unknown = dict(given), [], ""
    for key in unrated:
        bridged = "+" in key.rpartition(".")[2]
        points, _ = points_in_use(gear, bridged)
        most = max((point.power_w for point in points), default=None)
        if most is None:
            unknown = f"no rated output of {gear.full} is given"
            continue
        sources[key] = most
        assumes.append(f"the load of {key} is not known: its highest rating stands for it")
    if gear.doubt:
        unknown = f"a fault in the data of {gear.full} leaves it unknown"
    idle, efficiency = _measure(gear, "idle"), one(gear.facts, "efficiency", "ratio")
    if idle is None:
        assumes.append(f"the idle draw of {_called(gear)} is not given and left out: it takes at least this much")
    stage = "" if gear.doubt else choice(gear.facts, "stage")
    rated = efficiency.value if efficiency else None
    if sources:
        assumes += [f"{_called(gear)}: {text}" for text in efficiency_at(EIGHTH, rated, stage).assumes]
    if efficiency is not None and not efficiency.value:
        unknown = f"the efficiency of {gear.full} is nothing"
    return _appliance(gear, None, idle, efficiency, stage, sources, unknown, assumes)


def _fixed(gear: Gear) -> Appliance:
    draw = _measure(gear, "draw")
    unknown = "" if draw is not None else f"what {gear.full} draws is not given"
    if gear.doubt:
        unknown = f"a fault in the data of {gear.full} leaves it unknown"
    assumes = []
    if draw is not None and gear.word == "speaker":
        assumes.append(f"the draw of {_called(gear)} is one figure: it counts at every drive level")
    return _appliance(gear, draw, None, None, "", {}, unknown, assumes)


def _appliance(
    gear: Gear,
    draw: Measure | None,
    idle: Measure | None,
    efficiency: Measure | None,
    stage: str,
    sources: Mapping[str, float],
    unknown: str,
    assumes: list[str],
) -> Appliance:
    factor = one(gear.facts, "power-factor", "number")
    if factor is not None and factor.value <= 0:
        factor = None
    said = draw or idle
    if factor is None and not unknown and (said is None or said.kind == "power" or sources):
        assumes.append(f"no power factor of {_called(gear)} is given: {POWER_FACTOR:g}, a supply without correction")
    return Appliance(
        gear,
        draw,
        idle,
        efficiency,
        factor,
        one(gear.facts, "inrush", "current"),
        one(gear.facts, "leakage", "current"),
        stage,
        sum(sources.values()),
        tuple(sources.items()),
        unknown,
        tuple(assumes),
    )


def _called(gear: Gear) -> str:
    """Gear by its kind, where it has one: its data are the same for all of the kind."""
    return gear.kind.name if gear.kind else gear.full


def _measure(gear: Gear, word: SettingWord) -> Measure | None:
    """A draw, whichever of its kinds it is said in."""
    item = first(gear.facts, word)
    return item.measures[0] if item and item.measures else None
