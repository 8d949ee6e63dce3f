"""`rigspec reach`: where a rig is heard, how loud and when, as an engineer types it."""

from __future__ import annotations

import csv
import io
import json
from math import log10, sqrt
from pathlib import Path

import pytest
from running import Run

from rigspec.solve.decibel import volt_to_dbu

CASES = json.loads((Path(__file__).parents[1] / "outside" / "space_cases.json").read_text(encoding="utf-8"))["cases"]
GAIN_DB = 32.0
STOCK = f"""\
stock amp big {{ channels 2; rated 4000 W at 8 ohm; gain {GAIN_DB:g} dB }}
stock speaker bass {{ impedance 8 ohm; rated 4000 W continuous; sensitivity 97 dB SPL; band 30 Hz to 100 Hz }}
stock speaker top {{
  impedance 8 ohm
  rated 4000 W continuous
  sensitivity 101 dB SPL
  band 100 Hz to 16 kHz
  coverage 80 deg, 40 deg
}}
stock speaker active {{ powered; input 20 kohm; drive 4 dBu; peak-level 128 dB SPL; band 60 Hz to 16 kHz }}
"""


def dbu(watt: float, ohm: float = 8.0) -> float:
    """The level of a feed that gives a box so many watts, behind the amplifier's gain and no leads."""
    return volt_to_dbu(sqrt(watt * ohm)) - GAIN_DB


def reach(folder: Path, run: Run, rig: str, code: int = 0) -> dict:
    (folder / "hall.rig").write_text(STOCK + rig, encoding="utf-8")
    ran = run("reach", "hall.rig", "--json")
    assert ran.code == code, ran.out + ran.err
    return json.loads(ran.out)


# Sensitivity + 10 log P - 20 log r, worked out by hand: 97 dB from 400 W is 123.02 dB at 1 m, 97.00 dB at 20 m.
ONE = "feed f {{ level {dbu:.6f} dBu }}\namp a is big\nspeaker s is bass {{ at 0 m, 0 m, 1.7 m }}\nf -> a.1 -> s\n"


def test_the_level_falls_with_distance_as_by_hand(folder: Path, run: Run) -> None:
    rig = ONE.format(dbu=dbu(400)) + "place near { at 0 m, 1 m }\nplace far { at 0 m, 20 m }\n"
    near, far = (each["nominal_least_db"] for each in reach(folder, run, rig)["places"])
    assert near == pytest.approx(97 + 10 * log10(400), abs=0.01)
    assert far == pytest.approx(97.0, abs=0.01)


def test_two_boxes_in_step_are_6_db_and_two_of_which_one_is_crossed_are_nothing(folder: Path, run: Run) -> None:
    both = ONE.format(dbu=dbu(400)).replace("speaker s is", "speaker s[1..2] is").replace("-> s\n", "-> s[1]\n")
    place = "place far { at 0 m, 20 m }\n"
    (alike,) = reach(folder, run, f"{both}f -> a.2 -> s[2]\n{place}")["places"]
    (against,) = reach(folder, run, f"{both}f -> a.2 -> invert -> s[2]\n{place}")["places"]
    assert alike["nominal_least_db"] == pytest.approx(97 + 6.0206, abs=0.01)
    assert against["nominal_least_db"] is None


def test_arrivals_are_those_of_the_outside_case(folder: Path, run: Run) -> None:
    """Mains and towers of case L2: arrival of each box, from where it stands, its delay and the air."""
    case = next(each for each in CASES if each["id"] == "L2")
    lines = [f'rig "field" {{ air {case["air"]["temperature_c"]} degC {case["air"]["humidity_percent"]} % }}']
    lines += [f"feed f {{ level {dbu(900):.6f} dBu }}", "amp a[1..2] is big"]
    for number, box in enumerate(case["boxes"]):
        name, (x, y, z), aim = box["name"].replace(" ", "_"), box["at"], box["aim"]
        lines.append(
            f"speaker {name} is top {{ at {x} m, {y} m, {z} m; aim {aim['right_deg']} deg, {aim['up_deg']} deg }}"
        )
        way = f"delay {box['delay_ms']} ms -> " if box["delay_ms"] else ""
        lines.append(f"f -> {way}a[{number // 2 + 1}].{number % 2 + 1} -> {name}")
    lines += [
        f"place {each['name'].replace(' ', '_')} {{ at {each['at'][0]} m, {each['at'][1]} m, {each['at'][2]} m }}"
        for each in case["places"]
    ]
    found = reach(folder, run, "\n".join(lines) + "\n")
    for place, expected in zip(found["places"], case["expected"]["places"], strict=True):
        arrivals = {each["heard"].replace("_", " "): each["arrival_ms"] for each in place["arrivals"]}
        wanted = {box["name"]: box["arrival_ms"] for box in expected["boxes"]}
        assert arrivals == pytest.approx(wanted, abs=0.02)
        assert place["arrivals"][0]["heard"].replace("_", " ") == expected["first_to_arrive"]


def test_latency_of_a_processor_and_of_its_delay_come_on_top(folder: Path, run: Run) -> None:
    rig = (
        "stock processor box { inputs 1; outputs 1; latency 2 ms }\nfeed f { level 0 dBu }\nprocessor p is box\n"
        "p.1 { from a; delay 3 ms }\namp a is big\nspeaker s is top { at 0 m, 0 m }\n"
        "f -> p.a\np.1 -> a.1 -> s\nplace here { at 0 m, 0 m, 0 m }\n"
    )
    ((arrival,),) = (each["arrivals"] for each in reach(folder, run, rig)["places"])
    assert arrival["arrival_ms"] == pytest.approx(5.0)


def test_a_powered_box_gives_its_peak_level_at_its_drive(folder: Path, run: Run) -> None:
    """Driven 6 dB below: peaks of a sine are 122 dB at 1 m, its mean 3 dB less; more than 128 it never gives."""
    rig = "feed f {{ level -2 dBu; peak {} dBu }}\nspeaker s is active {{ at 0 m, 0 m, 1.7 m }}\nf -> s\n"
    place = "place near { at 0 m, 1 m }\n"
    (soft,) = reach(folder, run, rig.format(-2) + place)["places"]
    assert soft["nominal_least_db"] == pytest.approx(122 - 3.01, abs=0.05)
    assert soft["peak_least_db"] == pytest.approx(122, abs=0.05)
    (hot,) = reach(folder, run, rig.format(20) + place)["places"]
    assert hot["peak_least_db"] == hot["most_least_db"] == pytest.approx(128, abs=0.05)


def test_a_place_counts_what_it_is_meant_to_hear(folder: Path, run: Run) -> None:
    rig = (
        "feed f { level -30 dBu }\nfeed other { level -10 dBu }\namp a is big\n"
        "speaker s[1..2] is bass { at 0 m, 0 m, 1.7 m }\nf -> a.1 -> s[1]\nother -> a.2 -> s[2]\n"
        "place mine { at 0 m, 20 m; hears f }\nplace all { at 0 m, 20 m }\n"
    )
    mine, everything = reach(folder, run, rig)["places"]
    assert [each["loudspeakers"] for each in mine["arrivals"]] == [["s[1]"]]
    # Unlike feeds add by energy: 20 dB more and a hundredth of that.
    assert everything["nominal_least_db"] - mine["nominal_least_db"] == pytest.approx(10 * log10(101), abs=0.01)


def test_what_is_not_said_is_told_and_nothing_is_made_up(folder: Path, run: Run) -> None:
    rig = (
        "stock speaker plain { impedance 8 ohm }\nfeed f { level 0 dBu }\namp a is big\n"
        "speaker p is plain { at 0 m, 0 m }\nspeaker lost is top\nf -> a.1 -> p\nf -> a.2 -> lost\n"
        "place desk { at 0 m, 20 m }\n"
    )
    found = reach(folder, run, rig)
    assert {each["loudspeaker"]: each["why"] for each in found["left_out_loudspeakers"]} == {
        "p": "the sensitivity of p is not given",
        "lost": "it does not say where it stands: `at`",
    }
    assert found["places"][0]["nominal_least_db"] is None
    screen = run("reach", "hall.rig")
    assert "the sensitivity of it is not given" in " ".join(screen.out.split())


def test_the_screen_is_narrow_and_says_how_far_off_it_may_be(folder: Path, run: Run) -> None:
    rig = ONE.format(dbu=dbu(400)) + "place far { at 0 m, 20 m }\nplace off { at 8 m, 20 m }\n"
    (folder / "hall.rig").write_text(STOCK + rig, encoding="utf-8")
    ran = run("reach", "hall.rig")
    assert ran.code == 0
    assert max(map(len, ran.out.splitlines())) <= 100
    assert "+-3 dB" in ran.out
    assert "walls, reflections, obstacles and people are left out" in " ".join(ran.out.split())
    rows = list(csv.DictReader(io.StringIO(run("reach", "hall.rig", "--csv").out)))
    assert [row["place"] for row in rows] == ["far", "off"]
    assert float(rows[0]["arrival_ms"]) == pytest.approx(1000 * 20 / 343.2, abs=0.02)


def test_a_rig_without_places_says_how_to_write_one(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(STOCK + ONE.format(dbu=0), encoding="utf-8")
    assert "place desk { at" in run("reach", "hall.rig").out


# Case T1: a sub ahead of a top, meeting at 90 Hz. The bass plays to 81 Hz and the top from 100 Hz: they meet between.
@pytest.mark.parametrize("name", ["T1", "T2"])
def test_bass_and_top_meet_as_in_the_outside_case(folder: Path, run: Run, name: str) -> None:
    case = next(each for each in CASES if each["id"] == name)
    wanted, air = case["expected"]["alignment"], case["air"]
    hz = float(wanted["crossover_hz"])
    sub, top = case["boxes"]
    x, y, z = sub["at"]
    u, v, w = top["at"]
    delay = f"delay {top['delay_ms']} ms -> " if top["delay_ms"] else ""
    rig = (
        f'rig "meet" {{ air {air["temperature_c"]} degC {air["humidity_percent"]} % }}\n'
        f"stock speaker below {{ impedance 8 ohm; sensitivity 98 dB SPL; band 30 Hz to {hz * 0.9} Hz }}\n"
        f"stock speaker above {{ impedance 8 ohm; sensitivity 98 dB SPL; band {hz / 0.9} Hz to 16 kHz }}\n"
        f"feed f {{ level 0 dBu }}\namp a is big\nspeaker sub is below {{ at {x} m, {y} m, {z} m }}\n"
        f"speaker top is above {{ at {u} m, {v} m, {w} m }}\nf -> a.1 -> sub\nf -> {delay}a.2 -> top\n"
    )
    for place in case["places"]:
        at = ", ".join(f"{each} m" for each in place["at"])
        rig += f"place {place['name'].replace(' ', '_')} {{ at {at} }}\n"
    found = reach(folder, run, rig)["bass_and_top"]
    for each, expected in zip(found, wanted["places"], strict=True):
        assert each["meet_hz"] == pytest.approx(hz, rel=1e-3)
        assert each["bass_later_ms"] == pytest.approx(expected["low_after_high_ms"], abs=0.02)
        assert each["phase_deg"] == pytest.approx(expected["phase_deg"], abs=0.75)
        assert (each["add_to"], each["add_ms"]) == (
            expected["delay_to_add"]["to"],
            pytest.approx(expected["delay_to_add"]["ms"], abs=0.02),
        )


def test_what_a_desk_and_a_powered_box_do_to_the_signal_counts(folder: Path, run: Run) -> None:
    """A delay of the feed and one of the box come on top of each other, with its latency; its control takes 6 dB."""
    rig = (
        "feed f {{ level -8 dBu; delay 2 ms }}\n"
        "speaker s is active {{ at 0 m, 0 m, 1.7 m; {}delay 3 ms; latency 1 ms }}\n"
        "f -> s\nplace near {{ at 0 m, 3.432 m }}\n"
    )
    loud, soft = (reach(folder, run, rig.format(control))["places"][0] for control in ("", "attenuator -6 dB; "))
    assert loud["arrivals"][0]["arrival_ms"] == pytest.approx(2 + 3 + 1 + 10, abs=0.01)
    assert loud["nominal_least_db"] - soft["nominal_least_db"] == pytest.approx(6, abs=1e-6)
    # Full output at 4 dBu; with the control at -6 dB it takes 10.
    (folder / "hall.rig").write_text(STOCK + rig.format("attenuator -6 dB; ").replace("-8 dBu", "8 dBu; peak 9 dBu"))
    assert "box-overdriven" not in run("check", "hall.rig").out
    (folder / "hall.rig").write_text(STOCK + rig.format("").replace("-8 dBu", "8 dBu; peak 9 dBu"))
    assert "box-overdriven" in run("check", "hall.rig").out


def test_why_shows_each_loudspeaker_as_by_hand(folder: Path, run: Run) -> None:
    """400 W make 123.0 dB at 1 m; 20 m take 26.0 dB and 58.28 ms."""
    (folder / "hall.rig").write_text(STOCK + ONE.format(dbu=dbu(400)) + "place far { at 0 m, 20 m }\n")
    row = next(line for line in run("reach", "hall.rig", "--why", "far").out.splitlines() if line.startswith("s "))
    assert row.split()[1:4] == ["123.0", "20.00", "-26.0"]
    assert row.split()[-1] == "58.28"
    lost = run("reach", "hall.rig", "--why", "fra")
    assert lost.code == 2
    assert "did you mean far?" in lost.err
