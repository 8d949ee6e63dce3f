"""Supplies that we make up, run by the circuit simulator ngspice while the tests run, against our own computations.

With RIGSPEC_SEARCH=1 in the environment other supplies are made at each run; a failure names the seed.
"""

from __future__ import annotations

import os
import re
import subprocess
from math import pi
from pathlib import Path
from random import Random, SystemRandom
from shutil import which

import pytest
from simulator import NGSPICE

from rigspec.solve import pumping
from rigspec.solve.rails import Mains, peak_volt
from rigspec.solve.supply import SupplyDraw, gain, power_w, rails, reservoir_x, uncertainty

SEED = SystemRandom().randrange(10**6) if os.environ.get("RIGSPEC_SEARCH") else 2026
POINTS = 6
SETTLED_S, END_S = 0.25, 1.15  # nothing is judged before; mains and signal meet in all phases until the end

_SUPPLY = """* a centre-tapped transformer, four diodes, two reservoirs, class-B channels that never clip
Vmains up 0 sin(0 {emf} {mains})
Rcommon up in {common_ohm}
Lcommon in pri {common_henry}
Fa pri 0 Vsa 1
Fb pri 0 Vsb -1
Ea ea 0 pri 0 1
Eb eb 0 pri 0 -1
Vsa ea a0 0
Vsb eb b0 0
Ra a0 a1 {own_ohm}
La a1 a {own_henry}
Rb b0 b1 {own_ohm}
Lb b1 b {own_henry}
.model rect d(is=1e-7 n=1.6 rs=3m)
D1 a plus rect
D2 b plus rect
D3 minus a rect
D4 minus b rect
Cplus plus 0 {farad} ic={start}
Cminus 0 minus {farad} ic={start}
Vsig sig 0 sin(0 1 {hz})
Bplus plus 0 I={idle}+{peak}*({normal}*max(v(sig),0)+{turned}*max(-v(sig),0))
Bminus 0 minus I={idle}+{peak}*({normal}*max(-v(sig),0)+{turned}*max(v(sig),0))
Bn room 0 V={with_normal}
Bt roomt 0 V={with_turned}
.tran 100u {end} 0 50u uic
.control
run
meas tran least MIN v(room) from={settled} to={end}
meas tran leastt MIN v(roomt) from={settled} to={end}
quit
.endc
.end
"""
_ROOM = "min(v(plus)-{peak}*max({sign}v(sig),0),-v(minus)-{peak}*max({back}v(sig),0))"


def ran(text: str, folder: Path) -> dict[str, float]:
    """What ngspice measures, by name."""
    if which(NGSPICE) is None:
        pytest.fail("this test needs the circuit simulator ngspice: `apt install ngspice`", pytrace=False)
    deck = folder / "supply.cir"
    deck.write_text(text, encoding="ascii")
    done = subprocess.run([NGSPICE, "-b", "-n", deck.name], cwd=folder, capture_output=True, text=True, timeout=120)
    found = {name: float(value) for name, value in re.findall(r"^(\w+)\s+=\s+(\S+) at=", done.stdout, re.M)}
    assert found, f"ngspice measured nothing: {(done.stdout + done.stderr)[-600:]}"
    return found


def simulated_peak(mains: Mains, draw: SupplyDraw, hz: float, folder: Path) -> float:
    """The peak that touches a rail at the worst phase of the mains, by ngspice alone: two runs and a straight line."""
    trials = []
    peak = 0.8 * mains.emf_volt / (1 + mains.ohm * draw.total_siemens)
    for _ in range(4):
        room = room_volt(mains, draw, hz, peak, folder) - mains.lost_volt
        trials.append((peak, room))
        if abs(room) < 0.03:
            break
        slope = -1.3 if len(trials) < 2 else (trials[-1][1] - trials[-2][1]) / (trials[-1][0] - trials[-2][0])
        peak -= room / slope
    return peak


def room_volt(mains: Mains, draw: SupplyDraw, hz: float, peak: float, folder: Path) -> float:
    common = mains.ohm * mains.common_share / 2
    own = mains.ohm * (1 - mains.common_share)
    per_ohm = mains.reactance / (2 * pi * mains.mains_hz)
    deck = _SUPPLY.format(
        emf=mains.emf_volt,
        mains=mains.mains_hz,
        common_ohm=common,
        common_henry=common * per_ohm,
        own_ohm=own,
        own_henry=own * per_ohm,
        farad=mains.farad,
        start=0.85 * mains.emf_volt,
        hz=hz,
        idle=mains.idle_ampere,
        peak=peak,
        normal=draw.normal_siemens,
        turned=draw.turned_siemens,
        with_normal=_ROOM.format(peak=peak, sign="", back="-"),
        with_turned=_ROOM.format(peak=peak, sign="-", back=""),
        settled=SETTLED_S,
        end=END_S,
    )
    found = ran(deck, folder)
    return min(found["least"], found["leastt"]) if draw.turned_siemens else found["least"]


def made_up(random: Random) -> tuple[Mains, float, float]:
    """A supply, the load on each of two channels, and a tone that is not locked to the mains."""
    mains = Mains(
        emf_volt=random.uniform(45, 110),
        ohm=random.choice([0.08, 0.15, 0.3]),
        farad=random.choice([0.0082, 0.012, 0.02]),
        mains_hz=random.choice([50.0, 60.0]),
        idle_ampere=random.uniform(0.05, 0.3),
        lost_volt=random.uniform(1.5, 4.0),
    )
    return mains, random.choice([4.0, 5.3, 8.0]), random.choice([31.3, 37.7, 43.1, 56.3, 71.9, 88.7])


def test_simulation_and_closed_form_against_ngspice(tmp_path: Path) -> None:
    random = Random(SEED)
    squares = 0.0
    for _ in range(POINTS):
        mains, load, hz = made_up(random)
        told = f"seed {SEED}: {mains}, {load} ohm, {hz} Hz"
        in_phase, opposed = SupplyDraw(2 / load), SupplyDraw(1 / load, 1 / load)
        peaks = [simulated_peak(mains, draw, hz, tmp_path) for draw in (in_phase, opposed)]
        ours = [peak_volt(mains, draw, hz) for draw in (in_phase, opposed)]
        assert ours == pytest.approx(peaks, rel=0.015), told
        expected = (peaks[1] / peaks[0]) ** 2 - 1
        off = (ours[1] / ours[0]) ** 2 - 1 - expected
        assert abs(off) < 0.025, told
        squares += off * off
        points = uncertainty(reservoir_x(mains.mains_hz, load, mains.farad))
        rated = [power_w(peak_volt(mains, SupplyDraw(count / load), 1000), load) for count in (1, 2)]
        sheet = rails(load, *rated, mains.farad, mains.mains_hz)
        assert points is not None
        assert sheet is not None
        assert abs(gain(sheet, opposed, hz) - expected) < 1.5 * points, told
    assert (squares / POINTS) ** 0.5 < 0.01


def test_unequal_loads_against_ngspice(tmp_path: Path) -> None:
    mains, draw = Mains(80.0, 0.15, 0.01, 50.0), SupplyDraw(1 / 4, 1 / 8)
    for hz in (33.3,):
        found = simulated_peak(mains, draw, hz, tmp_path) / simulated_peak(mains, draw.in_phase, hz, tmp_path)
        ours = peak_volt(mains, draw, hz) / peak_volt(mains, draw.in_phase, hz)
        assert ours**2 == pytest.approx(found**2, abs=0.02)


_HALF_BRIDGES = """* half bridges on ideal switches: the rails are fed through diodes and cannot give back
.model feeds d(is=1e-9 n=0.05 rs=2m)
.model closes sw(vt=0 vh=0 ron=2m roff=1meg)
Vplus sp 0 {rail}
Vminus 0 sm {rail}
Dp sp plus feeds
Dm minus sm feeds
Cp plus 0 {farad} ic={rail}
Cm 0 minus {farad} ic={rail}
Vtri tri 0 pulse(-1 1 0 20u 20u 1n 40u)
Vsig sig 0 sin(0 {swing} {hz})
{stages}
.tran 2u {end} 0 2u uic
.control
run
meas tran top MAX v(plus) from={settled} to={end}
quit
.endc
.end
"""
_STAGE = """Eup{n} up{n} 0 vol='{sign}v(sig)-v(tri)'
Edown{n} down{n} 0 vol='v(tri)-({sign}v(sig))'
Sup{n} plus x{n} up{n} 0 closes
Sdown{n} x{n} minus down{n} 0 closes
L{n} x{n} out{n} 300u
Co{n} out{n} 0 1.5u
R{n} out{n} 0 {load}"""


@pytest.mark.parametrize(
    ("rail", "hz", "farad", "swing", "loads"), [(60, 25, 0.0068, 0.637, (4, 4)), (80, 40, 0.0047, 0.4, (4, 8))]
)
def test_pumping_against_switched_half_bridges(
    rail: float, hz: float, farad: float, swing: float, loads: tuple[float, float], tmp_path: Path
) -> None:
    """In phase and opposed, open loop: no feedback is assumed here. Within 4 % of the rail."""
    normal, turned = (1 / load for load in loads)
    for sign, expected in (
        ("", pumping.left_volt(rail, hz, farad, normal + turned, 0.0, swing)),
        ("-", pumping.left_volt(rail, hz, farad, normal, turned, swing)),
    ):
        stages = [
            _STAGE.format(n=1, sign="", load=loads[0]),
            _STAGE.format(n=2, sign=sign, load=loads[1]),
        ]
        deck = _HALF_BRIDGES.format(
            rail=rail, hz=hz, farad=farad, swing=swing, stages="\n".join(stages), settled=2 / hz, end=4 / hz
        )
        assert ran(deck, tmp_path)["top"] - rail == pytest.approx(expected, abs=0.04 * rail)
