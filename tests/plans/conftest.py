"""Rigspec as a process of its own, in a folder of its own."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

Run = Callable[..., "subprocess.CompletedProcess[str]"]


@pytest.fixture
def run(tmp_path: Path) -> Run:
    (tmp_path / ".rigspec").touch()  # here begins the project

    def process(*words: str) -> subprocess.CompletedProcess[str]:
        command = [sys.executable, "-m", "rigspec", *words]
        return subprocess.run(command, cwd=tmp_path, capture_output=True, text=True, timeout=60, check=False)

    return process
