"""Texts with a cursor in them: \u2038 stands where the cursor is, and is taken out."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from rigspec.server.desk import Desk
from rigspec.server.sight import Sight

STOCK = """\
stock amp twin-900 { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; least-load 2.7 ohm; gain 32 dB }
stock speaker reflex-18 { impedance 8 ohm; rated 600 W continuous, 2400 W peak; band 35 Hz to 120 Hz }
stock speaker two-way { low { impedance 8 ohm }; high { impedance 8 ohm } }
stock lead thick-pair { size 4 mm2; length 10 m }
stock processor cross-24 { inputs 2; outputs 4 }
"""
RIG = """\
use "house.rig"
feed send { level 4 dBu; peak 17 dBu; source 100 ohm; band 35 Hz to 95 Hz }
amp bass is twin-900 { attenuator -12 dB }
speaker sub[1..2] is reflex-18
send -> bass.1 -> lead 2.5 mm2 15 m -> sub[1..2] linked 2.5 mm2 2 m
spare bass.2
"""
Look = Callable[..., tuple[Sight, int]]


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Desk:
    """An editor's desk in a project folder with some stock in it."""
    monkeypatch.chdir(tmp_path)
    (tmp_path / ".rigspec").touch()
    (tmp_path / "house.rig").write_text(STOCK, encoding="utf-8")
    return Desk()


@pytest.fixture
def look(desk: Desk, tmp_path: Path) -> Look:
    """Open a text; what the editor sees of it, and where its cursor is (``\u2038`` marks it)."""

    def looked(text: str, name: str = "hall.rig") -> tuple[Sight, int]:
        offset = text.find("\u2038")
        uri = (tmp_path / name).as_uri()
        desk.open(uri, text.replace("\u2038", ""), 1)
        sight = desk.sight(uri)
        assert sight is not None
        return sight, offset

    return looked
