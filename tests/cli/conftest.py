"""A folder of its own for every test, and rigspec run in this process."""

import io
import sys
from pathlib import Path

import pytest
from running import Ran, Run

from rigspec.cli.main import main


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
