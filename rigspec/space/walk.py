"""The walk test: a tone in all bass boxes, and the level along a line in front, as planned and with boxes crossed."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from math import ceil, floor

from attrs import evolve, frozen

from rigspec.solve.sound import Field, Point, Source, level_db
from rigspec.space.scene import Scene
from rigspec.space.voices import Voice, tone
from rigspec.text.value import Value, gathered

USUAL_TONE_HZ, USUAL_AT_M = 55.0, 4.0
TONES_HZ, AT_M = (50.0, 60.0), (3.0, 6.0)
"""A tone of 50 to 60 Hz, walked 3 to 6 m in front of the boxes (common practice, no source)."""
STEP_M = 0.5
BEYOND_M = 4.0  # so far past the outer boxes
EARS_M = 1.7
FLOOR_DB = -20.0
"""Nothing below is said: 1 dB between two boxes leaves -25 dB where they cancel, 1 ms at 55 Hz -15."""
TELLS_DB, ALIKE_DB = 6.0, 2.0
"""By so much a fault has to differ from the plan to be heard at a step, and so little is the same walk."""
LEAST_PLACES = 3


@frozen(eq=False, repr=False)
class WalkCase(Value):
    """How the walk sounds in one state of the boxes: ``levels_db`` against the loudest spot as planned.

    ``crossed`` are the boxes that are crossed, ``silent`` those that are unplugged. ``others`` are states that walk
    alike because boxes stand in one spot.
    """

    name: str
    crossed: frozenset[str]
    silent: frozenset[str]
    levels_db: tuple[float, ...]
    others: tuple[str, ...] = ()


@frozen(eq=False, repr=False)
class Walk(Value):
    """A walk: metres across of its steps, the line it is on, and each state. The first is the plan."""

    tone_hz: float
    at_m: float
    along_m: float
    middle_m: float
    across_m: tuple[float, ...]
    boxes: tuple[Voice, ...]
    cases: tuple[WalkCase, ...]
    spots: tuple[tuple[str, ...], ...]

    @property
    def planned(self) -> WalkCase:
        return self.cases[0]

    def tells(self, case: WalkCase) -> list[float]:
        """Where a state is told from the plan: by 6 dB or more, and half a metre beside by 3 dB still."""
        apart = [abs(a - b) for a, b in zip(_floored(case), _floored(self.planned), strict=True)]
        last = len(apart) - 1
        return [
            x
            for number, x in enumerate(self.across_m)
            if apart[number] >= TELLS_DB
            and apart[max(number - 1, 0)] >= TELLS_DB / 2
            and apart[min(number + 1, last)] >= TELLS_DB / 2
        ]

    def same(self, case: WalkCase) -> list[WalkCase]:
        """The other states that walk as this one does, but for how loud all of it is."""
        return [other for other in self.cases if other is not case and _alike(case, other)]

    def drop_db(self, case: WalkCase) -> float:
        """How much softer than planned it is in the middle."""
        number = min(range(len(self.across_m)), key=lambda at: abs(self.across_m[at] - self.middle_m))
        return _floored(self.planned)[number] - _floored(case)[number]


def _floored(case: WalkCase) -> list[float]:
    return [max(each, FLOOR_DB) for each in case.levels_db]


def _alike(one: WalkCase, other: WalkCase) -> bool:
    """Do two states differ by the same everywhere, within what a walker hears?"""
    apart = [a - b for a, b in zip(_floored(one), _floored(other), strict=True)]
    return max(apart) - min(apart) <= ALIKE_DB


def walked(scene: Scene) -> tuple[Voice, ...]:
    """The boxes that a walk is for: the bass boxes of the programme that has most of them, or all boxes if none."""
    ready = [voice for voice in scene.voices if voice.level_db("nominal") is not None or voice.level_db("most")]

    def main_feed(voice: Voice) -> str:
        feed = max(voice.shares, key=lambda share: share[1])[0].feed
        return voice.pair_of.get(feed, feed)

    bass = gathered((voice for voice in ready if voice.bass), main_feed)
    if bass:
        return max(map(tuple, bass.values()), key=len)
    rest = gathered((voice for voice in ready if not voice.band.way or voice.band.way == "low"), main_feed)
    return max(map(tuple, rest.values()), key=len) if rest else ()


def walk(scene: Scene, tone_hz: float = USUAL_TONE_HZ, at_m: float = USUAL_AT_M) -> Walk | None:
    """The walk in front of a rig's bass boxes; None where there are none that can be heard."""
    boxes = walked(scene)
    known = all(voice.level_db("nominal") is not None for voice in boxes)
    sources = {voice.key: tone([voice], "nominal" if known else "most", tone_hz) for voice in boxes}
    boxes = tuple(voice for voice in boxes if sources[voice.key])
    if not boxes:
        return None
    xs = [voice.at[0] for voice in boxes]
    along = max(voice.at[1] for voice in boxes) + at_m
    middle = (min(xs) + max(xs)) / 2
    first, last = floor((min(xs) - BEYOND_M) / STEP_M), ceil((max(xs) + BEYOND_M) / STEP_M)
    across = tuple(STEP_M * number for number in range(first, last + 1))
    line = [(x, along, EARS_M) for x in across]
    waves = {voice.key: _waves(scene, sources[voice.key], tone_hz, line) for voice in boxes}
    spots = [tuple(v.key for v in here) for here in gathered(boxes, lambda voice: voice.at).values()]
    cases = _cases(boxes, spots, middle, waves)
    return Walk(tone_hz, at_m, along, middle, across, boxes, tuple(cases), tuple(spots))


def _waves(scene: Scene, sources: Sequence[Source], hz: float, line: Sequence[Point]) -> list[complex]:
    """One box's wave at each step, all programmes in step: the tone is in mono."""
    field = Field(sources, (hz,), scene.air)
    return [sum(field.waves(point), 0j) for point in line]


def _same_levels(one: WalkCase, other: WalkCase) -> bool:
    return all(abs(a - b) < 0.01 or max(a, b) < FLOOR_DB for a, b in zip(one.levels_db, other.levels_db, strict=True))


def _cases(
    boxes: Sequence[Voice], spots: Sequence[tuple[str, ...]], middle: float, waves: dict[str, list[complex]]
) -> Iterable[WalkCase]:
    keys = [voice.key for voice in boxes]
    nothing: frozenset[str] = frozenset()

    def levels(crossed: frozenset[str], silent: frozenset[str]) -> list[float]:
        signs = {key: 0.0 if key in silent else -1.0 if key in crossed else 1.0 for key in keys}
        steps = range(len(waves[keys[0]]))
        return [level_db(abs(sum(signs[key] * waves[key][at] for key in keys)) ** 2) for at in steps]

    planned = levels(nothing, nothing)
    top = max(planned)

    def case(name: str, crossed: Iterable[str], silent: Iterable[str] = (), others: tuple[str, ...] = ()) -> WalkCase:
        over, off = frozenset(crossed), frozenset(silent)
        return WalkCase(name, over, off, tuple(each - top for each in levels(over, off)), others)

    yield WalkCase("as planned", nothing, nothing, tuple(each - top for each in planned))
    sides = {
        "left side": [voice.key for voice in boxes if voice.at[0] < middle - 0.01],
        "right side": [voice.key for voice in boxes if voice.at[0] > middle + 0.01],
    }
    sides = {name: found for name, found in sides.items() if found and len(found) < len(keys)}
    crossed = [case(f"{name} crossed", found) for name, found in sides.items()]
    if len(crossed) == 2 and _same_levels(*crossed):  # always, where no box stands in the middle
        yield evolve(crossed[0], name="one side crossed")
    else:
        yield from crossed
    for spot in spots:
        several = len(spot) > 1
        name = f"{spot[0]} crossed, one of {len(spot)} there" if several else f"{spot[0]} crossed"
        if list(spot) not in sides.values() or several:
            yield case(name, spot[:1], others=spot[1:])
    for name, found in sides.items():
        yield case(f"{name} unplugged", (), found)
