"""The plan: loudspeakers and places from above, to scale, on one sheet of A4 that Letter paper holds as well."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

from rigspec.check import Report
from rigspec.draw.letters import shortened, width
from rigspec.draw.marks import PX_PER_MM, Drawing, Mark, Outline, Point, Words
from rigspec.draw.plan_below import said_below
from rigspec.draw.plan_key import key
from rigspec.draw.plan_layout import Layout, layouts
from rigspec.draw.plan_scale import Frame, step
from rigspec.draw.plan_sides import SIDES
from rigspec.draw.plan_things import FOOT_M, PlanThing, Stand, standing
from rigspec.draw.plan_window import MOST_DETAIL, Inset, Window, window
from rigspec.draw.shapes import Area
from rigspec.text.finding import Severity

WIDTH, HEIGHT = 297 * PX_PER_MM, 210 * PX_PER_MM
SIDE, TOP = 18.8 * PX_PER_MM, 10 * PX_PER_MM  # Letter is 17.6 mm shorter and its printers want a margin too
LEFT, RIGHT = SIDE, WIDTH - SIDE
SMALL = 9.0
LINE = 12.5
BAR = 26.0  # px for rulers' numbers and the bar of the scale below a window; feet take as much of their own again
DISTANCES, LEVELS = "distances", "levels"


def plan(report: Report, show: Collection[str] = (), tone_hz: float | None = None) -> Drawing | None:
    """The plan of a rig; None where nothing has a place. ``show`` may ask for ``distances`` and for ``levels``.

    With a tone the levels are those of that tone.
    """
    stand = standing(report)
    if not stand.things:
        return None
    layout, windows, below = _best(stand, DISTANCES in show, _corners(report) if LEVELS in show else None)
    lines = _levels(report, layout.frames, windows, tone_hz) if LEVELS in show else []
    marks: list[Mark] = [*lines, *_heading(report, layout.frames), *(mark for each in windows for mark in each.marks)]
    for frame in layout.frames:
        marks += _bars(frame, stand.feet)
    y = HEIGHT - TOP - LINE * (len(below) + 1) - 2
    marks += key(LEFT, y, stand.things)
    marks += [Words(LEFT, y + LINE * (at + 1) + 8, text, SMALL) for at, text in enumerate(below) if text]
    title = f"{_name(report)}: plan"
    return Drawing(WIDTH, HEIGHT, title, _description(stand, layout.frames), tuple(marks))


def _levels(report: Report, frames: Sequence[Frame], windows: Sequence[Window], tone_hz: float | None) -> list[Mark]:
    """How loud it is over the ground; loaded late, as a plan without it needs no sound."""
    from rigspec.draw.plan_levels import marks_of, said
    from rigspec.space.scene import scene

    words = shortened(said(tone_hz), SMALL, RIGHT - LEFT)
    taken = [mark for each in windows for mark in each.marks]
    return [*marks_of(scene(report.figures), frames, taken, tone_hz), Words(LEFT, TOP + 40, words, SMALL)]


def _corners(report: Report) -> list[Point]:
    """The corners of the areas on the ground."""
    from rigspec.space.scene import scene

    return [(across, along) for spot in scene(report.figures).spots for across, along, *_ in spot.corners]


def _best(stand: Stand, distances: bool, corners: Sequence[Point] | None) -> tuple[Layout, list[Window], list[str]]:
    """The layout that shows most, and what is said below it; one window rather than two where they show alike.

    With levels there is a line more above, and the corners of areas have to be in it.
    """
    tried = []
    lines = -1
    below = said_below(stand, [], SMALL, RIGHT - LEFT)
    while len(below) > lines:  # what finds no room in the windows is said below them, which takes of their room
        lines = len(below)
        tried = [(each, _windows(stand, each, distances)) for each in _layouts(stand, lines, corners)]
        layout, windows = min(tried, key=lambda each: _faults(each[1]))
        below = said_below(stand, windows, SMALL, RIGHT - LEFT)
    return layout, windows, below + [""] * (lines - len(below))


def _layouts(stand: Stand, lines: int, corners: Sequence[Point] | None) -> tuple[Layout, ...]:
    bottom = HEIGHT - TOP - LINE * (lines + 1) - 32 - SIDES - BAR * (2 if stand.feet else 1)
    top = TOP + 52 if corners is None else TOP + 52 + LINE
    return layouts(stand.things, Area(LEFT + 34, top, RIGHT - 2, bottom), corners or ())


def _windows(stand: Stand, layout: Layout, distances: bool) -> list[Window]:
    """The windows, each with as much written as there is room for."""
    made: list[Window] = []
    for at, frame in enumerate(layout.frames):
        things = _within(stand.things, layout.inset, at)
        inset, name = (None, layout.inset.name) if at and layout.inset else (layout.inset, "")
        best = window(frame, things, stand.feet, distances, 0, inset, name)
        if not best.unlabelled:  # else more words would find less room still
            for detail in range(MOST_DETAIL, 0, -1):
                found = window(frame, things, stand.feet, distances, detail, inset, name)
                best = min(found, best, key=lambda each: _faults([each]))
                if not (found.unlabelled or found.tangled):
                    break
        made.append(best)
    return made


def _faults(made: Sequence[Window]) -> tuple[int, int, int]:
    """What found no room, how many lines to words are tangled, and whether less is written than is known."""
    return (
        sum(len(each.unlabelled) for each in made),
        sum(each.tangled for each in made),
        sum(each.brief for each in made),
    )


def _within(things: Sequence[PlanThing], inset: Inset | None, at: int) -> Sequence[PlanThing]:
    return [each for each in things if inset is not None and inset.holds(each)] if at else things


def _name(report: Report) -> str:
    return report.figures.rig.title or report.source.path


def _heading(report: Report, frames: Sequence[Frame]) -> Iterable[Mark]:
    errors = sum(finding.severity is Severity.ERROR for finding in report.findings)
    said = f"THE CHECK FOUND {errors} ERROR{'S' if errors > 1 else ''}" if errors else ""
    room = RIGHT - LEFT - (width(said, 11, True) + 16 if said else 0)
    yield Words(LEFT, TOP + 14, shortened(f"{_name(report)}: plan", 16, room, True), 16, strong=True)
    if said:
        yield Words(RIGHT, TOP + 14, said, 11, "end", True, "error")
    scales = " and ".join(dict.fromkeys(f"1:{frame.ratio}" for frame in frames))
    paper = f"{scales} where this sheet (297 mm × 210 mm) is printed at 100 %. Symbols are not to scale."
    made = f"Made from {report.source.path}."
    yield Words(LEFT, TOP + 29, shortened(f"{paper} {made}", SMALL, RIGHT - LEFT), SMALL)


def _bars(frame: Frame, feet: bool) -> Iterable[Mark]:
    """The bar of the scale below a window, in metres, and in feet where the author measures in these."""
    for at, (unit, unit_m) in enumerate((("m", 1.0), *([("ft", FOOT_M)] if feet else []))):
        long = step(90 / (frame.px_per_m * unit_m))
        left, top = frame.area.left, frame.area.bottom + SIDES + 20 + at * BAR
        piece = long * unit_m * frame.px_per_m / 4
        yield from (
            Outline(left + k * piece, top, piece, 5, fill="paper" if k % 2 else "ink", thick=0.8) for k in range(4)
        )
        for number, x in ((0.0, left), (long / 2, left + 2 * piece)):
            yield Words(x, top + 15, f"{number:.4g}", SMALL, "middle")
        yield Words(left + 4 * piece - 3, top + 15, f"{long:.4g} {unit}", SMALL)
        if not at:
            yield Words(left + 4 * piece + 38, top + 8, f"1:{frame.ratio}", SMALL, strong=True)


def _description(stand: Stand, frames: Sequence[Frame]) -> str:
    boxes = sum(len(each.names) for each in stand.things if not each.is_place)
    places = sum(len(each.names) for each in stand.things if each.is_place)
    scales = " and ".join(f"1:{frame.ratio}" for frame in frames)
    without = f" Without a place: {', '.join(stand.without)}." if stand.without else ""
    return (
        f"{boxes} loudspeakers and {places} places from above, the stage at the top and house left at the left,"
        f" {scales}.{without}"
    )
