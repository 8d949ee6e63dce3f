"""A rig as somebody typed it, and its canonical form beside it; the rules stand in grammar/reference.md."""

import pytest

from rigspec.language.format import Unprovable, canonical
from rigspec.text.source import Source


def formatted(text: str) -> str:
    return canonical(Source("rig.rig", text))


def test_inversions_leave_holes_and_everything_else_stands_in_columns() -> None:
    assert formatted(
        "bass_send->bass.1->lead 2.5mm2 15 m->sub[1..2] linked 2.5 mm2 2 m\n"
        "bass_send -> invert -> bass.2 -> lead 2.5 mm2  15 m -> invert -> sub[3 .. 4] linked 2.5 mm2 2 m\n"
    ) == (
        "bass_send ->           bass.1 -> lead 2.5 mm2 15 m ->           sub[1..2] linked 2.5 mm2 2 m\n"
        "bass_send -> invert -> bass.2 -> lead 2.5 mm2 15 m -> invert -> sub[3..4] linked 2.5 mm2 2 m\n"
    )


def test_a_block_stands_on_one_line_where_it_fits_and_keeps_its_comments_where_not() -> None:
    assert formatted("feed a {\n level 4dBu\n\n peak 18 dBu;\n}\n") == "feed a { level 4 dBu; peak 18 dBu }\n"
    assert formatted("feed a { level 4 dBu # desk\n # loudest\n peak 18 dBu }") == (
        "feed a {\n  level 4 dBu  # desk\n  # loudest\n  peak 18 dBu\n}\n"
    )


def test_figures_stay_as_their_author_spelt_them() -> None:
    text = "stock speaker k { impedance 8 \u2126 \u00b1 10 %; rated 0.50 kW continuous }\n"
    assert formatted(text) == text


def test_things_called_like_words_of_the_language_stay_in_their_places() -> None:
    assert formatted("mains is {supply 230 V}\nmains stage from is {phase L1}\n") == (
        "mains is            { supply 230 V }\nmains stage from is { phase L1 }\n"
    )


def test_a_file_with_a_slip_is_left_alone() -> None:
    with pytest.raises(Unprovable):
        formatted("feed a { level 4 dBu }\namp\n")
