"""Figures in every form from one definition: as a person reads them, as a program does, as a spreadsheet does."""

import csv
import io
import json
from collections.abc import Sequence
from math import inf, log10, nan, sqrt
from pathlib import Path

import pytest

from rigspec.check import Report, check
from rigspec.show.cells import cell_width
from rigspec.show.csv_text import csv_text
from rigspec.show.figure_units import UNIT_OF, unit_of
from rigspec.show.figures import WIDTH, clean, figures_json, figures_text, number, worst_rows
from rigspec.show.figures_csv import BETWEEN, figures_csv, things
from rigspec.show.pages import tables
from rigspec.show.tables import QUESTIONS
from rigspec.show.tables.question import Column, Question
from rigspec.text.source import Refused, Source

HERE = Path(__file__).parent
SAMPLES = sorted((HERE.parents[1] / "samples").glob("*.rig"))
GOLDEN = HERE / "golden_figures.txt"
ASKED = ("channels", "outputs", "speakers", "powers", "leads")

# What has no unit although it is a figure: counts and ratios of like to like.
BARE = {"damping", "inversions", "line"}


def load(using: str, used: str) -> Source | Refused:
    path = Path(using).parent / used
    return Source(str(path), path.read_text(encoding="utf-8")) if path.is_file() else Refused(used, "it does not exist")


def checked(path: Path) -> Report:
    return check(Source(str(path), path.read_text(encoding="utf-8")), load)


@pytest.fixture(scope="module")
def boathouse() -> Report:
    return checked(HERE / "boathouse.rig")


def page() -> str:
    return figures_text(checked(HERE / "boathouse.rig"), ASKED)


def test_a_person_reads_this() -> None:
    assert page() == GOLDEN.read_text(encoding="utf-8")


def test_its_figures_are_what_a_pocket_calculator_gives(boathouse: Report) -> None:
    """IEC 60228 class 5: 7.98 ohm/km for 2.5 mm2, 4.95 ohm/km for 4 mm2, at 20 degC, as the air is here."""
    tables = json.loads(figures_json(boathouse, ASKED))["tables"]
    one, two, bridge = tables["channels"]
    assert one["load_ohm"] == pytest.approx(8 + 0.0798 * 2)
    assert (two["load_low_ohm"], two["load_high_ohm"]) == pytest.approx((8 + 0.00798 * 16, 8 + 0.00798 * 60))
    across = 8 + 0.00495 * 40
    assert (bridge["load_ohm"], bridge["half_ohm"]) == pytest.approx((across, across / 2))
    assert bridge["load_low_ohm"] == pytest.approx(7.2 + 0.00495 * 40)
    assert one["rated_volt"] == pytest.approx(sqrt(250 * 8))
    assert bridge["rated_watt"] == pytest.approx(800 * 8 / across)
    outputs = tables["outputs"]
    assert outputs[2]["gain_db"] == pytest.approx(29 + 20 * log10(2))
    assert outputs[0]["nominal_volt"] == pytest.approx(sqrt(0.6) * 10 ** ((4 + 17) / 20))
    assert outputs[0]["damping"] == pytest.approx(8.1596 / (8 / 200))
    top, far, sub = tables["speakers"]
    assert top["loss_db"] == pytest.approx(20 * log10(8.1596 / 8))
    assert far["damping"] == pytest.approx(8 / (0.04 + 0.00798 * 38))
    assert (sub["least_loss_db"], sub["most_loss_db"]) == pytest.approx(
        (20 * log10((8.8 + 0.198) / 8.8), 20 * log10((7.2 + 0.198) / 7.2))
    )
    assert (far["polarity"], far["inversions"], len(far["inverted_by"])) == ("inverted", 1, 1)
    powers = tables["powers"]
    assert powers[0]["nominal_watt"] == pytest.approx((outputs[0]["nominal_volt"] * 8 / 8.1596) ** 2 / 8)
    assert powers[0]["share_percent"] == pytest.approx(
        max(100 * powers[0]["nominal_watt"] / 350, 100 * powers[0]["peak_watt"] / 1400)
    )
    lead = tables["leads"][2]
    assert lead["current_ampere"] == pytest.approx(80 / across)
    assert lead["lost_watt"] == pytest.approx((80 / across) ** 2 * 0.198)


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_every_table_of_a_sample_keeps_the_width_and_has_its_units(path: Path) -> None:
    report = checked(path)
    lines = figures_text(report).splitlines()
    assert max(map(len, lines)) <= WIDTH
    told = json.loads(figures_json(report), parse_constant=lambda what: pytest.fail(f"{what} is no JSON"))
    for word, rows in told["tables"].items():
        for row in rows:
            for key, value in row.items():
                if isinstance(value, float):
                    assert unit_of(key) or key in BARE or (key.endswith("_value") and "unit" in row), (word, key)
                assert not isinstance(value, list) or all(isinstance(each, str) for each in value)


@pytest.mark.parametrize("question", QUESTIONS.values(), ids=list(QUESTIONS))
def test_a_question_is_well_put(question: Question) -> None:
    keys = [column.key for column in question.columns]
    assert len(set(keys)) == len(keys)
    assert len(question.title) <= WIDTH
    assert bool(question.worst) == bool(question.mark)
    for column in question.columns:
        assert len(column.head) <= 20, column.head
        assert column.people or column.programs
        assert column.key == column.key.lower().replace(" ", "_").replace("-", "_")


def test_units_are_spelt_as_the_language_spells_them() -> None:
    from rigspec.text.unit_table import TABLE

    assert set(UNIT_OF.values()) - {"BTU/h"} <= set(TABLE)
    assert (unit_of("load_ohm"), unit_of("input_dbu"), unit_of("inversions"), unit_of("m")) == ("ohm", "dBu", "", "")


@pytest.mark.parametrize(
    ("value", "decimals", "text"),
    [
        (60.345, None, "60.3"),
        (8.0, None, "8"),
        (2.7, None, "2.7"),
        (1225.4, None, "1225"),
        (0.01596, None, "0.0160"),
        (80.0, 1, "80.0"),
        (-0.001, 2, "0.00"),
        (0.0, None, "0"),
        (3e-7, None, "3.00e-07"),
        (2e17, 2, "2.00e+17"),
        (-inf, 1, "-infinite"),
        (nan, 1, "-"),
        (-3.46, None, "-3.46"),
    ],
)
def test_figures_are_as_short_as_is_honest(value: float, decimals: int | None, text: str) -> None:
    assert number(value, decimals) == text


def _question(columns: Sequence[Column]) -> Question:
    return Question("things", "Things", tuple(columns), lambda _: [], worst=lambda row: row[1], mark="worst")


@pytest.mark.parametrize(
    ("badness", "marked"),
    [
        ([1.0, 3.0, 2.0], [1]),
        ([3.0, 1.0, 3.0], [0, 2]),
        ([2.0, 2.0], []),
        ([0.0, -1.0], []),
        ([5.0], []),
        ([nan, 1], []),
    ],
)
def test_the_worst_rows_are_marked_where_others_are_better(badness: list[float], marked: list[int]) -> None:
    assert worst_rows(_question([]), [("x", each) for each in badness]) == marked


def test_programs_get_no_infinite_figures() -> None:
    assert [clean(each) for each in (inf, -inf, nan, 1.5, 3, True, "a", None)] == [
        None,
        None,
        None,
        1.5,
        3,
        True,
        "a",
        None,
    ]
    assert clean(("a", "b")) == ["a", "b"]


def test_no_cell_of_a_spreadsheet_begins_like_a_formula() -> None:
    texts = ["=1+1", "+49+1", "-a", "@x", " =1", "\t=1", "\r@x", ["=a", "b"]]
    assert _written(texts) == ["'=1+1", "'+49+1", "'-a", "'@x", "' =1", "' =1", "' @x", "'=a; b"]
    assert _written([-1.5, "-1", None, True, "a-b", 0.1]) == ["-1.5", "-1", "", "yes", "a-b", "0.1"]


def _written(cells: Sequence[object]) -> list[str]:
    """Cells as a spreadsheet reads them."""
    joined = [BETWEEN.join(cell) if isinstance(cell, list | tuple) else cell for cell in cells]
    return next(csv.reader(io.StringIO(csv_text([joined]))))


def test_things_of_one_table_are_told_apart() -> None:
    columns = (Column("lead", "lead", lambda row: row[0]), Column("line", "line", lambda row: row[1]))
    rows = [("loom", 3), ("link to a", 4), ("link to a", 5), ("link to a", 5)]
    assert things(_question(columns), rows) == [
        "loom",
        "link to a, line 4",
        "link to a, line 5, number 1",
        "link to a, line 5, number 2",
    ]


def test_a_spreadsheet_gets_what_a_program_gets(boathouse: Report) -> None:
    told = json.loads(figures_json(boathouse))["tables"]
    for word in told:
        rows = list(csv.DictReader(io.StringIO(figures_csv(boathouse, [word]))))
        assert len(rows) == len(told[word])
        for row, wanted in zip(rows, told[word], strict=True):
            assert list(row) == list(wanted)
            assert _written(list(wanted.values())) == list(row.values())
    long = list(csv.DictReader(io.StringIO(figures_csv(boathouse))))
    count = sum(value is not None for word in told for row in told[word] for value in list(row.values())[1:])
    assert len(long) == count


ABSURD = "x" * 230


def test_absurd_names_neither_widen_the_tables_nor_get_lost() -> None:
    text = (HERE / "boathouse.rig").read_text(encoding="utf-8").replace("top[", f"{ABSURD}[")
    text = text.replace("tops", "a_rather_long_name_for_an_amplifier_of_the_left_hand_side_of_the_stage").replace(
        '"Lantern parade, boathouse"', f'"{"Lantern " * 30}{"parade" * 40}"'
    )
    text = text.replace("lows", "喇叭" * 40)
    report = check(Source("a" * 150 + ".rig", text), load)
    shown = figures_text(report, ASKED)
    assert max(map(cell_width, shown.splitlines())) <= WIDTH
    assert "[...]" in shown
    assert json.loads(figures_json(report))["tables"]["speakers"][0]["loudspeaker"] == f"{ABSURD}[1]"


def test_what_is_not_there_is_said() -> None:
    report = check(Source("x.rig", 'rig "bare" {}\n'), load)
    assert "There is nothing in this rig that figures can be computed for.\n" in figures_text(report)
    shown = figures_text(report, ["leads"])
    assert "Loudspeaker leads, with the amplifier at its rated output for ever: there is nothing of this in" in shown
    assert figures_csv(report, ["channels"]).startswith("channel,load_ohm,")
    with pytest.raises(KeyError):
        figures_text(report, ["nonsense"])


def test_the_reference_lists_every_table_with_its_keys() -> None:
    lines = tables().splitlines()[2:]
    assert [line.split("`")[1] for line in lines] == list(QUESTIONS)
    assert "`load_ohm`" in lines[0]
    assert "load_range" not in lines[0]
