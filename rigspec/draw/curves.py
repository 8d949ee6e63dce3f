"""What opposed drive is worth as curves: power in phase and opposed, and the gain with its range, for each pair."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, floor, log2, log10
from typing import TypeAlias

from attrs import frozen

from rigspec.draw.letters import shortened, width, wrapped
from rigspec.draw.marks import Drawing, Mark, Outline, Point, Round, Shape, Stroke, Words
from rigspec.draw.plan_scale import step, ticks
from rigspec.figures.opposed import OpposedGain
from rigspec.figures.opposed_hits import ReservoirGain, by_reservoir
from rigspec.figures.supplies import AmpSupply, SupplyPair, curve
from rigspec.show.supply_words import UNMEASURED, state, supply_line, verdict
from rigspec.text.units import show
from rigspec.text.value import Content

WIDE, EDGE, SIZE = 1240.0, 20.0, 12.0
BOX_WIDE, BOX_TALL, TOP = 300.0, 190.0, 40.0
LEFTS = (60.0, 470.0, 880.0)
TICKS = (20, 25, 31.5, 40, 50, 63, 80, 100, 125)
Dash: TypeAlias = tuple[float, ...]
SOLID: Dash = ()
DASHED: Dash = (7.0, 4.0)


def curves(title: str, amps: Sequence[AmpSupply]) -> Drawing:
    """Boxes for each set of channels that has figures: power and gain against the tone, gain against the reservoir."""
    marks: list[Mark] = []
    y = 60.0
    for amp in amps:
        for pair in amp.pairs:
            if not pair.worths:
                continue
            for said in (supply_line(amp), state(pair.together), verdict(pair)):
                for line in wrapped(said, SIZE, WIDE - 2 * EDGE):
                    y += 18
                    marks.append(Words(EDGE, y, line, SIZE))
            by_tone, reservoirs = curve(pair.prospect), by_reservoir(pair.prospect)
            marks += [*_powers(by_tone, y + TOP), *_gains(by_tone, y + TOP), *_reservoirs(pair, reservoirs, y + TOP)]
            y += TOP + BOX_TALL + 70
    note = UNMEASURED if marks else "No figures of opposed drive in this rig: see the table."
    heads = (
        Words(EDGE, 26, shortened(title, 16, WIDE - 2 * EDGE), 16),
        Words(EDGE, 46, shortened(note, SIZE, WIDE - 2 * EDGE), SIZE),
    )
    return Drawing(WIDE, y, title, note, (*heads, *marks))


@frozen(eq=False, repr=False)
class _Box(Content):
    """A box with a figure along, by its logarithm, and values up."""

    left: float
    top: float
    first: float
    last: float
    low: float
    high: float
    each: float

    def at(self, along: float, value: float) -> Point:
        low, high = log2(self.first), log2(self.last)
        if high - low < 0.1:
            low, high = low - 0.5, high + 0.5
        x = self.left + (log2(along) - low) / (high - low) * BOX_WIDE
        return x, self.top + BOX_TALL - (value - self.low) / (self.high - self.low) * BOX_TALL

    def curve(self, points: Iterable[Point]) -> tuple[Point, ...]:
        return tuple(self.at(*each) for each in points)

    def frame(self, title: str, unit: str, marked: Iterable[float]) -> Iterable[Mark]:
        bottom = self.top + BOX_TALL
        yield Outline(self.left, self.top, BOX_WIDE, BOX_TALL)
        yield Words(self.left, self.top - 6, title, SIZE)
        yield Words(self.left + BOX_WIDE + 10, bottom + 18, unit, SIZE)
        for along in marked:
            if self.first * 0.999 <= along <= self.last * 1.001:
                x, _ = self.at(along, self.low)
                yield Stroke(((x, bottom), (x, bottom + 5)))
                yield Words(x, bottom + 18, f"{along:g}", SIZE, "middle")
        for value in ticks(self.low, self.high, self.each):
            _, y = self.at(self.first, value)
            yield Stroke(((self.left - 5, y), (self.left, y)))
            yield Words(self.left - 8, y + 4, f"{value:g}", SIZE, "end")

    def zero(self) -> Mark:
        _, y = self.at(self.first, 0)
        return Stroke(((self.left, y), (self.left + BOX_WIDE, y)))

    def key(self, entries: Iterable[tuple[str, Dash]]) -> Iterable[Mark]:
        x, y = self.left, self.top + BOX_TALL + 42
        for name, dash in entries:
            yield Stroke(((x, y - 4), (x + 28, y - 4)), 2, dash)
            yield Words(x + 34, y, name, SIZE)
            x += 50 + width(name, SIZE)


def _box(left: float, top: float, along: Sequence[float], values: Sequence[float], least: float) -> _Box:
    """A box that holds all values between round ones; ``least`` is the span of values that are all alike."""
    each = step(((max(values) - min(values)) or least) / 4)
    low, high = floor(min(values) / each) * each, ceil(max(values) / each) * each
    return _Box(left, top, along[0], along[-1], low, max(high, low + each), each)


def _powers(worths: Sequence[OpposedGain], top: float) -> Iterable[Mark]:
    """Power per channel in phase and opposed."""
    in_phase = [(each.hz, each.in_phase_w) for each in worths if each.in_phase_w is not None]
    opposed = [(each.hz, each.opposed_w) for each in worths if each.opposed_w is not None]
    if not in_phase or not opposed:
        return
    watts = [watt for _, watt in (*in_phase, *opposed)]
    box = _box(LEFTS[0], top, [each.hz for each in worths], watts, max(watts) / 10)
    yield from box.frame("power per channel, W", "Hz", TICKS)
    yield Stroke(box.curve(in_phase), 2, SOLID)
    yield Stroke(box.curve(opposed), 2, DASHED)
    yield from box.key((("in phase", SOLID), ("opposed", DASHED)))


def _gains(worths: Sequence[OpposedGain], top: float) -> Iterable[Mark]:
    """The gain of a lasting tone with its range."""
    ends = [100 * end for each in worths for end in (each.low, each.high)]
    box = _box(LEFTS[1], top, [each.hz for each in worths], [0.0, *ends], 1.0)
    high, low = (
        box.curve((each.hz, 100 * end) for each, end in zip(worths, side, strict=True))
        for side in ([each.high for each in worths], [each.low for each in worths])
    )
    yield Shape((*high, *low[::-1]), "quiet", 0)
    yield from box.frame("gain of a lasting tone when opposed, %", "Hz", TICKS)
    yield box.zero()
    yield Stroke(box.curve((each.hz, 100 * each.gain) for each in worths), 2, SOLID)
    yield from box.key((("gain, its range in grey", SOLID),))


def _reservoirs(pair: SupplyPair, found: Sequence[ReservoirGain], top: float) -> Iterable[Mark]:
    """What the same supply would gain with other reservoirs, and where it is now."""
    supply = pair.prospect.supply
    if supply is None or not found:
        return
    milli = [1000 * each.farad for each in found]
    deepest = [(at, 100 * each.deepest) for at, each in zip(milli, found, strict=True)]
    kick = [(at, 100 * each.kick) for at, each in zip(milli, found, strict=True)]
    box = _box(LEFTS[2], top, milli, [0.0, *(gain for _, gain in (*deepest, *kick))], 1.0)
    yield from box.frame("gain by reservoir of a rail (dots: as it is), %", "mF", _round_ones(milli))
    yield box.zero()
    yield Stroke(box.curve(deepest), 2, SOLID)
    yield Stroke(box.curve(kick), 2, DASHED)
    middle = len(found) // 2
    yield from (Round(*box.at(*curve[middle]), 4, "ink") for curve in (deepest, kick))
    low = show(pair.worths[0].hz, "frequency")
    yield from box.key(((f"{low} lasting", SOLID), ("sharp kick drum", DASHED)))


def _round_ones(values: Sequence[float]) -> list[float]:
    """1, 2 and 5 with their tens, over all values."""
    tens = range(floor(log10(values[0])), ceil(log10(values[-1])) + 1)
    return [digit * 10.0**ten for ten in tens for digit in (1, 2, 5)]
