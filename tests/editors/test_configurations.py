"""The pages of all editors, and the configurations of those that no test can start."""

from __future__ import annotations

import json
import re
import tomllib
from pathlib import Path

import pytest
from tools import ROOT

from rigspec.cli.command import read_words
from rigspec.cli.commands import COMMANDS
from rigspec.server.hints import KINDS

HOME = ROOT / "editors"
FOLDERS = sorted(path for path in HOME.iterdir() if path.is_dir())
ONE_SCREEN = 50


def command(words: list[str]) -> None:
    """These words are a command of rigspec that it understands."""
    assert words[0] == "rigspec"
    read_words(COMMANDS[words[1]], words[1:])


def test_every_editor_is_there() -> None:
    assert {path.name for path in FOLDERS} == {"vscode", "neovim", "vim", "emacs", "kate", "helix"}


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_every_editor_has_a_page_of_one_screen(folder: Path) -> None:
    page = (folder / "README.md").read_text(encoding="utf-8")
    assert page.count("\n") <= ONE_SCREEN
    assert re.findall(r"^## (.*)$", page, re.MULTILINE) == ["Install", "What you get", "Turn parts off"]
    assert f"({folder.name}/README.md)" in (HOME / "README.md").read_text(encoding="utf-8")


@pytest.mark.parametrize("folder", FOLDERS, ids=lambda folder: folder.name)
def test_files_that_a_page_names_are_there(folder: Path) -> None:
    page = (folder / "README.md").read_text(encoding="utf-8")
    for name in re.findall(r"editors/([\w./-]+)", page):
        assert (HOME / name).exists(), name
    for name in re.findall(r"`([\w-]+\.(?:json|xml))`", page):
        assert (folder / name).exists(), name


def test_helix() -> None:
    told = tomllib.loads((HOME / "helix/languages.toml").read_text(encoding="utf-8"))
    server = told["language-server"]["rigspec"]
    command([server["command"], *server["args"]])
    assert list(server["config"]["hints"]) == list(KINDS)
    (language,) = told["language"]
    assert language["language-servers"] == ["rigspec"]
    assert language["file-types"] == ["rig"]
    # The keys that Helix' manual has, "Languages": others would be left without a word. The form is the server's, which
    # knows what file a text is; a `formatter` would come before it.
    assert set(server) <= {"command", "args", "config", "timeout", "environment", "required-root-patterns"}
    assert set(language) <= {
        "name", "language-id", "scope", "file-types", "roots", "auto-format", "comment-token", "indent",
        "language-servers", "text-width", "rulers",
    }  # fmt: skip
    assert set(language["indent"]) == {"tab-width", "unit"}
    assert language["scope"].startswith("source.")


def test_kate() -> None:
    server = json.loads((HOME / "kate/lsp-settings.json").read_text(encoding="utf-8"))["servers"]["rig"]
    command(server["command"])
    assert list(server["initializationOptions"]["hints"]) == list(KINDS)
    name = re.search(r'<language name="(\w+)"', (HOME / "kate/rig.xml").read_text(encoding="utf-8"))
    assert name is not None
    assert re.fullmatch(server["highlightingModeRegex"], name[1])


def test_vs_code_and_neovim_can_turn_off_every_sort_of_hint() -> None:
    manifest = json.loads((HOME / "vscode/package.json").read_text(encoding="utf-8"))
    settings = manifest["contributes"]["configuration"]["properties"]
    assert [name for kind in KINDS if (name := f"rigspec.hints.{kind}") not in settings] == []
    page = (HOME / "neovim/README.md").read_text(encoding="utf-8")
    assert [kind for kind in KINDS if f"{kind} = false" not in page] == []
