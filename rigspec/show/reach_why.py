"""How the level and the arrivals at a place come about: each loudspeaker with its distance, air, aim and time."""

from __future__ import annotations

from math import isfinite, log10
from typing import TYPE_CHECKING

from rigspec.show.cells import prose, wrap
from rigspec.show.table import table
from rigspec.solve.air import loss_db_per_m
from rigspec.solve.sound import distance_m
from rigspec.space.scene import level_at, scene
from rigspec.space.views import views

if TYPE_CHECKING:
    from rigspec.check import Report

WIDTH = 100
MOST_ROWS = 40
TONE_HZ = 1000.0


def why_text(report: Report, name: str) -> str | None:
    """The working of one place, the loudest loudspeaker first; None where there is no such place."""
    heard = scene(report.figures)
    view = next((view for view in views(heard) if view.spot.name == name), None)
    if view is None:
        return None
    per_m = loss_db_per_m(heard.air, TONE_HZ)
    rows = []
    for each in sorted(view.meant, key=lambda seen: (-seen.level_db, seen.voice.key))[:MOST_ROWS]:
        voice = each.voice
        way, nominal = distance_m(voice.at, view.point), voice.level_db("nominal")
        alone = level_at(heard, [voice], view.point, "nominal") if nominal is not None else None
        part = min((part for part, _ in voice.shares), key=lambda part: part.delay_s + part.latency_s)
        rows.append(
            [
                voice.key,
                "-" if nominal is None else f"{nominal:.1f}",
                f"{way:.2f}",
                f"{-20 * log10(max(way, 0.25)):.1f}",
                f"{-way * per_m:.2f}",
                f"{-each.beside_db:.1f}",
                "-" if alone is None or not isfinite(alone) else f"{alone:.1f}",
                f"{1000 * way / heard.sound_m_per_s:.2f}",
                f"{1000 * part.delay_s:.2f}",
                f"{1000 * part.latency_s:.2f}",
                f"{1000 * each.arrival_s:.2f}",
            ]
        )
    head = ["hears", "dB at 1 m", "m", "distance dB", "air at 1 kHz dB", "beside aim dB", "alone dB"]
    head += ["way ms", "delay ms", "latency ms", "arrives ms"]
    said = (
        "At 1 m: sensitivity + 10 log of the watts, or the peak level below its drive. Distance: -20 log. What is lost "
        "beside the aim counts above 100 Hz: 6 dB at the edge of the coverage, by the square of the angle, 20 at most. "
        "Way: distance over the speed of sound."
    )
    text = table(head, rows, right=range(1, 11), width=WIDTH) if rows else "Nothing is heard there.\n"
    return f"{name}\n\n{text}\n" + "".join(f"{line}\n" for line in wrap(prose(said), WIDTH))
