"""Amplifier ratings, gain, bridging and line-level loading, from rig text to figures.

The values follow from circuit theory (voltage divider, P = V^2/Z, a line through two points) and 0 dBu = sqrt(0.6) V
(ITU-R V.574, body from memory). They were worked out apart from this code; the level of +4 dBu through rounded gains of
26 and 32 dB is a worked example of the trade (common practice, no source).
"""

from __future__ import annotations

from math import sqrt

import pytest

from rigspec.check import Report, check
from rigspec.solve.amplifier import RatedPoint, rated_output
from rigspec.text.source import Refused, Source


def checked(text: str) -> Report:
    return check(Source("rig.rig", text), lambda path, used: Refused(used, "nothing is used here"))


def one_channel(amp: str, feed: str = "level 4 dBu", ohm: float = 8, settings: str = "") -> Report:
    return checked(
        f"stock amp kind {{ channels 2; {amp} }}\nstock speaker box {{ impedance {ohm} ohm }}\nfeed f {{ {feed} }}\n"
        f"amp a is kind {settings}\nspeaker s is box\nf -> a.1 -> lead 2.5 mm2 0 m -> s\n"
    )


@pytest.mark.parametrize(
    ("source_ohm", "input_ohm", "inputs", "loss_db"),
    [
        (50, 10_000, 1, -0.0433),
        (150, 10_000, 1, -0.1293),
        (150, 10_000, 4, -0.5061),
        (150, 10_000, 8, -0.9844),
        (600, 600, 1, -6.0206),
        (600, 10_000, 4, -1.8684),
        (100, 20_000, 10, -0.4238),
    ],
)
def test_an_output_loses_level_to_the_inputs_that_it_drives(
    source_ohm: float, input_ohm: float, inputs: int, loss_db: float
) -> None:
    paths = "".join(f"f -> a[{n}].1 -> lead 2.5 mm2 0 m -> s[{n}]\n" for n in range(1, inputs + 1))
    report = checked(
        f"stock amp kind {{ channels 1; rated 100 W at 8 ohm; gain 20 dB; input {input_ohm} ohm }}\n"
        "stock speaker box { impedance 8 ohm }\n"
        f"feed f {{ level 0 dBu; source {source_ohm} ohm }}\n"
        f"amp a[1..{inputs}] is kind\nspeaker s[1..{inputs}] is box\n{paths}"
    )
    assert report.figures.channels["a[1].1"].input_dbu == pytest.approx(loss_db, abs=5e-5)


def test_a_passive_split_loads_its_source_with_all_its_legs() -> None:
    report = checked(
        "stock speaker box { powered; input 10 kohm }\nstock amp kind { channels 2; rated 100 W at 8 ohm; gain 20 dB;"
        " input 10 kohm }\nstock speaker sub { impedance 8 ohm }\nfeed f { level 0 dBu; source 150 ohm }\n"
        "split y { legs 4; passive }\nspeaker m[1..3] is box\namp a is kind\nspeaker s is sub\nf -> y\n"
        "each y.1..3 -> m[1..3]\ny.4 -> a.1 -> lead 2.5 mm2 0 m -> s\n"
    )
    assert report.figures.channels["a.1"].input_dbu == pytest.approx(-0.5061, abs=5e-5)


@pytest.mark.parametrize(("gain_db", "volt"), [(20, 12.28), (26, 24.49), (32, 48.87), (38, 97.52)])
def test_gain_turns_plus_4_dbu_into_volts(gain_db: float, volt: float) -> None:
    report = one_channel(f"rated 9000 W at 8 ohm; gain {gain_db} dB")
    assert report.figures.channels["a.1"].nominal_volt == pytest.approx(volt, abs=0.005)


@pytest.mark.parametrize(
    ("rated_w", "ohm", "sensitivity", "gain_db"),
    [
        (1000, 8, "0.775 V", 41.245),
        (1000, 8, "1.4 V", 36.108),
        (500, 8, "0.775 V", 38.235),
        (800, 4, "1.4 V", 32.129),
    ],
)
def test_sensitivity_is_a_gain(rated_w: float, ohm: float, sensitivity: str, gain_db: float) -> None:
    feed_dbu = -20.0
    report = one_channel(f"rated {rated_w} W at {ohm} ohm; sensitivity {sensitivity}", f"level {feed_dbu} dBu", ohm)
    volt = report.figures.channels["a.1"].nominal_volt
    assert volt == pytest.approx(sqrt(0.6) * 10 ** ((feed_dbu + gain_db) / 20), rel=1e-4)


def test_a_sensitivity_of_the_rig_takes_the_place_of_a_gain_of_the_stock() -> None:
    """1000 W at 8 ohm are 89.44 V; over 1.4 V that is 36.108 dB."""
    report = checked(
        "stock amp kind { channels 1; rated 1000 W at 8 ohm; gain 26 dB; input 1 Mohm }\nfeed f { level -20 dBu }\n"
        "stock speaker box { impedance 8 ohm }\namp a is kind { sensitivity 1.4 V }\nspeaker s is box\n"
        "f -> a.1 -> lead 2.5 mm2 0 m -> s\n"
    )
    volt = report.figures.channels["a.1"].nominal_volt
    assert volt == pytest.approx(sqrt(0.6) * 10 ** ((-20 + 36.108) / 20), rel=1e-3)


@pytest.mark.parametrize(("rated", "load_ohm", "watt"), [((200, 8), 16, 400), ((350, 4), 8, 700), ((500, 2), 4, 1000)])
def test_a_bridge_gives_twice_the_power_of_each_channel_into_half_the_load(
    rated: tuple[float, float], load_ohm: float, watt: float
) -> None:
    report = checked(
        f"stock amp kind {{ channels 2; rated {rated[0]} W at {rated[1]} ohm; gain 32 dB }}\n"
        f"stock speaker box {{ impedance {load_ohm} ohm }}\namp a is kind\nspeaker s is box\n"
        "a.1+2 -> lead 2.5 mm2 0 m -> s\n"
    )
    channel = report.figures.channels["a.1+2"]
    assert channel.rated_w == pytest.approx(watt, rel=1e-9)
    assert [ohm for _, ohm in channel.halves] == pytest.approx([load_ohm / 2] * 2, rel=1e-9)


# 400 W into 8 ohm is 56.569 V and 7.0711 A; 600 W into 4 ohm is 48.990 V and 12.247 A: the line between them has
# 1.4642 ohm inside and 66.923 V open, so 6 ohm get 66.923 * 6 / 7.4642 = 53.795 V.
POINTS = [RatedPoint(8, 400), RatedPoint(4, 600)]


@pytest.mark.parametrize(
    ("load_ohm", "volt"),
    [
        (8, sqrt(3200)),
        (4, sqrt(2400)),
        (6, 53.795),
        (16, sqrt(3200)),  # above the highest rated load its voltage holds
        (3, sqrt(150) * 3),  # below the lowest, its current: sqrt(600/4) ampere
    ],
)
def test_the_rated_output_lies_on_the_load_line_and_nothing_is_guessed_beyond_it(load_ohm: float, volt: float) -> None:
    rated = rated_output(POINTS, load_ohm, least_ohm=2.7)
    assert rated is not None
    assert rated.volt == pytest.approx(volt, rel=2e-5)


def test_there_is_no_rated_output_below_the_least_load() -> None:
    assert rated_output(POINTS, 2.6, least_ohm=2.7) is None
