"""Where a rig is heard, how loud and when: one screen for people, and the same for programs and spreadsheets."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from math import isfinite
from typing import TYPE_CHECKING, Any

from rigspec.show.arrays import arrays_json, arrays_text
from rigspec.show.cells import prose, visible, wrap
from rigspec.show.csv_text import csv_text
from rigspec.show.loudness import loudness
from rigspec.show.table import settled, table
from rigspec.solve.air import sound_m_per_s
from rigspec.solve.sound import distance_m
from rigspec.solve.timing import PRECEDENCE_S
from rigspec.space.arrays import arrays
from rigspec.space.hearing import allowed_minutes
from rigspec.space.meeting import DOUBT_DEG, Meeting, meetings
from rigspec.space.reach import Arrival, PlaceReach, Range, reach_at
from rigspec.space.scene import LEFT_OUT, TOLERANCE_DB, Scene, scene
from rigspec.text.finding import few

if TYPE_CHECKING:
    from rigspec.check import Report

WIDTH = 100
HEAD = ("place", "hears", "nominal dB SPL", "peaks dB", "at most dB", "loudest", "arrives first", "then")
RIGHT = (2, 3, 4)
MOST_THEN = 2
MOST_MET = 6
LOST_DB = 20.0  # a sound so far below another is not told of in time (common practice, no source)
NOTHING = "-"
WARMER_C = 10.0


def reaches(report: Report, progress: Callable[[], None] | None = None) -> list[PlaceReach]:
    """All places and areas of a rig, in its order."""
    heard = scene(report.figures)
    return [reach_at(heard, spot, progress) for spot in heard.spots]


# ---- for people ------------------------------------------------------------------------------------------------------


def reach_text(report: Report, found: Sequence[PlaceReach]) -> str:
    """The places on one screen, 100 cells wide."""
    heard = scene(report.figures)
    parts = [_prose(report.figures.rig.title or report.source.path)]
    if not found:
        parts.append(
            _prose("No place or area says where it is: `place desk { at 0 m, 20 m; height 1.7 m; hears main }`.")
        )
    elif not heard.voices:
        parts.append(_prose("No loudspeaker can be heard: " + (_unheard(heard) or "nothing reaches one") + "."))
    else:
        parts.append(_table(heard, found) + _areas(found))
    lined, met = arrays(report.figures, heard), list(meetings(heard))
    parts += [arrays_text(lined)] if lined else []
    parts += [_meetings(met)] if met else []
    if heard.voices:
        parts.append("".join(map(_prose, _notes(heard, found))))
    return "\n".join(parts)


def _table(heard: Scene, found: Sequence[PlaceReach]) -> str:
    rows = [_row(heard, each) for each in found]
    columns = [list(cells) for cells in zip(*rows, strict=True)]
    kept, said = settled(HEAD, columns)
    text = table(
        [HEAD[at] for at in kept],
        [[row[at] for at in kept] for row in rows],
        right=[number for number, at in enumerate(kept) if at in RIGHT],
        width=WIDTH,
    )
    return text + (_prose(said) if said else "")


def _row(heard: Scene, each: PlaceReach) -> list[str]:
    loudest, shown = each.loudest, _told(each)
    first, later = shown[:1], shown[1:]
    left = f"; {len(later) - MOST_THEN} more" if len(later) > MOST_THEN else ""
    return [
        each.spot.name,
        _hears(each),
        *(_levels(found) for found in (each.nominal, each.peaks, each.most)),
        loudest.name if loudest is not None else NOTHING,
        " ".join(f"{arrival.name} {1000 * arrival.arrival_s:.1f} ms" for arrival in first) or NOTHING,
        "; ".join(_then(first[0], arrival) for arrival in later[:MOST_THEN]) + left,
    ]


def _told(each: PlaceReach) -> list[Arrival]:
    """Who is worth telling of in time: bass where there is nothing else, and nobody who is lost beside the others."""
    full = [arrival for arrival in each.arrivals if not all(voice.bass for voice in arrival.voices)]
    shown = full or list(each.arrivals)
    top = max((arrival.level_db for arrival in shown if arrival.level_db is not None), default=None)
    return [arrival for arrival in shown if top is None or arrival.level_db is None or arrival.level_db > top - LOST_DB]


def _hears(each: PlaceReach) -> str:
    given = each.spot.gear.facts.get("hears")
    said = [ref.span.text for entry in given.entries for ref in entry.refs] if given else []
    return " ".join(said) if said else "all"


def _levels(found: Range | None) -> str:
    if found is None:
        return NOTHING
    if not isfinite(found.least_db):
        return "silent" if not isfinite(found.most_db) else f"up to {found.most_db:.0f}"
    low, high = f"{found.least_db:.0f}", f"{found.most_db:.0f}"
    return low if low == high else f"{low} to {high}"


def _then(first: Arrival, other: Arrival) -> str:
    late = f"{other.name} +{1000 * (other.arrival_s - first.arrival_s):.1f} ms"
    if first.level_db is None or other.level_db is None:
        return late
    over = other.level_db - first.level_db
    return f"{late} {over:+.0f} dB" if abs(over) >= 0.5 else f"{late} 0 dB"


def _areas(found: Sequence[PlaceReach]) -> str:
    said = []
    for each in found:
        if len(each.spot.points) > 1 and each.nominal is not None and isfinite(each.nominal.evenness_db):
            apart = each.nominal.evenness_db
            said.append(
                f"{each.spot.name}: {apart:.1f} dB from its softest to its loudest of {len(each.spot.points)} points "
                f"({loudness(apart, all(voice.bass for voice in each.voices))})"
            )
    return "".join(map(_prose, said))


def _meetings(found: Sequence[Meeting]) -> str:
    """Bass and top at their crossover, each pair at one place."""
    rows = [
        [
            each.low.key,
            each.high.key,
            each.spot.name,
            f"{each.hz:.0f}",
            f"{1000 * each.late_s:+.1f}",
            f"{each.phase_deg:+.0f}",
            f"{1000 * abs(each.add_s):.1f} to {each.low.key if each.add_s >= 0 else each.high.key}",
        ]
        for each in found[:MOST_MET]
    ]
    head = ["bass", "top", "at", "meet at Hz", "bass later ms", "phase deg", "together with ms"]
    said = (
        f"A start value, +-{DOUBT_DEG:g} deg, as the boxes' own phase is not known: measure it. Bass and top are taken "
        "to carry the same."
    )
    return table(head, rows, right=(3, 4, 5), width=WIDTH) + _prose(said)


def _notes(heard: Scene, found: Sequence[PlaceReach]) -> Iterator[str]:
    yield (
        f"Free field, +-{TOLERANCE_DB:g} dB, more in bass; {LEFT_OUT} are left out. Nominal is a mean, the others are "
        "highest peaks."
    )
    moved = _warmer(heard, found)
    if moved:
        yield moved
    lacking = _unheard(heard)
    if lacking:
        yield f"Left out, as too little is said: {lacking}."
    if heard.assumes:
        yield f"Assumed: {'; '.join(heard.assumes)}."
    caution = _caution(found)
    if caution:
        yield caution


def _unheard(heard: Scene) -> str:
    whys: dict[str, list[str]] = {}
    for each in heard.unheard:
        whys.setdefault(each.why.replace(each.gear.full, "it"), []).append(each.gear.full)
    return "; ".join(f"{few(names, 4)} ({why})" for why, names in whys.items())


def _warmer(heard: Scene, found: Sequence[PlaceReach]) -> str:
    """How far 10 degC move the arrivals against each other that lie farthest apart on the ground."""
    now, warm = heard.sound_m_per_s, sound_m_per_s(heard.air.air_c + WARMER_C)
    best: tuple[float, str] = (0.0, "")
    for each in found:
        told = _told(each)
        for other in told[1:]:
            ways = [distance_m(arrival.first.at, each.middle) for arrival in (told[0], other)]
            moved = abs(ways[1] - ways[0]) * (1 / now - 1 / warm)
            if moved > best[0]:
                best = moved, f"{other.name} against {told[0].name} at {each.spot.name}"
    moved, what = best
    if 1000 * moved < 0.1:
        return f"Sound goes {now:.1f} m/s at {heard.air.air_c:.3g} degC."
    return (
        f"Sound goes {now:.1f} m/s at {heard.air.air_c:.3g} degC; {WARMER_C:g} degC more or less move {what} by "
        f"{1000 * moved:.1f} ms."
    )


def _caution(found: Sequence[PlaceReach]) -> str:
    """One caution about hearing, from the loudest nominal level as the ear weighs it."""
    known = [(each.aweighted_db, each) for each in found if each.aweighted_db is not None]
    if not known:
        return "Levels that a rig can reach harm hearing."
    level, each = max(known, key=lambda one: (round(one[0] or 0.0, 6), one[1].spot.name))
    assert level is not None
    minutes = allowed_minutes(level)
    time = "" if minutes >= 480 else f": {_minutes(minutes)} a day without protection (NIOSH 98-126, 85 dBA for 8 h)"
    return f"Hearing: {level:.0f} dBA at {each.spot.name} at the nominal level{time}; local law may allow less."


def _minutes(minutes: float) -> str:
    if minutes < 1:
        return "less than a minute"
    return f"{minutes:.0f} min" if minutes < 100 else f"{minutes / 60:.1f} h"


def _prose(text: str) -> str:
    return "".join(f"{line}\n" for line in wrap(prose(text), WIDTH))


# ---- for programs ----------------------------------------------------------------------------------------------------


def rows(report: Report, found: Sequence[PlaceReach]) -> Iterator[dict[str, Any]]:
    """A row for each place and each name that is heard there, in order of arrival."""
    for each in found:
        head = {
            "place": each.spot.name,
            **_level_figures("nominal", each.nominal),
            **_level_figures("peak", each.peaks),
            **_level_figures("most", each.most),
            "aweighted_dba": each.aweighted_db,
        }
        for arrival in each.arrivals:
            yield {
                **head,
                "heard": arrival.name,
                "loudspeakers": " ".join(voice.key for voice in arrival.voices),
                "arrival_ms": 1000 * arrival.arrival_s,
                "after_first_ms": 1000 * (arrival.arrival_s - each.arrivals[0].arrival_s),
                "alone_db": arrival.level_db,
            }
        if not each.arrivals:
            yield {**head, **dict.fromkeys(("heard", "loudspeakers", "arrival_ms", "after_first_ms", "alone_db"))}


def _level_figures(word: str, found: Range | None) -> dict[str, float | None]:
    return {
        f"{word}_least_db": None if found is None else _finite(found.least_db),
        f"{word}_most_db": None if found is None else _finite(found.most_db),
    }


def _finite(value: float) -> float | None:
    return value if isfinite(value) else None


def reach_csv(report: Report, found: Sequence[PlaceReach]) -> str:
    """The rows with commas between, empty cells for what is not known."""
    made = list(rows(report, found))
    head = list(made[0]) if made else ["place"]
    return csv_text([head, *(row.values() for row in made)])


def reach_json(report: Report, found: Sequence[PlaceReach]) -> str:
    """Everything that the screen says, with units at the end of the keys."""
    import json

    heard = scene(report.figures)
    document = {
        "file": visible(report.source.path),
        "tolerance_db": TOLERANCE_DB,
        "left_out": LEFT_OUT,
        "air_celsius": heard.air.air_c,
        "humidity_percent": heard.air.humidity_percent,
        "sound_m_per_s": heard.sound_m_per_s,
        "precedence_ms": [1000 * each for each in PRECEDENCE_S],
        "assumes": list(heard.assumes),
        "left_out_loudspeakers": [{"loudspeaker": each.gear.full, "why": each.why} for each in heard.unheard],
        "places": [_place_json(each) for each in found],
        "arrays": arrays_json(arrays(report.figures, heard)),
        "bass_and_top": [
            {
                "bass": each.low.key,
                "top": each.high.key,
                "place": each.spot.name,
                "meet_hz": each.hz,
                "bass_later_ms": 1000 * each.late_s,
                "phase_deg": each.phase_deg,
                "add_ms": 1000 * abs(each.add_s),
                "add_to": each.low.key if each.add_s >= 0 else each.high.key,
                "doubt_deg": DOUBT_DEG,
            }
            for each in meetings(heard)
        ],
    }
    return json.dumps(document, indent=2, ensure_ascii=True) + "\n"


def _place_json(each: PlaceReach) -> dict[str, Any]:
    return {
        "place": each.spot.name,
        "points": len(each.spot.points),
        **_level_figures("nominal", each.nominal),
        **_level_figures("peak", each.peaks),
        **_level_figures("most", each.most),
        "nominal_mean_db": None if each.nominal is None else _finite(each.nominal.mean_db),
        "evenness_db": None if each.nominal is None else _finite(each.nominal.evenness_db),
        "aweighted_dba": each.aweighted_db,
        "arrivals": [
            {
                "heard": arrival.name,
                "loudspeakers": [voice.key for voice in arrival.voices],
                "arrival_ms": 1000 * arrival.arrival_s,
                "after_first_ms": 1000 * (arrival.arrival_s - each.arrivals[0].arrival_s),
                "alone_db": arrival.level_db,
            }
            for arrival in each.arrivals
        ],
    }
