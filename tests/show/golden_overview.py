"""The screens of some samples, kept in ``golden_overview/``."""

from __future__ import annotations

from pathlib import Path

from rigspec.check import Report, check
from rigspec.show.overview import overview as overview
from rigspec.text.source import Refused, Source

HERE = Path(__file__).parent
ROOT = HERE.parents[1]
GOLDEN = HERE / "golden_overview"
SHOWN = ("festival-stage.rig", "theatre-panels.rig", "powered-boxes.rig", "opposed-bass.rig", "wrong/wrong-rig.rig")


def load(using: str, used: str) -> Source | Refused:
    path = ROOT / Path(using).parent / used
    inside = Path(using).parent / used
    return Source(str(inside), path.read_text("utf-8")) if path.is_file() else Refused(used, "it does not exist")


def sample(name: str) -> Report:
    path = f"samples/{name}"
    return check(Source(path, (ROOT / path).read_text("utf-8")), load)


def golden(name: str) -> Path:
    return GOLDEN / f"{Path(name).stem}.txt"
