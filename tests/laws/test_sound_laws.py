"""What holds for every set of loudspeakers in the open, and the same sums by numpy."""

from __future__ import annotations

from math import log10
from time import process_time

import numpy as np
import pytest
from attrs import evolve
from hypothesis import given
from hypothesis import strategies as some

from rigspec.solve.air import Air, loss_db_per_m, sound_m_per_s
from rigspec.solve.arrays import curved, end_fire, far_wave, gradient
from rigspec.solve.sound import (
    BANDS_HZ,
    COHERENT_HZ,
    Field,
    Point,
    Source,
    beside_aim_db,
    distance_m,
    level_db,
    off_aim_deg,
    wave_at_1_m,
)
from rigspec.solve.timing import notch_hz, phase_deg

metres = some.floats(-60, 60)
points = some.tuples(metres, metres, some.floats(0, 12))
airs = some.builds(Air, some.floats(-20, 45), some.floats(10, 100))


@some.composite
def sources(draw: some.DrawFn, programmes: tuple[str, ...] = ("a",)) -> Source:
    late, level, inverted = draw(some.floats(0, 0.3)), draw(some.floats(60, 135)), draw(some.booleans())
    waves = tuple(wave_at_1_m(level, hz, late, inverted) for hz in BANDS_HZ)
    coverage = draw(some.none() | some.tuples(some.floats(20, 180), some.floats(10, 120)))
    aim = draw(some.floats(-180, 180)), draw(some.floats(-45, 45))
    return Source(draw(points), waves, coverage, *aim, draw(some.sampled_from(programmes)))


rigs = some.lists(sources(), min_size=1, max_size=6)


@given(some.lists(sources(("a", "b", "c")), min_size=1, max_size=6), points, airs)
def test_numpy_finds_the_same_levels(found: list[Source], place: Point, air: Air) -> None:
    field = Field(found, BANDS_HZ, air)
    at = np.array([source.at for source in found])
    to = np.array(place) - at
    r = np.maximum(np.linalg.norm(to, axis=1), 0.25)
    beside = np.degrees(np.arctan2(to[:, 0], to[:, 1])) - np.array([source.right_deg for source in found])
    beside = (beside + 180) % 360 - 180
    above = np.degrees(np.arctan2(to[:, 2], np.hypot(to[:, 0], to[:, 1]))) - np.array([s.up_deg for s in found])
    wide = np.array([source.coverage_deg or (np.inf, np.inf) for source in found])
    down = np.minimum(20, 6 * (2 * beside / wide[:, 0]) ** 2 + 6 * (2 * above / wide[:, 1]) ** 2)
    names = np.array([source.programme for source in found])
    for number, hz in enumerate(BANDS_HZ):
        waves = np.array([source.waves[number] for source in found])
        alpha = loss_db_per_m(air, hz)
        pressure = waves / r * 10 ** (-alpha * r / 20)
        if hz <= COHERENT_HZ:
            pressure = pressure * np.exp(-2j * np.pi * hz * r / sound_m_per_s(air.air_c))
            power = sum(abs(pressure[names == name].sum()) ** 2 for name in np.unique(names))
        else:
            power = (abs(pressure * 10 ** (-down / 20)) ** 2).sum()
        if power > (abs(pressure) ** 2).sum() * 1e-9:  # deeper nulls are the rounding's
            assert field.levels_db(place)[number] == pytest.approx(10 * np.log10(power), abs=0.01)


@given(rigs, points, airs)
def test_inverting_everything_changes_nothing(found: list[Source], place: Point, air: Air) -> None:
    turned = [evolve(source, waves=tuple(-wave for wave in source.waves)) for source in found]
    assert Field(turned, BANDS_HZ, air).powers(place) == pytest.approx(Field(found, BANDS_HZ, air).powers(place))


@given(rigs, points, airs, points)
def test_moving_everything_together_changes_nothing(found: list[Source], place: Point, air: Air, step: Point) -> None:
    def moved(at: Point) -> Point:
        return (at[0] + step[0], at[1] + step[1], at[2] + step[2])

    before = Field(found, BANDS_HZ, air).powers(place)
    after = Field([evolve(source, at=moved(source.at)) for source in found], BANDS_HZ, air).powers(moved(place))
    loudest = sum(abs(w) ** 2 for source in found for w in source.waves)
    assert after == pytest.approx(before, rel=1e-6, abs=loudest * 1e-9)


@given(some.lists(sources(("a", "b")), min_size=1, max_size=6), points, airs)
def test_no_sum_exceeds_that_of_the_amplitudes(found: list[Source], place: Point, air: Air) -> None:
    whole = Field(found, BANDS_HZ, air).powers(place)
    alone = [Field([source], BANDS_HZ, air).powers(place) for source in found]
    for number, power in enumerate(whole):
        assert power <= sum(each[number] ** 0.5 for each in alone) ** 2 * (1 + 1e-9)


@given(rigs, points, airs)
def test_over_all_phases_waves_add_as_energy(found: list[Source], place: Point, air: Air) -> None:
    """With every phase of the first source against the others, and so on: the mean of the powers is their sum."""
    alone = sum(Field([source], BANDS_HZ[:1], air).powers(place)[0] for source in found)
    turns = len(found) + 1
    # Source n turns n times as fast as the first, so that each pair goes round once or more in equal steps.
    steps = 2 * turns
    total = 0.0
    for step in range(steps):
        turned = [
            evolve(source, waves=(source.waves[0] * np.exp(2j * np.pi * step * at / steps),))
            for at, source in enumerate(found)
        ]
        total += Field(turned, BANDS_HZ[:1], air).powers(place)[0]
    assert total / steps == pytest.approx(alone, rel=1e-6)


@given(points, some.floats(1, 50), some.floats(60, 130))
def test_twice_the_distance_is_6_db(at: Point, way: float, level: float) -> None:
    field = Field([Source(at, (complex(10 ** (level / 20)),))], (50.0,), Air(20, 50))
    near, far = (field.level_db((at[0], at[1] + way * times, at[2])) for times in (1, 2))
    assert near - far - way * loss_db_per_m(Air(20, 50), 50.0) == pytest.approx(20 * log10(2), abs=1e-6)


@given(points, points, some.floats(-180, 180), some.floats(-60, 60))
def test_a_box_is_loudest_where_it_points_and_6_db_down_at_half_its_angle(
    at: Point, place: Point, right: float, up: float
) -> None:
    off = off_aim_deg(at, right, up, place)
    assert -180 <= off[0] <= 180
    assert 0 <= beside_aim_db(off, (90, 60)) <= 20
    assert beside_aim_db((45.0, 0.0), (90, 60)) == beside_aim_db((0.0, -30.0), (90, 60)) == 6
    if distance_m(at, place) > 1e-6:
        assert beside_aim_db(off_aim_deg(at, 0, 0, place), None) == 0


@given(some.floats(1, 400), some.floats(-0.05, 0.05), some.booleans())
def test_phase_is_within_half_a_turn_and_silent_at_every_notch(hz: float, late: float, inverted: bool) -> None:
    assert -180 < phase_deg(late, hz, inverted) <= 180
    lowest = next(notch_hz(late, inverted), None)
    if lowest is not None and lowest < 1e6:
        assert abs(phase_deg(late, lowest, inverted)) == pytest.approx(180, abs=1e-3)


# Two sources in a row, by waves far away (wave theory): two that are in step in front lose each other behind where
# the way between them is a quarter of a wavelength; an inverted rear one that waits for the way is silent behind.


@given(some.floats(0.4, 2.5), some.floats(25, 125), some.integers(2, 6), some.floats(-180, 180))
def test_end_fire_is_in_step_in_front(spacing: float, hz: float, count: int, toward: float) -> None:
    turn = np.radians(toward)
    places = [(n * spacing * np.sin(turn), n * spacing * np.cos(turn)) for n in range(count)]
    metre = 343.2
    waves = [wave_at_1_m(0, hz, each.delay_s, each.inverted) for each in end_fire(places, toward, metre)]
    front, rear = (abs(far_wave(places, waves, hz, toward + angle, metre)) for angle in (0, 180))
    kd = 2 * np.pi * hz * spacing / metre
    assert front == pytest.approx(count)
    assert rear == pytest.approx(abs(np.sin(count * kd) / np.sin(kd)), abs=1e-6)


@given(some.floats(0.4, 2.5), some.floats(25, 125), some.floats(-180, 180), some.floats(0, 180))
def test_a_gradient_pair_is_silent_behind(spacing: float, hz: float, toward: float, angle: float) -> None:
    turn = np.radians(toward)
    places = [(0.0, 0.0), (-spacing * np.sin(turn), -spacing * np.cos(turn))]
    metre = 343.2
    waves = [wave_at_1_m(0, hz, each.delay_s, each.inverted) for each in gradient(places, toward, metre)]
    k = 2 * np.pi * hz / metre
    found = abs(far_wave(places, waves, hz, toward + angle, metre))
    assert found == pytest.approx(2 * abs(np.sin(k * spacing / 2 * (1 + np.cos(np.radians(angle))))), abs=1e-9)
    assert level_db(abs(far_wave(places, waves, hz, toward + 180, metre)) ** 2) < -200


@given(some.integers(3, 12), some.floats(0.8, 2.0), some.floats(10, 120))
def test_a_curved_line_waits_as_if_it_stood_on_an_arc(count: int, spacing: float, angle: float) -> None:
    places = [((n - (count - 1) / 2) * spacing, 0.0) for n in range(count)]
    late = [343.2 * each.delay_s for each in curved(places, 0.0, angle, 343.2)]
    radius = places[-1][0] / np.sin(np.radians(angle / 2))
    foremost = radius - np.sqrt(radius**2 - min(across**2 for across, _ in places))
    for (across, _), back in zip(places, late, strict=True):
        assert across**2 + (radius - back - foremost) ** 2 == pytest.approx(radius**2)
    assert min(late) == 0


def test_a_wide_ground_is_worked_out_in_time() -> None:
    """A hundredth of 100 x 100 points, with 40 boxes and 10 frequencies, in a hundredth of 5 s, the best of three."""
    found = [
        Source((n - 20.0, n % 7.0, 3.0), tuple(wave_at_1_m(120, hz, n / 1000) for hz in BANDS_HZ[3:]), (90, 60))
        for n in range(40)
    ]
    field = Field(found, BANDS_HZ[3:], Air(20, 50))
    took = []
    for _ in range(3):
        begun = process_time()
        for step in range(100):
            field.powers((step % 10 - 5.0, 5.0 + step / 10, 1.7))
        took.append(process_time() - begun)
    assert len(field.hertz) == 10
    assert min(took) < 0.05
