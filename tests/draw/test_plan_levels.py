"""Levels on a plan: contours where the level is what they say, and nothing where nothing is heard."""

from __future__ import annotations

from math import hypot, log10

import pytest
from making import reported, sample
from overlaps import flat

from rigspec.draw.contours import contour
from rigspec.draw.marks import Stroke, Words
from rigspec.draw.plan import plan
from rigspec.draw.plan_areas import DASH, cut
from rigspec.draw.plan_levels import ground, level_lines
from rigspec.draw.plan_scale import framed
from rigspec.draw.shapes import Area
from rigspec.space.scene import scene

ONE = (
    "stock amp big { channels 2; rated 4000 W at 8 ohm; gain 32 dB }\n"
    "stock speaker low { impedance 8 ohm; sensitivity 97 dB SPL; band 30 Hz to 100 Hz }\n"
    "feed f { level 0 dBu }\namp a is big\nspeaker s is low { at 0 m, 0 m, 1.7 m }\nf -> a.1 -> s\n"
    "place desk { at 0 m, 20 m }\n"
)


def test_lines_of_a_cone_are_circles_and_closed() -> None:
    """A value that falls with the distance from (1, 2): the line at a value is the circle of that distance."""
    steps = [at / 4 for at in range(-40, 41)]
    values = [[-hypot(x - 1, y - 2) for x in steps] for y in steps]
    (line,) = contour(steps, steps, values, -4.93)
    assert line[0] == line[-1]
    assert {round(hypot(x - 1, y - 2), 1) for x, y in line} == {4.9}
    assert len(line) > 100


def test_a_saddle_is_cut_at_both_corners_and_a_flat_ground_has_no_lines() -> None:
    assert len(contour([0, 1], [0, 1], [[1, 0], [0, 1]], 0.5)) == 2
    assert contour([0, 1, 2], [0, 1, 2], [[1.0] * 3] * 3, 0.5) == []


def test_contours_of_one_box_lie_where_the_level_is_by_hand() -> None:
    """6 dB apart are twice the distance: the level on a line, worked out from its distance, is what it says."""
    heard = scene(reported(ONE).figures)
    frame = framed([(-30.0, -30.0), (30.0, 30.0)], Area(0, 0, 800, 800), 500)
    found = ground(heard, frame, None)
    assert found is not None
    (voice,) = heard.voices
    at_1_m = voice.level_db("nominal")
    assert at_1_m is not None
    for level in (75.0, 81.0):
        for line in contour(found.across_m, found.along_m, found.levels_db, level):
            away = [hypot(x, y) for x, y in line]
            assert sum(away) / len(away) == pytest.approx(10 ** ((at_1_m - level) / 20), rel=0.05)
    assert {mark.text for mark in level_lines(frame, found, ()) if isinstance(mark, Words)} <= {
        f"{each}" for each in range(30, 132, 6)
    }
    assert at_1_m == pytest.approx(97 + 10 * log10((0.7746 * 10 ** (32 / 20)) ** 2 / 8), abs=0.01)


def test_a_plan_with_levels_says_what_its_lines_are_and_one_without_has_none() -> None:
    bare, with_levels = plan(sample("festival-stage")), plan(sample("festival-stage"), ("levels",), 55.0)
    assert bare is not None
    assert with_levels is not None
    lines = [[mark for mark in flat(each.marks) if isinstance(mark, Stroke)] for each in (bare, with_levels)]
    assert len(lines[1]) > len(lines[0]) + 20
    texts = [
        " ".join(mark.text for mark in flat(each.marks) if isinstance(mark, Words)) for each in (bare, with_levels)
    ]
    assert "a tone of 55 Hz" in texts[1]
    assert "Lines: level" not in texts[0]
    assert "+-3 dB" in texts[1]
    assert "meadow" in texts[1].split()
    for word in ("house left", "house right", "stage", "audience"):
        assert word in texts[1]


def test_a_line_is_cut_where_the_window_ends() -> None:
    area = Area(0, 0, 10, 10)
    assert cut((-5, 5), (15, 5), area) == ((0, 5), (10, 5))
    assert cut((2, 3), (4, 3), area) == ((2, 3), (4, 3))
    assert cut((-5, -1), (15, -1), area) is None
    assert cut((-5, 5), (5, 15), area) == ((0, 10), (0, 10))


@pytest.mark.parametrize("name", ["gradient-bass", "delay-line", "festival-stage"])
def test_the_whole_of_each_area_is_on_the_sheet(name: str) -> None:
    report = sample(name)
    drawing = plan(report, ("levels",))
    assert drawing is not None
    edges = [mark.points for mark in flat(drawing.marks) if isinstance(mark, Stroke) and mark.dash == DASH]
    ends = [(round(x), round(y)) for points in edges for x, y in points]
    assert len(edges) >= sum(len(spot.corners) for spot in scene(report.figures).spots) > 0
    assert all(ends.count(end) % 2 == 0 for end in ends), "an edge is cut off"
