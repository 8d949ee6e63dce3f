"""Vim itself, without a language server: its quickfix list is what `rigspec check` says, and words are coloured."""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
MISSING = "the tests need Vim: run .ci/tools, or `apt install vim`"
SETUP = "set nocompatible\nset runtimepath^={plugin}\nfiletype plugin on\nsyntax on\n"


def in_vim(folder: Path, *commands: str) -> None:
    """Run commands in a silent Vim that has our plugin alone, with this project's `rigspec` first on the path."""
    vim = shutil.which("vim")
    assert vim, MISSING
    vimrc = folder / "vimrc"
    vimrc.write_text(SETUP.format(plugin=ROOT / "editors/vim"), encoding="utf-8")
    script = folder / "bin" / "rigspec"
    script.parent.mkdir()
    script.write_text(f'#!/bin/sh\nexec {sys.executable} -m rigspec "$@"\n', encoding="utf-8")
    script.chmod(0o755)
    path = os.pathsep.join((str(script.parent), os.environ["PATH"]))
    environment = {**os.environ, "PATH": path, "PYTHONPATH": str(ROOT), "TERM": "dumb"}
    arguments = [part for command in (*commands, "qa!") for part in ("-c", command)]
    run = subprocess.run(
        [vim, "-n", "-u", str(vimrc), "-es", *arguments], cwd=folder, env=environment, timeout=60, capture_output=True
    )
    assert run.returncode == 0, run.stderr.decode() + run.stdout.decode()


@pytest.fixture
def project(tmp_path: Path) -> Path:
    shutil.copytree(ROOT / "samples", tmp_path / "samples")
    return tmp_path


def test_the_quickfix_list_is_what_check_says(project: Path) -> None:
    rig = "samples/wrong/wrong-rig.rig"
    each = 'bufname(v:val.bufnr).":".v:val.lnum.":".v:val.col.":".v:val.type.":".v:val.text'
    in_vim(project, f"edit {rig}", "silent make!", f'call writefile(map(getqflist(), {each!r}), "list")')
    shown = [line.split(":", 4) for line in (project / "list").read_text(encoding="utf-8").splitlines()]
    command = [sys.executable, "-m", "rigspec", "check", "--as", "line", rig]
    said = subprocess.run(command, cwd=project, env={**os.environ, "PYTHONPATH": str(ROOT)}, capture_output=True)
    lines = [line.split(":", 4) for line in said.stdout.decode().splitlines()]
    assert len(lines) >= 8
    assert [each[:4] for each in shown] == [
        [path, line, column, severity.strip()[0]] for path, line, column, severity, _ in lines
    ]
    assert [each[4].strip() for each in shown] == [each[4].strip() for each in lines]


def test_words_are_coloured_by_what_they_are(project: Path) -> None:
    place = "match(getline(8), '{}') + 1"
    wanted = {"feed": "rigStatement", "left": "rigNamed", "level": "rigSetting", "dBu": "rigUnit"}
    groups = ", ".join(f'synIDattr(synID(8, {place.format(word)}, 1), "name")' for word in wanted)
    in_vim(project, "edit samples/wrong/wrong-rig.rig", f'call writefile([{groups}], "groups")')
    assert (project / "groups").read_text(encoding="utf-8").split() == list(wanted.values())


def test_a_file_is_formatted_by_gq(project: Path) -> None:
    ragged = project / "ragged.rig"
    ragged.write_text("feed   left{level 4 dBu}\n", encoding="utf-8")
    in_vim(project, "edit ragged.rig", "normal! gggqG", "write")
    assert ragged.read_text(encoding="utf-8") == "feed left { level 4 dBu }\n"


def test_a_text_with_a_slip_stays_as_it_is(project: Path) -> None:
    ragged = project / "ragged.rig"
    text = "feed   left{level 4 dBu}\nfeed   right { level 4 dBu ]\n"
    ragged.write_text(text, encoding="utf-8")
    in_vim(project, "edit ragged.rig", "normal! gggqG", "redir! > said", "messages", "redir END", "write")
    assert ragged.read_text(encoding="utf-8") == text
    assert "not formatted: " in (project / "said").read_text(encoding="utf-8")
    assert "is never closed" in (project / "said").read_text(encoding="utf-8")


def test_a_part_is_formatted_alone(project: Path) -> None:
    ragged = project / "ragged.rig"
    ragged.write_text("feed   left{level 4 dBu}\nfeed   right{level 4 dBu}\nfeed   desk\n", encoding="utf-8")
    in_vim(project, "edit ragged.rig", "normal! 2Ggqq", "write")
    lines = ragged.read_text(encoding="utf-8").splitlines()
    assert lines == ["feed   left{level 4 dBu}", "feed right { level 4 dBu }", "feed   desk"]


def test_advice_is_listed_as_information(project: Path) -> None:
    (project / "said").write_text(
        "samples/two-box-hall.rig:3:5: advice: more would fit [level-low]\n", encoding="utf-8"
    )
    each = 'v:val.lnum.":".v:val.col.":".v:val.type.":".v:val.text'
    in_vim(
        project,
        "edit samples/two-box-hall.rig",
        "let &l:makeprg = 'cat said'",
        "silent make!",
        f"call writefile(map(getqflist(), {each!r}), 'list')",
    )
    assert (project / "list").read_text(encoding="utf-8") == "3:5:I:more would fit [level-low]\n"


def test_parts_can_be_turned_off_as_the_page_says(project: Path) -> None:
    page = (ROOT / "editors/vim/README.md").read_text(encoding="utf-8")
    lines = list(re.findall(r"`(autocmd FileType rig [^`]*)`", page))
    assert len(lines) == 3
    look = "call writefile([&makeprg, &formatprg, &formatexpr, &syntax], 'parts')"
    in_vim(project, *lines, "edit samples/two-box-hall.rig", look)
    assert (project / "parts").read_text(encoding="utf-8").split("\n")[:4] == ["make", "", "", "off"]
