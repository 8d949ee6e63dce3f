"""What is heard, behind places and areas, and what a delay should be; loaded only where a rig has places."""

from __future__ import annotations

from collections.abc import Iterator

from rigspec.rig.model import Gear
from rigspec.rules.arrivals import earlies
from rigspec.server.snapshot import Snapshot
from rigspec.space.reach import arrivals_at, middle_of
from rigspec.space.scene import level_at, scene
from rigspec.space.views import delay_point, delay_to_set
from rigspec.text.source import Span
from rigspec.text.units import show

MOST_ARRIVALS = 3


def heard(sight: Snapshot, start: int, end: int) -> Iterator[tuple[Span, str, str]]:
    """Behind the name of each place between two offsets: how loud it is there, and who arrives first."""
    here = scene(sight.report.figures)
    for spot in here.spots:
        span = spot.gear.span
        if span.path != sight.source.path or span.start > end or span.end < start:
            continue
        meant, middle = here.meant_for(spot), middle_of(spot)
        known = meant and all(voice.level_db("nominal") is not None for voice in meant)
        level = level_at(here, meant, middle, "nominal") if known else None
        arrivals = arrivals_at(here, meant, middle)
        words = [] if level is None else [f"{level:.0f} dB"]
        words += [f"{arrivals[0].name} {1000 * arrivals[0].arrival_s:.0f} ms"] if arrivals else []
        if words:
            tips = [f"{each.name} after {show(each.arrival_s, 'time')}" for each in arrivals[:MOST_ARRIVALS]]
            where = "in the middle of " if len(spot.points) > 1 else "at "
            yield span, ", ".join(words), f"{where}{spot.name}, free field, +-3 dB: {'; '.join(tips)}"


def delays(sight: Snapshot, start: int, end: int) -> Iterator[tuple[Span, str, str]]:
    """Behind a delay that brings a loudspeaker in too early: what it should be."""
    figures = sight.report.figures
    for first, later, view in earlies(figures):
        output, _ = delay_point(figures, first.voice)
        gear, _, port = output.rpartition(".")
        span = _delay_of(figures.rig.gear.get(gear), port)
        if span is None or span.path != sight.source.path or span.start > end or span.end < start:
            continue
        needed = delay_to_set(figures, first.voice, later.arrival_s - first.arrival_s)
        words = f"needs {show(needed.least_s, 'time')} to {show(needed.most_s, 'time')}"
        yield span, words, f"{first.voice.key} comes before {later.voice.key} at {view.spot.name}"


def _delay_of(gear: Gear | None, port: str) -> Span | None:
    given = gear.ports.get(port, {}).get("delay") if gear is not None else None
    return given.span if given is not None else None
