"""What holds for every wiring, whatever is wrong with its rig."""

from __future__ import annotations

from pathlib import Path

import pytest

from rigspec.check import check
from rigspec.figures.trace import trace
from rigspec.text.source import Refused, Source

ROOT = Path(__file__).parents[1]
RIGS = sorted([*(ROOT / "rules" / "rigs").rglob("*.rig"), *(ROOT.parent / "samples").rglob("*.rig")])


def beside(using: str, used: str) -> Source | Refused:
    path = Path(using).parent / used
    return Source(str(path), path.read_text(encoding="utf-8")) if path.is_file() else Refused(used, "not there")


@pytest.mark.parametrize("path", RIGS, ids=lambda path: path.stem)
def test_each_joint_is_entered_once_so_that_no_two_outputs_reach_it(path: Path) -> None:
    wiring = check(Source(str(path), path.read_text(encoding="utf-8")), beside).figures.rig.wiring
    entered = [piece.b for piece in wiring.pieces]
    entered += [start for series in wiring.series for start in series.branches]
    entered += [output.joint for output in wiring.outputs.values()]
    assert len(entered) == len(set(entered))
    reached = [joint for run in trace(wiring).runs.values() for joint in run.conductors]
    assert len(reached) == len(set(reached))
