"""Figures in columns."""

from hypothesis import given
from hypothesis import strategies as st
from show_examples import words

from rigspec.show.table import table


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


@given(st.lists(words, max_size=4), st.lists(st.lists(words, max_size=5), max_size=4), st.sets(st.integers(0, 5)))
def test_a_table_has_one_line_for_each_row_and_nothing_trails(
    head: list[str], rows: list[list[str]], right: set[int]
) -> None:
    lines = table(head, rows, right=right, marks={0: "*"}).splitlines()
    assert len(lines) == len(rows) + 2
    assert all(line == line.rstrip(" ") for line in lines)
