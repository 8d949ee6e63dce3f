"""Where two sequences differ: without what is in one of them alone, both are the same."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from rigspec.difference import differing, same_head, same_tail

THINGS = [object() for _ in range(8)]
sequences = st.lists(st.sampled_from(THINGS), max_size=12, unique_by=id)


@given(sequences, sequences)
def test_what_is_left_is_the_same_in_the_same_order(old: list[object], new: list[object]) -> None:
    gone, come = differing(old, new)
    assert [each for each in old if each not in gone] == [each for each in new if each not in come]
    if [each for each in old if each in new] == [each for each in new if each in old]:  # nothing has changed places
        assert (list(gone), list(come)) == (
            [each for each in old if each not in new],
            [each for each in new if each not in old],
        )


@given(st.text("ab", max_size=9), st.text("ab", max_size=9))
def test_heads_and_tails_are_as_long_as_they_can_be(old: str, new: str) -> None:
    for common, first, second in (
        (same_head(old, new), old, new),
        (same_tail(old, new), old[::-1], new[::-1]),
    ):
        assert first[:common] == second[:common]
        assert common == min(len(old), len(new)) or first[common] != second[common]
