"""`rigspec walk`: what a crossed box sounds like in front of a rig, held to walks that were computed elsewhere."""

from __future__ import annotations

import csv
import io
import json
from pathlib import Path
from xml.etree import ElementTree

import pytest
from running import Run

OUTSIDE = Path(__file__).parents[1] / "outside" / "space_cases.json"
CASES = {each["id"]: each for each in json.loads(OUTSIDE.read_text(encoding="utf-8"))["cases"]}
STOCK = """\
stock amp big { channels 2; rated 4000 W at 8 ohm; gain 32 dB }
stock speaker bass { impedance 8 ohm; rated 4000 W continuous; sensitivity 97 dB SPL; band 30 Hz to 100 Hz }
feed send { level 0 dBu }
"""


def rig(boxes: list[tuple[str, list[float]]], air: str = "20 degC 50 %", crossed: tuple[str, ...] = ()) -> str:
    """Bass boxes of one sort, each on a channel of its own."""
    lines = [f'rig "walk" {{ air {air} }}', STOCK, f"amp pa[1..{(len(boxes) + 1) // 2}] is big"]
    for number, (name, (x, y, z)) in enumerate(boxes):
        way = "invert -> " if name in crossed else ""
        lines.append(f"speaker {name} is bass {{ at {x} m, {y} m, {z} m }}")
        lines.append(f"send -> pa[{number // 2 + 1}].{number % 2 + 1} -> {way}{name}")
    return "\n".join(lines) + "\n"


def walked(folder: Path, run: Run, text: str, *words: str) -> dict:
    (folder / "hall.rig").write_text(text, encoding="utf-8")
    ran = run("walk", "hall.rig", "--json", *words)
    assert ran.code == 0, ran.out + ran.err
    return json.loads(ran.out)["walk"]


@pytest.mark.parametrize("name", ["W1", "W2", "W3"])
def test_levels_are_those_of_the_outside_cases(folder: Path, run: Run, name: str) -> None:
    case = CASES[name]
    walk, air = case["expected"]["walk"], case["air"]
    boxes = [(box["name"].replace(" ", "_"), box["at"]) for box in case["boxes"]]
    in_front = walk["line"]["y_m"] - max(at[1] for _, at in boxes)
    text = rig(boxes, f"{air['temperature_c']} degC {air['humidity_percent']} %")
    found = walked(folder, run, text, "--tone", f"{walk['tone_hz']} Hz", "--at", f"{in_front:g} m")
    states = {state["state"]: state for state in found["states"]}
    compared = 0
    for setting in walk["settings"]:
        called = setting["setting"].replace(" ", "_").replace("_crossed", " crossed")
        state = states.get({"as_planned": "as planned", "left_side crossed": "one side crossed"}.get(called, called))
        if state is None:  # a side of one box
            assert setting["setting"] in ("left crossed", "right crossed")
            continue
        top = max(walk["settings"][0]["level_db"])
        levels = dict(zip(found["across_m"], state["level_db"], strict=True))
        own_top = max(each for each in states["as planned"]["level_db"])
        assert own_top == 0
        # The reference is the loudest step; the walk here goes further out, where it is never louder.
        for x, level in zip(walk["x_m"], setting["level_db"], strict=True):
            wanted = None if level is None or level - top < -20 else pytest.approx(level - top, abs=0.15)
            assert levels[x] == wanted, (setting["setting"], x)
            compared += 1
    assert compared >= 50


PAIR = [("left", [-4, 0, 1.7]), ("right", [4, 0, 1.7])]


def test_the_middle_tells_of_a_crossed_side_and_the_cold_spots_do_not(folder: Path, run: Run) -> None:
    found = walked(folder, run, rig(PAIR, "9.5 degC 50 %"))
    planned, crossed = found["states"][:2]
    at = {x: number for number, x in enumerate(found["across_m"])}
    # Two point sources in one plane, by hand: 0 dB in the middle, a cold spot at 2 m though all is right.
    assert planned["level_db"][at[0]] == 0
    assert planned["level_db"][at[2]] == pytest.approx(-10.7, abs=0.05)
    assert planned["level_db"][at[4]] == pytest.approx(-1.2, abs=0.05)
    assert crossed["level_db"][at[0]] is None
    assert crossed["level_db"][at[2]] == pytest.approx(0.1, abs=0.05)
    assert 0 in crossed["told_at_m"]


def test_one_of_two_crossed_walks_as_its_side_unplugged(folder: Path, run: Run) -> None:
    stacks = [("l1", [-4, 0, 1.7]), ("l2", [-4, 0, 1.7]), ("r1", [4, 0, 1.7]), ("r2", [4, 0, 1.7])]
    states = {state["state"]: state for state in walked(folder, run, rig(stacks, "9.5 degC 50 %"))["states"]}
    one = states["r1 crossed, one of 2 there"]
    assert "right side unplugged" in one["walks_like"]
    x = walked(folder, run, rig(stacks, "9.5 degC 50 %"))["across_m"].index(4)
    assert one["level_db"][x] == pytest.approx(-10.0, abs=0.05)
    screen = " ".join(run("walk", "hall.rig").out.split())
    assert "each stack alone, box by box (l1, l2; r1, r2): the second adds about 6 dB, or one is crossed" in screen
    assert "r1 crossed, one of 2 there from right side unplugged" in screen


def test_a_rig_that_is_crossed_already_walks_as_it_is_planned(folder: Path, run: Run) -> None:
    """What the file says is the plan, even with a crossed lead in it."""
    found = walked(folder, run, rig(PAIR, crossed=("left",)))
    assert found["states"][0]["level_db"][found["across_m"].index(0)] is None


def test_forms_agree_and_the_plot_has_a_line_for_each_state(folder: Path, run: Run) -> None:
    found = walked(folder, run, rig(PAIR))
    rows = list(csv.DictReader(io.StringIO(run("walk", "hall.rig", "--csv").out)))
    assert [float(row["across_m"]) for row in rows] == found["across_m"]
    assert rows[0]["as planned dB"] == str(found["states"][0]["level_db"][0])
    screen = run("walk", "hall.rig").out
    assert max(map(len, screen.splitlines())) <= 100
    drawn = ElementTree.fromstring(run("walk", "hall.rig", "--as", "svg").out)
    words = [each.text for each in drawn.iter() if each.tag.endswith("text")]
    assert "one side crossed" in words


@pytest.mark.parametrize(
    ("words", "said"),
    [(("--tone", "2 kHz"), "--tone takes 20 Hz to 100 Hz"), (("--at", "soon"), "--at takes 0.5 m to 50 m")],
)
def test_a_tone_or_a_distance_that_is_none_is_refused(
    folder: Path, run: Run, words: tuple[str, str], said: str
) -> None:
    (folder / "hall.rig").write_text(rig(PAIR), encoding="utf-8")
    ran = run("walk", "hall.rig", *words)
    assert ran.code == 2
    assert said in ran.err


def test_a_rig_without_bass_boxes_that_stand_somewhere_says_what_is_needed(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text('rig "empty" { air 20 degC }\n', encoding="utf-8")
    ran = run("walk", "hall.rig")
    assert (ran.code, "it needs `at`, a sensitivity and a feed" in " ".join(ran.out.split())) == (0, True)
