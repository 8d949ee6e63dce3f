"""Bass and top at their crossover: the phase between them at a place, and the delay that brings them together."""

from __future__ import annotations

from cmath import phase
from collections.abc import Iterator
from math import degrees, isfinite, sqrt

from attrs import frozen

from rigspec.solve.timing import phase_deg
from rigspec.space.reach import middle_of
from rigspec.space.scene import Scene
from rigspec.space.views import views
from rigspec.space.voices import Voice, passed
from rigspec.space.where import Spot
from rigspec.text.value import Value, gathered

DOUBT_DEG = 90.0
"""The phase of the loudspeakers themselves is not known, and does as much as this (common practice, no source)."""
APART = 1.6
"""So far may lie the end of the bass from the beginning of the top for the two to meet."""


@frozen(eq=False, repr=False)
class Meeting(Value):
    """Two neighbouring ways at a place, at the crossover between them.

    ``late_s`` is how much later the low one arrives; ``phase_deg`` is its phase against the high one, with delays,
    filters and polarity. ``add_s`` is the delay that brings them together: to the low one, or below 0 to the high one.
    """

    spot: Spot
    low: Voice
    high: Voice
    hz: float
    late_s: float
    phase_deg: float
    add_s: float


def meetings(scene: Scene) -> Iterator[Meeting]:
    """At each place, each group of bass boxes with the loudest top there, where the one ends as the other begins.

    Bass and tops count as one programme here, also where the bass comes on a feed of its own.
    """
    for view in views(scene):
        tops = [each for each in view.meant if not each.voice.bass and isfinite(each.level_db)]
        if not tops:
            continue
        high = max(tops, key=lambda each: (round(each.level_db, 6), each.voice.key)).voice
        mates = [voice for voice in (each.voice for each in tops) if voice.gear is high.gear]
        high = min(mates, key=lambda voice: voice.range_hz[0])  # of a box in several ways the lowest
        bass = gathered((each.voice for each in view.meant if each.voice.bass), scene.called)
        for found in bass.values():
            low = min(found, key=lambda voice: (scene.arrival_s(voice, view.point), voice.key))
            top, bottom = low.range_hz[1], high.range_hz[0]
            if bottom / APART <= top <= bottom * APART:
                yield meeting(scene, view.spot, low, high, sqrt(top * bottom))


def meeting(scene: Scene, spot: Spot, low: Voice, high: Voice, hz: float) -> Meeting:
    """Two ways at a place."""
    point = middle_of(spot)
    late_s = scene.arrival_s(low, point) - scene.arrival_s(high, point)
    through = [passed(max(v.shares, key=lambda share: share[1])[0].filters, (hz,))[0] for v in (low, high)]
    filters = degrees(phase(through[0] / through[1])) if all(through) else 0.0
    angle = phase_deg(late_s - filters / 360 / hz, hz, low.inverted != high.inverted)
    return Meeting(spot, low, high, hz, late_s, angle, -late_s + filters / 360 / hz)
