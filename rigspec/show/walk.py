"""The walk test for the crew: a table with a plot, what to listen for in this rig, and the same for programs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

from rigspec.show.cells import prose, visible, wrap
from rigspec.show.csv_text import csv_text
from rigspec.show.table import table
from rigspec.space.scene import TOLERANCE_DB
from rigspec.space.walk import AT_M, FLOOR_DB, TONES_HZ, Walk, WalkCase
from rigspec.text.finding import few

if TYPE_CHECKING:
    from rigspec.check import Report

WIDTH = 100
PLOT = 31  # cells
MOST_DROP_DB = 15.0  # from here on the floor of what is said may hide more
MOST_COLUMNS = 5
NOTHING = "no bass box can be walked: it needs `at`, a sensitivity and a feed that reaches it"


def walk_text(report: Report, found: Walk | None) -> str:
    """The walk on one screen or two, 100 cells wide."""
    title = _prose(report.figures.rig.title or report.source.path)
    if found is None:
        return f"{title}\n{_prose(NOTHING[0].upper() + NOTHING[1:] + '.')}"
    return "\n".join([title, "".join(map(_prose, before(found))), _table(found), "".join(map(_prose, lessons(found)))])


def before(found: Walk) -> list[str]:
    """What comes before the walk, and how it is done."""
    stacks = [spot for spot in found.spots if len(spot) > 1]
    first = [f"Tone {found.tone_hz:g} Hz in mono, all else muted, well under the limiter, a minute at most."]
    if stacks:
        shown = "; ".join(few(stack, 4) for stack in stacks[:4]) + ("; ..." if len(stacks) > 4 else "")
        first.append(
            f"Before the walk, each stack alone, box by box ({shown}): the second adds about 6 dB, or one is crossed."
        )
    else:
        first.append("Before the walk, each box alone: every one plays, and all alike loud.")
    first.append(
        f"Then walk across {found.at_m:g} m in front, at {found.along_m:g} m along, ears at 1.7 m. Levels against the "
        f"loudest spot as planned; nothing below {FLOOR_DB:g} dB is said. Boxes are points in the open, "
        f"+-{TOLERANCE_DB:g} dB; a room adds its own. Third-octave noise is the second choice to a tone."
    )
    return first


def _shown(found: Walk) -> list[WalkCase]:
    """The states that stand in the table: the plan, the sides, single boxes; not what is unplugged."""
    return [case for case in found.cases if not case.silent][: MOST_COLUMNS + 1]


def _table(found: Walk) -> str:
    shown = _shown(found)
    head = ["metres across", *(case.name for case in shown), "o planned, x " + _plotted(found).name]
    rows = [
        [f"{x:g}", *(level_text(case.levels_db[at]) for case in shown), _plot(found, at)]
        for at, x in enumerate(found.across_m)
    ]
    left = [case.name for case in found.cases if not case.silent][len(shown) :]
    more = _prose(f"Not shown: {few(left, 6)}; --csv and --json have all.") if left else ""
    return table(head, rows, right=range(1 + len(shown)), width=WIDTH) + more


def level_text(level: float) -> str:
    return f"< {FLOOR_DB:g}" if level < FLOOR_DB else f"{round(level, 1) + 0.0:.1f}"


def _plotted(found: Walk) -> WalkCase:
    """The state that is plotted beside the plan: a side crossed, or else the first box."""
    return found.cases[min(1, len(found.cases) - 1)]


def _plot(found: Walk, at: int) -> str:
    cells = [" "] * PLOT
    top = max(max(case.levels_db) for case in (found.planned, _plotted(found)))
    for case, mark in ((_plotted(found), "x"), (found.planned, "o")):
        share = (max(case.levels_db[at], FLOOR_DB) - FLOOR_DB) / (top - FLOOR_DB)
        cells[round(share * (PLOT - 1))] = mark
    return "".join(cells).rstrip()


def lessons(found: Walk) -> list[str]:
    """What the walk tells in this rig, and what it does not."""
    said = []
    soft = _soft(found)
    if soft:
        said.append(
            f"As planned it is already over 6 dB down at {_metres(soft)} m: hot and cold spots there prove nothing."
        )
    crossed = [case for case in found.cases[1:] if not case.silent]
    said += [_lesson(found, case) for case in crossed if found.tells(case)]
    untold = [case.name for case in crossed if not found.tells(case)]
    if untold:
        said.append(f"No place in front tells from the plan: {'; '.join(untold)}. Only the stacks alone do.")
    pairs = _pairs(found)
    if pairs:
        said.append(f"The walk cannot tell: {'; '.join(pairs)}. The stacks alone, before it, tell them.")
    sides = [case for case in found.cases if case.name.endswith("side crossed")]
    if sides:
        said.append(
            "At the end invert one side at the processor, never by re-plugging, and stand in the middle: it must go "
            f"from loud to soft, by some {max(found.drop_db(case) for case in sides):.0f} dB or more here. If it gets "
            "louder, a side was crossed."
        )
    return said


def _lesson(found: Walk, case: WalkCase) -> str:
    tells = found.tells(case)
    middle = found.drop_db(case)
    number = {x: at for at, x in enumerate(found.across_m)}
    louder = [x for x in tells if case.levels_db[number[x]] > found.planned.levels_db[number[x]]]
    softer = [x for x in tells if x not in louder]
    where = [f"softer at {_metres(softer)} m"] if softer else []
    where += [f"louder at {_metres(louder)} m"] if louder else []
    return f"{case.name}: {' and '.join(where)}; the middle is {_by(middle)}."


def _by(drop: float) -> str:
    if abs(drop) < 1:
        return "as planned"
    return f"{abs(drop):.0f} dB {'softer' if drop > 0 else 'louder'}{' or more' if drop >= MOST_DROP_DB else ''}"


def _soft(found: Walk) -> list[float]:
    levels = found.planned.levels_db
    inside = [at for at, x in enumerate(found.across_m) if abs(x - found.middle_m) <= _half(found)]
    return [found.across_m[at] for at in inside if levels[at] < -6]


def _half(found: Walk) -> float:
    xs = [voice.at[0] for voice in found.boxes]
    return (max(xs) - min(xs)) / 2


def _metres(xs: Sequence[float]) -> str:
    """Steps in short: neighbours as a span."""
    runs: list[list[float]] = []
    for x in xs:
        if runs and x - runs[-1][1] < 0.75:
            runs[-1][1] = x
        else:
            runs.append([x, x])
    return ", ".join(f"{low:g}" if low == high else f"{low:g} to {high:g}" for low, high in runs)


def _pairs(found: Walk) -> list[str]:
    """States that walk alike."""
    seen: set[frozenset[str]] = set()
    said = []
    for case in found.cases[1:]:
        for other in found.same(case):
            key = frozenset((case.name, other.name))
            if key not in seen:
                seen.add(key)
                said.append(f"{case.name} from {other.name}" if other is not found.planned else f"{case.name} at all")
    return said


def _prose(text: str) -> str:
    return "".join(f"{line}\n" for line in wrap(prose(text), WIDTH))


# ---- for programs ----------------------------------------------------------------------------------------------------


def rows(found: Walk) -> Iterator[dict[str, Any]]:
    """A row for each step, a column for each state; None below -20 dB."""
    for at, x in enumerate(found.across_m):
        levels = {f"{case.name} dB": _said(case.levels_db[at]) for case in found.cases}
        yield {"across_m": x, **levels}


def _said(level: float) -> float | None:
    return None if level < FLOOR_DB else level


def walk_csv(report: Report, found: Walk | None) -> str:
    """The steps with commas between; empty below -20 dB."""
    made = list(rows(found)) if found is not None else []
    return csv_text([list(made[0]) if made else ["across_m"], *(row.values() for row in made)])


def walk_json(report: Report, found: Walk | None) -> str:
    """The walk as data; levels are null below -20 dB."""
    import json

    document: dict[str, Any] = {"file": visible(report.source.path), "walk": None, "why": NOTHING}
    if found is not None:
        document = {
            "file": visible(report.source.path),
            "tolerance_db": TOLERANCE_DB,
            "walk": {
                "tone_hz": found.tone_hz,
                "usual_tones_hz": list(TONES_HZ),
                "in_front_m": found.at_m,
                "usual_in_front_m": list(AT_M),
                "along_m": found.along_m,
                "middle_m": found.middle_m,
                "across_m": list(found.across_m),
                "loudspeakers": [voice.key for voice in found.boxes],
                "states": [
                    {
                        "state": case.name,
                        "crossed": sorted(case.crossed),
                        "unplugged": sorted(case.silent),
                        "level_db": [_said(each) for each in case.levels_db],
                        "told_at_m": found.tells(case),
                        "walks_like": [other.name for other in found.same(case)],
                    }
                    for case in found.cases
                ],
            },
        }
    return json.dumps(document, indent=2, ensure_ascii=True) + "\n"
