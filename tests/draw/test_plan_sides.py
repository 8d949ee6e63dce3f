"""Left and right, once for all: plan, rule, words and samples see the house from the desk."""

from __future__ import annotations

import pytest
from making import SAMPLES, reported, sample
from planned import HEAD, drawn, metres, planned, ratios, symbols, texts, windows

from rigspec.draw.marks import Drawing, Stroke, Words
from rigspec.draw.plan import plan
from rigspec.draw.plan_sides import DASH

PLACED = [name for name in SAMPLES if plan(sample(name)) is not None]
HOUSE = """\
feed left  {{ level 4 dBu }}
feed right {{ level 4 dBu }}
stereo main: left, right
amp tops is twin-900
speaker left_box  is twelve-two {{ at {left} m, 2 m; aim 90 deg }}
speaker right_box is twelve-two {{ at {right} m, 2 m; aim -90 deg }}
left  -> tops.1 -> lead 2.5 mm2 15 m -> left_box
right -> tops.2 -> lead 2.5 mm2 15 m -> right_box
"""


def said(drawing: Drawing, text: str) -> list[Words]:
    return [mark for mark in drawing.marks if isinstance(mark, Words) and mark.text == text]


def test_the_plan_the_rule_and_the_words_agree_on_left_and_right() -> None:
    for left, is_turned in ((-4, False), (4, True)):
        report = reported(HEAD + HOUSE.format(left=left, right=-left))
        assert any(finding.rule == "sides-exchanged" for finding in report.findings) == is_turned
        drawing = planned(report)
        (window,) = windows(drawing)
        (house_left,), (house_right,) = said(drawing, "house left"), said(drawing, "house right")
        by_name = {symbol.names: symbol for symbol in symbols(drawing)}
        x, y = by_name["left_box"].middle
        middle = window.x + window.width / 2
        assert (abs(x - house_left.x) < abs(x - house_right.x)) == (x < middle) == (not is_turned)
        tips = [by_name[name].tips[0][0] for name in ("left_box", "right_box")]
        assert tips[0] > 0 > tips[1]  # 90 degrees is house right, whoever stands there
        stage, edge = sorted(said(drawing, "stage"), key=lambda each: each.y)
        (audience,) = said(drawing, "audience")
        assert stage.y < window.y < edge.y < y < window.y + window.height < audience.y
        dashes = [
            mark for mark in drawing.marks if isinstance(mark, Stroke) and not mark.head and _long(mark) == (DASH, 0)
        ]
        assert len(dashes) > 10
        for dash in dashes:
            assert metres(y - dash.points[0][1], ratios(drawing)[0]) == pytest.approx(2)


def _long(mark: Stroke) -> tuple[float, float]:
    (ax, ay), (bx, by) = mark.points[0], mark.points[-1]
    return round(bx - ax, 6), round(by - ay, 6)


def test_a_plan_far_from_the_stage_says_where_the_stage_is() -> None:
    drawing = drawn("speaker a is wedge-12 { at 30 m, 400 m }\nspeaker b is wedge-12 { at 33 m, 404 m }\n")
    (window,) = windows(drawing)
    (stage,) = said(drawing, "stage")
    assert stage.y < window.y
    assert {"house left", "house right", "audience", "across, along (m)"} <= set(texts(drawing))


@pytest.mark.parametrize("name", PLACED)
def test_what_the_samples_call_left_stands_at_house_left(name: str) -> None:
    """And right at house right; nothing that is named so says "stage left", which is the other side."""
    for thing in sample(name).figures.rig.gear.values():
        words = thing.name.split("_")
        side = -1 if {"left", "port"} & set(words) else 1 if {"right", "starboard"} & set(words) else 0
        at = thing.facts.get("at")
        across = at.entries[0].get("length") if at else None
        assert across is None or not side or across.value * side > 0
        for fact in ("label", "ends"):
            given = thing.facts.get(fact)
            texts_of = [text for entry in (given.entries if given else ()) for text in entry.texts]
            assert not side or not any(f"stage {word}" in text for word in words for text in texts_of)
