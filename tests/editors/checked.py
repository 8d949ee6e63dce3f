"""What `rigspec check` says of a file, as the editors' lists are held against it."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Any

from tools import run

PROGRAM = str(Path(sys.executable).parent / "rigspec")
SEVERITIES = ("error", "warning", "advice")


def findings(rig: Path) -> list[dict[str, Any]]:
    """All findings in this file, as `--as json` tells them."""
    said = run([PROGRAM, "check", "--as", "json", str(rig)], rig.parent, rig.parent, fine=False)
    own: list[dict[str, Any]] = json.loads(said.stdout)["findings"]
    return [each for each in own if rig.parent.joinpath(each["path"]).resolve() == rig.resolve()]


def place(rig: Path, at: dict[str, int]) -> tuple[int, int]:
    """A place as line and byte, both from 0."""
    line = rig.read_text(encoding="utf-8").splitlines()[at["line"] - 1] if at["line"] else ""
    return at["line"] - 1, len(line[: at["column"] - 1].encode())
