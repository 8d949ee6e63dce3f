"""What a change does far from where it is: texts that follow each other, each told as if it were the first.

Each has a finding that begins with an edit of something else, which a rule has to look at for it.
"""

from __future__ import annotations

import pytest
from test_memory import Readers, told

from rigspec.check import check
from rigspec.memory import Memory
from rigspec.parse.reader import parse
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.source import Source

FED = "feed f { level -10 dBu; band 40 Hz to 90 Hz }\nf -> a.1\namp a is twin\nspare a.2\nspeaker s is sub\n"
LOOM = f"{FED}lead loom is twin-pair 30 m\nspare loom.2\na.1 -> loom.1\nloom.1 -> s\n"


PAIRS = "stereo one: l, r\nstereo two: l, c\nstereo three: r, c\n"
MIXED = (
    "feed l { level 2 dBu; peak 6 dBu }\nfeed r { level 12 dBu; peak 16 dBu }\nfeed c\nmix m: l, r\nm -> a.1\n"
    "amp a is twin\nspeaker s is sub\na.1 -> lead 4 mm2 9 m -> s\n"
)


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
BEHIND_A_PANEL = """\
stock panel plate { lines 2 }
panel wall is plate
feed f { level -10 dBu }
amp a is twin
speaker s is sub
wall.1 -> a.1 -> lead 4 mm2 9 m -> invert -> s
spare a.2, f, wall.2
expect polarity of s = normal
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
TWO_PAIRS = """\
feed f { level -10 dBu; band 40 Hz to 90 Hz }
lead w is twin-pair 10 m
amp a is twin
speaker s[1..2] is sub
f -> a.1
f -> a.2
w.1 -> s[1]
a.1 -> w.1
a.2 -> w.2
w.2 -> s[2]
"""


def alike(*texts: str) -> None:
    """Each of some texts is told what a first check tells."""
    readers, memory = Readers(), Memory()
    for number, text in enumerate(texts):
        source = Source("rig.rig", text + EXAMPLE_STOCK)
        again = check(source, readers.load, readers.read, memory)
        assert told(again) == told(check(source, readers.load, parse)), number


def starts(rule: str, *texts: str) -> None:
    """The last of some texts breaks a rule that none before it breaks."""
    alike(*texts)
    for number, text in enumerate(texts):
        found = check(Source("rig.rig", text + EXAMPLE_STOCK), Readers().load).findings
        assert (rule in {each.rule for each in found}) is (number == len(texts) - 1)


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
def test_a_finding_that_begins_far_from_the_edit(rule: str, text: str, was: str, now: str) -> None:
    assert text.count(was) == 1
    starts(rule, text, text.replace(was, now))


def test_pairs_that_change_places_where_they_share_a_feed() -> None:
    """The last one counts, and no statement says another thing than before."""
    alike(f"{MIXED}{PAIRS}", f"{MIXED}{''.join(PAIRS.splitlines(keepends=True)[::-1])}")


def test_a_place_that_comes_into_doubt_by_a_path_before_it() -> None:
    alike(BEHIND_A_PANEL, f"{BEHIND_A_PANEL}nobody -> wall.1\n", BEHIND_A_PANEL)


def test_outputs_that_meet_and_part_again() -> None:
    """Of two that come to one joint the first goes on; where it goes another way the second does."""
    meeting = TWO_PAIRS.replace("a.2 -> w.2", "a.2 -> w.1")
    alike(TWO_PAIRS, meeting, meeting.replace("a.1 -> w.1\n", ""), meeting, TWO_PAIRS)
