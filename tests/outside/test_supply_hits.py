"""What opposed drive is worth to a kick drum and to a burst, against cases that were computed independently.

`supply_hits.json` holds hits, hits that come again and bursts from rested rails, on 24 supplies: solved by a fixed-step
trapezoidal solver in steps of 25 microseconds at 16 starts against the mains, some of them by ngspice with exponential
diodes too. Nothing of it was measured on a real amplifier.
"""

from __future__ import annotations

import json
from math import sqrt
from pathlib import Path
from typing import Any

import pytest
from supplied import described, prospect_of

from rigspec.figures.opposed_hits import HitGain, hits, kick_range
from rigspec.solve.rails import Mains
from rigspec.solve.supply import SupplyDraw, reservoir_x
from rigspec.solve.supply_hits import Burst, Hit, hit_peak_volt

CASES: list[dict[str, Any]] = json.loads((Path(__file__).parent / "supply_hits.json").read_text())["cases"]


def gain_percent(mains: Mains, load: float, signal: Hit | Burst) -> float:
    in_phase, opposed = (
        hit_peak_volt(mains, draw, signal) for draw in (SupplyDraw(2 / load), SupplyDraw(1 / load, 1 / load))
    )
    return 100 * ((opposed / in_phase) ** 2 - 1)


def mains_of(case: dict[str, Any]) -> Mains:
    return Mains(case["emf_peak_V"], case["r_total_ohm"], case["C_F"], case["mains_hz"])


def signal_of(case: dict[str, Any]) -> Hit | Burst:
    said = case["signal"]
    if said["kind"] == "burst":
        return Burst(said["f_hz"], said["cycles"])
    again = said["kind"] == "repeated hits"
    return Hit(said["f_hz"], said["tau_ms"] / 1000, every_s=60 / said["per_minute"] if again else 0, times=2)


@pytest.mark.parametrize(("kind", "every"), [("hit", 1), ("burst", 1), ("repeated hits", 12)])
def test_within_one_point_of_every_case(kind: str, every: int) -> None:
    """Of hits that come again one in twelve: each lasts a second at sixteen starts."""
    cases = [case for case in CASES if case["signal"]["kind"] == kind][::every]
    assert len(cases) >= 12
    for case in cases:
        found = gain_percent(mains_of(case), case["load_ohm"], signal_of(case))
        assert found == pytest.approx(case["gain_percent"], abs=1), case


def test_one_hit_of_a_drum_that_plays_120_times_a_minute_is_one_hit() -> None:
    """Within 0.4 point for decays of 40 and 80 ms, by the cases themselves; so the study shows one alone."""
    alone = {what_of(case): case["gain_percent"] for case in CASES if case["signal"]["kind"] == "hit"}
    for case in CASES:
        if case["signal"]["kind"] == "repeated hits" and case["signal"]["tau_ms"] <= 80:
            assert case["gain_percent"] == pytest.approx(alone[what_of(case)], abs=0.45)


def what_of(case: dict[str, Any]) -> tuple[object, ...]:
    said = case["signal"]
    return case["mains_hz"], case["source"], case["C_F"], case["load_ohm"], said["f_hz"], said["tau_ms"]


def test_no_sharp_hit_passes_the_limit_of_circuit_theory() -> None:
    """y = 1/(2 pi f R C): in phase one rail gives all of the first half wave, opposed each gives half of it.

    Nearly reached where the reservoir is large: x of 3.5 and more, a decay of 40 ms.
    """
    for case in CASES:
        if case["signal"]["kind"] == "hit":
            y = 1 / (2 * 3.141592653589793 * case["signal"]["f_hz"] * case["load_ohm"] * case["C_F"])
            limit = ((2 * y + sqrt(1 + 4 * y * y)) / (y + sqrt(1 + y * y))) ** 2 - 1
            found = gain_percent(mains_of(case), case["load_ohm"], signal_of(case))
            assert found < 100 * limit + 1.3, case
            x = reservoir_x(case["mains_hz"], case["load_ohm"], case["C_F"])
            if x >= 3.5 and case["signal"]["tau_ms"] == 40:
                assert found > 100 * limit - 2.6, case


def test_a_soft_start_takes_most_of_it_away() -> None:
    """10 mF, 4 ohm, a decay of 80 ms (circuit simulation): sharp 19 % at 45 Hz and 10 to 13 % at 65 Hz; with 2 to 5 ms
    1 to 19 % and -5 to +4 %."""
    for ohm, emf, mains_hz in ((0.05, 74.924, 50), (0.4, 86.315, 50), (0.05, 74.216, 60), (0.4, 86.17, 60)):
        mains = Mains(emf, ohm, 0.01, mains_hz)
        soft = {hz: [gain_percent(mains, 4, Hit(hz, 0.08, rise)) for rise in (0.002, 0.005)] for hz in (45.0, 65.0)}
        assert all(0 <= gain <= 20 for gain in soft[45.0])
        assert all(-6 <= gain <= 5 for gain in soft[65.0])
        assert gain_percent(mains, 4, Hit(65, 0.08)) > 9


def test_worked_hit() -> None:
    """45 Hz, 4 ohm, 10 mF: 18.5 to 18.8 % (circuit simulation) for decays of 40 and 80 ms."""
    for decay in (0.04, 0.08):
        assert gain_percent(Mains(74.924, 0.05, 0.01, 50), 4, Hit(45, decay)) == pytest.approx(18.65, abs=0.65)


def studied(emf: float, ohm: float, farad: float, load: float) -> list[HitGain]:
    return list(hits(prospect_of(described(emf, ohm, farad, 0.5), load, 50, 35)))


def test_the_study_puts_tone_burst_and_hit_side_by_side() -> None:
    """Watts at the highest peak: a lasting tone's average power is half of it."""
    found = studied(74.924, 0.05, 0.01, 4)
    assert [each.name for each in found] == [
        "lasting tone",
        "burst of 4 cycles",
        "burst of 1 cycle",
        "kick, sharp start",
        "kick, start of 2 ms",
        "kick, start of 5 ms",
    ]
    sharp = next(each for each in found if "sharp" in each.name)
    assert 100 * sharp.gain == pytest.approx(gain_percent(Mains(74.924, 0.05, 0.01, 50), 4, Hit(50, 0.08)), abs=0.3)
    for each in found:
        assert each.low < each.gain < each.high
        assert each.opposed_w / each.in_phase_w - 1 == pytest.approx(each.gain)
    kicks = [each for each in found if each.kick]
    assert kick_range(found) == (min(each.low for each in kicks), max(each.high for each in kicks))
    assert max(kicks, key=lambda each: each.gain) is sharp


def test_channels_that_begin_above_a_kick_drum_get_no_kick_drum() -> None:
    found = list(hits(prospect_of(described(74.924, 0.05, 0.01, 0.5), 4, 50, 95)))
    assert [each.name for each in found] == ["lasting tone", "burst of 4 cycles", "burst of 1 cycle"]
    assert kick_range(found) is None
