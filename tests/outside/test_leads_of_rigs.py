"""Whole rigs, from their text to their figures and cures, against worked leads.

Levels and shares by the voltage divider, copper by IEC 60228 class 5 at 20 degC (1.5 mm2 13.3, 2.5 mm2 7.98, 4 mm2
4.95, 6 mm2 3.30, 10 mm2 1.91, 16 mm2 1.21 ohm/km), as two public pages reproduce that table. The row of 0.3192 ohm in
4 ohm is also solved by ngspice: 20 V become 18.52195 V.
"""

from __future__ import annotations

import re

import pytest

from rigspec.check import Refused, Report, check
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.text.source import Source

AMP = (
    "stock amp ideal { channels 1; rated 100 W at 4 ohm, 50 W at 8 ohm, 200 W at 2 ohm; gain 20 dB }\namp a is ideal\n"
)


def checked(text: str) -> Report:
    return check(Source("rig.rig", text + EXAMPLE_STOCK), lambda _using, used: Refused(used, "nothing is used here"))


def lead_rig(size: str, length: str, ohm: float, damping: str = "") -> str:
    return f"{AMP}a {{ {damping} }}\nspeaker s is box {{ impedance {ohm} ohm }}\na.1 -> lead {size} {length} -> s\n"


@pytest.mark.parametrize(
    ("size", "length_m", "load_ohm", "loop_ohm", "loss_db", "power_left", "in_lead", "damping"),
    [
        ("2.5 mm2", 20, 8, 0.3192, 0.3398, 0.9247, 0.0384, 25.06),
        ("2.5 mm2", 20, 4, 0.3192, 0.6669, 0.8577, 0.0739, 12.53),
        ("2.5 mm2", 50, 4, 0.7980, 1.5800, 0.6950, 0.1663, 5.01),
        ("1.5 mm2", 30, 8, 0.7980, 0.8259, 0.8268, 0.0907, 10.03),
        ("4 mm2", 25, 4, 0.2475, 0.5215, 0.8869, 0.0583, 16.16),
        ("4 mm2", 50, 2, 0.4950, 1.9208, 0.6426, 0.1984, 4.04),
    ],
)
def test_worked_leads(
    size: str, length_m: float, load_ohm: float, loop_ohm: float, loss_db: float,
    power_left: float, in_lead: float, damping: float,
) -> None:  # fmt: skip
    worked = checked(lead_rig(size, f"{length_m} m", load_ohm, "damping 1e9 at 8 ohm")).figures
    box, lead, channel = worked.boxes["s"], worked.channels["a.1"].leads[0], worked.channels["a.1"]
    assert lead.loop_ohm == pytest.approx(loop_ohm, abs=5e-5)
    assert box.loss_db == pytest.approx(loss_db, abs=5e-5)
    assert box.share_volt**2 == pytest.approx(power_left, abs=5e-5)
    assert lead.watt is not None
    assert channel.rated_w is not None
    assert lead.watt / channel.rated_w == pytest.approx(in_lead, abs=5e-5)
    assert box.damping == pytest.approx(damping, abs=5e-3)


def test_the_simulator_s_lead() -> None:
    box = checked(lead_rig("2.5 mm2", "20 m", 4)).figures.boxes["s"]
    assert 20 * box.share_volt == pytest.approx(18.52195, abs=5e-6)


@pytest.mark.parametrize(("load_ohm", "factor"), [(8, 23.58), (4, 11.79)])
def test_damping_factor_400_behind_20_m(load_ohm: float, factor: float) -> None:
    """8 / (0.02 + 0.3192): the damping factor as IEC 60268-3 defines it (from memory), leads counted to the source."""
    box = checked(lead_rig("2.5 mm2", "20 m", load_ohm, "damping 400 at 8 ohm")).figures.boxes["s"]
    assert box.damping == pytest.approx(factor, abs=5e-3)


@pytest.mark.parametrize(
    ("load_ohm", "lengths_m"),
    [
        (2, (4.46, 7.43, 11.97, 17.96, 31.02, 48.97)),
        (4, (8.91, 14.85, 23.94, 35.91, 62.05, 97.94)),
        (8, (17.82, 29.70, 47.88, 71.82, 124.09, 195.88)),
    ],
)
def test_the_longest_lead_that_a_cure_allows(load_ohm: float, lengths_m: tuple[float, ...]) -> None:
    """0.5 dB are a lead of 0.059254 times the load; the finding's cure names that length, to three digits."""
    for area, longest_m in zip((1.5, 2.5, 4, 6, 10, 16), lengths_m, strict=True):
        rig = 'rig "x" { limits { lead-loss 0.5 dB } }\n' + lead_rig(f"{area} mm2", "500 m", load_ohm)
        found = next(finding for finding in checked(rig).findings if finding.rule == "lead-loss-high")
        said = re.search(r"stay at ([\d.]+) m or less", found.help)
        assert said
        assert longest_m * 0.99 < float(said[1]) < longest_m * 1.0005  # three digits, rounded down
        for share, breaks in ((0.999, False), (1.001, True)):
            near = 'rig "x" { limits { lead-loss 0.5 dB } }\n' + lead_rig(
                f"{area} mm2", f"{longest_m * share} m", load_ohm
            )
            assert any(each.rule == "lead-loss-high" for each in checked(near).findings) is breaks


def test_160_ft_of_10_awg_between_24_5_volts_and_8_ohm() -> None:
    """A public forum's worked example: 0.00204 ohm/ft of loop, 72.09 W out of the amplifier, 69.26 W into the box."""
    box = checked(lead_rig("10 AWG", "160 ft", 8)).figures
    channel = box.channels["a.1"]
    assert 24.5**2 / channel.load_ohm == pytest.approx(72.09, rel=2e-3)
    assert (24.5 * box.boxes["s"].share_volt) ** 2 / 8 == pytest.approx(69.26, rel=2e-3)


@pytest.mark.parametrize(("air_c", "factor"), [(20, 1.0), (40, 1.0786), (50, 1.1179), (60, 1.1572)])
def test_copper_is_as_warm_as_the_air(air_c: float, factor: float) -> None:
    """1 + 0.00393 per kelvin (IEC 60028, from memory)."""
    rig = f'rig "x" {{ air {air_c} degC }}\n' + lead_rig("2.5 mm2", "20 m", 8)
    assert checked(rig).figures.channels["a.1"].leads[0].loop_ohm == pytest.approx(0.3192 * factor, rel=5e-5)


def test_a_lead_at_its_ampacity_is_as_warm_as_its_insulation_stands() -> None:
    """19.5 A in 1.5 mm2 at 30 degC bring PVC to 70 degC (IEC 60364-5-52 table B.52.2), half of it a quarter as far."""
    for share, rise_k in ((1.0, 40.0), (0.5, 10.0)):
        watt = (19.5 * share) ** 2 * 4
        stock = f"stock amp strong {{ channels 1; rated {watt} W at 4 ohm; gain 20 dB }}\namp a is strong\n"
        rig = stock + "speaker s is box { impedance 4 ohm }\na.1 -> lead 1.5 mm2 1 mm -> s\n"
        lead = checked('rig "x" { air 30 degC }\n' + rig).figures.channels["a.1"].leads[0]
        assert lead.capacity_ampere == 19.5
        assert lead.copper_c == pytest.approx(30 + rise_k, abs=0.01)


def test_a_channel_knows_what_limits_it() -> None:
    """Between two rated points the supply sags; above the highest the voltage holds, below the lowest the current."""
    for ohm, limit in ((16, "voltage"), (8, "voltage"), (6, "supply"), (4, "current")):
        text = "stock amp two { channels 1; rated 100 W at 4 ohm, 64 W at 8 ohm; least-load 2 ohm; gain 20 dB }\n"
        rig = f"{text}amp a is two\nspeaker s is box {{ impedance {ohm} ohm }}\na.1 -> lead 2.5 mm2 1 mm -> s\n"
        channel = checked(rig).figures.channels["a.1"]
        assert channel.limited_by == limit, ohm
        assert (channel.volt_limit, channel.ampere_limit) == pytest.approx(((64 * 8) ** 0.5, 5.0))


def test_what_a_channel_gives_alone_is_read_where_it_is_rated() -> None:
    """Rated 430 W at 4 ohm alone: nothing is said of 8 ohm, where all driven give 250 W and 41.5 V would give 215 W."""
    rated = "rated 400 W at 4 ohm, 250 W at 8 ohm; rated 430 W at 4 ohm alone"
    stock = f"stock amp two {{ channels 2; {rated}; gain 20 dB }}\n"
    for ohm, alone_w in ((4, 430.0), (8, None)):
        rig = f"{stock}amp a is two\nspeaker s is box {{ impedance {ohm} ohm }}\na.1 -> lead 2.5 mm2 1 mm -> s\n"
        found = checked(rig).figures.channels["a.1"].alone_w
        assert found == (None if alone_w is None else pytest.approx(alone_w, rel=1e-4))
