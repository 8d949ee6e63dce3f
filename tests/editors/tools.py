"""The programs that editors are: where they are, and how they are run."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PACKAGES = {
    "nvim": "neovim",
    "vim": "vim",
    "emacs": "emacs-nox",
    "kate-syntax-highlighter": "libkf5syntaxhighlighting-tools",
    "node": "nodejs",
    "npm": "npm",
    "git": "git",
}


def tool(name: str) -> str:
    """The path of a program. The test fails where it is missing: no real client is left out."""
    found = shutil.which(name)
    if found is None:
        pytest.fail(f"`{name}` is missing: run .ci/tools, or install the Debian package {PACKAGES[name]}")
    return found


def environment(home: Path, **more: str) -> dict[str, str]:
    """A bare environment with a home of its own, in which `rigspec` is the one under test."""
    kept = {name: os.environ[name] for name in ("LANG", "TMPDIR", "NODE_EXTRA_CA_CERTS") if name in os.environ}
    paths = [str(Path(sys.executable).parent), os.environ.get("PATH", "/usr/bin:/bin")]
    own = {f"XDG_{name}_HOME": str(home / name.lower()) for name in ("CONFIG", "DATA", "STATE", "CACHE")}
    return {
        **kept,
        **own,
        "PATH": os.pathsep.join(paths),
        "HOME": str(home),
        "LC_ALL": "C.UTF-8",
        "TERM": "xterm",
        **more,
    }


def run(
    words: Sequence[str], home: Path, cwd: Path, *, timeout: float = 60, fine: bool = True, **more: str
) -> subprocess.CompletedProcess[str]:
    """Run a program to its end; with ``fine`` it has to succeed, and what it said is shown where it does not."""
    program = tool(words[0]) if words[0] in PACKAGES else words[0]
    done = subprocess.run(
        [program, *words[1:]],
        cwd=cwd,
        env=environment(home, **more),
        stdin=subprocess.DEVNULL,
        capture_output=True,
        encoding="utf-8",
        timeout=timeout,
        check=False,
    )
    if fine:
        assert done.returncode == 0, f"{' '.join(words)}\n{done.stdout}\n{done.stderr}"
    return done


def wrong_rig(folder: Path) -> Path:
    """A copy of the samples in a project of its own; the path of the wrong one."""
    shutil.copytree(ROOT / "samples", folder / "samples")
    (folder / ".rigspec").touch()
    return folder / "samples" / "wrong" / "wrong-rig.rig"


def colours(found: Mapping[tuple[int, int], str], expected: Sequence[tuple[int, int, str, str, set[str]]]) -> list[str]:
    """The pieces that have another colour than one of those that suit them."""
    return [
        f"{line + 1}:{column + 1} `{text}` is {what} but coloured as {found.get((line, column), '')!r}"
        for line, column, text, what, right in expected
        if found.get((line, column), "") not in right
    ]
