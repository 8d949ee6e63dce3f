"""``rigspec draw`` as it is typed: views, forms, files, exit codes."""

from __future__ import annotations

import sys
from pathlib import Path

import pytest
from running import Run

TEXT = """\
stock speaker one { impedance 8 ohm; rated 400 W continuous }
stock amp two { channels 2; rated 400 W at 4 ohm, 220 W at 8 ohm; least-load 2 ohm; gain 32 dB }
feed f
amp a is two { attenuator -12 dB }
speaker s[1..2] is one { at 1 m, 2 m }
f -> a.1 -> lead 4 mm2 9 m -> s[1..2] linked 2.5 mm2 1 m
spare a.2
"""


@pytest.fixture
def hall(folder: Path) -> Path:
    file = folder / "hall.rig"
    file.write_text(TEXT, encoding="utf-8")
    return file


@pytest.mark.usefixtures("hall")
def test_the_path_goes_to_standard_output_or_into_a_file(folder: Path, run: Run) -> None:
    ran = run("draw", "hall.rig")
    assert ran.code == 0
    assert ran.out.startswith("<?xml")
    assert "s[1..2]" in ran.out
    assert run("draw", "hall.rig", "-o", "hall.svg").out == "wrote hall.svg\n"
    assert (folder / "hall.svg").read_text(encoding="utf-8") == ran.out
    assert "4 mm2 9 m" in ran.out
    assert "<script" not in ran.out


@pytest.mark.usefixtures("hall")
@pytest.mark.parametrize(("ending", "magic"), [("png", b"\x89PNG"), ("pdf", b"%PDF"), ("PNG", b"\x89PNG")])
def test_the_ending_says_the_form(folder: Path, run: Run, ending: str, magic: bytes) -> None:
    assert run("draw", "hall.rig", "-o", f"hall.{ending}").code == 0
    assert (folder / f"hall.{ending}").read_bytes().startswith(magic)


@pytest.mark.usefixtures("hall")
def test_loads_powers_and_the_plan_are_asked_for(run: Run) -> None:
    plain, more = run("draw", "hall.rig").out, run("draw", "hall.rig", "--show", "loads, powers").out
    assert "4.1 ohm" not in plain
    assert " ohm" in more
    assert "up to" in more
    plan = run("draw", "hall.rig", "--view", "plan").out
    assert "plan" in plan
    assert plan not in (plain, more)


@pytest.mark.usefixtures("hall")
@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("-o", "hall.jpg"), "a drawing is written as .svg, .png, .pdf"),
        (("--show", "load"), "a drawing of the path cannot show load"),
        (("--show", "distances"), "it goes with --view plan"),
        (("--view", "plan", "--show", "loads"), "it goes with --view path"),
        (("--view", "side"), "side"),
        (("-o", "nowhere/hall.svg"), "nowhere/hall.svg cannot be written"),
    ],
)
def test_what_cannot_be_drawn_is_said(run: Run, arguments: tuple[str, ...], words: str) -> None:
    ran = run("draw", "hall.rig", *arguments)
    assert ran.code == 2
    assert words in ran.err
    assert ran.out == ""


def test_errors_give_a_drawing_and_exit_code_1(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(TEXT.replace("s[1..2] linked", "t[1..2] linked"), encoding="utf-8")
    ran = run("draw", "hall.rig")
    assert ran.code == 1
    assert "name-unknown, line 6" in ran.out
    assert "do not build from its drawing" in ran.err


def test_no_plan_without_places(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(TEXT.replace("{ at 1 m, 2 m }", ""), encoding="utf-8")
    ran = run("draw", "hall.rig", "--view", "plan")
    assert ran.code == 2
    assert "no plan to draw" in ran.err


@pytest.mark.usefixtures("hall")
def test_a_missing_library_is_said_with_its_cure(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "svg", None)
    for words in (("draw", "hall.rig"), ("supply", "hall.rig", "--as", "svg")):
        ran = run(*words)
        assert (ran.code, ran.out) == (2, "")
        assert "pip install 'rigspec[draw]'" in ran.err
    monkeypatch.undo()


def test_a_file_that_is_not_there(run: Run) -> None:
    assert run("draw", "gone.rig").code == 2
