"""The netlists that rigspec writes, run by ngspice as anybody would, against the tables of `rigspec figures`."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from pathlib import Path
from random import Random
from shutil import which
from tempfile import TemporaryDirectory
from typing import Any

import pytest
from hypothesis import given
from simulated_rigs import RigMaker, driver_kinds, rated_kinds
from simulator import _COMPLAINT, NGSPICE

sys.path.append(str(Path(__file__).parents[1] / "laws"))
from checking import checked, laws
from model import Rig
from rigs import rigs

from rigspec.check import Report
from rigspec.cli.checking import check_one
from rigspec.figures.over_band import OverBand, over_band
from rigspec.files.library import Library
from rigspec.show.figures import figures_json
from rigspec.show.netlist import chosen, netlist
from rigspec.text.source import Source

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "samples").rglob("*.rig"), key=str)
PROMISED = 1e-3  # within 0.1 %
PRINTED = 2e-6  # of a table in a comment, which has six digits
_measured = re.compile(r"^(\w+)\s*=\s*(\S+)$", re.MULTILINE)
_told = re.compile(r"^\.meas dc (\w+) find v\(\1\) at=0$", re.MULTILINE)
_said = re.compile(r": (\S+) (ohm|V|W|A|dB) by rigspec\n(?:\* [^\n]*\n)*B(\w+) ")

# What is measured: the table, its column and the range of it that is compared by its absolute value.
WHERE = {
    "load": ("channels", "load_ohm"),
    "watt": ("powers", "rated_watt"),
    "loss": ("leads", "loss_db"),
    "ampere": ("leads", "current_ampere"),
    "heat": ("leads", "lost_watt"),
}


def ran(text: str) -> str:
    """What ngspice prints; the test fails where it complains, for it ends with 0 after a singular matrix too."""
    if which(NGSPICE) is None:
        pytest.fail("this test needs the circuit simulator ngspice: `apt install ngspice`", pytrace=False)
    with TemporaryDirectory() as folder:
        (Path(folder) / "rig.cir").write_text(text, encoding="ascii")
        command = [NGSPICE, "-b", "-n", "rig.cir"]
        done = subprocess.run(command, cwd=folder, capture_output=True, text=True, timeout=120)
    said = [line for line in (done.stdout + done.stderr).splitlines() if _COMPLAINT.search(line)]
    assert done.returncode == 0, f"ngspice ended with {done.returncode}: {done.stderr[-500:]}"
    assert not said, f"ngspice complained: {said[:5]}"
    assert not done.stderr.strip(), done.stderr
    return done.stdout


def written(report: Report, *words: str) -> str:
    return netlist(report, chosen(report.figures, words), "0")


def sample(path: Path) -> Report:
    library = Library()
    source = library.open(str(path), "")
    assert isinstance(source, Source)
    return check_one(library, source).report


def compare(report: Report) -> int:
    """Every figure that the simulator prints against the tables; how many there were."""
    text = written(report)
    out = ran(text)
    found = {name: float(value) for name, value in _measured.findall(out)}
    assert list(found) == _told.findall(text)
    tables: dict[str, list[dict[str, Any]]] = json.loads(figures_json(report))["tables"]
    comments = {name: float(value) for value, _, name in _said.findall(text)}
    assert comments.keys() == found.keys()
    for name, value in found.items():
        what, number = name.split("_")[:2]
        if what == "volt":
            box = list(report.figures.boxes.values())[int(number) - 1]
            rated = report.figures.channels[box.channel].rated_volt
            sign = -1 if len(box.own_turns) % 2 else 1
            expected = sign * box.share_volt * (1.0 if rated is None else rated)
        else:
            table, column = WHERE[what]
            expected = tables[table][int(number) - 1][column]
        assert value == pytest.approx(expected, rel=PROMISED, abs=1e-9), name
        assert comments[name] == pytest.approx(expected, rel=1e-5, abs=1e-9), name
    known = sum(row["current_ampere"] is not None for row in tables["leads"])
    power = sum(row["rated_watt"] is not None for row in tables["powers"])
    assert len(found) == len(tables["channels"]) + len(tables["speakers"]) + len(tables["leads"]) + 2 * known + power
    compare_sweep(report, text, out)
    return len(found)


def rows_of(text: str, comment: bool) -> dict[str, dict[int, float]]:
    """The columns of all tables over frequency, in a netlist's comments or in what ngspice printed, by point."""
    columns: dict[str, dict[int, float]] = {}
    heads: list[str] = []
    point = 0
    for line in text.splitlines():
        words = line.split()
        if comment and words[:2] == ["*", "Hz"]:
            heads, point = words[2:], 0
        elif comment and heads and len(words) == len(heads) + 2 and re.fullmatch(r"[\d.e+-]+", words[1]):
            for head, value in zip(heads, words[2:], strict=True):
                columns.setdefault(head, {})[point] = float(value)
            columns.setdefault("Hz", {})[point] = float(words[1])
            point += 1
        elif not comment and words[:2] == ["Index", "frequency"]:
            heads = [word[3:-1] for word in words[2:]]
        elif not comment and heads and len(words) == len(heads) + 2 and words[0].isdigit():
            for head, value in zip(heads, words[2:], strict=True):
                columns.setdefault(head, {})[int(words[0])] = float(value)
        elif not words or not comment:
            continue
        else:
            heads = []
    return columns


def compare_sweep(report: Report, text: str, out: str) -> None:
    ours, theirs = rows_of(text, True), rows_of(out, False)
    hertz = ours.pop("Hz", {})
    assert ours.keys() == theirs.keys()
    channels, boxes = list(report.figures.channels.values()), list(report.figures.boxes.values())
    for name, column in theirs.items():
        assert column.keys() == hertz.keys()
        for point, value in column.items():
            assert ours[name][point] == pytest.approx(value, rel=PROMISED), (name, hertz[point])
        middle = len(hertz) // 2
        hz = hertz[middle]
        if name.startswith("z"):
            over = over_band(report.figures, "load", channels[int(name[1:]) - 1].key, (hz, hz))
            assert isinstance(over, OverBand)
            assert over.high is not None
            assert over.high.value == pytest.approx(column[middle], rel=PROMISED)
        else:
            box = boxes[int(name[1:]) - 1]
            over = over_band(report.figures, "power", box.key, (hz, hz))
            assert isinstance(over, OverBand)
            assert over.high is not None
            assert box.box.impedance_ohm is not None
            assert over.high.value == pytest.approx(column[middle] ** 2 / box.box.impedance_ohm, rel=2 * PROMISED)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_netlist_of_a_sample_gives_its_figures(path: Path) -> None:
    report = sample(path)
    if not report.figures.channels:
        assert path.stem in ("powered-boxes", "house")
        return
    stood = not any(finding.rule == "load-too-low" for finding in report.findings)  # below it no power is known
    assert compare(report) >= (3 if stood else 2) * len(report.figures.boxes)


def test_drivers_of_a_sample_are_swept() -> None:
    report = sample(ROOT / "samples/measured-bass.rig")
    assert rows_of(written(report), True).keys() == {"Hz", "z2", "u3", "u4"}


@given(rigs())
@laws(80)
def test_the_netlists_of_generated_rigs_give_their_figures(rig: Rig) -> None:
    report = checked(rig.text)
    if report.figures.channels:
        compare(report)


def test_netlists_of_long_runs_in_series_and_parallel_give_their_figures() -> None:
    random = Random(20261)
    for maker in [RigMaker(random, rated_kinds(random)) for _ in range(8)]:
        compare(checked(maker.rig(outputs=4)))


def test_drivers_alone_in_sealed_and_in_vented_boxes_are_swept_as_they_are_computed() -> None:
    random = Random(20262)
    for maker in [RigMaker(random, driver_kinds(random)) for _ in range(5)]:
        report = checked(maker.rig(outputs=3))
        assert len(rows_of(written(report), True)) == 1 + 3 + len(report.figures.boxes)
        compare(report)


HEAD = """\
stock amp twin { channels 2; rated 400 W at 4 ohm, 250 W at 8 ohm }
stock amp quiet { channels 2 }
stock speaker box { impedance 8 ohm }
stock speaker turned { impedance 8 ohm; inverted }
amp a is twin
amp q is quiet
speaker s[1..4] is box
speaker t is turned
"""


@pytest.mark.parametrize(
    "paths",
    [
        "a.1 -> lead 2.5 mm2 0 m -> s[1..4] linked 2.5 mm2 0 m",
        "a.1+2 -> lead 2.5 mm2 10 m inverted -> invert -> lead 4 mm2 0 m inverted -> s[1]",
        "a.2+1 -> lead 2.5 mm2 10 m -> series(t, lead 1.5 mm2 9 m -> s[1], invert -> s[2])",
        "q.1 -> lead 2.5 mm2 10 m -> series(s[1], parallel(s[2], lead 2.5 mm2 3 m -> series(s[3], s[4])))",
        "q.1+2 -> invert -> t",
        "a.1 -> lead 2.5 mm2 10 m -> parallel(s[1], series(lead 2.5 mm2 5 m, s[2], lead 2.5 mm2 5 m))",
        "a.1 -> s[1]\na.2 -> s[2]\na.1+2 -> lead 2.5 mm2 10 m -> s[3]",
    ],
)
def test_every_sort_of_wiring(paths: str) -> None:
    report = checked(f"{HEAD}{paths}\n")
    assert report.figures.channels
    compare(report)


DRIVEN = "driver { dc-resistance 5.6 ohm; resonance 37 Hz; mechanical-q 7; electrical-q 0.4 }"


@pytest.mark.parametrize(
    ("kind", "other", "feed", "why"),
    [
        (f"{DRIVEN}; curve 7 ohm at 30 Hz, 9 ohm at 90 Hz", "", "", "for a measured curve is no circuit of simple"),
        (DRIVEN, "lead 2.5 mm2 2 m -> s[1]", "", "for the phase of others on this output is not known: d."),
        (f"{DRIVEN}; band 30 Hz to 90 Hz", "", "band 2 kHz to 8 kHz", "for nothing of its band arrives: d."),
    ],
)
def test_what_is_taken_as_rated_although_more_is_known_is_told(kind: str, other: str, feed: str, why: str) -> None:
    sort = f"stock speaker driven {{ impedance 8 ohm; {kind} }}\nspeaker d is driven\nfeed f {{ {feed} }}\n"
    report = checked(f"{HEAD}{sort}f -> a.1 -> d{f' -> {other}' if other else ''}\n")
    text = written(report)
    assert why in text.replace("\n* ", " ")
    assert ".ac" not in text
    compare(report)


def test_names_of_any_sort_become_legal_ones() -> None:
    names = {"tops": "Überbühne-links", "more": "überbühne-LINKS", "box": "gnd", "other": "喇叭"}
    rig = (
        'rig "*# quit $ ; .control" { mains 230 V 50 Hz }\n'
        "stock amp twin { channels 2; rated 400 W at 4 ohm }\nstock speaker k { impedance 8 ohm }\n"
        "amp tops is twin\namp more is twin\nspeaker box is k\nspeaker other is k\nspeaker node[1..2] is k\n"
        "lead end 2.5 mm2 3 m\n"
        "tops.1 -> end -> box\ntops.2 -> other\nmore.1 -> node[1..2] linked 2.5 mm2 3 m\n"
    )
    for old, new in names.items():
        rig = re.sub(rf"\b{old}\b", new, rig)
    report = checked(rig)
    assert not report.figures.rig.findings
    compare(report)
    lines = [line for line in written(report).splitlines()[1:] if line and not line.startswith("*")]
    elements = [line.split()[0].lower() for line in lines if not line.startswith(".")]
    assert len(set(elements)) == len(elements)
    for line in lines:
        if not line.startswith("."):
            assert re.fullmatch(r"[A-Za-z][A-Za-z0-9_]* [a-z0-9_]+ [a-z0-9_]+ \S.*", line), line
    assert all(line.isascii() and line.isprintable() for line in written(report).splitlines())


def test_a_channel_or_an_amplifier_is_asked_for_alone() -> None:
    report = checked(f"{HEAD}a.1 -> s[1]\na.2 -> s[2]\nq.1 -> s[3]\n")
    assert [channel.key for channel in chosen(report.figures, ["q.1"])] == ["q.1"]
    assert [channel.key for channel in chosen(report.figures, ["a"])] == ["a.1", "a.2"]
    with pytest.raises(KeyError, match="s"):
        chosen(report.figures, ["s"])
    assert [name for name, _ in _measured.findall(ran(written(report, "a.2")))] == [
        "load_1_a_2",
        "volt_1_s_2",
        "watt_1_s_2",
    ]


def test_a_netlist_that_cannot_be_solved_is_heard() -> None:
    report = checked(f"{HEAD}a.1 -> s[1]\n")
    text = written(report)
    source = next(line for line in text.splitlines() if line.startswith("Vout"))
    with pytest.raises(AssertionError, match=r"ngspice (ended|complained)"):
        ran(text.replace(source, f"{source}\n{source.replace('Vout', 'Vagain')}"))


def test_a_wrong_netlist_is_found_out(monkeypatch: pytest.MonkeyPatch) -> None:
    report = checked(f"{HEAD}a.1 -> lead 2.5 mm2 10 m -> s[1]\n")
    right = written(report)
    monkeypatch.setattr(f"{__name__}.written", lambda _: re.sub(r"(Rbox\w+ \w+ \w+) 8.0", r"\1 8.02", right))
    with pytest.raises(AssertionError):
        compare(report)
