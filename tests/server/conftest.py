"""Texts with a cursor in them: \u2038 stands where the cursor is, and is taken out."""

from __future__ import annotations

from pathlib import Path

import pytest
from served import STOCK, Look

from rigspec.server.snapshot import Snapshot
from rigspec.server.workspace import Workspace


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A project folder with some stock in it."""
    (tmp_path / ".rigspec").touch()
    (tmp_path / "house.rig").write_text(STOCK, encoding="utf-8")
    return tmp_path


@pytest.fixture
def desk(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Workspace:
    """An editor's desk in that folder."""
    monkeypatch.chdir(folder)
    return Workspace()


@pytest.fixture
def look(desk: Workspace, tmp_path: Path) -> Look:
    """Open a text; what the editor sees of it, and where its cursor is (``\u2038`` marks it)."""

    def looked(text: str, name: str = "hall.rig") -> tuple[Snapshot, int]:
        offset = text.find("\u2038")
        uri = (tmp_path / name).as_uri()
        desk.open(uri, text.replace("\u2038", ""), 1)
        sight = desk.sight(uri)
        assert sight is not None
        return sight, offset

    return looked
