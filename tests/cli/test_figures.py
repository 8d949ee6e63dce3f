"""`rigspec figures`: tables, forms, and how figures came about, as an engineer types it."""

import csv
import io
import json
import sys
from pathlib import Path

import pytest
from running import SLIP, Run, process

from rigspec.show.tables import QUESTIONS

RIG = """\
rig "hall" { mains 230 V 50 Hz }
stock amp twin { channels 2; rated 400 W at 4 ohm, 250 W at 8 ohm; least-load 4 ohm; gain 29 dB; damping 300 at 8 ohm }
stock speaker top { impedance 8 ohm; rated 350 W continuous, 1400 W peak }
feed left { level 4 dBu; peak 17 dBu; source 100 ohm }
amp tops is twin { attenuator -12 dB }
speaker box[1..3] is top
group all: box[*]
left -> tops.1 -> lead 2.5 mm2 15 m -> box[1..2] linked 2.5 mm2 2 m
left -> tops.2 -> lead 2.5 mm2 15 m -> box[3]
"""


@pytest.fixture
def hall(folder: Path) -> str:
    (folder / "hall.rig").write_text(RIG)
    return "hall.rig"


def test_all_tables_are_shown_and_one_where_it_is_asked_for(hall: str, run: Run) -> None:
    ran = run("figures", hall, "--all")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith(
        "hall\nTables, each to be had alone by its word: channels, outputs, speakers, powers, leads"
    )
    leads = run("figures", hall, "leads")
    assert (leads.code, leads.err) == (0, "")
    assert "Loudspeaker leads" in leads.out
    assert "Amplifier channels" not in leads.out
    assert "Rated figures are not measurements." in leads.out
    both = run("figures", "leads", hall, "--name", "x")
    assert both.code == 2  # --name is for standard input


def test_without_a_table_the_rig_stands_on_one_screen(hall: str, run: Run) -> None:
    ran = run("figures", hall)
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("hall: 2 channels, 3 boxes\n")
    assert "Amplifier channels:" not in ran.out
    assert 'more: rigspec figures hall.rig --all, or --why "load of tops.1", or a table: channels,' in ran.out
    assert run("figures", hall, "--all", "--json").out == run("figures", hall, "--json").out


def test_figures_come_out_also_where_the_rig_has_errors(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(SLIP)
    ran = run("figures", "hall.rig")
    assert (ran.code, ran.err) == (1, "")
    assert ran.out.startswith("hall.rig\n\nThere is nothing in this rig")
    assert ran.out.endswith("\n1 error: rigspec check hall.rig\n")
    ran = run("figures", "hall.rig", "--all")
    assert ran.code == 1
    assert ran.out.startswith("hall.rig\n\nThere is nothing in this rig")
    assert ran.err == "hall.rig has an error, so figures may be missing or wrong; see `rigspec check hall.rig`\n"
    gone = run("figures", "gone.rig")
    assert (gone.code, gone.out) == (2, "")
    assert "error file-unreadable" in gone.err
    told = json.loads(run("figures", "gone.rig", "--json").out)
    assert told["findings"][0]["rule"] == "file-unreadable"
    assert "error file-unreadable" in run("figures", "gone.rig", "--csv").err


def test_a_rig_comes_through_standard_input(run: Run) -> None:
    ran = run("figures", "-", "channels", "--csv", stdin=RIG.encode())
    assert ran.code == 0
    assert [row["channel"] for row in csv.DictReader(io.StringIO(ran.out))] == ["tops.1", "tops.2"]


@pytest.mark.parametrize("form", [["--as", "json"], ["--json"], ["--as=json", "--json"]])
def test_json_has_every_table_and_those_only_that_are_asked_for(hall: str, run: Run, form: list[str]) -> None:
    told = json.loads(run("figures", hall, *form).out)
    assert (told["format"], told["version"], told["file"], told["title"]) == ("rigspec-figures", 3, hall, "hall")
    assert list(told["tables"]) == list(QUESTIONS)
    assert [box["loudspeaker"] for box in told["tables"]["speakers"]] == ["box[1]", "box[2]", "box[3]"]
    assert told["tables"]["channels"][1]["limit_ohm"] == 4.0
    assert list(json.loads(run("figures", hall, "powers", "leads", *form).out)["tables"]) == ["powers", "leads"]


def test_csv_is_one_table_or_a_line_for_each_figure(hall: str, run: Run) -> None:
    told = json.loads(run("figures", hall, "--json").out)["tables"]
    rows = list(csv.DictReader(io.StringIO(run("figures", hall, "leads", "--csv").out)))
    assert [row["lead"] for row in rows] == [lead["lead"] for lead in told["leads"]]
    assert [float(row["loss_db"]) for row in rows] == [lead["loss_db"] for lead in told["leads"]]
    for words in ((), ("speakers", "leads")):
        ran = run("figures", hall, *words, "--as", "csv")
        long = list(csv.DictReader(io.StringIO(ran.out)))
        assert {row["table"] for row in long} == set(words or (word for word in told if told[word]))
        found = {(row["table"], row["thing"], row["figure"]): (row["value"], row["unit"]) for row in long}
        assert len(found) == len(long)
        assert found["speakers", "box[2]", "damping"] == (repr(told["speakers"][1]["damping"]), "")
        assert found["speakers", "box[2]", "loss_db"] == (repr(told["speakers"][1]["loss_db"]), "dB")


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["hall.rig", "leds"], "figures has no table leds"),
        (["hall.rig", "channles"], "did you mean channels?"),
        (["hall.rig", "nothing"], "the tables are channels, outputs, speakers, powers, leads"),
        (["leads", "hall.rig"], "write `rigspec figures hall.rig leads`"),
        (["hall.rig", "--csv", "--json"], "leave out all but"),
        (["hall.rig", "--as", "csv", "--json"], "one form at a time"),
        (["hall.rig", "leads", "--why", "load of tops.1"], "leave leads out"),
        (["hall.rig", "--all", "--why", "load of tops.1"], "leave --all out"),
        (["hall.rig", "leads", "--all"], "--all shows every table, not one alone"),
        (["hall.rig", "--csv", "--why", "load of tops.1"], "there is no CSV of it"),
        (["hall.rig", "--why"], '--why needs a value: "FIGURE of THING"'),
        (["hall.rig", "--why", ""], '--why needs a value: "FIGURE of THING"'),
    ],
)
def test_misuse_says_what_would_be_right(hall: str, run: Run, arguments: list[str], said: str) -> None:
    ran = run("figures", *arguments)
    assert ran.code == 2
    assert "command-line" in ran.out + ran.err
    assert said in ran.out.replace('\\"', '"') + ran.err


def test_a_wrong_question_is_shown_where_it_stands(hall: str, run: Run) -> None:
    ran = run("figures", hall, "leds", "--as", "people")
    assert (
        "        1 | rigspec figures hall.rig leds --as people\n          |                          ^^^^\n" in ran.err
    )


def test_how_a_figure_came_about_is_told_down_to_the_lines(hall: str, run: Run) -> None:
    ran = run("figures", hall, "--why", "load of tops.2")
    assert (ran.code, ran.err) == (0, "")
    assert ran.out.startswith("Z: load of tops.2 = 8.24 ohm\n  formula: R + Z\n  numbers: 0.2394 + 8\n")
    assert "  - Z: rated impedance of box[3] = 8 ohm, hall.rig:3 `8 ohm`\n" in ran.out
    assert "IEC 60228 class 5" in ran.out
    told = json.loads(run("figures", hall, "--json", "--why", "load of tops.2").out)
    assert (told["format"], told["version"], told["file"]) == ("rigspec-working", 1, hall)
    step = told["steps"][told["figures"][0]["step"]]
    assert step["value"] == pytest.approx(8.2394)
    assert [part["symbol"] for part in step["rests_on"]] == ["R", "Z"]


@pytest.mark.parametrize(
    ("question", "count"),
    [
        ("power of box[1], box[3]", 2),
        ("loss of box[*]", 3),
        ("loss of all", 3),
        ("loss of all, box[1]", 3),
        ("load of tops.*", 2),
        ("load of tops.1..2", 2),
    ],
)
def test_several_things_are_taken_as_paths_and_promises_take_them(
    hall: str, run: Run, question: str, count: int
) -> None:
    told = json.loads(run("figures", hall, "--json", "--why", question).out)
    assert len(told["figures"]) == count


@pytest.mark.parametrize(
    ("question", "said"),
    [
        ("lod of tops.1", "--why:1:1: error figure-unknown: there is no figure `lod`"),
        ("lod of tops.1", "did you mean `load`?"),
        ("load of tps.1", "--why:1:9: error name-unknown: nothing is called `tps`"),
        ("load of tps.1", "did you mean `tops`?"),
        ("load of tops.3", "`tops` has no `.3`"),
        ("loss of box", "write box[1], box[1..3] or box[*]"),
        ("loss of box[1..4]", "`box` has no member 4"),
        ("load of box[1]", "box[1] has no load: that is a figure of an amplifier channel"),
        ("load of box[1]", "ask for the load of tops.1;"),
        ("load of tops", "ask for the load of tops.1 or tops.2"),
        ("damping of tops.1", "ask for the damping of box[1] or box[2]"),
        ("load", "`load` does not ask for a figure of a thing"),
        ("load of tops.1 = 4 ohm", "does not ask for a figure of a thing"),
        ("load of tops.1 # 4 ohm", "does not ask for a figure of a thing"),
        ("load of tops.1\namp x", "does not ask for a figure of a thing"),
        ("load of tops.1 = normal expect load of tops.1", "does not ask for a figure of a thing"),
        ("load of tops.1 in 35 Hz to 95 Hz", "how a figure in a band comes about is not told"),
        ("}{", "does not ask for a figure of a thing"),
    ],
)
def test_a_question_without_an_answer_says_what_to_ask(hall: str, run: Run, question: str, said: str) -> None:
    ran = run("figures", hall, "--why", question)
    assert (ran.code, ran.out) == (2, "")
    assert said in " ".join(ran.err.split())
    told = json.loads(run("figures", hall, "--json", "--why", question).out)
    assert told["counts"]["error"] >= 1
    assert all(finding["fix"] is None for finding in told["findings"])


def test_what_is_not_known_says_why_beside_what_is(folder: Path, run: Run) -> None:
    unrated = RIG.replace("speaker box", "stock amp bare { channels 2 }\namp dark is bare\nspeaker box")
    (folder / "hall.rig").write_text(unrated.replace("left -> tops.2", "left -> dark.1"))
    ran = run("figures", "hall.rig", "--why", "power of tops.1, dark.1")
    assert ran.code == 0
    assert ran.out.startswith("P: rated power of tops.1 into its load = 386 W\n")
    assert "the power of dark.1 is not known: no `rated` power of dark at this load is given" in ran.err
    told = json.loads(run("figures", "hall.rig", "--json", "--why", "power of tops.1, dark.1").out)
    assert [(each["of"], each["why"].partition(":")[0]) for each in told["lacking"]] == [
        ("dark.1", "the power of dark.1 is not known")
    ]
    (folder / "hall.rig").write_text(RIG.replace("impedance 8 ohm; ", ""))
    ran = run("figures", "hall.rig", "--why", "load of tops.2")
    assert (ran.code, ran.out) == (2, "")
    assert "the load of tops.2 is not known: the impedance of box[3] is not given" in ran.err


def test_a_check_loads_nothing_of_the_tables(hall: str) -> None:
    code = (
        "import sys; from rigspec.cli.main import main; main(['check', 'hall.rig']); "
        "print([name for name in sys.modules if name in ('csv', 'json', 'difflib') or name.startswith(("
        "'rigspec.show.tables', 'rigspec.show.figures', 'rigspec.show.table', 'rigspec.show.why'))])"
    )
    import subprocess

    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, timeout=20)
    assert ran.stdout.splitlines()[-1] == "[]"


def test_spreadsheets_get_their_line_ends_and_utf_8(folder: Path) -> None:
    (folder / "hall.rig").write_text(RIG.replace("box[", "kiste\u00e4["), encoding="utf-8")
    ran = process("figures", "hall.rig", "speakers", "--csv")
    assert ran.returncode == 0
    assert ran.stdout.startswith(b"loudspeaker,channel,")
    assert "\nkisteä[1],tops.1,".encode() in ran.stdout
    assert b"\r" not in ran.stdout
