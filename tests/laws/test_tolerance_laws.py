"""The range of a figure is that of every exact rig which the tolerances allow: found by writing all of them out."""

from __future__ import annotations

from itertools import product

import pytest
from checking import checked, laws
from hypothesis import given
from hypothesis import strategies as st

from rigspec.figures.signal import Level

STOCK = (
    "stock amp twin { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; gain 32 dB }\n"
    "stock speaker box { band 60 Hz to 18 kHz }\n"
    "amp a is twin\n"
)

# A chain of two leads and two boxes: impedances in ohm and lengths in metres, each with its tolerance.
RIG = (
    "speaker s is box {{ impedance {0} }}\nspeaker t is box {{ impedance {1} }}\n"
    "a.1 -> lead 1.5 mm2 {2} -> parallel(s, lead 2.5 mm2 {3} -> t)\n"
)
SERIES = (
    "speaker s is box {{ impedance {0} }}\nspeaker t is box {{ impedance {1} }}\n"
    "a.1 -> lead 1.5 mm2 {2} -> series(s, lead 2.5 mm2 {3} -> t)\n"
)
UNITS = ("ohm", "ohm", "m", "m")


def figures(rig: str, values: tuple[str, ...]) -> tuple[float, float, float, float, float, float]:
    worked = checked(STOCK + rig.format(*values)).figures
    channel, box = worked.channels["a.1"], worked.boxes["t"]
    return (
        channel.least_seen_ohm, channel.load_ohm, channel.most_seen_ohm,
        box.loss_low_db, box.loss_db, box.loss_high_db,
    )  # fmt: skip


@given(
    st.sampled_from((RIG, SERIES)),
    st.tuples(*[st.integers(20, 160)] * 2, *[st.integers(10, 900)] * 2),
    st.tuples(*[st.sampled_from((0, 5, 10, 25))] * 4),
)
@laws(40)
def test_a_range_is_that_of_all_rigs_which_the_tolerances_allow(
    rig: str, tenths: tuple[int, ...], percents: tuple[int, ...]
) -> None:
    said = tuple(
        f"{tenth / 10} {unit}" + (f" ± {percent} %" if percent else "")
        for tenth, unit, percent in zip(tenths, UNITS, percents, strict=True)
    )
    found = figures(rig, said)
    ends = [
        {tenth / 10 * (1 - percent / 100), tenth / 10 * (1 + percent / 100)}
        for tenth, percent in zip(tenths, percents, strict=True)
    ]
    exact = [
        figures(rig, tuple(f"{value!r} {unit}" for value, unit in zip(values, UNITS, strict=True)))
        for values in product(*ends)
    ]
    loads, losses = [each[1] for each in exact], [each[4] for each in exact]
    assert (found[0], found[2]) == pytest.approx((min(loads), max(loads)), rel=1e-9)
    # In series a box's loss also depends on how the boxes share: its range may be wider than the ends that are tried.
    if rig is RIG:
        assert (found[3], found[5]) == pytest.approx((min(losses), max(losses)), rel=1e-9, abs=1e-12)
    assert found[0] <= found[1] <= found[2]


# Two feeds on one channel: strangers or a pair, with one side turned or not, perhaps behind a limiter or in bass.
LEVELS = (
    "feed f {{ level {0}; peak {1} }}\nfeed g {{ level {2}; peak {3}{4} }}\n{5}stock processor cross {{ inputs 2; "
    "outputs 2 }}\nprocessor x is cross\nx.1 {{ from a, b -3 dB; {6} }}\nf -> x.a\ng -> x.b\nspeaker s is box {{ "
    "impedance 8 ohm }}\nx.1 -> a.1 -> lead 1.5 mm2 9 m -> s\n"
)


def level_ends(pair: str, turned: str, limit: str, levels: tuple[str, ...]) -> tuple[Level, Level]:
    text = LEVELS.format(*levels, turned, pair, limit)
    point = checked(STOCK + text).figures.levels.inputs["a.1"]
    assert point.level is not None
    assert point.peak is not None
    return point.level, point.peak


@given(
    st.sampled_from(("", "stereo both: f, g\n")),
    st.sampled_from(("", "; inverted")),
    st.sampled_from(("", "limit 3 dBu rms", "limit 5 dBu peak", "low-pass 100 Hz 24 dB/octave butterworth")),
    st.tuples(*[st.integers(-8, 8)] * 4),
    st.tuples(*[st.sampled_from((0, 1, 3))] * 4),
)
@laws(25)
def test_the_range_of_a_level_is_that_of_all_rigs_which_the_tolerances_of_feeds_allow(
    pair: str, turned: str, limit: str, middles: tuple[int, ...], tolerances: tuple[int, ...]
) -> None:
    said = tuple(
        f"{middle} dBu" + (f" ± {tolerance} dB" if tolerance else "")
        for middle, tolerance in zip(middles, tolerances, strict=True)
    )
    # Between its ends a side that is turned may cancel the other in bass: that is not looked for.
    # What a limiter leaves of several feeds also depends on how loud they are against each other: that is not followed.
    slack = 0.6 if limit.startswith("limit") else 1e-9
    for number, level in enumerate(level_ends(pair, turned, limit, said)):
        # The nominal levels of both feeds count for the one, their peaks for the other.
        ends = [{middle} for middle in middles]
        for place in (number, number + 2):
            by = tolerances[place]
            ends[place] = {middles[place] - by, middles[place] + by}
        exact = [
            level_ends(pair, turned, limit, tuple(f"{value} dBu" for value in values))[number]
            for values in product(*ends)
        ]
        wholes, worsts = [one.dbu for one in exact], [one.worst_dbu for one in exact]
        assert (level.low.dbu, level.high.dbu) == pytest.approx((min(wholes), max(wholes)), abs=slack)
        assert (level.low.worst_dbu, level.high.worst_dbu) == pytest.approx((min(worsts), max(worsts)), abs=slack)
        assert level.low.dbu <= level.dbu <= level.high.dbu
        assert (level.ends is None) == (not any(tolerances[number::2]))
