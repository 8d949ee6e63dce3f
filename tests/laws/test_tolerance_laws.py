"""The range of a figure is that of every exact rig which the tolerances allow: found by writing all of them out."""

from __future__ import annotations

from itertools import product

import pytest
from checking import checked, laws
from hypothesis import given
from hypothesis import strategies as st

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
