"""Which near words are only shown and which may be written: a wrong guess must never be a mechanical fix."""

import pytest

from rigspec.text.near import near


@pytest.mark.parametrize(
    ("word", "known", "sure"),
    [
        ("bas", ["bass", "tops"], "bass"),
        ("lwan", ["lawn"], "lawn"),
        ("Levle", ["level", "peak"], "level"),
        ("twin-900", ["twin-400"], ""),  # another amplifier, not a slip
        ("class-z", ["class-ab", "class-h"], ""),  # two are about as near
        ("top_lef", ["top_left", "top_leg"], ""),
        ("zebra", ["lawn"], ""),
        ("least-impedance", ["impedance", "rated"], ""),  # a whole word less is another quantity
        ("pass", ["high-pass"], ""),
        ("low-pass", ["high-pass"], ""),
        ("unregulated", ["regulated"], ""),
        ("noninverted", ["inverted"], ""),
        ("tops-l", ["tops-r"], ""),  # the other side
        ("class-a", ["class-ab"], ""),
        ("bass1", ["bass2"], ""),
        ("high-pas", ["high-pass", "low-pass"], "high-pass"),
        ("highpass", ["high-pass", "low-pass"], "high-pass"),
        ("amp-11", ["amp1-1"], ""),
    ],
)
def test_only_a_word_that_is_surely_meant_is_written(word: str, known: list[str], sure: str) -> None:
    assert near(word, known).sure == sure


def test_a_word_that_means_something_elsewhere_is_no_slip() -> None:
    assert near("height", ["weight"]).sure == "weight"
    found = near("height", ["weight"], elsewhere={"height"})
    assert (found.words, found.sure) == (("weight",), "")


def test_several_near_words_are_shown_best_first() -> None:
    assert near("top_lef", ["top_leg", "top_left", "bass"]).question == "did you mean `top_left` or `top_leg`?"
