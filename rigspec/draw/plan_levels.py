"""How loud it is over the ground of a plan: contours of the level, and the angles that loudspeakers cover."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from math import cos, floor, hypot, isfinite, radians, sin

from attrs import frozen

from rigspec.draw.contours import contour
from rigspec.draw.letters import width
from rigspec.draw.marks import Group, Mark, Outline, Point, Shape, Stroke, Words
from rigspec.draw.plan_areas import outlines
from rigspec.draw.plan_scale import Frame
from rigspec.draw.shapes import Area, bounds
from rigspec.solve.sound import BANDS_HZ, Field
from rigspec.space.scene import TOLERANCE_DB, Scene
from rigspec.space.voices import noise, tone
from rigspec.text.value import Content

STEP_DB = 3.0
MOST_LINES = 9
ACROSS = 48
"""So many points are looked at across a window, and down it as many as have the same distance."""
EARS_M = 1.7
SIZE = 8.0
RAY = 46.0  # px of the edges of a coverage
APART = 120.0  # px between two numbers on one line


@frozen(eq=False, repr=False)
class Ground(Content):
    """The level over the ground of a window: columns and rows in metres, and the level at each point."""

    across_m: tuple[float, ...]
    along_m: tuple[float, ...]
    levels_db: tuple[tuple[float, ...], ...]


def ground(scene: Scene, frame: Frame, tone_hz: float | None) -> Ground | None:
    """The level of all loudspeakers over a window, of a tone or as noise; None where none is heard."""
    voices = [voice for voice in scene.voices if voice.level_db("nominal") is not None]
    sources = noise(voices, "nominal") if tone_hz is None else tone(voices, "nominal", tone_hz)
    if not sources:
        return None
    field = Field(sources, BANDS_HZ if tone_hz is None else (tone_hz,), scene.air)
    (left, near), (right, far) = (
        frame.ground(frame.area.left, frame.area.top),
        frame.ground(frame.area.right, frame.area.bottom),
    )
    rows = max(2, round(ACROSS * (far - near) / (right - left)))
    across = tuple(left + (right - left) * at / (ACROSS - 1) for at in range(ACROSS))
    along = tuple(near + (far - near) * at / (rows - 1) for at in range(rows))
    levels = tuple(tuple(max(field.level_db((x, y, EARS_M)), 0.0) for x in across) for y in along)
    return Ground(across, along, levels)


def level_lines(frame: Frame, found: Ground, taken: Sequence[Area]) -> list[Mark]:
    """Contours every 3 dB from the loudest down, numbered; the ones that are a multiple of 6 dB heavier."""
    marks: list[Mark] = []
    top = max(map(max, found.levels_db))
    if not isfinite(top):
        return marks
    loudest = floor(top / STEP_DB) * STEP_DB
    for number in range(MOST_LINES):
        level = loudest - number * STEP_DB
        heavy = level % (2 * STEP_DB) == 0
        for line in contour(found.across_m, found.along_m, found.levels_db, level):
            points = [frame.at(x, y) for x, y in line]
            if _long(points) > 12:
                marks.append(Stroke(tuple(points), 0.9 if heavy else 0.5, () if heavy else (1.5, 1.5), level="quiet"))
                if heavy:
                    marks += _numbers(frame, points, level, taken)
    return marks


def _long(points: Sequence[Point]) -> float:
    return sum(hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(points))


def _numbers(frame: Frame, points: Sequence[Point], level: float, taken: Sequence[Area]) -> Iterator[Mark]:
    """The level's number on a line, as near to its middle as nothing else is written, on paper of its own."""
    if _long(points) < APART:
        return
    text = f"{level:.0f}"
    half = width(text, SIZE) / 2 + 1
    room = Area(frame.area.left + 14, frame.area.top + 16, frame.area.right - 14, frame.area.bottom - 16)
    middle = len(points) // 2
    for at in sorted(range(len(points)), key=lambda at: abs(at - middle)):
        x, y = points[at]
        area = Area(x - half, y - SIZE / 2 - 1, x + half, y + SIZE / 2)
        if room.holds(area) and not any(area.meets(other) for other in taken):
            yield Outline(area.left, area.top, area.right - area.left, area.bottom - area.top, fill="paper", thick=0)
            yield Words(x, y + SIZE / 2 - 1.5, text, SIZE, "middle", level="quiet")
            return


def _areas(marks: Iterable[Mark]) -> Iterator[Area]:
    """Where words and symbols stand."""
    for mark in marks:
        if isinstance(mark, Group):
            yield from _areas(mark.marks)
        elif isinstance(mark, Words):
            wide = width(mark.text, mark.size, mark.strong)
            left = mark.x - {"start": 0.0, "middle": wide / 2, "end": wide}[mark.anchor]
            yield Area(left, mark.y - mark.size, left + wide, mark.y + 2)
        elif isinstance(mark, Shape):
            yield bounds(mark.points)


def coverage(scene: Scene, frame: Frame) -> list[Mark]:
    """The two edges of each loudspeaker's coverage, where it is 6 dB down, each pair once."""
    marks: list[Mark] = []
    seen: set[tuple[float, ...]] = set()
    for voice in scene.voices:
        if voice.coverage_deg is None or voice.aim_deg is None:
            continue
        key = (*voice.at[:2], voice.aim_deg[0], voice.coverage_deg[0])
        if key in seen or voice.coverage_deg[0] >= 180:
            continue
        seen.add(key)
        x, y = frame.at(voice.at[0], voice.at[1])
        if not (frame.area.left < x < frame.area.right and frame.area.top < y < frame.area.bottom):
            continue
        for side in (-0.5, 0.5):
            turn = radians(voice.aim_deg[0] + side * voice.coverage_deg[0])
            ends = [(x + sin(turn) * far, y + cos(turn) * far) for far in (10.0, RAY)]
            inside = [
                (
                    min(max(a, frame.area.left + 1), frame.area.right - 1),
                    min(max(b, frame.area.top + 1), frame.area.bottom - 1),
                )
                for a, b in ends
            ]
            marks.append(Stroke(tuple(inside), 0.7, (4.0, 2.0)))
    return marks


def said(tone_hz: float | None) -> str:
    """What the lines mean."""
    of = "noise in octaves" if tone_hz is None else f"a tone of {tone_hz:g} Hz"
    return (
        f"Lines: level of {of} from all loudspeakers at the nominal level, dB SPL, heavy every 6 dB, dotted between; "
        f"ears at {EARS_M:g} m, free field, +-{TOLERANCE_DB:g} dB. Dashes from a box: where it is 6 dB down."
    )


def marks_of(scene: Scene, frames: Iterable[Frame], taken: Iterable[Mark], tone_hz: float | None) -> list[Mark]:
    """All lines of all windows; ``taken`` is what stands in them, which no number covers."""
    marks: list[Mark] = []
    areas = list(_areas(taken))
    for frame in frames:
        found = ground(scene, frame, tone_hz)
        if found is not None:
            marks += level_lines(frame, found, areas)
        marks += coverage(scene, frame)
        marks += outlines(frame, (spot for spot in scene.spots if spot.corners), areas)
    return marks
