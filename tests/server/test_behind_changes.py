"""What lies behind an edit: of which outputs the signal, the loading and the figures are worked out again.

What is missing from such a list would keep a figure that is no longer true; what is in it needlessly costs time.
"""

from __future__ import annotations

import pytest

from rigspec.check import check
from rigspec.memory import Memory
from rigspec.parse.again import Rereader
from rigspec.source import Refused, Source

RIG = """\
stock amp twin { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; least-load 4 ohm; gain 32 dB; input 20 kohm }
stock speaker full { impedance 8 ohm; rated 500 W continuous; band 60 Hz to 18 kHz }
stock processor cross { inputs 2; outputs 4; input 20 kohm; source 100 ohm }
feed left { level 0 dBu; source 100 ohm }
feed right { level 0 dBu; source 100 ohm }
feed voice { level 0 dBu; source 100 ohm }
split y { legs 2; passive }
processor xo is cross
amp sides is twin
amp middle is twin
amp third is twin
speaker box[1..5] is full
mix all: xo.1 -3 dB, xo.2 -3 dB
left -> xo.a
right -> xo.b
xo.1 { from a }
xo.2 { from b }
xo.1 -> sides.1
xo.2 -> sides.2
sides.1 -> lead 4 mm2 9 m -> box[1]
sides.2 -> lead 4 mm2 9 m -> box[2]
all -> middle.1 -> lead 4 mm2 9 m -> box[3]
voice -> y
y.1 -> third.1 -> lead 4 mm2 9 m -> box[4]
y.2 -> third.2 -> lead 4 mm2 9 m -> box[5]
"""
SIDES = {"sides.1", "sides.2"}
OF_ALL = {"all", "middle.1"}
OF_XO = {"xo.1", "xo.2", *SIDES, *OF_ALL}
OF_VOICE = {"voice", "y.1", "y.2", "third.1", "third.2"}


def nothing_used(user: str, used: str) -> Refused:
    return Refused(used, "nothing is used here")


def behind(*texts: str) -> frozenset[str] | None:
    """What lies behind the last change of a text; None where that may be anything."""
    memory, reader = Memory(), Rereader()
    for text in texts:
        report = check(Source("rig.rig", text), nothing_used, reader.parse, memory)
    return report.figures.signals.changed


@pytest.mark.parametrize(
    ("was", "now", "expected"),
    [
        pytest.param("9 m -> box[1]", "8 m -> box[1]", SIDES, id="a lead: both channels, which may be bridged"),
        pytest.param(
            "xo.1 -> sides.1", "xo.1 -> pad 3 dB -> sides.1", {"xo.1", *SIDES, *OF_ALL}, id="a pad, and a mix"
        ),
        pytest.param("left -> xo.a", "left -> pad 3 dB -> xo.a", {"left", *OF_XO}, id="all that a processor gives"),
        pytest.param("xo.2 -3 dB\n", "xo.2 -6 dB\n", OF_XO, id="what a mix takes, and all outputs that it names"),
        pytest.param(
            "{ from b }", "{ from a }", {"left", "right", *OF_XO}, id="a setting of a processor: it is another thing"
        ),
        pytest.param("box[5]\n", "box[5]\nstereo main: left, right\n", {"main", "left", "right", *OF_XO}, id="a pair"),
        pytest.param(
            "y.2 ->", "y.2 -> pad 3 dB ->", OF_VOICE, id="a leg of a passive split loads what drives the split"
        ),
        pytest.param("2; passive", "2; active; input 9 kohm", OF_VOICE, id="the split itself"),
        pytest.param(
            "y.2 -> third.2 ->", "y.2 -> middle.2 ->", {*OF_VOICE, "middle.1", "middle.2"}, id="where it goes"
        ),
        pytest.param("voice -> y\n", "voice -> nobody\n", OF_VOICE, id="what is in doubt now"),
        pytest.param("voice { level 0", "voice { level 1", OF_VOICE, id="a level"),
        pytest.param("box[5]\n", "box[5]\nspeaker spare is full\n", set(), id="a box that nothing leads to"),
        pytest.param("550 W", "560 W", {*SIDES, *OF_ALL, *OF_XO, *OF_VOICE}, id="a kind: all that is of it"),
    ],
)
def test_what_lies_behind_a_change(was: str, now: str, expected: set[str]) -> None:
    assert RIG.count(was) == 1
    changed = RIG.replace(was, now)
    assert behind(RIG, changed) == expected
    assert behind(changed, RIG) == expected  # and when it is taken back


def test_where_the_air_or_a_limit_changes_everything_is_worked_out_again() -> None:
    assert behind(RIG, 'rig "hall" { air 35 degC }\n' + RIG) is None


def test_behind_a_circle_nothing_is_taken_over() -> None:
    circle = RIG.replace("right -> xo.b", "xo.4 { from b }\nxo.4 -> xo.b")
    assert behind(RIG, circle) is not None
    assert behind(circle, RIG) is None
