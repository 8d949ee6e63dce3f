"""No figure that is shown leaves the range that physics allows, whatever somebody has typed."""

from __future__ import annotations

import json
import re
from typing import Any

import pytest
from checking import checked, laws
from hypothesis import given
from hypothesis import strategies as st
from rigs import Rig, rigs

from rigspec.check import Report
from rigspec.figures.opposed import OpposedGain
from rigspec.show.figures import figures_json
from rigspec.show.supply import _plot

# Figures with these endings are magnitudes: nothing has less than none of them.
MAGNITUDE = re.compile(r"_(ohm|volt|watt|ampere|va|milliampere|hertz|metre|mm2|percent|btu_per_hour)$")
MAY_BE_BELOW = {"free_percent", "measured_percent"}  # what a line has left over, and how far a meter is from it
PART_OF_A_WHOLE = {"drop_percent"}
FIGURE = re.compile(r"(?<![\w.\[-])(\d+(?:\.\d+)?)(?= (?:ohm|kohm|W|V|A|VA|mm2|m|Hz|kHz|%)(?!\w))")

MAINS = """
stock speaker heater { powered; drive 4 dBu; draw 600 W; power-factor 0.9 }
speaker stove is heater
mains barn { supply 230 V; lead 2.5 mm2 20 m }
mains loft from barn { breaker 16 A C; lead 1.5 mm2 10 m }
loft -> lead 1.5 mm2 10 m -> stove
"""


def impossible(report: Report) -> list[tuple[str, str, Any]]:
    tables = json.loads(figures_json(report, ()))["tables"]
    return [
        (table, key, value)
        for table, rows in tables.items()
        for row in rows
        for key, value in row.items()
        if isinstance(value, float | int) and not isinstance(value, bool)
        if (MAGNITUDE.search(key) and key not in MAY_BE_BELOW and value < 0)
        or (key in PART_OF_A_WHOLE and not 0 <= value <= 100)
    ]


@laws(60)
@given(rigs(), st.lists(st.tuples(st.integers(0, 200), st.sampled_from([1e-4, 1e-2, 0.1, 10, 100, 1e4])), max_size=6))
def test_no_figure_leaves_its_range(rig: Rig, slips: list[tuple[int, float]]) -> None:
    text = rig.text + MAINS
    for at, factor in slips:
        found = list(FIGURE.finditer(text))
        slip = found[-1 - at % len(found)]
        text = f"{text[: slip.start()]}{float(slip[1]) * factor:.10f}{text[slip.end() :]}"
    report = checked(text)
    assert impossible(report) == [], text
    told = " ".join(f"{each.message} {each.computed}" for each in report.findings if each.rule == "mains-drop-high")
    assert not re.search(r"-\d[\d.]* k?V|\b[1-9]\d{3,} %", told), told


@pytest.mark.parametrize("said", ["400/230 V", "230/400 V", "240/120 V", "400/230 kV", "8/4 ohm", "600/1200 W"])
def test_two_figures_in_one_are_told_as_two(said: str) -> None:
    place = {"V": "mains hall { supply %s }", "m": "stock speaker s { impedance %s }", "W": "stock amp a { idle %s }"}
    report = checked(place[said[-1]] % said + "\n")
    number, unit = said.split()
    first, second = number.split("/")
    told = [f for f in report.findings if f.rule == "unit-mismatch"]
    assert [f.message for f in told] == [f"`{said}` holds two figures, {first} {unit} and {second} {unit}"]
    if said in ("400/230 V", "240/120 V"):
        assert f"`supply {first} V; phases {3 if first == '400' else 2}`" in told[0].help


def test_a_voltage_that_the_way_would_use_up_is_told_as_a_slip() -> None:
    report = checked("feed f { level 4 dBu }\nf -> stove\n" + MAINS.replace("230 V", "1.74 V"))
    (told,) = [each for each in report.findings if each.rule == "mains-drop-high"]
    assert told.message == "on the way to stove more than all of the 1.74 V would be lost, which cannot be meant"
    inlet = report.figures.mains.inlets["stove"]
    assert (inlet.end_volt, inlet.drop) == (0, 1)


def test_gains_that_are_all_below_zero_have_a_plot() -> None:
    worths = [OpposedGain(hz, 100.0, 80.0, gain, gain - 0.05, gain + 0.05) for hz, gain in ((40.0, -0.4), (80.0, -0.2))]
    lines = _plot(worths).splitlines()
    assert [line.count("O") for line in lines[2:4]] == [1, 1]
    assert {line.rstrip()[-1] for line in lines[2:4]} == {"|"}  # no gain at the right edge
