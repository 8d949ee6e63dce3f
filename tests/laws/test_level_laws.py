"""What holds for the levels of every rig."""

from __future__ import annotations

from math import isfinite

import pytest
from checking import checked, laws
from hypothesis import given
from rigs import Rig, rigs

from rigspec.figures.levels import LevelFigures
from rigspec.figures.signal import Level
from rigspec.figures.stages import LevelPoint

RAISED_DB = 6.0


def points(levels: LevelFigures) -> dict[tuple[str, str], LevelPoint]:
    return {(point.end, key): point for each in (levels.inputs, levels.outputs) for key, point in each.items()}


def louder(text: str) -> str:
    """The same rig with its feeds 6 dB louder."""
    lines = text.split("\n")
    return "\n".join(
        line.replace("level 4 dBu", "level 10 dBu").replace("peak 18 dBu", "peak 24 dBu")
        if line.startswith("feed ")
        else line
        for line in lines
    )


def dbu(level: Level | None) -> tuple[float, ...]:
    return () if level is None else tuple(each for each in (level.dbu, level.worst_dbu) if isfinite(each))


@given(rigs())
@laws(60)
def test_raising_all_feeds_raises_all_levels_and_moves_no_clip(rig: Rig) -> None:
    before, after = checked(rig.text).figures.levels, checked(louder(rig.text)).figures.levels
    found = points(after)
    for name, point in points(before).items():
        for one, other in (
            (point.wanted_level, found[name].wanted_level),
            (point.wanted_peak, found[name].wanted_peak),
        ):
            assert dbu(other) == pytest.approx([each + RAISED_DB for each in dbu(one)], abs=1e-9)
        for one, other in ((point.level, found[name].level), (point.peak, found[name].peak)):
            for low, high in zip(dbu(one), dbu(other), strict=True):
                assert low - 1e-9 <= high <= low + RAISED_DB + 1e-9
    for key, chain in before.chains.items():
        for stage, same in zip(chain.stages, after.chains[key].stages, strict=True):
            assert (stage.key, stage.clip_dbu, stage.held) == (same.key, same.clip_dbu, same.held)
            if stage.feed_dbu is not None and isfinite(stage.feed_dbu):
                assert same.feed_dbu == pytest.approx(stage.feed_dbu, abs=1e-9)


@given(rigs())
@laws(60)
def test_limiters_only_hold_down_and_sums_lie_between_energy_and_voltage(rig: Rig) -> None:
    for point in points(checked(louder(rig.text)).figures.levels).values():
        for held, wanted in ((point.level, point.wanted_level), (point.peak, point.wanted_peak)):
            for low, high in zip(dbu(held), dbu(wanted), strict=True):
                assert low <= high + 1e-9
            if held is not None:
                assert held.dbu <= held.worst_dbu + 1e-9
        if point.most_dbu is not None and point.peak is not None:
            assert point.peak.worst_dbu <= point.most_dbu + 1e-9


@given(rigs())
@laws(40)
def test_a_pad_before_an_input_takes_what_it_says_from_all_behind_it(rig: Rig) -> None:
    """Of inputs that one path reaches from a feed, with no limiter behind it."""
    marked = rig.text.replace("pad 10 dB", "pad 16 dB")
    before, after = points(checked(rig.text).figures.levels), points(checked(marked).figures.levels)
    for name, point in before.items():
        gains = [part.gain_db for part in point.parts if part.gain_db is not None]
        other = [part.gain_db for part in after[name].parts if part.gain_db is not None]
        for one, padded in zip(gains, other, strict=True):
            assert (one - padded) % 6 == pytest.approx(0, abs=1e-6) or (one - padded) % 6 == pytest.approx(6, abs=1e-6)
            assert one >= padded - 1e-9
