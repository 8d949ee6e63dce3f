"""What opposed drive is worth as curves: power in phase and opposed, and the gain with its range, for each pair."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import ceil, floor, log2
from typing import TypeAlias

from attrs import frozen

from rigspec.draw.letters import shortened, width, wrapped
from rigspec.draw.marks import Drawing, Mark, Outline, Point, Round, Shape, Stroke, Words
from rigspec.draw.plan_scale import step, ticks
from rigspec.figures.opposed import OpposedGain
from rigspec.figures.supplies import AmpSupply, SupplyPair
from rigspec.show.supply_words import UNMEASURED, state, supply_line, verdict
from rigspec.text.value import Content

WIDE, EDGE, SIZE = 860.0, 20.0, 12.0
BOX_WIDE, BOX_TALL = 320.0, 190.0
LEFT, RIGHT, TOP = 60.0, 490.0, 40.0
TICKS = (20, 25, 31.5, 40, 50, 63, 80, 100, 125)
Dash: TypeAlias = tuple[float, ...]
SOLID: Dash = ()
DASHED: Dash = (7.0, 4.0)
DOTTED: Dash = (2.0, 4.0)


def curves(title: str, amps: Sequence[AmpSupply]) -> Drawing:
    """Two boxes for each set of channels that has figures."""
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
            marks += [*_powers(pair, y + TOP), *_gains(pair, y + TOP)]
            y += TOP + BOX_TALL + 70
    note = UNMEASURED if marks else "No figures of opposed drive in this rig: see the table."
    heads = (
        Words(EDGE, 26, shortened(title, 16, WIDE - 2 * EDGE), 16),
        Words(EDGE, 46, shortened(note, SIZE, WIDE - 2 * EDGE), SIZE),
    )
    return Drawing(WIDE, y, title, note, (*heads, *marks))


@frozen(eq=False, repr=False)
class _Box(Content):
    """A box with tones along and values up; ``worths`` are in order of their tones."""

    left: float
    top: float
    worths: Sequence[OpposedGain]
    low: float
    high: float
    each: float

    def at(self, hz: float, value: float) -> Point:
        """Where a value at a tone stands: octaves along."""
        low, high = log2(self.worths[0].hz), log2(self.worths[-1].hz)
        if high - low < 0.1:
            low, high = low - 0.5, high + 0.5
        x = self.left + (log2(hz) - low) / (high - low) * BOX_WIDE
        return x, self.top + BOX_TALL - (value - self.low) / (self.high - self.low) * BOX_TALL

    def curve(self, worths: Sequence[OpposedGain], value: Callable[[OpposedGain], float]) -> tuple[Point, ...]:
        return tuple(self.at(each.hz, value(each)) for each in worths)

    def frame(self, title: str) -> Iterable[Mark]:
        bottom = self.top + BOX_TALL
        yield Outline(self.left, self.top, BOX_WIDE, BOX_TALL)
        yield Words(self.left, self.top - 6, title, SIZE)
        yield Words(self.left + BOX_WIDE + 16, bottom + 18, "Hz", SIZE)
        for hz in TICKS:
            if self.worths[0].hz * 0.999 <= hz <= self.worths[-1].hz * 1.001:
                x, _ = self.at(hz, self.low)
                yield Stroke(((x, bottom), (x, bottom + 5)))
                yield Words(x, bottom + 18, f"{hz:g}", SIZE, "middle")
        for value in ticks(self.low, self.high, self.each):
            _, y = self.at(self.worths[0].hz, value)
            yield Stroke(((self.left - 5, y), (self.left, y)))
            yield Words(self.left - 8, y + 4, f"{value:g}", SIZE, "end")

    def key(self, entries: Iterable[tuple[str, Dash]]) -> Iterable[Mark]:
        x, y = self.left, self.top + BOX_TALL + 42
        for name, dash in entries:
            yield Stroke(((x, y - 4), (x + 28, y - 4)), 2, dash)
            yield Words(x + 34, y, name, SIZE)
            x += 54 + width(name, SIZE)


def _box(left: float, top: float, worths: Sequence[OpposedGain], values: Sequence[float], least: float) -> _Box:
    """A box that holds all values between round ones; ``least`` is the span of values that are all alike."""
    each = step(((max(values) - min(values)) or least) / 4)
    low, high = floor(min(values) / each) * each, ceil(max(values) / each) * each
    return _Box(left, top, worths, low, max(high, low + each), each)


def _powers(pair: SupplyPair, top: float) -> Iterable[Mark]:
    """Power per channel in phase and opposed."""
    known = [each for each in pair.curve if each.in_phase_w is not None and each.opposed_w is not None]
    watts = [watt for each in known for watt in (each.in_phase_w, each.opposed_w) if watt is not None]
    if not watts:
        return
    box = _box(LEFT, top, pair.worths, watts, max(watts) / 10)
    yield from box.frame("power per channel, W")
    yield Stroke(box.curve(known, lambda each: each.in_phase_w or 0.0), 2, SOLID)
    yield Stroke(box.curve(known, lambda each: each.opposed_w or 0.0), 2, DASHED)
    yield from box.key((("in phase", SOLID), ("opposed", DASHED)))


def _gains(pair: SupplyPair, top: float) -> Iterable[Mark]:
    """The gain with the range of its uncertainty, and the other computation where it was made."""
    curve = pair.curve
    others = [each for each in pair.worths if each.other is not None]
    shares = [share for each in curve for share in (each.low, each.high)] + [each.other or 0.0 for each in others]
    box = _box(RIGHT, top, pair.worths, [0.0, *(100 * share for share in shares)], 1.0)
    high, low = (box.curve(curve, lambda each: 100 * each.high), box.curve(curve, lambda each: 100 * each.low))
    yield Shape((*high, *low[::-1]), "quiet", 0)
    yield from box.frame("gain when opposed, %")
    _, zero = box.at(curve[0].hz, 0)
    yield Stroke(((RIGHT, zero), (RIGHT + BOX_WIDE, zero)))
    yield Stroke(box.curve(curve, lambda each: 100 * each.gain), 2, SOLID)
    names = ("simulation", "closed form") if curve[0].simulation else ("closed form", "simulation")
    keys = [(f"{names[0]}, range in grey", SOLID)]
    if others:
        points = box.curve(others, lambda each: 100 * (each.other or 0.0))
        yield Stroke(points, 2, DOTTED)
        yield from (Round(x, y, 3, "ink") for x, y in points)
        keys.append((names[1], DOTTED))
    yield from box.key(keys)
