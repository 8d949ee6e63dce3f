"""The command `rigspec serve`: what it says without its extra, and that it leaves when its editor does."""

from __future__ import annotations

import os
import pty
import subprocess
import sys
from pathlib import Path

import pytest

from rigspec.cli.main import main
from rigspec.server.workspace import path_of

WITHOUT = """
import sys
for name in ("pygls", "lsprotocol", "cattrs"):
    sys.modules[name] = None
from rigspec.cli.main import main
sys.exit(main(["serve"]))
"""


def test_without_the_extra_it_says_in_one_line_how_to_install_it() -> None:
    ran = subprocess.run([sys.executable, "-c", WITHOUT], capture_output=True, text=True, timeout=30, check=False)
    assert ran.returncode == 2
    assert ran.stdout == ""
    said = "rigspec: the language server needs pygls, which is not installed: pip install 'rigspec[serve]'\n"
    assert ran.stderr == said


def test_no_other_command_loads_the_protocol() -> None:
    look = "import sys; from rigspec.cli.main import main; main(['check', '--help']); sys.exit('pygls' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", look], capture_output=True, timeout=30, check=False).returncode == 0


@pytest.mark.parametrize("words", [[], ["--stdio"]])  # some editors add the word by themselves
def test_it_ends_when_its_input_does(tmp_path: Path, words: list[str]) -> None:
    command = [sys.executable, "-m", "rigspec", "serve", *words]
    ran = subprocess.run(command, cwd=tmp_path, input=b"", capture_output=True, timeout=30, check=False)
    assert (ran.returncode, ran.stdout) == (0, b"")


def test_at_a_terminal_it_says_that_an_editor_starts_it() -> None:
    ours, theirs = pty.openpty()
    command = [sys.executable, "-m", "rigspec", "serve"]
    ran = subprocess.run(command, stdin=theirs, capture_output=True, text=True, timeout=30, check=False)
    os.close(ours)
    os.close(theirs)
    assert (ran.returncode, ran.stdout) == (2, "")
    assert ran.stderr.startswith("rigspec: serve talks to an editor, which starts it by itself")


def test_it_takes_no_words(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["serve", "hall.rig"]) == 2
    assert "serve takes no" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("uri", "path"),
    [
        ("file:///rigs/a%20%CE%A9.rig", "/rigs/a \u03a9.rig"),
        ("file:///c%3A/rigs/a.rig", "c:/rigs/a.rig"),
        ("untitled:Untitled-1", "Untitled-1"),
    ],
)
def test_a_uri_is_the_path_of_a_file(uri: str, path: str) -> None:
    assert path_of(uri) == path
