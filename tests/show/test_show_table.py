"""Figures in columns."""

from hypothesis import given
from hypothesis import strategies as st
from show_examples import words

from rigspec.show.cells import cell_width, prose
from rigspec.show.table import CUT, cell_lines, table


def test_figures_stand_right_and_marks_have_their_own_column() -> None:
    head = ["thing", "load (Ω)", "least |Z| (Ω)", "from"]
    rows = [
        ["bass.1", "4.06", "3.2", "reckoned"],
        ["喇叭[1]", "12.1", "9.7", "mea\x1b[2Jsured"],
        ["e\u0301tage\n2", "8"],
    ]
    assert table(head, rows, right=(1, 2), marks={1: "!"}) == (
        """\
   thing    load (Ω)  least |Z| (Ω)  from
   -------  --------  -------------  ---------------
   bass.1       4.06            3.2  reckoned
!  喇叭[1]      12.1            9.7  mea\\x1b[2Jsured
   e\u0301tage 2         8
"""
    )


def test_without_rows_and_marks_the_head_stands_alone() -> None:
    assert table(["thing", "load (Ω)"], []) == "thing  load (Ω)\n-----  --------\n"


def test_heads_are_broken_before_anything_else_gives_way() -> None:
    head = ["lead", "ohm there and back", "W lost"]
    rows = [["loom_left.1", "0.149", "31.2"], ["link to sub[2]", "0.016", "0.84"]]
    assert table(head, rows, right=(1, 2), width=35) == (
        """\
                ohm there
lead             and back  W lost
--------------  ---------  ------
loom_left.1         0.149    31.2
link to sub[2]      0.016    0.84
"""
    )


def test_then_texts_go_on_below_and_names_are_broken_at_their_joints() -> None:
    rows = [["front_of_house_left[12].low", "422"], ["sub[1]", "17"]]
    assert table(["loudspeaker", "W"], rows, right=(1,), marks={0: ">"}, width=28) == (
        """\
   loudspeaker             W
   --------------------  ---
>  front_of_house_left   422
    [12].low
   sub[1]                 17
"""
    )


def test_what_is_still_too_wide_stands_below_with_the_name_again() -> None:
    rows = [["sub[1]", "123456789", "234567891", "345678912"]]
    assert table(["box", "rated", "level", "peak"], rows, right=(1, 2, 3), width=32) == (
        """\
box         rated      level
------  ---------  ---------
sub[1]  123456789  234567891

box          peak
------  ---------
sub[1]  345678912
"""
    )


def test_of_an_absurd_name_both_ends_are_kept() -> None:
    name = "a" * 300 + "[7]"
    lines = cell_lines(name, 20)
    assert len(lines) == 3
    shown = "".join(line.strip() for line in lines)
    assert CUT in shown
    assert shown.startswith("aaa")
    assert shown.endswith("[7]")


@given(st.lists(words, max_size=4), st.lists(st.lists(words, max_size=5), max_size=4), st.sets(st.integers(0, 5)))
def test_a_table_has_one_line_for_each_row_and_nothing_trails(
    head: list[str], rows: list[list[str]], right: set[int]
) -> None:
    lines = table(head, rows, right=right, marks={0: "*"}).splitlines()
    assert len(lines) == len(rows) + 2
    assert all(line == line.rstrip(" ") for line in lines)


figure = st.floats(0.001, 1e15).map(lambda value: f"{value:.3g}")


@given(
    st.integers(40, 120),
    st.lists(words, min_size=1, max_size=9),
    st.lists(st.tuples(words, *[figure | words] * 8), max_size=5),
    st.sets(st.integers(1, 8)),
)
def test_no_line_is_wider_than_asked_and_every_short_cell_is_whole(
    width: int, head: list[str], rows: list[tuple[str, ...]], right: set[int]
) -> None:
    rows = [row[: len(head)] for row in rows]
    text = table(head, rows, right=right, marks={0: ">"}, width=width)
    assert all(cell_width(line) <= width for line in text.splitlines())
    found = " ".join(text.split())
    for row in rows:
        for cell in row:
            if cell_width(prose(cell)) <= 8:
                assert " ".join(prose(cell).split()) in found


@given(words, st.integers(8, 60))
def test_the_lines_of_a_cell_keep_all_of_a_text_that_they_hold(text: str, size: int) -> None:
    lines = cell_lines(prose(text), size)
    assert len(lines) <= 3
    assert all(cell_width(line) <= size for line in lines)
    shown, whole = ("".join("".join(part).split()) for part in (lines, prose(text)))
    if CUT not in shown:
        assert shown == whole
