"""What the table about mains says of what it cannot judge, from rig text."""

from __future__ import annotations

import pytest

from rigspec.check import check
from rigspec.show.tables import QUESTIONS
from rigspec.text.source import Refused, Source

RIG = (
    'rig "r" { mains 120 V 60 Hz; code nec }\nfeed f { level 0 dBu }\nspeaker s is active\nf -> s\n'
    "mains m { supply 120 V; breaker 15 A CURVE; residual 5 mA; lead 14 AWG 30 ft }\nm -> lead 14 AWG 6 ft -> s\n"
    "stock speaker active { powered; input 20 kohm; draw 300 W; power-factor 0.7; inrush INRUSH; mains 120 V }\n"
)


@pytest.mark.parametrize(
    ("curve", "inrush", "said"), [("", "210 A", True), ("C", "40 A", False), ("", "0.001 A", True)]
)
def test_a_breaker_without_a_curve_is_said_not_to_be_judged_by_its_inrush(curve: str, inrush: str, said: bool) -> None:
    text = RIG.replace("CURVE", curve).replace("INRUSH", inrush)
    worked = check(Source("rig.rig", text), lambda path, used: Refused(used, "nothing is used here"))
    note = QUESTIONS["mains"].note
    assert note is not None
    notes = note(worked.figures)
    assert ("No curve is given for the breaker of m: its inrush is not judged." in notes) is said
    assert not [finding for finding in worked.findings if finding.rule == "inrush-high"]
