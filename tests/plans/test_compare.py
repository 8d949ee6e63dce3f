"""`rigspec compare`: plans worked out by hand, and what must be said of them."""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from rigspec.check import check
from rigspec.plans.comparing import compared, steps, verdict
from rigspec.plans.plan import Plan, plan
from rigspec.text.source import Refused, Source

Run = Callable[..., "subprocess.CompletedProcess[str]"]
ROOT = Path(__file__).parents[2]
GOLDEN = Path(__file__).with_name("golden_compare.txt")
STOCK = """
stock amp even { channels 2; rated 400 W at 4 ohm, 200 W at 8 ohm; least-load 4 ohm; gain 32 dB; weight 10 kg }
stock speaker box { impedance 8 ohm; rated 400 W continuous, 1600 W peak; weight 20 kg }
feed f { level -10 dBu; peak 0 dBu }
amp a is even
"""
ONE = "speaker s is box\nf -> a.1 -> s\nspare a.2\n"
TWO = "speaker s[1..2] is box\nf -> a.1 -> s[1..2] linked 0 m\nspare a.2\n"
TWO = TWO.replace(" linked 0 m", " linked 1000 mm2 1 mm")  # so short and stout that it takes nothing
THREE = TWO.replace("1..2", "1..3")


def planned(rig: str, path: str = "p.rig") -> Plan:
    return plan(check(Source(path, STOCK + rig), lambda _, used: Refused(used, "there is none")))


def sample(name: str) -> Plan:
    path = ROOT / "samples" / "plans" / f"{name}.rig"

    def load(user: str, used: str) -> Source | Refused:
        return Source(used, (path.parent / used).read_text(encoding="utf-8"))

    return plan(check(Source(f"{name}.rig", path.read_text(encoding="utf-8")), load))


def page() -> str:
    return compared([sample(name) for name in ("dual", "opposed", "bridged")])


def test_a_second_box_doubles_the_power_and_is_heard() -> None:
    """By hand: 200 W into 8 ohm, 400 W into the 4 ohm of two: 200 W each, twice as much in all, 10 log 2 = 3.01 dB."""
    one, two = planned(ONE), planned(TWO)
    assert [plan.facts["into box"].text for plan in (one, two)] == [
        "1 x 200 W, 50 % of rating",
        "2 x 200 W, 50 % of rating",
    ]
    assert [plan.facts["least load"].text for plan in (one, two)] == ["8.00 ohm, stands 4", "4.00 ohm, stands 4"]
    (step,) = steps(one, two)
    assert step.step_db == pytest.approx(3.01, abs=0.01)
    assert verdict(one, two).startswith("works; 3.0 dB louder than the first: clearly heard")
    assert verdict(two, one).startswith("works; 3.0 dB softer than the first: clearly heard")
    assert verdict(one, planned(ONE)).startswith("works; as loud as the first")
    assert [plan.facts["weight kg"].text for plan in (one, two)] == ["30", "50"]


def test_a_plan_that_breaks_a_limit_is_not_praised() -> None:
    one, three = planned(ONE), planned(THREE)
    assert three.facts["least load"].breaks
    said = verdict(one, three)
    assert said.startswith("does not work, 1 error: a.1 works into 2.67 ohm, less than the 4 ohm it stands")
    assert "louder" not in said


def test_what_is_the_same_in_all_is_said_once() -> None:
    table, *rest = compared([planned(ONE, "one.rig"), planned(TWO, "two.rig")]).split("\n\n")
    assert "findings none" in rest[0]
    assert rest[0].startswith("Same in all: ")
    assert not any(line.startswith("findings") for line in table.splitlines())
    assert "The plans come to the same." in compared([planned(ONE, "one.rig"), planned(ONE, "two.rig")])


def test_copper_is_both_conductors() -> None:
    """By hand: 2 x 12 m x 4 mm2 x 8960 kg/m3 = 0.86 kg."""
    lead = ONE.replace("a.1 -> s", "a.1 -> lead 4 mm2 12 m -> s")
    assert planned(lead).facts["copper"].text == "12 m, 0.9 kg"
    assert planned(lead).facts["copper"].value == pytest.approx(0.860, abs=0.001)


def test_inrush_without_a_circuit_is_that_of_all_gear_at_once() -> None:
    """By hand: two amplifiers of 30 A each."""
    two = STOCK.replace("weight 10 kg }", "weight 10 kg; inrush 30 A }") + ONE + "amp b is even\n"
    report = check(Source("p.rig", two), lambda _, used: Refused(used, "there is none"))
    assert plan(report).facts["inrush A"].text == "60, all at once"


def test_dual_opposed_and_bridged_on_one_screen() -> None:
    text = page()
    assert text == GOLDEN.read_text(encoding="utf-8"), "read the difference, then `python -m tests.golden`"
    assert all(len(line) <= 100 for line in text.splitlines())
    assert text.count("\n") <= 30


def test_the_command_tells_programs_the_same_and_gives_errors_away(run: Run, tmp_path: Path) -> None:
    for name, rig in (("one", ONE), ("three", THREE)):
        (tmp_path / f"{name}.rig").write_text(STOCK + rig, encoding="utf-8")
    ran = run("compare", "one.rig", "three.rig", "--json")
    told = json.loads(ran.stdout)
    assert (ran.returncode, told["format"], len(told["plans"])) == (1, "rigspec-compare", 2)
    assert told["plans"][1]["facts"]["least load"]["breaks"] is True
    assert told["plans"][1]["findings"]["error"] == 1
    assert "three.rig has an error" in ran.stderr


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("one.rig",), "one.rig"),
        (("one.rig", "one.rig"), "the same rig is named twice"),
        (("one.rig", "none.rig"), "none.rig"),
    ],
)
def test_what_cannot_be_compared_is_said(words: tuple[str, ...], said: str, run: Run, tmp_path: Path) -> None:
    (tmp_path / "one.rig").write_text(STOCK + ONE, encoding="utf-8")
    ran = run("compare", *words)
    assert ran.returncode == 2
    assert said in ran.stderr + ran.stdout
    assert "Traceback" not in ran.stderr
