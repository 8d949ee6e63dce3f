"""The judge of drawings: it sees each way in which words cannot be read, and keeps still where they can."""

from __future__ import annotations

import pytest
from overlaps import area_of, overlaps

from rigspec.draw.marks import Drawing, Group, Mark, Outline, Round, Shape, Stroke, Words
from rigspec.draw.shapes import Area, head

TEXT = Words(50, 50, "label", 10)
BOX = area_of(TEXT)
MIDDLE_Y = (BOX.top + BOX.bottom) / 2
TRIANGLE = ((BOX.left + 4, BOX.top + 4), (BOX.left + 10, BOX.top + 4), (BOX.left + 4, BOX.bottom - 3))


def drawn(*marks: Mark) -> Drawing:
    return Drawing(200, 100, "", "", marks)


@pytest.mark.parametrize(
    ("marks", "fault"),
    [
        ((TEXT, Words(BOX.right - 2, 55, "other")), "lies on"),
        ((TEXT, Words(50, 50, "label", 10)), "lies on"),
        ((TEXT, Group("a", "", (Group("b", "", (Words(55, 52, "x"),)),))), "lies on"),
        ((TEXT, Stroke(((0, MIDDLE_Y), (200, MIDDLE_Y)))), "crossed by a stroke"),
        ((Stroke(((0, MIDDLE_Y), (200, MIDDLE_Y))), TEXT), "crossed by a stroke"),
        ((TEXT, Stroke(((BOX.left + 3, MIDDLE_Y), (BOX.left + 9, MIDDLE_Y)))), "crossed by a stroke"),
        ((TEXT, Stroke(((0, BOX.bottom + 2), (200, BOX.bottom + 2)), 6)), "crossed by a stroke"),
        (
            (TEXT, Stroke(((BOX.right + 3, BOX.bottom + 30), (BOX.right + 3, BOX.top + 2)), 4, head=True)),
            "crossed by a stroke",
        ),
        ((TEXT, Outline(BOX.left + 5, 0, 100, 90)), "crossed by an outline"),
        ((TEXT, Shape(TRIANGLE)), "crossed by a shape"),
        ((TEXT, Round(BOX.left, MIDDLE_Y, 4)), "crossed by a circle"),
        ((TEXT, Outline(0, 0, 200, 100, fill="paper")), "covered by an outline"),
        ((TEXT, Round(60, 50, 45, "tint", 0)), "covered by a circle"),
        ((TEXT, Shape(((0, 0), (200, 0), (100, 300)), "tint", 0)), "covered by a shape"),
        ((Outline(0, 0, 200, 100, fill="ink"), TEXT), "stands on ink"),
        ((Outline(0, 0, 60, 100, fill="ink", thick=0), TEXT), "stands on ink"),
        ((Words(190, 50, "label"),), "leaves the paper"),
        ((Words(10, 50, "label", anchor="end"),), "leaves the paper"),
        ((Words(50, 3, "label"),), "leaves the paper"),
        ((Words(50, 99, "label"),), "leaves the paper"),
    ],
)
def test_each_fault_is_seen(marks: tuple[Mark, ...], fault: str) -> None:
    found = overlaps(drawn(*marks))
    assert found
    assert all(fault in each for each in found), found


@pytest.mark.parametrize(
    "marks",
    [
        (TEXT, Words(BOX.right, 50, "beside")),
        (TEXT, Words(50, 50 + BOX.bottom - BOX.top, "below", 10)),
        (Outline(0, 0, 200, 100, fill="tint"), TEXT),
        (TEXT, Outline(0, 0, 200, 100)),
        (TEXT, Outline(BOX.right + 1, 0, 20, 90, fill="ink")),
        (TEXT, Stroke(((0, BOX.bottom + 1), (200, BOX.bottom + 1)))),
        (TEXT, Stroke(((BOX.right + 40, MIDDLE_Y), (BOX.right + 1, MIDDLE_Y)), head=True)),
        (TEXT, Stroke(((BOX.left - 5, BOX.top + 5), (BOX.left + 5, BOX.top - 9)))),
        (Round(60, 48, 45, "warning"), TEXT),
        (Stroke(((0, 0), (200, 100))), Outline(10, 10, 30, 30), Round(80, 50, 30, "ink")),
    ],
)
def test_what_can_be_read_is_no_fault(marks: tuple[Mark, ...]) -> None:
    assert overlaps(drawn(*marks)) == []


def test_the_head_of_an_arrow_ends_where_the_line_does() -> None:
    tip, left, right = head(Stroke(((0, 0), (10, 0), (10, 0)), 1.0, head=True))
    assert tip == (10, 0)
    assert left[0] == right[0] == 4
    assert left[1] == -right[1]
    assert head(Stroke(((5, 5), (5, 5)), head=True)) == ()
    assert head(Stroke(((0, 0), (5, 5)))) == ()


def test_the_gap_between_areas() -> None:
    assert Area(0, 0, 10, 10).gap(Area(13, 14, 20, 20)) == 5
    assert Area(0, 0, 10, 10).gap(Area(5, 12, 20, 20)) == 2
    assert Area(0, 0, 10, 10).gap(Area(5, 5, 20, 20)) == 0
