"""What is made is written whole or not at all, and never over what somebody else made."""

import csv
import os
import stat
from pathlib import Path
from xml.etree import ElementTree

import pytest
from running import Run

from rigspec.cli.seal import is_sealed, sealed

RIG = """\
rig "hall" { mains 230 V 50 Hz }
stock speaker top { impedance 8 ohm }
stock amp two { channels 2; gain 29 dB }
feed f { level 0 dBu }
amp a is two
speaker s is top { at 1 m, 2 m }
f -> a.1 -> lead 2.5 mm2 15 m -> s
spare a.2
"""
WRITERS = {
    "hall.svg": ("draw", "hall.rig", "-o", "hall.svg"),
    "hall.png": ("draw", "hall.rig", "-o", "hall.png"),
    "hall.pdf": ("draw", "hall.rig", "-o", "hall.pdf"),
    "curve.svg": ("supply", "hall.rig", "--curve", "curve.svg"),
    "paper/patch.md": ("sheets", "hall.rig", "patch", "-o", "paper"),
    "paper/patch-power.csv": ("sheets", "hall.rig", "patch", "-o", "paper"),
    "paper/patch.html": ("sheets", "hall.rig", "patch", "-o", "paper"),
}
every_writer = pytest.mark.parametrize("name", WRITERS)


@pytest.fixture(autouse=True)
def rig(folder: Path) -> None:
    (folder / "hall.rig").write_text(RIG)
    (folder / "paper").mkdir()


def change() -> None:
    Path("hall.rig").write_text(RIG.replace("15 m", "16 m").replace("hall", "barn"))


@every_writer
def test_what_was_made_is_made_again(run: Run, name: str) -> None:
    assert run(*WRITERS[name]).code == 0
    first = Path(name).read_bytes()
    change()
    assert run(*WRITERS[name]).code == 0
    assert Path(name).read_bytes() != first or name.endswith(".csv")


@every_writer
@pytest.mark.parametrize("whose", ["own", "changed"])
def test_what_somebody_else_made_or_changed_stays_unless_asked(run: Run, name: str, whose: str) -> None:
    if whose == "changed":
        run(*WRITERS[name])
    with open(name, "ab") as file:
        file.write(b"mine")
    before = Path(name).read_bytes()
    ran = run(*WRITERS[name])
    assert ran.code == 2
    assert "--overwrite" in ran.err
    assert Path(name).read_bytes() == before
    assert run(*WRITERS[name], "--overwrite").code == 0
    assert b"mine" not in Path(name).read_bytes()


@every_writer
def test_a_full_disk_leaves_the_old_file_and_no_other(run: Run, monkeypatch: pytest.MonkeyPatch, name: str) -> None:
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    run(*WRITERS[name])
    before = Path(name).read_bytes()
    names = sorted(os.listdir(Path(name).parent))
    change()
    for step in ("fsync", "replace"):
        with monkeypatch.context() as disk:
            disk.setattr(os, step, full)
            ran = run(*WRITERS[name])
        assert ran.code == 2
        assert "no space left on device" in ran.err
        assert ran.out == ""
        assert Path(name).read_bytes() == before
        assert sorted(os.listdir(Path(name).parent)) == names


@every_writer
def test_a_link_is_never_written_through(folder: Path, run: Run, name: str) -> None:
    run(*WRITERS[name])
    target = folder / "elsewhere"
    os.replace(name, target)
    before = target.read_bytes()
    Path(name).symlink_to(target)
    ran = run(*WRITERS[name])
    assert ran.code == 2
    run(*WRITERS[name], "--overwrite")
    assert target.read_bytes() == before
    assert not Path(name).is_symlink()


@every_writer
def test_pipes_and_folders_are_left(run: Run, name: str) -> None:
    os.mkfifo(name)
    assert run(*WRITERS[name], "--overwrite").code == 2
    assert stat.S_ISFIFO(os.stat(name).st_mode)
    os.unlink(name)
    os.mkdir(name)
    assert run(*WRITERS[name], "--overwrite").code == 2
    assert os.listdir(name) == []


def test_no_link_leads_out_of_the_current_folder(
    folder: Path, tmp_path_factory: pytest.TempPathFactory, run: Run
) -> None:
    outside = tmp_path_factory.mktemp("outside")
    (folder / "out").symlink_to(outside)
    for words in (("draw", "hall.rig", "-o", "out/hall.svg"), ("sheets", "hall.rig", "-o", "out")):
        ran = run(*words)
        assert ran.code == 2
        assert "a link leads it outside the current folder" in ran.err
    assert list(outside.iterdir()) == []
    assert run("draw", "hall.rig", "-o", str(outside / "hall.svg")).code == 0, "it may be said"


def test_nothing_that_a_person_wrote_is_taken_away(run: Run) -> None:
    """Neither a file that some list calls made, nor a copy of a sheet under another name, nor a changed sheet."""
    run("sheets", "hall.rig", "-o", "paper")
    paper = Path("paper")
    (paper / "old-patch.md").write_bytes((paper / "patch.md").read_bytes())
    (paper / "patch-power.csv").write_text("mine,1\n")
    (paper / "notes.md").write_text("mine\n")
    (paper / ".rigspec-made").write_text(f"{'0' * 64}  notes.md\n{'0' * 64}  ../hall.rig\n")
    Path("hall.rig").write_text(RIG.partition("feed")[0])
    gone = [path.name for path in paper.iterdir()]
    ran = run("sheets", "hall.rig", "-o", "paper")
    assert ran.code == 0
    assert "took away" in ran.out
    assert {"old-patch.md", "notes.md", "patch-power.csv"} <= {path.name for path in paper.iterdir()}
    assert len(list(paper.iterdir())) < len(gone)


def test_the_mark_spoils_no_form(run: Run) -> None:
    for name, words in WRITERS.items():
        run(*words)
        ending = Path(name).suffix
        assert is_sealed(Path(name).read_bytes(), ending, Path(name).name if "/" in name else "")
    for name in ("hall.svg", "curve.svg"):
        assert ElementTree.parse(name).getroot().tag.endswith("svg")
    with open("paper/patch-power.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file))
    assert rows[0][-1].startswith("made by rigspec ")
    assert {len(row) for row in rows} == {len(rows[0])}
    assert {row[-1] for row in rows[1:]} == {""}
    from PIL import Image

    with Image.open("hall.png") as picture:
        picture.load()
        assert picture.info["Software"].startswith("made by rigspec ")


def test_a_mark_is_of_one_file_under_one_name() -> None:
    made = sealed(b"# patch\n", ".md", "patch.md")
    assert is_sealed(made, ".md", "patch.md")
    assert not is_sealed(made, ".md", "other.md")
    assert not is_sealed(made.replace(b"patch", b"batch"), ".md", "patch.md")
    assert not is_sealed(b"# patch\n", ".md", "patch.md")


def test_what_asks_to_overwrite_says_what(run: Run) -> None:
    assert "goes to standard output" in run("draw", "hall.rig", "-o", "-").err
    assert "go to standard output" in run("sheets", "hall.rig", "-o", "-").err
    assert "goes with -o" in run("draw", "hall.rig", "--overwrite").err
    assert "goes with --curve" in run("supply", "hall.rig", "--overwrite").err
    assert "there is no such folder" in run("draw", "hall.rig", "-o", "no/hall.svg").err
