"""Single mistakes made on site, in right rigs: what is found stays found, and what is open is known to be open.

Each was written down with what must be said before anything was tried. Whoever cures an open one writes `now: found`.
"""

from __future__ import annotations

import pytest

from tests.mistakes.mistakes import DATA, Mistake, is_told, read_mistakes

MISTAKES = read_mistakes(DATA.read_text())


def test_every_sort_has_some_and_near_misses_too() -> None:
    items = {mistake.item for mistake in MISTAKES}
    assert len(items) == 14
    for item in items:
        assert sum(mistake.item == item and not mistake.near_miss for mistake in MISTAKES) >= 3, item
    assert sum(mistake.near_miss for mistake in MISTAKES) >= 12


@pytest.mark.parametrize("mistake", MISTAKES, ids=lambda one: f"line-{one.line}-{one.of['rig']}")
def test_a_mistake_is_told_or_open(mistake: Mistake) -> None:
    assert mistake.found or mistake.of["now"].startswith("open, "), f"`now` of line {mistake.line}"
    assert is_told(mistake) == mistake.found, f"line {mistake.line}: {mistake.of['say']}"
