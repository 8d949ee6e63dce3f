"""Arrays of bass boxes: the delays and polarities that make them one, and where they are loud (wave theory)."""

from __future__ import annotations

from cmath import exp as wave
from collections.abc import Sequence
from itertools import pairwise
from math import asin, cos, degrees, floor, hypot, pi, radians, sin

from attrs import frozen

from rigspec.text.value import Content


@frozen(eq=False, repr=False)
class Setting(Content):
    """What one member of an array is set to, or needs: its delay, and whether it is inverted."""

    delay_s: float
    inverted: bool = False


def forward_m(at: tuple[float, float], toward_deg: float) -> float:
    """How far a box stands forward, in the direction of the front: 0 deg looks into the house, 90 deg to its right."""
    turn = radians(toward_deg)
    return at[0] * sin(turn) + at[1] * cos(turn)


def aside_m(at: tuple[float, float], toward_deg: float) -> float:
    """How far a box stands to the right of the front's direction."""
    turn = radians(toward_deg)
    return at[0] * cos(turn) - at[1] * sin(turn)


def end_fire(places: Sequence[tuple[float, float]], toward_deg: float, m_per_s: float) -> list[Setting]:
    """A row along the front's direction: each waits until the sound of the rearmost passes it, and all is in step."""
    forward = [forward_m(at, toward_deg) for at in places]
    return [Setting((each - min(forward)) / m_per_s) for each in forward]


def gradient(places: Sequence[tuple[float, float]], toward_deg: float, m_per_s: float) -> list[Setting]:
    """Rear boxes inverted and late by the way from the front ones: behind, they come together and cancel."""
    forward = [forward_m(at, toward_deg) for at in places]
    middle = (max(forward) + min(forward)) / 2
    return [
        Setting((max(forward) - each) / m_per_s, inverted=True) if each < middle else Setting(0.0) for each in forward
    ]


def in_step(places: Sequence[tuple[float, float]]) -> list[Setting]:
    """Boxes side by side, or spaced: all alike."""
    return [Setting(0.0) for _ in places]


def curved(places: Sequence[tuple[float, float]], toward_deg: float, angle_deg: float, m_per_s: float) -> list[Setting]:
    """A straight line made to sound as if it were bent: the outer boxes wait as if they stood back on an arc.

    The arc has the line's ends as its own and spans the angle. What stands forward of the others waits for that too.
    """
    aside = [aside_m(at, toward_deg) for at in places]
    forward = [forward_m(at, toward_deg) for at in places]
    middle, half = (max(aside) + min(aside)) / 2, (max(aside) - min(aside)) / 2
    if half <= 0 or angle_deg <= 0:
        return end_fire(places, toward_deg, m_per_s)
    radius = half / sin(radians(min(angle_deg, 180.0) / 2))
    back = [radius - (max(radius**2 - (each - middle) ** 2, 0.0)) ** 0.5 for each in aside]
    late = [forth + each for forth, each in zip(forward, back, strict=True)]
    return [Setting((each - min(late)) / m_per_s) for each in late]


def far_wave(
    places: Sequence[tuple[float, float]],
    waves: Sequence[complex],
    hz: float,
    angle_deg: float,
    m_per_s: float,
) -> complex:
    """What boxes, each with its amplitude at this frequency, add up to far away, in a direction as of `forward_m`."""
    per_m = 2j * pi * hz / m_per_s
    pairs = zip(places, waves, strict=True)
    return sum((each * wave(per_m * forward_m(at, angle_deg)) for at, each in pairs), 0j)


# ---- a straight line of boxes, all alike ----------------------------------------------------------------------------


def half_wave_m(hz: float, m_per_s: float) -> float:
    """The widest spacing at which a line still has one main direction only: half the wavelength."""
    return m_per_s / (2 * hz)


def half_wave_hz(spacing_m: float, m_per_s: float) -> float:
    """The frequency up to which a spacing is no more than half a wavelength; it is a whole one at twice that."""
    return m_per_s / (2 * spacing_m)


def null_angles_deg(count: int, spacing_m: float, hz: float, m_per_s: float) -> list[float]:
    """Where a line of equal boxes is silent, far away, on each side of its front: sin = m wavelengths / (N spacings).

    Where m is a multiple of the number of boxes they all meet again, and it is as loud as in front.
    """
    wavelength = m_per_s / hz
    most = floor(count * spacing_m / wavelength + 1e-12)
    sines = [m * wavelength / (count * spacing_m) for m in range(1, most + 1) if m % count]
    return [degrees(asin(min(sine, 1.0))) for sine in sines]


def second_front_deg(spacing_m: float, hz: float, m_per_s: float) -> float | None:
    """Beside its front, where a line is as loud as in front; None where its spacing is less than a wavelength."""
    sine = m_per_s / (hz * spacing_m)
    return degrees(asin(sine)) if sine <= 1 else None


def spacings_m(places: Sequence[tuple[float, float]]) -> list[float]:
    """The steps from each box to the next along a row."""
    row = sorted(places)
    return [hypot(b[0] - a[0], b[1] - a[1]) for a, b in pairwise(row)]
