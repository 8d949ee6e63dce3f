"""What a slip's message shows is typed in: the slip is gone, and nothing new is there."""

from __future__ import annotations

import re

import pytest
from rig_checks import check_text

RIG = """rig "cures" {{ mains 230 V 50 Hz }}
stock amp twin {{
  channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; least-load 4 ohm; gain 32 dB; input 20 kohm; input-peak 22 dBu
  mains 220 V to 240 V; idle 35 W; efficiency 70 %; stage full-bridge; power-factor 0.9
}}
stock speaker box {{
  impedance 8 ohm; curve 50 Hz 20 ohm, 200 Hz 7 ohm, 9 kHz 12 ohm; rated 900 W continuous, 3600 W peak
}}
feed desk {{ {feed} }}
amp a is twin {{ {amp} }}
speaker s is box
spare a.2
mains wall {{ {mains} }}
wall -> a
desk -> a.1 -> lead 2.5 mm2 9 m -> s
expect load of a.1 {promise}
"""
RIGHT = {
    "feed": "level 4 dBu; peak 17 dBu",
    "amp": 'attenuator -12 dB; label "house"',
    "mains": "supply 230 V; breaker 16 A C; residual 30 mA; outlets 2",
    "promise": ">= 4 ohm",
}
SLIPS = [
    ("feed", "level 4 dBu peak 17 dBu"),
    ("feed", "level 4 dBu, peak 17 dBu"),
    ("amp", 'attenuator -12 dB label "house"'),
    ("mains", "supply 230 V breaker 16 A C; residual 30 mA; outlets 2"),
    ("mains", "supply 230 V; breaker 16 A C residual 30 mA; outlets 2"),
    ("mains", "supply 230 V; breaker 16 A type C; residual 30 mA; outlets 2"),
    ("mains", "supply 230 V; breaker type C 16 A; residual 30 mA; outlets 2"),
    ("mains", "supply 230 V; breaker 16 A curve C; residual 30 mA; outlets 2"),
    ("mains", "supply 230 V; breaker C16; residual 30 mA; outlets 2"),
    ("promise", ">= 4 ohm in 60 Hz"),
    ("promise", ">= 4 ohm in 1 kHz"),
    ("promise", ">= 4 ohm in 40 Hz to 100 Hz"),
]


def text(**changed: str) -> str:
    return RIG.format(**{**RIGHT, **changed})


def test_the_right_rig_is_silent() -> None:
    assert not check_text(text()).findings


@pytest.mark.parametrize(("place", "slip"), SLIPS)
def test_the_cure_of_a_slip_typed_in(place: str, slip: str) -> None:
    wrong = text(**{place: slip})
    (finding,) = check_text(wrong).findings
    assert wrong.count("\n", 0, finding.span.start) == wrong.count("\n", 0, wrong.index(slip))
    fix = finding.fix
    assert fix is not None
    cured = wrong
    for edit in sorted(fix.edits, key=lambda each: -each.span.start):
        cured = cured[: edit.span.start] + edit.text + cured[edit.span.end :]
    assert not check_text(cured).findings, cured
    # What the help shows is what the fix makes.
    shown = finding.help.removeprefix("write it like this: ")
    assert shown in " ".join(cured.split()), (shown, cured)


def test_several_missing_separators_are_all_told() -> None:
    wrong = text(mains="supply 230 V breaker 16 A C residual 30 mA outlets 2")
    assert [each.message for each in check_text(wrong).findings] == [
        "no `;` stands between `supply` and `breaker`",
        "no `;` stands between `breaker` and `residual`",
        "no `;` stands between `residual` and `outlets`",
    ]


def test_several_slips_of_one_statement_are_all_told() -> None:
    stock = """stock amp twin {
  channels 2
  rated 900 W @ 4 ohm
  least-load 4 ohm
  gain = 32 dB
  input 20 kohm
  impedance -> 4 ohm
}
"""
    found = check_text(stock).findings
    assert [(each.span.line, each.rule) for each in found] == [(3, "syntax"), (5, "syntax"), (7, "syntax")]


@pytest.mark.parametrize("apart_m", [3, 7.5, 12, 40.2])
def test_a_lead_of_the_length_that_is_proposed_reaches(apart_m: float) -> None:
    rig = """feed f {{ level -20 dBu; peak -10 dBu }}
stock speaker box {{ powered; input 20 kohm }}
speaker s[1..2] is box
s[1] {{ at 0 m, 0 m }}
s[2] {{ at {apart} m, 0 m }}
f -> lead 0.5 mm2 5 m -> s[1..2] linked 0.5 mm2 {length} m
"""
    (finding,) = [
        each for each in check_text(rig.format(apart=apart_m, length=1)).findings if each.rule == "lead-too-short"
    ]
    said = re.match(r"take (\d+) m or more here", finding.help)
    assert said, finding.help
    longer = check_text(rig.format(apart=apart_m, length=said[1])).findings
    assert "lead-too-short" not in {each.rule for each in longer}
    assert float(said[1]) >= apart_m
