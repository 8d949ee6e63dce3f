"""A window of the plan: its rulers and origin, everything that stands in it, and the words beside."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

from attrs import frozen

from rigspec.draw.marks import Group, Mark, Outline, Point, Stroke, Words
from rigspec.draw.plan_labels import LabelBlock, Line, PlanPaper, label
from rigspec.draw.plan_rows import spacings
from rigspec.draw.plan_scale import Frame, step, ticks
from rigspec.draw.plan_sides import sides, stage_edge
from rigspec.draw.plan_symbols import box, line_of, place, ring, taken
from rigspec.draw.plan_things import FOOT_M, PlanThing
from rigspec.draw.shapes import Area
from rigspec.text.finding import Severity
from rigspec.text.value import Content

RULER = 9.0  # the size of a ruler's numbers
# How much is written, from little to all: the size of names, of what else there is, and whether what is known is there.
DETAILS = ((8.0, 8.0, False), (10.0, 9.0, False), (9.0, 8.0, True), (10.0, 9.0, True), (13.0, 11.0, True))
ROUNDS, FEW = 4, 8  # so many times anew where so many words or fewer found no room
MOST_DETAIL = len(DETAILS) - 1
INSET = 9.0  # px inside the border that belong to the ticks
ARM = 26.0  # px of the arms of the origin

Spot: TypeAlias = tuple[Point, list[PlanThing]]  # where on the paper, and what stands there


@frozen(eq=False, repr=False)
class Window(Content):
    """The marks of a window, and what had to be left out for want of room.

    ``tangled`` counts the lines to words that are long, or run through symbols or across lines;
    ``brief`` tells that what is known of the things found no room.
    """

    marks: tuple[Mark, ...]
    tangled: int
    brief: bool
    unlabelled: tuple[PlanThing, ...]
    unshown: tuple[str, ...]


@frozen(eq=False, repr=False)
class Inset(Content):
    """The part of the ground, from a corner to the opposite one in metres, that a second window shows larger."""

    low: Point
    high: Point
    name: str

    def has(self, across_m: float, along_m: float) -> bool:
        (left, near), (right, far) = self.low, self.high
        return left <= across_m <= right and near <= along_m <= far

    def holds(self, thing: PlanThing) -> bool:
        return self.has(thing.across_m, thing.along_m)


def window(
    frame: Frame,
    things: Sequence[PlanThing],
    feet: bool,
    distances: bool,
    detail: int,
    inset: Inset | None = None,
    name: str = "",
) -> Window:
    """Everything in one window; ``detail`` says how much is written, see ``DETAILS``."""
    area = frame.area
    sheet = PlanPaper(area.grown(-INSET))
    marks: list[Mark] = [Outline(area.left, area.top, area.right - area.left, area.bottom - area.top)]
    marks += _rulers(frame, feet)
    marks += sides(frame, feet, name)
    spots = _spots(frame, things)
    origin = frame.at(0.0, 0.0)
    seen = sheet.room.grown(-ARM).holds(Area(*origin, *origin)) and not (inset and inset.has(0.0, 0.0))
    if seen:
        arms = _origin(origin)
        marks += arms
        for arm in arms:
            sheet.draw((arm.points[0], arm.points[-1]))
    areas = [taken(spot, found) for spot, found in spots]
    for own in areas:
        sheet.hide(own)
    if inset is not None:
        marks += _inset(frame, inset, sheet)
    unshown: list[str] = []
    if distances:
        rows = [thing for thing in things if not thing.is_place and not (inset and inset.holds(thing))]
        lines, unshown = spacings(frame, rows, feet, sheet)
        marks += lines
    symbols = [_symbols(spot, found) for spot, found in spots]
    labelled = [
        each for each in zip(spots, areas, strict=True) if inset is None or not all(map(inset.holds, each[0][1]))
    ]
    words, missed, tangled, sheet = _labelled(labelled, sheet, detail)
    if seen:
        zero = [Line("origin", RULER, level="quiet")]
        block = sheet.place(origin, Area(*origin, *origin), zero)
        words += label(block, origin, zero) if block else ()
    brief = not DETAILS[detail][2] and any(_known(each) for (_, found), _ in labelled for each in found)
    edge = stage_edge(frame, sheet)
    return Window(
        (*marks, *edge, *_crosses(frame, sheet, feet), *symbols, *words), tangled, brief, tuple(missed), tuple(unshown)
    )


def _labelled(
    spots: Sequence[tuple[Spot, Area]], sheet: PlanPaper, detail: int
) -> tuple[list[Mark], list[PlanThing], int, PlanPaper]:
    """The words of all spots, the things that found no room, how many lines are tangled, and what is taken then."""
    texts = [[line for thing in found for line in lines_of(thing, detail)] for (_, found), _ in spots]
    first: list[int] = []
    taken = sheet.copy()
    best = _put(spots, texts, taken, first)
    for _ in range(ROUNDS):  # who found no room goes first in the next round
        if not 0 < len(spots) - len(best) <= FEW:
            break
        first += [at for at in range(len(spots)) if at not in best and at not in first]
        again = sheet.copy()
        blocks = _put(spots, texts, again, first)
        if len(blocks) > len(best):
            best, taken = blocks, again
    words: list[Mark] = []
    for at, ((spot, found), _) in enumerate(spots):
        if at in best:
            names = " ".join(name for each in found for name in each.names)
            words.append(Group(names, "", tuple(label(best[at], spot, texts[at]))))
    missed = [thing for at, ((_, found), _) in enumerate(spots) if at not in best for thing in found]
    tangled = sum(taken.tangled(block.leader, spots[at][1]) for at, block in best.items() if block.leader)
    return words, missed, tangled, taken


def _put(
    spots: Sequence[tuple[Spot, Area]], texts: Sequence[Sequence[Line]], sheet: PlanPaper, first: Sequence[int]
) -> dict[int, LabelBlock]:
    """Put the words of spots: some first, then what fits beside, the most cramped first, then what a line leads to."""
    ways = [sheet.ways(spot, own, lines) for ((spot, _), own), lines in zip(spots, texts, strict=True)]
    order = sorted(range(len(spots)), key=lambda at: ways[at])
    blocks: dict[int, LabelBlock] = {}
    for put, whose in ((sheet.place, first), (sheet.near, order), (sheet.far, order)):
        for at in whose:
            (spot, _), own = spots[at]
            block = None if at in blocks else put(spot, own, texts[at])
            if block is not None:
                blocks[at] = block
    return blocks


def _spots(frame: Frame, things: Iterable[PlanThing]) -> list[Spot]:
    """The things by where they are, from the far end to the stage: things at one point share one symbol."""
    found: dict[tuple[float, float, bool], list[PlanThing]] = {}
    for thing in things:
        key = round(thing.across_m, 4), round(thing.along_m, 4), thing.is_place
        found.setdefault(key, []).append(thing)
    by_place = sorted(found.values(), key=lambda each: (-each[0].along_m, each[0].across_m, each[0].is_place))
    return [(frame.at(each[0].across_m, each[0].along_m), each) for each in by_place]


def _symbols(spot: Point, things: Sequence[PlanThing]) -> Mark:
    names = " ".join(name for each in things for name in each.names)
    boxes = [each for each in things if not each.is_place]
    worst = max((each.level for each in things if each.level), key=lambda each: each.weight, default=None)
    title = "; ".join(" ".join(line.text for line in lines_of(each, MOST_DETAIL)) for each in things)
    if not boxes:
        return Group(names, title, (*ring(spot, worst), *place(spot)))
    aims = list(dict.fromkeys(each.aim_deg for each in boxes))
    return Group(names, title, box(spot, aims, any(each.inverted for each in boxes), worst))


def lines_of(thing: PlanThing, detail: int) -> list[Line]:
    """What is written beside a thing: always its name and what is wrong, and with more detail what is known."""
    big, small, all_known = DETAILS[detail]
    lines = [Line(thing.title, big, strong=True)]
    known = _known(thing)
    lines += [Line(known, small)] if known and all_known else []
    lines += [Line(note, small) for note in thing.notes]
    for severity, rule in dict.fromkeys((each.severity, each.rule) for each in thing.findings):
        lines.append(Line(f"{severity.value}: {rule}", small, severity is Severity.ERROR, line_of(severity)))
    return lines


def _known(thing: PlanThing) -> str:
    return ", ".join(each for each in (thing.kind, thing.up, _aim(thing)) if each)


def _aim(thing: PlanThing) -> str:
    tilt = thing.tilt_deg
    words = [] if thing.aim_deg is None else [f"aim {_angle(thing.aim_deg)}"]
    if tilt:
        words.append(f"{_angle(abs(tilt))} {'down' if tilt < 0 else 'up'}")
    return ", ".join(words)


def _angle(deg: float) -> str:
    return f"{deg:.4g}°"


def _rulers(frame: Frame, feet: bool) -> Iterable[Mark]:
    """Ticks on all four sides, with numbers below and on the left, in the unit that the author wrote."""
    unit_m = FOOT_M if feet else 1.0
    area = frame.area
    (low_x, low_y), (high_x, high_y) = frame.ground(area.left, area.top), frame.ground(area.right, area.bottom)
    apart = step(56.0 / (frame.px_per_m * unit_m))
    for value in ticks(low_x / unit_m, high_x / unit_m, apart):
        x, _ = frame.at(value * unit_m, 0)
        yield Stroke(((x, area.bottom), (x, area.bottom - 5)), 0.8)
        yield Stroke(((x, area.top), (x, area.top + 5)), 0.8)
        if area.left + 4 < x < area.right - 4:
            yield Words(x, area.bottom + RULER + 3, _number(value), RULER, "middle")
    for value in ticks(low_y / unit_m, high_y / unit_m, apart):
        _, y = frame.at(0, value * unit_m)
        yield Stroke(((area.left, y), (area.left + 5, y)), 0.8)
        yield Stroke(((area.right, y), (area.right - 5, y)), 0.8)
        if area.top + 4 < y < area.bottom - 4:
            yield Words(area.left - 4, y + RULER * 0.35, _number(value), RULER, "end")


def _number(value: float) -> str:
    return f"{value:.10g}"


def _origin(spot: Point) -> tuple[Stroke, ...]:
    """The cross from which everything is measured, with heads where across and along grow."""
    x, y = spot
    return (
        Stroke(((x - ARM / 2, y), (x + ARM, y)), 0.8, (5.0, 2.0, 1.0, 2.0), True, "quiet"),
        Stroke(((x, y - ARM / 2), (x, y + ARM)), 0.8, (5.0, 2.0, 1.0, 2.0), True, "quiet"),
    )


def _crosses(frame: Frame, sheet: PlanPaper, feet: bool) -> Iterable[Mark]:
    """Small crosses at the steps of the rulers, where nothing else is."""
    unit_m = FOOT_M if feet else 1.0
    apart = step(56.0 / (frame.px_per_m * unit_m)) * unit_m
    low_x, low_y = frame.ground(sheet.room.left + 4, sheet.room.top + 4)
    high_x, high_y = frame.ground(sheet.room.right - 4, sheet.room.bottom - 4)
    for across in ticks(low_x, high_x, apart):
        for along in ticks(low_y, high_y, apart):
            x, y = frame.at(across, along)
            if sheet.free(Area(x - 3, y - 3, x + 3, y + 3)):
                yield Stroke(((x - 3, y), (x + 3, y)), 0.5, level="quiet")
                yield Stroke(((x, y - 3), (x, y + 3)), 0.5, level="quiet")


def _inset(frame: Frame, inset: Inset, sheet: PlanPaper) -> Iterable[Mark]:
    """The part that another window shows larger: a dashed border with its name."""
    left, top = frame.at(*inset.low)
    right, bottom = frame.at(*inset.high)
    yield Outline(left, top, right - left, bottom - top, dash=(6.0, 3.0))
    sheet.hide(Area(left, top, right, bottom))
    name = [Line(f"{inset.name}: see right", 10.0, strong=True)]
    middle = (left + right) / 2, (top + bottom) / 2
    block = sheet.place(middle, Area(left, top, right, bottom), name)
    if block:
        yield from label(block, middle, name)
