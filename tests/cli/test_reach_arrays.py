"""Arrays of bass boxes in `rigspec reach`: what each member needs, and patterns against closed forms from elsewhere."""

from __future__ import annotations

import json
from math import cos, log10, pi, radians, sin
from pathlib import Path
from xml.etree import ElementTree

import pytest
from running import Run

OUTSIDE = Path(__file__).parents[1] / "outside" / "space_cases.json"
CASES = {each["id"]: each for each in json.loads(OUTSIDE.read_text(encoding="utf-8"))["cases"]}
STOCK = """\
rig "arrays" { air 20 degC 50 % }
stock amp big { channels 2; rated 4000 W at 8 ohm; gain 32 dB }
stock speaker bass { impedance 8 ohm; rated 4000 W continuous; sensitivity 97 dB SPL; band 30 Hz to 112 Hz }
feed f { level 0 dBu }
amp pa[1..8] is big
"""
METRE = 343.2  # per second, at 20 degC


def arrays(folder: Path, run: Run, boxes: list[tuple[float, float, str]], said: str) -> dict:
    """Boxes at their places, each with what lies on its way, as one group."""
    lines = [STOCK]
    for number, (x, y, way) in enumerate(boxes):
        lines.append(f"speaker s[{number + 1}] is bass {{ at {x} m, {y} m }}")
        lines.append(f"f -> {way}pa[{number // 2 + 1}].{number % 2 + 1} -> s[{number + 1}]")
    (folder / "hall.rig").write_text("\n".join([*lines, f"group subs: s[*] {{ array {said} }}\n"]), encoding="utf-8")
    ran = run("reach", "hall.rig", "--json")
    assert ran.code in (0, 1), ran.err
    (found,) = json.loads(ran.out)["arrays"]
    return found


PAIR = [(0, 0.5, ""), (0, -0.5, "invert -> delay 2.914 ms -> ")]


@pytest.mark.parametrize(
    ("way", "front", "rear"),
    [
        ("invert -> delay 2.914 ms -> ", "as_planned_front", None),
        ("invert -> ", "delay_forgotten_front_and_rear", "delay_forgotten_front_and_rear"),
        ("delay 2.914 ms -> ", "inversion_forgotten_front", "inversion_forgotten_rear"),
    ],
)
def test_a_gradient_pair_as_the_outside_case_has_it(folder: Path, run: Run, way: str, front: str, rear: str) -> None:
    found = arrays(folder, run, [PAIR[0], (0, -0.5, way)], "gradient")
    wanted = CASES["A2"]["expected"]["far_field_re_one_box_db"]
    near = [member["needs_ms"] for member in found["members"]]
    assert near == pytest.approx([0, CASES["A2"]["expected"]["right_delay_ms"]], abs=0.02)
    assert [member["needs_inverted"] for member in found["members"]] == [False, True]
    for tone in found["patterns"]:
        hz = tone["tone_hz"]
        # The case has nominal tones; the third-octaves lie beside, so the closed form is worked out at each of them.
        k = pi * hz / METRE
        closed = {
            "as_planned_front": 2 * abs(sin(2 * k)),
            "delay_forgotten_front_and_rear": 2 * abs(sin(k)),
            "inversion_forgotten_front": 2 * abs(cos(2 * k)),
            "inversion_forgotten_rear": 2.0,
        }
        name = min(wanted[front], key=lambda each: abs(float(each) / hz - 1))
        if float(name) == pytest.approx(hz, rel=1e-6):
            assert 20 * log10(closed[front]) == pytest.approx(wanted[front][name], abs=1e-3)
        assert tone["front_db"] == pytest.approx(20 * log10(closed[front]), abs=0.05)
        if rear:
            assert tone["rear_db"] == pytest.approx(20 * log10(closed[rear] / closed[front]), abs=0.05)
        else:
            assert tone["rear_db"] < -40


def test_an_end_fire_row_needs_a_metre_for_each_metre(folder: Path, run: Run) -> None:
    row = [(0, float(y), f"delay {2.914 * y:.3f} ms -> " if y else "") for y in range(4)]
    found = arrays(folder, run, row, "end-fire")
    assert [each["needs_ms"] for each in found["members"]] == pytest.approx([2.914 * at for at in range(4)], abs=0.01)
    for tone in found["patterns"]:
        assert tone["front_db"] == pytest.approx(20 * log10(4), abs=0.01)
        kd = 2 * pi * tone["tone_hz"] / METRE
        assert tone["rear_db"] == pytest.approx(20 * log10(abs(sin(4 * kd) / sin(kd)) / 4), abs=0.3)
    # Turned to house right, the same boxes need nothing: they stand side by side.
    turned = arrays(folder, run, row, "end-fire; toward 90 deg")
    assert [each["needs_ms"] for each in turned["members"]] == pytest.approx([0.0] * 4, abs=1e-6)


def test_a_line_has_the_nulls_and_the_spacing_of_the_outside_case(folder: Path, run: Run) -> None:
    line = [(box["at"][0], 0.0, "") for box in CASES["A3"]["boxes"]]
    found = arrays(folder, run, line, "spaced")
    assert found["spacing_m"] == pytest.approx(3.6)
    assert found["widest_m"] == pytest.approx(METRE / 200, abs=0.001)
    for tone in found["patterns"]:
        psi = 2 * pi * tone["tone_hz"] * 3.6 * sin(radians(15)) / METRE
        assert tone["round_db"][3] == pytest.approx(20 * log10(abs(sin(4 * psi) / sin(psi / 2)) / 8), abs=0.01)


def test_the_screen_and_the_drawing_name_each_array(folder: Path, run: Run) -> None:
    arrays(folder, run, PAIR, "gradient")
    screen = run("reach", "hall.rig").out
    assert max(map(len, screen.splitlines())) <= 100
    assert "over 25 dB softer behind than in front" in " ".join(screen.split())
    drawn = ElementTree.fromstring(run("reach", "hall.rig", "--as", "svg").out)
    assert "subs, gradient" in [each.text for each in drawn.iter() if each.tag.endswith("text")]
