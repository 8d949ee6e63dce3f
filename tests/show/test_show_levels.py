"""The tables of levels: which rows they have."""

import json

import pytest

from rigspec.check import Report, check
from rigspec.show.figures import figures_json
from rigspec.text.source import Refused, Source

GEAR = (
    "stock amp twin { channels 2; rated 400 W at 4 ohm, 250 W at 8 ohm; rated 800 W at 8 ohm bridge; gain 29 dB; "
    "input-peak 20 dBu }\nstock speaker top { impedance 8 ohm; rated 350 W continuous, 1400 W peak }\n"
    "feed f { level 4 dBu; peak 14 dBu }\namp a is twin { bridge 1+2; attenuator -12 dB }\nspeaker s[1..2] is top\n"
)


def checked(text: str) -> Report:
    return check(Source("rig.rig", GEAR + text), lambda path, used: Refused(used, "nothing is used here"))


@pytest.mark.parametrize(
    ("wiring", "rows"),
    [
        ("f -> a.1+2 -> lead 2.5 mm2 9 m -> s[1]", ["a.1+2"]),
        ("f -> a.1\na.1+2 -> lead 2.5 mm2 9 m -> s[1]", ["a.1+2"]),
        ("f -> a.1 -> lead 2.5 mm2 9 m -> s[1]\na.2 -> lead 2.5 mm2 9 m -> s[2]", ["a.1", "a.2"]),
        ("f -> a.1 -> lead 2.5 mm2 9 m -> s[1]\na.1+2 -> lead 2.5 mm2 9 m -> s[2]", ["a.1", "a.1+2"]),
        ("f -> a.1", ["a.1"]),
    ],
    ids=["across", "plugged at channel 1", "one on each channel", "across and on one channel", "nothing on it yet"],
)
def test_a_bridged_pair_has_one_row_however_it_is_plugged(wiring: str, rows: list[str]) -> None:
    tables = json.loads(figures_json(checked(wiring), ("clipping",)))["tables"]
    assert sorted(row["channel"] for row in tables["clipping"]) == rows
