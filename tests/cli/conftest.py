"""A folder of its own for every test, and rigspec run in this process or as a process."""

import io
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from attrs import frozen

from rigspec.cli.main import main

CLEAN = 'rig "hall" { mains 230 V 50 Hz }\n'
SLIP = "amp\n"
UNTIDY = 'rig   "hall"   {mains 230 V 50 Hz}\n'


@frozen
class Ran:
    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    for name in ("NO_COLOR", "RIGSPEC_DEBUG", "PYTHONUNBUFFERED", "PYTHONIOENCODING"):
        monkeypatch.delenv(name, raising=False)
    return tmp_path


@pytest.fixture
def run(capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch) -> Run:
    """Run rigspec in this process; ``stdin`` are the bytes that come in."""

    def ran(*arguments: str, stdin: bytes = b"") -> Ran:
        monkeypatch.setattr(sys, "stdin", io.TextIOWrapper(io.BytesIO(stdin)))
        code = main(arguments)
        return Ran(code, *capsys.readouterr())

    return ran


def process(*arguments: str | Path, stdin: bytes = b"", timeout: float = 20) -> "subprocess.CompletedProcess[bytes]":
    """Run rigspec as a process of its own."""
    command = [sys.executable, "-m", "rigspec", *map(str, arguments)]
    return subprocess.run(command, input=stdin, capture_output=True, timeout=timeout, check=False)
