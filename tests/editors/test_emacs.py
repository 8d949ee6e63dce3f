"""Emacs itself, in batch, with our mode, eglot and the real server: flymake shows what `rigspec check` says."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from checked import findings
from tools import ROOT, run, wrong_rig

MODE = ROOT / "editors" / "emacs" / "rig-mode.el"
DRIVER = Path(__file__).with_name("emacs.el")
TYPES = {"error": "eglot-error", "warning": "eglot-warning", "advice": "eglot-note"}


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    folder = tmp_path_factory.mktemp("emacs")
    rig = wrong_rig(folder)
    checked = findings(rig)
    says = folder / "says.json"
    own = {"RIG": rig, "RIGHT": folder / "samples" / "two-box-hall.rig", "MODE": MODE, "SAYS": says}
    environment = {name: str(path) for name, path in own.items()}
    run(["emacs", "-Q", "--batch", "-l", str(DRIVER)], folder, rig.parent, EXPECTED=str(len(checked)), **environment)
    told: dict[str, Any] = json.loads(says.read_text(encoding="utf-8"))
    assert "trouble" not in told, told["trouble"]
    return {**told, "checked": checked}


def test_flymake_lists_what_check_says(shown: dict[str, Any]) -> None:
    wanted = sorted(
        (each["start"]["line"] - 1, each["start"]["column"] - 1, TYPES[each["severity"]], each["message"])
        for each in shown["checked"]
    )
    assert len(wanted) >= 8
    found = sorted((*each["start"], each["type"], each["text"]) for each in shown["first"])
    assert [each[:3] for each in found] == [each[:3] for each in wanted]
    for (*_, text), (*_, message) in zip(found, wanted, strict=True):
        assert message in text


def test_of_a_place_it_says_first_what_is_wrong_there_and_then_how_its_figures_come_about(
    shown: dict[str, Any],
) -> None:
    wrong, figures = shown["said"]
    assert "bass.1 works into 2.06 ohm" in wrong
    assert figures.startswith("bass: an amplifier, `twin-900`\n\n- bass.1: load 2.06 ohm")


def test_a_fix_makes_the_finding_go(shown: dict[str, Any]) -> None:
    assert shown["fixed"] == "xo.3 -> tops.2 -> lead 2.5 mm2 10 m -> top_right"


def test_the_canonical_form_by_the_server_and_without(shown: dict[str, Any]) -> None:
    assert shown["formatted"] == shown["plain"] == 'feed extra { level 4 dBu; label "🔊 Ω" }'


def test_lines_are_indented_and_commented_as_the_canonical_form_has_them(shown: dict[str, Any]) -> None:
    assert shown["mode"]["indented"] == "amp bass is twin-900 {\n  attenuator -12 dB\n}\n"
    assert shown["mode"]["commented"] == "# amp bass is twin-900 {"


def test_saving_formats_where_it_is_wished(shown: dict[str, Any]) -> None:
    assert shown["mode"]["saved"] == ["feed   left\n", "feed left\n"]


def test_the_server_is_started_where_it_is_wished_and_there(shown: dict[str, Any]) -> None:
    assert shown["mode"]["started"] == 1


def test_the_server_is_told_which_figures_are_wanted(shown: dict[str, Any]) -> None:
    told = [json.loads(each)["initializationOptions"]["hints"] for each in shown["mode"]["contacts"]]
    assert told == [True, False, {"loss": False}]


def test_compile_checks_the_folder_line_by_line(shown: dict[str, Any]) -> None:
    assert shown["mode"]["compile"] == "rigspec check --as line ."


def test_a_right_rig_has_no_findings(shown: dict[str, Any]) -> None:
    assert shown["right"] == []


def test_the_mode_compiles_without_a_warning(tmp_path: Path) -> None:
    copy = tmp_path / "rig-mode.el"
    copy.write_bytes(MODE.read_bytes())
    command = [
        "emacs",
        "-Q",
        "--batch",
        "--eval",
        "(setq byte-compile-error-on-warn t)",
        "-f",
        "batch-byte-compile",
    ]
    run([*command, str(copy)], tmp_path, tmp_path)
