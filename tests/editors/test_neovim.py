"""Neovim itself, headless, with our plugin and the real server: what it shows is what `rigspec check` says."""

from __future__ import annotations

import json
import subprocess
from pathlib import Path
from typing import Any

import pytest
from checked import SEVERITIES, findings, place
from tools import ROOT, run, wrong_rig

PLUGIN = ROOT / "editors" / "neovim"
SETUP = (
    "lua vim.opt.runtimepath:prepend('{plugin}')\nfiletype plugin on\nsyntax on\nset noswapfile shortmess+=A\n{more}\n"
)
DRIVER = Path(__file__).with_name("neovim.lua")
TEXTS = Path(__file__).with_name("neovim_texts.lua")


def in_neovim(
    folder: Path, file: Path, *words: str, more: str = "", **environment: str
) -> subprocess.CompletedProcess[str]:
    setup = folder / "init.vim"
    setup.write_text(SETUP.format(plugin=PLUGIN, more=more), encoding="utf-8")
    command = ["nvim", "--headless", "-n", "-i", "NONE", "-u", str(setup), *words, str(file)]
    return run(command, folder, file.parent, **environment)


@pytest.fixture(scope="module")
def shown(tmp_path_factory: pytest.TempPathFactory) -> dict[str, Any]:
    """What Neovim showed of the wrong sample, and what `check` says of it."""
    folder = tmp_path_factory.mktemp("neovim")
    rig = wrong_rig(folder)
    checked = findings(rig)
    says = folder / "says.json"
    right = folder / "samples" / "two-box-hall.rig"
    own = {"EXPECTED": str(len(checked)), "SAYS": str(says), "RIGHT": str(right), "TEXTS": str(TEXTS)}
    in_neovim(folder, rig, "--cmd", f"luafile {DRIVER}", **own)
    told: dict[str, Any] = json.loads(says.read_text(encoding="utf-8"))
    assert "trouble" not in told, told["trouble"]
    return {**told, "rig": rig, "checked": checked}


def test_its_diagnostics_are_those_of_check(shown: dict[str, Any]) -> None:
    rig = shown["rig"]
    wanted = sorted(
        (*place(rig, each["start"]), *place(rig, each["end"]), each["severity"], each["rule"], each["message"])
        for each in shown["checked"]
    )
    assert len(wanted) >= 8
    assert wanted == sorted(
        (*each["where"], SEVERITIES[each["severity"] - 1], each["rule"], each["message"]) for each in shown["first"]
    )


def test_findings_and_figures_stand_in_the_text(shown: dict[str, Any]) -> None:
    drawn = {(line, text.strip()) for line, text in shown["drawn"]}
    for each in shown["checked"]:
        line = each["start"]["line"] - 1
        assert any(at == line and each["message"] in text for at, text in drawn), each["message"]
    of_bass = " ".join(text for line, text in drawn if line == 34)
    assert "2.06 < 2.7 ohm" in of_bass


def test_a_slip_in_a_word_asks_at_once_what_was_meant(shown: dict[str, Any]) -> None:
    said = {text.strip() for line, text in shown["drawn"] if line == 45}
    assert any(text.endswith("nothing is called `top_rihgt`: did you mean `top_right`?") for text in said)


def test_findings_come_while_one_types_and_move_no_text_aside(shown: dict[str, Any]) -> None:
    assert shown["steady"] == {"while_typing": True, "signs": "yes"}


def test_a_finding_in_full_has_why_it_matters_and_what_to_change(shown: dict[str, Any]) -> None:
    first, *rest = shown["in_full"].splitlines()
    assert first == "nothing is called `top_rihgt`"
    assert "  `top_right` is declared here (line 29)" in rest
    why = next(number for number, line in enumerate(rest) if line.startswith("  why: a path or a list that names"))
    change = next(number for number, line in enumerate(rest) if line.startswith("  change: correct the name"))
    assert why < change


def test_a_fix_that_is_applied_makes_the_finding_go(shown: dict[str, Any]) -> None:
    assert shown["fixed"] == "xo.3 -> tops.2 -> lead 2.5 mm2 10 m -> top_right"


def test_columns_behind_wide_characters_are_right(shown: dict[str, Any]) -> None:
    line = 'feed extra { label "🔊 Ω"; level 4 }'
    start = len(line[: line.index("4 }")].encode())
    assert shown["wide"]["where"] == [0, start, 0, start + 1]


def test_a_rig_is_brought_into_its_canonical_form(shown: dict[str, Any]) -> None:
    assert shown["formatted"] == 'feed extra { level 4 dBu; label "🔊 Ω" }'


def test_of_a_rig_with_a_slip_it_is_said_why_it_is_not_formatted(shown: dict[str, Any]) -> None:
    assert shown["refused"].startswith("rigspec: not formatted, line 1 cannot be read: an amplifier ends too early")


def test_a_right_rig_has_no_findings(shown: dict[str, Any]) -> None:
    assert shown["right"] == []


@pytest.mark.parametrize(
    ("options", "wanted"),
    [
        ("{ server = false }", {"clients": 0, "findings": 0, "figures": 0}),
        ("{ findings = false, hints = false }", {"clients": 1, "findings": 0, "figures": 0}),
        ("{ hints = { load = false, margin = false } }", {"clients": 1, "findings": 1, "figures": 1}),
        ("{ cmd = { '/nowhere/rigspec' } }", {"clients": 0, "findings": 0, "figures": 0}),
    ],
)
def test_parts_can_be_turned_off(tmp_path: Path, options: str, wanted: dict[str, int]) -> None:
    rig = wrong_rig(tmp_path)
    says = tmp_path / "says"
    look = f"""
        vim.wait({5000 if wanted["clients"] else 600}, function() return #vim.diagnostic.get(0) > 0 end, 20)
        vim.wait(400)
        local texts = vim.tbl_map(function(each) return each[2] end, dofile('{TEXTS}')())
        local all = table.concat(texts, '\\n')
        local found = {{
          clients = #vim.lsp.get_active_clients(),
          findings = all:find('nothing is called', 1, true) and 1 or 0,
          figures = all:find(' W', 1, true) and all:find('normal', 1, true) and 1 or 0,
          loads = (all:find(' ≥ ', 1, true) or all:find('8.05 ohm', 1, true)) and 1 or 0,
        }}
        vim.fn.writefile({{ vim.fn.json_encode(found) }}, '{says}')
    """
    script = tmp_path / "look.lua"
    script.write_text(look, encoding="utf-8")
    done = in_neovim(tmp_path, rig, "-c", f"luafile {script}", "-c", "qa!", more=f"lua vim.g.rigspec = {options}")
    told = json.loads(says.read_text(encoding="utf-8"))
    assert told == {**wanted, "loads": 0}
    assert ("pip install" in done.stderr) == ("nowhere" in options), done.stderr


def test_colours_come_without_a_server(tmp_path: Path) -> None:
    rig = wrong_rig(tmp_path)
    says = tmp_path / "says"
    look = f"call writefile([&filetype, synIDattr(synID(8, 1, 1), 'name'), &formatprg, &makeprg], {str(says)!r})"
    in_neovim(tmp_path, rig, "-c", look, "-c", "qa!", more="lua vim.g.rigspec = { server = false }")
    told = says.read_text(encoding="utf-8").splitlines()
    assert told == ["rig", "rigStatement", "rigspec format -", "rigspec check --as line %:S"]
