"""At the right threshold no box is over its rating and the weakest is at it; what a line gives is found again."""

from __future__ import annotations

from math import sqrt

import pytest
from checking import checked, laws
from hypothesis import given
from hypothesis import strategies as st
from rigs import Rig, rigs


@given(rigs())
@laws(120)
def test_at_the_threshold_the_weakest_box_is_at_its_rating_and_no_other_above_it(rig: Rig) -> None:
    figures = checked(rig.text).figures
    for key, protection in figures.protection.channels.items():
        boxes = [box for box in figures.channels[key].boxes if box.continuous is not None]
        assert (protection.rms is None) == (not boxes)
        if protection.rms is None:
            continue
        got = {box.key: (protection.rms.volt * box.share_volt) ** 2 / (box.box.impedance_ohm or 0) for box in boxes}
        for box in boxes:
            assert box.continuous is not None
            assert got[box.key] <= box.continuous.value * (1 + 1e-9)
        assert got[protection.rms.box.key] == pytest.approx(protection.rms.rating.value)


@given(
    st.sampled_from(("100 V", "70.7 V", "25 V")),
    st.lists(st.tuples(st.sampled_from((7.5, 15, 30)), st.integers(0, 90)), min_size=1, max_size=12),
)
@laws(60)
def test_what_reaches_the_taps_and_what_the_leads_burn_is_what_the_line_gives(
    volt: str, hung: list[tuple[float, int]]
) -> None:
    text = f"stock amp kind {{ channels 1; line {volt}; rated 2 kW at {volt}; gain 36 dB }}\namp a is kind\n"
    text += f"stock speaker horn {{ taps 7.5 W, 15 W, 30 W at {volt} }}\n"
    text += "".join(f"speaker h[{n}] is horn {{ tap {tap} W }}\n" for n, (tap, _) in enumerate(hung, 1))
    text += "a.1" + "".join(f" -> lead 1.5 mm2 {metres} m -> h[{n}]" for n, (_, metres) in enumerate(hung, 1)) + "\n"
    figures = checked(text).figures
    line = figures.lines.channels["a.1"]
    given_w = line.line_volt**2 / line.channel.load_ohm
    burnt_w = sum((lead.ampere or 0.0) ** 2 * lead.loop_ohm for lead in line.channel.leads)
    rated_volt = line.channel.rated_volt
    assert rated_volt == pytest.approx(line.line_volt)
    assert sum(tap.takes_w for tap in line.taps) + burnt_w == pytest.approx(given_w, rel=1e-9)
    assert line.taps_w == pytest.approx(sum(tap for tap, _ in hung))
    assert line.worst.box.loss_db == max(tap.box.loss_db for tap in line.taps)
    for tap in line.taps:
        assert tap.volt == pytest.approx(sqrt(tap.takes_w * (tap.box.box.impedance_ohm or 0)))


STOCK = (
    "stock amp twin { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; gain 32 dB; input 20 kohm }\n"
    "stock speaker box { band 60 Hz to 18 kHz }\nfeed f { level -30 dBu }\namp a is twin\n"
)
CHAINS = (
    "f -> a.1 -> lead 1.5 mm2 {2} -> parallel(s, lead 2.5 mm2 {3} -> t)\n",
    "f -> a.1 -> lead 1.5 mm2 {2} -> series(s, lead 2.5 mm2 {3} -> t)\n",
)


def threshold(chain: str, values: tuple[str, ...]) -> tuple[float, float, float, str]:
    boxes = "speaker s is box {{ impedance {0}; rated 4 kW continuous }}\n"
    boxes += "speaker t is box {{ impedance {1}; rated {4} continuous }}\n"
    found = checked(STOCK + (boxes + chain).format(*values)).figures.protection.channels["a.1"].rms
    assert found is not None
    return found.low_volt, found.volt, found.high_volt, found.box.key


@given(
    st.sampled_from(CHAINS),
    st.tuples(st.integers(40, 160), st.integers(40, 160), st.integers(10, 9000), st.integers(10, 9000)),
    st.sampled_from((0, 5, 10, 20)),
    st.sampled_from((0, 5, 10, 20)),
    st.sampled_from((0, 10)),
)
@laws(60)
def test_the_range_of_a_threshold_is_that_of_the_rigs_at_its_ends(
    chain: str, tenths: tuple[int, ...], ohms: int, lengths: int, watts: int
) -> None:
    """Impedances of all boxes move together, and so do the lengths of all leads."""
    units = ("ohm", "ohm", "m", "m")
    plain = [tenth / 10 for tenth in tenths]
    percents = (ohms, ohms, lengths, lengths)
    said = [
        f"{value} {unit}" + (f" ± {percent} %" if percent else "")
        for value, unit, percent in zip(plain, units, percents, strict=True)
    ]
    rating = "100 W" + (f" ± {watts} %" if watts else "")
    low, typical, high, weakest = threshold(chain, (*said, rating))
    assert weakest == "t"
    exact = []
    for ohm_end in (-1, 1):
        for length_end in (-1, 1):
            for watt_end in (-1, 1):
                moved = [
                    f"{value * (1 + end * percent / 100)!r} {unit}"
                    for value, unit, percent, end in zip(
                        plain, units, percents, (ohm_end, ohm_end, length_end, length_end), strict=True
                    )
                ]
                exact.append(threshold(chain, (*moved, f"{100 * (1 + watt_end * watts / 100)!r} W"))[1])
    assert low == pytest.approx(min(typical, *exact), rel=1e-9)
    assert high == pytest.approx(max(typical, *exact), rel=1e-9)
    assert typical >= sqrt(100 * plain[1]) * (1 - 1e-9)
