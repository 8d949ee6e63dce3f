"""The signal path as it is drawn: all of the rig is on it, nothing lies on anything else, whatever the rig."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator
from itertools import pairwise
from pathlib import Path

import pytest
from checking import checked, laws
from hypothesis import given
from model import Rig
from overlaps import overlaps
from rigs import rigs

from rigspec.check import Report, check
from rigspec.draw.marks import Drawing, Group, Mark, Outline, Stroke, Words
from rigspec.draw.path import path
from rigspec.draw.path_columns import columns_of
from rigspec.draw.path_fold import folded
from rigspec.draw.path_things import graph_of
from rigspec.draw.shapes import Area
from rigspec.draw.svg import svg_text
from rigspec.figures import Figures
from rigspec.figures.channel import turned_inside
from rigspec.text.finding import Severity
from rigspec.text.source import Refused, Source
from tests.speed import field, rig

ROOT = Path(__file__).parents[2]
SAMPLES = sorted((ROOT / "samples").rglob("*.rig"))
SAMPLES = [each for each in SAMPLES if each.parent.name != "stock"]
RULE_RIGS = sorted((ROOT / "tests" / "rules" / "rigs").glob("*.rig"))
EVERYTHING = ("loads", "powers")


def report_of(file: Path, text: str | None = None) -> Report:
    def load(asking: str, used: str) -> Source | Refused:
        found = Path(asking).parent / used
        return Source(str(found), found.read_text()) if found.is_file() else Refused(str(found), "it does not exist")

    return check(Source(str(file), file.read_text(encoding="utf-8") if text is None else text), load)


def groups(marks: Collection[Mark]) -> Iterator[Group]:
    for mark in marks:
        if isinstance(mark, Group):
            yield mark
            yield from groups(mark.marks)


def words(marks: Collection[Mark]) -> list[str]:
    found: list[str] = []
    for mark in marks:
        found += words(mark.marks) if isinstance(mark, Group) else [mark.text] if isinstance(mark, Words) else []
    return found


def strokes(marks: Collection[Mark]) -> Iterator[Stroke]:
    for mark in marks:
        if isinstance(mark, Group):
            yield from strokes(mark.marks)
        elif isinstance(mark, Stroke):
            yield mark


def names_in(text: str) -> set[str]:
    """The things that a title names: ``s[1..2,4]  ×3`` are three."""
    found = re.fullmatch(r"(.+)\[([\d.,]+)\](?:  ×(\d+))?", text)
    if not found:
        return {text}
    numbers: set[int] = set()
    for run in found[2].split(","):
        low, _, high = run.partition("..")
        numbers |= set(range(int(low), int(high or low) + 1))
    assert len(numbers) == int(found[3] or 1)
    return {f"{found[1]}[{number}]" for number in numbers}


def drawn_turns(drawing: Drawing) -> set[str]:
    return {each.title for each in groups(drawing.marks) if each.name.startswith("inversion at line ")}


def turns_on_paths(figures: Figures) -> set[str]:
    """Every turn on the way to an input or a loudspeaker that the signals know of, as its text and its line."""
    found = set()
    for arrival in figures.trace.arrivals.values():
        if arrival.sink.takes == "mains":
            continue
        turns = list(arrival.turns)
        for part in figures.signals.at_output(arrival.output):
            turns += part.turns
        if arrival.sink.gear.word == "speaker":
            turns += turned_inside(arrival.sink.gear, arrival.sink.port)
        found |= {f"{turn.text} (line {turn.span.line})" for turn in turns}
    return found


def judge(report: Report, show: Collection[str] = ()) -> None:
    """Everything that holds for every drawing of a signal path."""
    drawing = path(report, show)
    assert overlaps(drawing) == []
    assert lying(drawing) == []
    judge_boxes(drawing)
    figures = report.figures
    texts = words(drawing.marks)
    whole = "\n".join(texts)
    named = {name for text in texts for name in names_in(text)}
    for gear in figures.rig.gear.values():
        if gear.word in ("feed", "split", "processor", "amp", "speaker"):
            assert gear.full in named, f"{gear.full} is not on the drawing"
    of_name = {group.name: words(group.marks) for group in groups(drawing.marks)}
    for output in figures.rig.wiring.outputs.values():
        if output.gear.word == "amp":
            assert output.port in of_name[output.gear.full], f"{output.key} is not on the drawing"
    for run in figures.trace.runs.values():
        for piece in run.pieces if run.output.carries != "mains" else ():
            if piece.what == "lead" and piece.spec is not None:
                size = piece.spec.area_mm2 or piece.spec.awg
                for said in (size, piece.spec.length):
                    assert said is None or " ".join(said.text.split()) in whole, f"{said} is not on the drawing"
    assert drawn_turns(drawing) >= turns_on_paths(figures)
    judge_findings(report, texts)


def judge_boxes(drawing: Drawing) -> None:
    """Boxes stand clear of each other, wholly in a frame or wholly outside, and no lead runs through one."""
    boxes: list[Outline] = []
    frames: list[Outline] = []
    for group in groups(drawing.marks):
        first = group.marks[0] if group.marks else None
        if isinstance(first, Outline):
            (frames if first.fill == "tint" else boxes).append(first)
    areas = [Area(box.x, box.y, box.x + box.width, box.y + box.height) for box in boxes]
    tinted = [Area(frame.x, frame.y, frame.x + frame.width, frame.y + frame.height) for frame in frames]
    for at, area in enumerate(areas):
        assert not any(area.meets(other) for other in areas[at + 1 :])
        assert all(frame.holds(area) or not frame.meets(area) for frame in tinted)
    for at, frame in enumerate(tinted):
        assert not any(frame.meets(other) for other in tinted[at + 1 :])
    leads = [mark for mark in drawing.marks if isinstance(mark, Stroke)]
    for lead in leads:
        for a, b in pairwise(lead.points):
            assert not any(area.grown(-0.1).crossed_by(a, b) for area in areas), f"a lead runs through a box at {a}"


def judge_findings(report: Report, texts: list[str]) -> None:
    said = " ".join(" ".join(texts).split())
    for number, finding in enumerate(report.findings, 1):
        letter = {Severity.ERROR: "E", Severity.WARNING: "W", Severity.ADVICE: "A"}[finding.severity]
        assert f"{letter}{number}" in texts
        assert re.search(rf"{finding.rule}, line {finding.span.line}\b", said)
        first = " ".join(finding.message.split())
        assert len(max(first.split(), key=len)) > 90 or first in said
    errors = any(finding.severity is Severity.ERROR for finding in report.findings)
    assert any("Do not build from this drawing" in text for text in texts) == errors


def lying(drawing: Drawing) -> list[str]:
    """Leads of different sockets whose level parts lie on each other."""
    levels: dict[float, list[tuple[float, float, object]]] = {}
    for stroke in strokes(drawing.marks):
        for (ax, ay), (bx, by) in pairwise(stroke.points):
            if ay == by and abs(bx - ax) > 1:
                levels.setdefault(ay, []).append((min(ax, bx), max(ax, bx), stroke.points[0]))
    found = []
    for y, parts in levels.items():
        parts.sort(key=lambda part: part[:2])
        for (_, end, one), (start, _, other) in pairwise(parts):
            if start < end - 0.1 and one != other:
                found.append(f"two leads lie on each other at {start}, {y}")
    return found


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_a_sample_is_drawn_whole(file: Path) -> None:
    report = report_of(file)
    judge(report)
    judge(report, EVERYTHING)


@pytest.mark.parametrize("file", RULE_RIGS, ids=lambda file: file.stem)
def test_a_rig_with_faults_is_drawn_with_its_findings(file: Path) -> None:
    report = report_of(file)
    drawing = path(report, EVERYTHING)
    assert overlaps(drawing) == []
    judge_findings(report, words(drawing.marks))


@pytest.mark.parametrize("file", [file for file in SAMPLES if file.stat().st_size < 4000], ids=lambda file: file.stem)
def test_a_rig_that_is_being_typed_is_drawn_as_far_as_it_goes(file: Path) -> None:
    text = file.read_text(encoding="utf-8")
    lines = text.splitlines(keepends=True)
    for cut in range(0, len(lines), 5):
        for changed in ("".join(lines[:cut]), "".join(lines[:cut] + lines[cut + 1 :]), text[: cut * 37]):
            assert overlaps(path(report_of(file, changed), EVERYTHING)) == []


@given(rigs())
@laws(50)
def test_a_generated_rig_is_drawn_whole(rig: Rig) -> None:
    judge(checked(rig.text), EVERYTHING)


@pytest.mark.parametrize("text", [field(200), rig(560)], ids=["one split to fifty amplifiers", "fifty apart"])
def test_two_hundred_boxes_are_drawn_whole(text: str) -> None:
    report = checked(text)
    assert sum(gear.word == "speaker" for gear in report.figures.rig.gear.values()) >= 200
    judge(report, EVERYTHING)


def test_the_same_rig_gives_the_same_drawing() -> None:
    first, second = (svg_text(path(report_of(SAMPLES[4]), EVERYTHING)) for _ in range(2))
    assert first == second


@pytest.mark.parametrize("file", SAMPLES, ids=lambda file: file.stem)
def test_every_lead_goes_to_the_right_and_every_stage_has_columns_of_its_own(file: Path) -> None:
    report = report_of(file)
    columns = columns_of(folded(graph_of(report.figures, report.findings), report.figures.rig.gear))
    column = {node.key: stack.column for stack in columns.stacks for node in stack.nodes}
    word = {node.key: node.word for stack in columns.stacks for node in stack.nodes}
    assert all(column[edge.source[0]] < column[edge.target[0]] for edge in columns.edges)
    stages = ("feed", "processor", "amp", "speaker")
    ends = [[column[key] for key in column if word[key] == stage] for stage in stages]
    ends = [each for each in ends if each]
    assert all(max(one) < min(other) for one, other in pairwise(ends))


HEAD = """\
stock speaker one { impedance 8 ohm }
stock amp four { channels 4; rated 400 W at 4 ohm; least-load 2 ohm }
feed f
amp a is four
"""


def drawn(text: str, *show: str) -> Drawing:
    return path(checked(HEAD + text), show)


def titles(drawing: Drawing) -> set[str]:
    return {text for text in words(drawing.marks) if re.match(r"s\[", text)}


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("f -> a.1 -> lead 4 mm2 9 m -> s[1..4] linked 2.5 mm2 1 m", {"s[1..4]  ×4"}),
        (
            "f -> a.1 -> lead 4 mm2 9 m -> s[1..2] linked 2.5 mm2 1 m\n"
            "f -> a.2 -> lead 4 mm2 9 m -> s[3..4] linked 2.5 mm2 1 m",
            {"s[1..2]  ×2", "s[3..4]  ×2"},
        ),
        ("f -> a.1 -> parallel(s[1], s[2], lead 4 mm2 1 m -> s[3], s[4])", {"s[1..2]  ×2", "s[3]", "s[4]"}),
        ("f -> a.1 -> series(s[1], s[2])\nf -> a.2 -> parallel(s[3], s[4])", {"s[1]", "s[2]", "s[3..4]  ×2"}),
        ("f -> a.1 -> s[1..4] linked 2.5 mm2 1 m inverted", {"s[1]", "s[2]", "s[3]", "s[4]"}),
    ],
)
def test_alike_members_that_hang_alike_are_one(text: str, expected: set[str]) -> None:
    assert titles(drawn("speaker s[1..4] is one\n" + text)) == expected


def test_members_that_are_set_differently_stay_apart() -> None:
    text = "speaker s[1..2] is one\nspeaker s[3..4] is one { label %s }\nf -> a.1 -> s[1..4] linked 2.5 mm2 1 m"
    assert titles(drawn(text % '"rear"')) == {"s[1..2]  ×2", "s[3..4]  ×2"}


def test_turns_and_the_polarity_at_the_box_are_marked() -> None:
    drawing = drawn("speaker s is one { inverted }\nf -> invert -> a.1 -> lead 4 mm2 9 m inverted -> s")
    assert len([each for each in groups(drawing.marks) if each.name.startswith("inversion at line ")]) == 3
    assert "INVERTED" in words([each for each in groups(drawing.marks) if each.name == "s"])
    drawing = drawn("speaker s is one\nf -> invert -> a.1 -> lead 4 mm2 9 m inverted -> s")
    assert "INVERTED" not in words(drawing.marks)


def test_loads_and_powers_stand_there_on_request_only() -> None:
    text = "speaker s is one\nf -> a.1 -> s"
    plain, loads = (words(drawn(text, *show).marks) for show in ((), EVERYTHING))
    assert "8 ohm, 200 W" not in plain
    assert {"8 ohm, 200 W", "up to 200 W"} <= set(loads)


def test_what_runs_in_a_circle_says_where_it_goes_back() -> None:
    text = """\
stock processor p { inputs 1; outputs 2 }
processor x is p
processor y is p
x.1 { from a }
y.1 { from a }
x.1 -> y.a
y.1 -> x.a
"""
    assert any(each.startswith("back to ") for each in words(drawn(text).marks))


def test_every_arrival_at_what_is_fed_twice_is_drawn() -> None:
    text = "speaker s is one\nf -> a.1 -> lead 4 mm2 9 m -> s\nf -> a.2 -> lead 6 mm2 7 m -> s"
    drawing = drawn(text)
    assert {"4 mm2 9 m", "6 mm2 7 m"} <= set(words(drawing.marks))
    assert "left open" not in words(drawing.marks)
    assert overlaps(drawing) == []


def marks_at(drawing: Drawing, name: str) -> list[str]:
    """The findings that are marked in a thing."""
    found = [text for group in groups(drawing.marks) if group.name == name for text in words(group.marks)]
    return [text for text in found if re.fullmatch(r"[EWA]\d+", text)]


def test_a_finding_stands_at_what_it_is_about() -> None:
    report = report_of(ROOT / "samples" / "wrong" / "wrong-rig.rig")
    drawing = path(report)
    number = {finding.rule: f"{at}" for at, finding in enumerate(report.findings, 1)}
    assert marks_at(drawing, "bass") == [f"E{number['load-too-low']}"]
    assert marks_at(drawing, "side_sub") == [f"E{number['expect-unmet']}"]  # what is wrong with its polarity is the hop
    assert marks_at(drawing, "element") == [f"E{number['pairs-exchanged']}"]
    assert marks_at(drawing, "top_left") == []  # what is wrong there is the lead
    assert not any("not marked above" in text for text in words(drawing.marks))
    boxes = drawn("speaker s[1..3] is one\nf -> a.1 -> s[1..3] linked 2.5 mm2 1 m inverted")
    assert any(marks_at(boxes, f"s[{at}]") for at in (1, 2, 3))
