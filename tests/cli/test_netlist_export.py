"""`rigspec netlist` and `rigspec export`, as they are typed."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator
from running import CLEAN, SLIP, Run

ROOT = Path(__file__).parents[2]
RIG = """\
rig "Lantern parade, quay" { mains 230 V 50 Hz }
stock amp twin { channels 2; rated 400 W at 4 ohm, 250 W at 8 ohm; least-load 4 ohm; gain 29 dB }
stock speaker box { impedance 8 ohm }
feed desk { level 4 dBu }
amp tops is twin { attenuator -12 dB }
speaker left is box
speaker right is box
desk -> tops.1 -> lead 2.5 mm2 10 m -> left
desk -> tops.2 -> lead 2.5 mm2 12 m -> right
"""


@pytest.fixture
def hall(folder: Path) -> str:
    (folder / "hall.rig").write_text(RIG, encoding="utf-8")
    return "hall.rig"


# ---- netlist


def test_a_netlist_is_written_for_all_channels_or_for_those_that_are_named(hall: str, run: Run) -> None:
    ran = run("netlist", hall)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("* Lantern parade, quay: the loudspeaker side, by rigspec ")
    assert ran.out.endswith("\n.end\n")
    for piece in ("output 1: tops.1", "output 2: tops.2", "lead 2: lead 2.5 mm2 12 m, hall.rig line 9", "8.15960 ohm"):
        assert piece in ran.out, piece
    alone = run("netlist", hall, "tops.2")
    assert alone.code == 0
    assert "tops.1" not in alone.out
    assert run("netlist", hall, "tops").out == ran.out


def test_a_netlist_comes_from_standard_input_too(run: Run) -> None:
    ran = run("netlist", "-", "--name", "quay.rig", stdin=RIG.encode())
    assert ran.code == 0
    assert "from quay.rig" in ran.out


@pytest.mark.parametrize(
    ("words", "piece"),
    [
        (("tops.3",), "no amplifier channel tops.3 drives loudspeakers"),
        (("left",), "no amplifier channel left drives loudspeakers"),
        (("--csv",), "netlist has no option --csv"),
    ],
)
def test_what_is_asked_for_and_is_not_there_is_told(words: tuple[str, ...], piece: str, hall: str, run: Run) -> None:
    ran = run("netlist", hall, *words)
    assert (ran.code, ran.out) == (2, "")
    assert piece in ran.err


def test_a_channel_whose_load_is_not_known_is_told_why(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(RIG.replace("impedance 8 ohm", "weight 9 kg"), encoding="utf-8")
    ran = run("netlist", "hall.rig", "tops.1")
    assert ran.code == 2
    assert "tops.1 has no known load: the impedance of left is not given" in ran.err
    whole = run("netlist", "hall.rig")
    assert (whole.code, whole.out) == (2, "")
    assert "so there is no network to write" in whole.err


def test_a_rig_without_amplifiers_has_no_netlist(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(CLEAN, encoding="utf-8")
    ran = run("netlist", "hall.rig")
    assert (ran.code, ran.out) == (2, "")
    assert "no amplifier channel of hall.rig drives loudspeakers" in ran.err


@pytest.mark.parametrize("command", ["netlist", "export"])
def test_a_rig_with_errors_is_written_as_far_as_it_goes_and_that_is_told(command: str, folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(RIG + SLIP, encoding="utf-8")
    ran = run(command, "hall.rig")
    assert ran.code == 1
    assert "tops.1" in ran.out
    assert "hall.rig has an error" in ran.err
    missing = run(command, "nowhere.rig")
    assert missing.code == 2
    assert "it does not exist" in missing.err + missing.out


# ---- export


def test_an_export_is_what_the_printed_schema_says(hall: str, run: Run) -> None:
    printed = run("export", "--schema")
    assert (printed.code, printed.err) == (0, "")
    ran = run("export", hall)
    assert (ran.code, ran.err) == (0, "")
    document = json.loads(ran.out)
    Draft202012Validator(json.loads(printed.out)).validate(document)
    assert document["format"] == "rigspec-export"
    assert document["files"] == [hall]
    assert document["figures"]["tables"]["channels"][0]["load_ohm"] == pytest.approx(8.1596)


def test_there_is_one_form_and_several_ways_to_ask_for_it(hall: str, run: Run) -> None:
    plain = run("export", hall).out
    assert run("export", hall, "--json").out == plain
    assert run("export", hall, "--as", "json").out == plain
    ran = run("export", hall, "--as", "xml")
    assert ran.code == 2
    assert "--as takes json, not xml" in ran.err


def test_the_order_is_the_same_in_every_process(hall: str, folder: Path) -> None:
    texts = {
        subprocess.run(
            [sys.executable, "-m", "rigspec", "export", hall],
            cwd=folder,
            capture_output=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2", "3")
    }
    assert len(texts) == 1


def test_a_command_line_that_is_wrong_is_told(hall: str, run: Run) -> None:
    ran = run("export")
    assert (ran.code, ran.out) == (2, "")
    assert "export needs a FILE" in ran.err
    assert "takes no FILE" in run("export", hall, "--schema").err
    told = run("export", "--json")
    assert told.code == 2
    assert json.loads(told.out)["findings"][0]["message"] == "export needs a FILE"
    nowhere = run("export", "nowhere.rig")
    assert (nowhere.code, nowhere.err) == (2, "")
    assert json.loads(nowhere.out)["format"] == "rigspec-findings"
