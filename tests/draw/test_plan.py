"""The plan: to scale, with aims, readable whatever stands on it, and honest about what it cannot show."""

from __future__ import annotations

import re
from itertools import pairwise
from math import atan2, degrees, hypot

import pytest
from browser import pdf_size, pdf_text
from hypothesis import given, settings
from hypothesis import strategies as st
from making import SAMPLES, reported, sample
from overlaps import flat, overlaps
from planned import HEAD, crowded, drawn, metres, planned, ratios, rings, symbols, texts, windows

from rigspec.cli import picture
from rigspec.draw.marks import PX_PER_MM, Drawing, Group, Outline, Stroke, Words
from rigspec.draw.plan import plan
from rigspec.draw.plan_labels import Line, PlanPaper
from rigspec.draw.plan_scale import RATIOS, step, ticks
from rigspec.draw.shapes import Area
from rigspec.draw.svg import svg_text

PLACED = [name for name in SAMPLES if plan(sample(name)) is not None]
AIM = "loudspeaker and its aim: 0° to the audience, 90° to house right"
COORDINATES = st.integers(-40_000, 40_000).map(lambda cm: cm / 100)


@settings(max_examples=25, deadline=None)
@given(st.lists(st.tuples(COORDINATES, COORDINATES), min_size=2, max_size=12, unique=True))
def test_the_paper_times_the_scale_is_the_ground(spots: list[tuple[float, float]]) -> None:
    lines = [f"speaker b{at} is wedge-12 {{ at {x} m, {y} m }}" for at, (x, y) in enumerate(spots)]
    drawing = drawn("\n".join(lines) + "\n")
    scales = ratios(drawing)
    by_window: list[dict[str, tuple[float, float]]] = [{} for _ in scales]
    for symbol in symbols(drawing):
        window = next(each for each in by_window if symbol.names not in each)
        window[symbol.names] = symbol.middle
    assert set(by_window[0]) == {f"b{at}" for at in range(len(spots))}
    assert all(scale in RATIOS for scale in scales)
    for scale, found in zip(scales, by_window, strict=True):
        for a, (ax, ay) in found.items():
            for b, (bx, by) in found.items():
                (rx, ry), (sx, sy) = spots[int(a[1:])], spots[int(b[1:])]
                assert metres(bx - ax, scale) == pytest.approx(sx - rx, abs=1e-6)
                assert metres(by - ay, scale) == pytest.approx(sy - ry, abs=1e-6)
    for window, border in zip(by_window, windows(drawing), strict=True):
        for x, y in window.values():
            assert border.x < x < border.x + border.width
            assert border.y < y < border.y + border.height


@pytest.mark.parametrize("name", PLACED)
def test_rulers_and_bars_tell_the_same_scale(name: str) -> None:
    """Two numbers of a ruler lie as far apart as they say, and so do the ends of the bar, in its unit."""
    drawing = planned(sample(name))
    unit_m = 0.3048 if name == "feet-and-gauge" else 1.0
    for scale, border in zip(ratios(drawing), windows(drawing), strict=True):
        below = [
            mark
            for mark in drawing.marks
            if isinstance(mark, Words) and re.fullmatch(r"-?[\d.]+", mark.text) and mark.anchor == "middle"
            if border.y + border.height < mark.y < border.y + border.height + 15
            if border.x < mark.x < border.x + border.width
        ]
        assert len(below) > 2
        for a, b in pairwise(below):
            assert metres(b.x - a.x, scale) == pytest.approx((float(b.text) - float(a.text)) * unit_m)
        beside = [
            mark
            for mark in drawing.marks
            if isinstance(mark, Words) and mark.anchor == "end" and border.x - 6 < mark.x < border.x
            if mark.text != "stage"
        ]
        assert len(beside) > 2
        for a, b in pairwise(beside):
            assert metres(b.y - a.y, scale) == pytest.approx((float(b.text) - float(a.text)) * unit_m)
    bars = [mark for mark in drawing.marks if isinstance(mark, Outline) and mark.height == 5]
    ends = [text for text in texts(drawing) if re.fullmatch(r"[\d.]+ (m|ft)", text)]
    assert len(bars) == 4 * len(ends) == 4 * len(ratios(drawing)) * (2 if unit_m != 1.0 else 1)
    for at, end in enumerate(ends):
        number, unit = end.split()
        scale = ratios(drawing)[at // (2 if unit_m != 1.0 else 1)]
        long = sum(bar.width for bar in bars[4 * at : 4 * at + 4])
        assert metres(long, scale) == pytest.approx(float(number) * (0.3048 if unit == "ft" else 1.0))
    assert ("ft" in " ".join(ends)) == (name == "feet-and-gauge")


@settings(max_examples=40, deadline=None)
@given(st.integers(-720, 720))
def test_a_wedge_points_where_the_box_does(aim: int) -> None:
    """0 faces the audience, which is down on the paper; 90 house right, to the right."""
    (symbol,) = symbols(drawn(f"speaker a is wedge-12 {{ at 3 m, 1 m; aim {aim} deg }}\n"))
    ((right, down),) = symbol.tips
    assert (degrees(atan2(right, down)) - aim + 180) % 360 - 180 == pytest.approx(0, abs=1e-6)
    assert hypot(right, down) > 10


def test_a_box_whose_aim_is_not_said_has_no_wedge_and_the_key_says_so() -> None:
    drawing = drawn("speaker a is wedge-12 { at 3 m, 1 m }\n")
    assert symbols(drawing)[0].tips == ()
    assert "loudspeaker, aim not said" in texts(drawing)
    assert AIM not in texts(drawing)


def test_the_samples_point_at_whom_they_are_meant_for() -> None:
    by_name = {symbol.names: symbol for symbol in symbols(planned(sample("monitors")))}
    singer = by_name["singer[1] singer[2]"]
    ((_, down),) = singer.tips
    assert down < 0  # towards the singer, who stands farther from the audience
    assert by_name["singer_stands"].middle[1] < singer.middle[1]


@pytest.mark.parametrize("name", PLACED)
@pytest.mark.parametrize("show", [(), ("distances",)])
def test_all_words_of_the_samples_can_be_read(name: str, show: tuple[str, ...]) -> None:
    drawing = planned(sample(name), *show)
    assert overlaps(drawing) == []
    said = " ".join(texts(drawing))
    assert "No room to write beside" not in said
    for gear in sample(name).figures.rig.gear.values():
        if gear.word in ("speaker", "place") and "at" in gear.facts:
            assert re.search(rf"\b{gear.name}\b", said)


@pytest.mark.parametrize("seed", range(30))
def test_all_words_of_a_crowded_plan_can_be_read(seed: int) -> None:
    """Names that find no room on the plan are listed below it with their place, as far as there is room for these."""
    drawing = planned(reported(HEAD + crowded(seed)), *(("distances",) if seed % 2 else ()))
    assert overlaps(drawing) == []
    said = " ".join(texts(drawing))
    names = set(re.findall(r"^(?:speaker|place) (\w+)", crowded(seed), re.MULTILINE))
    missing = {name for name in names if not re.search(rf"\b{name}\b", said)}
    told = re.search(r"No room to write beside: .* and (\d+) more\.", said)
    assert not missing or (told and len(missing) <= int(told[1]))


def test_a_plan_that_is_forced_together_is_not_readable() -> None:
    """The check above can fail: the same labels without looking for room lie on each other."""
    drawing = drawn("".join(f"speaker box_{at} is wedge-12 {{ at {at / 10} m, 0 m }}\n" for at in range(8)))
    groups = [mark for mark in drawing.marks if isinstance(mark, Group)]
    marks = []
    for mark in groups:
        words = [each for each in mark.marks if isinstance(each, Words)]
        marks += [Words(400, 300 + at, each.text, each.size) for at, each in enumerate(words)]
    assert len(overlaps(Drawing(drawing.width, drawing.height, "", "", tuple(marks)))) > 8


@pytest.mark.parametrize("name", PLACED)
def test_every_leader_ends_at_its_own_words(name: str) -> None:
    for mark in planned(sample(name)).marks:
        if isinstance(mark, Group) and not mark.title:
            leaders = [each for each in mark.marks if isinstance(each, Stroke)]
            words = [each for each in mark.marks if isinstance(each, Words)]
            assert len(leaders) <= 1
            assert words
            for leader in leaders:
                assert min(abs(each.y - leader.points[-1][1]) for each in words) < 20


def test_rows_at_one_spot_are_one_symbol() -> None:
    drawing = drawn(
        "speaker s[1..4] is reflex-18 { at 0 m, 2 m }\nspeaker t is twelve-two { at 0 m, 2 m, 2 m; aim 20 deg }\n"
        "speaker s[5..6] is reflex-18 { at 4 m, 2 m }\nplace here { at 0 m, 2 m; height 1.2 m }\n"
    )
    names = [symbol.names for symbol in symbols(drawing)]
    assert names == ["s[1] s[2] s[3] s[4] t", "here", "s[5] s[6]"]
    for text in ("s[1..4] ×4", "t", "s[5..6] ×2", "twelve-two, 2 m up, aim 20°", "ears at 1.2 m"):
        assert text in texts(drawing)


def test_what_is_inverted_or_against_is_said_in_words_and_in_black() -> None:
    by_name = {symbol.names: symbol for symbol in symbols(planned(sample("festival-stage")))}
    squares = {names: symbol.marks[-1] for names, symbol in by_name.items()}
    assert squares["rear[1] rear[2]"].fill == "ink"
    assert squares["front[1] front[2]"].fill == "paper"
    said = texts(planned(sample("festival-stage")))
    assert said.count("inverted") == said.count("against, on purpose") == 2


def test_findings_are_marked_by_shape_and_in_words() -> None:
    report = sample("two-box-hall", ("lead 2.5 mm2 15 m -> left_box", "lead 0.5 mm2 95 m -> invert -> left_box"))
    subjects = {finding.subject for finding in report.findings}
    assert "left_box" in subjects
    drawing = planned(report)
    by_name = {symbol.names: symbol for symbol in symbols(drawing)}
    assert len(rings(by_name["left_box"])) == 1
    assert rings(by_name["right_box"]) == []
    rules = {finding.rule for finding in report.findings if finding.subject == "left_box"}
    for rule in rules:
        assert any(re.fullmatch(rf"(error|warning|advice): {rule}", text) for text in texts(drawing))
    assert overlaps(drawing) == []


def test_an_error_anywhere_stands_on_the_head() -> None:
    said = texts(planned(sample("two-box-hall", ("-> left_box", "-> left_bax"))))
    assert any(re.fullmatch(r"THE CHECK FOUND \d+ ERRORS?", text) for text in said)
    assert not any("THE CHECK" in text for text in texts(planned(sample("two-box-hall"))))


@pytest.mark.parametrize(
    ("at", "why"),
    [
        ("", ""),
        ("at 3 m", " (`at` has 1 figure, not across, along and perhaps up)"),
        ("at 3 m, 1 m, 1 m, 1 m", " (`at` has 4 figures, not across, along and perhaps up)"),
        ("at 3 m, 2000 km", " (`at` is more than 1000 km away)"),
    ],
)
def test_what_has_no_place_is_listed_and_not_guessed(at: str, why: str) -> None:
    drawing = drawn(f"speaker a[1..2] is wedge-12 {{ {at} }}\nspeaker b is wedge-12 {{ at 3 m, 1 m }}\n")
    assert [symbol.names for symbol in symbols(drawing)] == ["b"]
    assert f"Without a place: a[1..2]{why}." in texts(drawing)
    assert "Without a place: a[1..2]" in drawing.description


def test_a_rig_without_places_has_no_plan() -> None:
    assert plan(sample("hundred-volt-street")) is None
    assert plan(reported(HEAD)) is None


def test_the_origin_is_drawn_where_it_is_and_left_out_where_it_is_far() -> None:
    near = drawn("speaker a is wedge-12 { at 3 m, 1 m }\nspeaker b is wedge-12 { at -3 m, 4 m }\n")
    assert "origin" in texts(near)
    (scale,) = ratios(near)
    a = next(symbol.middle for symbol in symbols(near) if symbol.names == "a")
    across, along = (mark for mark in near.marks if isinstance(mark, Stroke) and mark.head and mark.dash)
    assert metres(a[0] - along.points[0][0], scale) == pytest.approx(3)
    assert metres(a[1] - across.points[0][1], scale) == pytest.approx(1)
    assert across.points[0][0] < across.points[1][0]  # heads where the figures grow: to the right, and down
    assert along.points[0][1] < along.points[1][1]
    far = drawn("speaker a is wedge-12 { at 5003 m, 1 m }\nspeaker b is wedge-12 { at 4997 m, 4 m }\n")
    assert "origin" not in texts(far)
    assert ratios(far)[0] < 100
    assert "5000" in texts(far)


def test_distances_on_request() -> None:
    text = "".join(f"speaker b{at} is wedge-12 {{ at {x} m, 0 m }}\n" for at, x in enumerate((-4, -1.5, 4)))
    plain, asked = texts(drawn(text)), texts(drawn(text, "distances"))
    assert {"2.5 m", "5.5 m", "8 m"} <= set(asked)
    assert not {"2.5 m", "5.5 m", "8 m"} & set(plain)
    feet = drawn(text.replace(" m, 0 m", " ft, 0 ft"), "distances")
    assert {"2.5 ft", "5.5 ft", "8 ft"} <= set(texts(feet))
    without = [each for each in texts(planned(sample("festival-stage"), "distances")) if "Distances without" in each]
    assert without
    assert "at 0 m along from -8 m across: 16 m" in without[0]


def test_the_paper_is_a4_and_letter_holds_it() -> None:
    for name in PLACED:
        drawing = planned(sample(name))
        assert (drawing.width, drawing.height) == pytest.approx((297 * PX_PER_MM, 210 * PX_PER_MM))
        side = (297 - 279.4) / 2 * PX_PER_MM  # what Letter, 279.4 mm wide, lacks on each side
        for mark in flat(drawing.marks):
            if isinstance(mark, Outline):
                assert side < mark.x
                assert mark.x + mark.width < drawing.width - side


def test_a_crowd_is_shown_larger_beside() -> None:
    drawing = planned(sample("festival-stage"))
    whole, part = ratios(drawing)
    assert part < whole / 3
    assert "A: see right" in texts(drawing)
    assert "A" in texts(drawing)
    shown = [symbol.names for symbol in symbols(drawing)]
    assert shown.count("front[1] front[2]") == 2
    assert shown.count("far_meadow") == 1
    labelled = [mark.name for mark in drawing.marks if isinstance(mark, Group) and not mark.title]
    assert len(labelled) == len(set(labelled)) == len(set(shown))


@pytest.mark.parametrize("name", ["festival-stage", "feet-and-gauge"])
def test_the_same_rig_gives_the_same_plan(name: str) -> None:
    assert svg_text(planned(sample(name))) == svg_text(planned(sample(name)))


def test_names_and_labels_come_through_as_they_are() -> None:
    text = HEAD.replace('"Test"', '"<b>R & \\"D\\"</b>"')
    text += 'speaker größe_喇叭 is wedge-12 { at 1 m, 1 m; label "<img src=x> & \'q\' \\"z\\"" }\n'
    drawing = planned(reported(text))
    svg = svg_text(drawing)
    assert "<img" not in svg
    assert "<b>" not in svg
    found = pdf_text(picture.pdf(svg))
    assert '<b>R & "D"</b>: plan' in found
    assert "<img src=x> & 'q'" in found
    assert "größe" in found


@pytest.mark.parametrize("name", ["festival-stage", "feet-and-gauge"])
def test_the_words_of_a_printed_plan_can_be_searched(name: str) -> None:
    drawing = planned(sample(name))
    data = picture.pdf(svg_text(drawing))
    assert pdf_size(data) == pytest.approx((297 / 25.4 * 72, 210 / 25.4 * 72), abs=0.1)
    found = pdf_text(data)
    for text in texts(drawing):
        for word in text.split():
            assert word in found, word


@pytest.mark.parametrize(
    ("least", "found"), [(1, 1), (1.01, 2), (2.1, 5), (5.1, 10), (0.03, 0.05), (80, 100), (0.2, 0.2)]
)
def test_steps_are_round(least: float, found: float) -> None:
    assert step(least) == found


def test_ticks_reach_from_end_to_end() -> None:
    assert list(ticks(-1, 1, 0.5)) == [-1, -0.5, 0, 0.5, 1]
    assert list(ticks(0.1, 0.9, 1)) == []
    assert str(next(iter(ticks(-0.4, 0.4, 1)))) == "0.0"


def test_words_find_no_room_where_there_is_none() -> None:
    sheet = PlanPaper(Area(0, 0, 100, 100))
    sheet.hide(Area(0, 0, 100, 100))
    assert sheet.place((50, 50), Area(44, 44, 56, 56), [Line("a", 10)]) is None
