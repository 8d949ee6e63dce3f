"""What a change does far from where it is: findings that begin with an edit of something else, and end with it."""

from __future__ import annotations

import pytest

from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.rules.following import apart
from rigspec.server.workspace import Workspace

FED = "feed f { level -10 dBu; band 40 Hz to 90 Hz }\nf -> a.1\namp a is twin\nspare a.2\nspeaker s is sub\n"
LOOM = f"{FED}lead loom is twin-pair 30 m\nspare loom.2\na.1 -> loom.1\nloom.1 -> s\n"


MEETING = """\
feed f { level -10 dBu; band 40 Hz to 18 kHz }
processor xo is cross
processor xm is cross
amp a is twin
amp c is twin
speaker s is sub
speaker b is box
f -> xo.a
f -> xm.a
xo.1 { low-pass 100 Hz linkwitz-riley 12 dB/oct }
xo.2 { high-pass 100 Hz linkwitz-riley 12 dB/oct }
xm.1 { low-pass 100 Hz linkwitz-riley 12 dB/oct }
xo.1 -> a.1 -> lead 4 mm2 9 m -> s
xo.2 -> a.2 -> lead 4 mm2 9 m -> invert -> b
group g: s, b
spare c
"""
FAULTY = """\
feed f { level -10 dBu; band 40 Hz to 90 Hz; colour 3 dB }
f -> a.1 -> lead 4 mm2 9 m -> s[1]
amp a is twin
amp b is twin
speaker s[1..2] is sub
b.1 -> lead 4 mm2 9 m -> s[2]
spare a.2, b.2
"""
STAGES = """\
feed f { level -10 dBu; peak -4 dBu; band 40 Hz to 90 Hz }
processor xo is cross
amp a is twin
speaker s is sub
f -> xo.a
xo.1 -> a.1
a.1 -> lead 4 mm2 9 m -> s
spare a.2
expect clip-level of f >= 4 dBu
"""
ON_ONE_CIRCUIT = """\
mains house { supply 230 V; breaker 16 A C; lead 1.5 mm2 60 m; residual 30 mA }
feed f { level -10 dBu; band 40 Hz to 90 Hz }
amp a is twin
amp b is twin
speaker s[1] is sub
speaker s[2] is sub
house -> a
house -> b
f -> a.1
f -> b.1
a.1 -> lead 4 mm2 9 m -> s[1]
b.1 -> lead 4 mm2 9 m -> s[2]
spare a.2, b.2
expect drop of a <= 4.5 %
"""
IN_PARALLEL = """\
feed f { level -10 dBu; band 40 Hz to 90 Hz }
amp a is twin
speaker s[1..4] is sub
f -> a.1
a.1 -> lead 4 mm2 9 m -> s[1] linked 4 mm2 2 m -> s[2]
spare a.2
spare s[3], s[4]
"""


@pytest.mark.parametrize(
    ("rule", "text", "was", "now"),
    [
        pytest.param(
            "nothing-connected",
            LOOM.replace("spare loom.2\n", ""),
            "a.1 -> loom.1\nloom.1 -> s",
            "a.1 -> lead 4 mm2 30 m -> s",
            id="a lead that no path goes through any more",
        ),
        pytest.param(
            "expect-unmet",
            f"{LOOM}expect loss of loom.1 <= 0.7 dB\n",
            "s is sub",
            "s is sub { impedance 4 ohm }",
            id="what a lead costs, by the load behind it",
        ),
        pytest.param(
            "nothing-connected",
            f"{FED}a.1 -> lead 4 mm2 9 m -> s\nspeaker y is box\nspare y\nspeaker x[1..2] is active\n"
            "x[1] -> x[2]\ny -> x[1]\n",
            "y -> x[1]\n",
            "",
            id="a box from which a path goes on, and to which none leads any more",
        ),
        pytest.param(
            "expect-unjudged",
            f"{FED}amp b is twin\nfeed g\nspare g\na.1 -> lead 4 mm2 9 m -> s\nexpect load of b.1, a.2 >= 4 ohm\n",
            "spare g\n",
            "g -> b.2\nspare b.2\n",
            id="a promise of two things, of which a change concerns one",
        ),
        pytest.param(
            "expect-unmet", STAGES, "a is twin\n", "a is twin { gain 40 dB }\n", id="what clips first behind a feed"
        ),
        pytest.param(
            "expect-unmet",
            ON_ONE_CIRCUIT,
            "speaker s[2] is sub\n",
            "speaker s[2] is sub { impedance 4 ohm }\n",
            id="what is left of the mains for one amplifier, by the load of another",
        ),
        pytest.param(
            "load-too-low",
            IN_PARALLEL,
            "spare s[3], s[4]\n",
            "a.1 -> series(lead 4 mm2 9 m -> s[3], lead 4 mm2 9 m -> s[4])\n",
            id="a second path from an output, which begins with a series",
        ),
        pytest.param(
            "polarity-clash",
            MEETING,
            "spare c\n",
            "spare c.2\nspeaker aa is sub\nxm.1 -> c.1 -> lead 4 mm2 9 m -> aa\n",
            id="a box beside a group, which a box of the group now meets",
        ),
        pytest.param(
            "nothing-connected", FAULTY, "; colour 3 dB", "", id="a fault, the last that kept the rule silent"
        ),
    ],
)
def test_a_finding_that_begins_far_from_the_edit(desk: Workspace, rule: str, text: str, was: str, now: str) -> None:
    assert text.count(was) == 1
    desk.open("untitled:rig", "", 1)
    for version, written in enumerate((text, text.replace(was, now), text)):
        desk.change("untitled:rig", written + EXAMPLE_STOCK, version)
        rules = {finding.rule for finding in apart(desk.findings()["untitled:rig"])}
        assert (rule in rules) is (version == 1)
