"""`rigspec sheets`, as an engineer types it: forms, folders, and files that are somebody's own."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest
from making import ROOT

from rigspec.cli.main import main
from rigspec.sheets.whole import SHEETS

RIG = """\
rig "hall" { mains 230 V 50 Hz }
stock speaker top { impedance 8 ohm }
stock amp two { channels 2; gain 29 dB }
"""
WIRED = "feed f { level 0 dBu }\namp a is two\nspeaker s is top\nf -> a.1 -> lead 2.5 mm2 15 m -> s\nspare a.2\n"


@pytest.fixture(autouse=True)
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "hall.rig").write_text(RIG + WIRED, encoding="utf-8")
    return tmp_path


def ran(capsys: pytest.CaptureFixture[str], *words: str) -> tuple[int, str, str]:
    code = main(["sheets", *words])
    return code, *capsys.readouterr()


def test_a_folder_gets_every_sheet_in_every_form(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = ran(capsys, "hall.rig", "-o", "paper")
    assert (code, err) == (0, "")
    names = {path.name for path in (folder / "paper").iterdir()}
    assert f"wrote {len(names)} files in paper" in out
    assert {f"{word}.md" for word in SHEETS} | {"sheets.html", "patch-power.csv", "leads-leads.csv"} <= names
    assert all((folder / "paper" / name).stat().st_size for name in names)


def test_one_form_and_one_sheet(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert ran(capsys, "hall.rig", "patch", "-o", "paper", "--as", "html")[0] == 0
    assert {path.name for path in (folder / "paper").iterdir()} == {"patch.html"}


def test_standard_output_has_markdown_csv_or_html(capsys: pytest.CaptureFixture[str]) -> None:
    assert ran(capsys, "hall.rig", "patch")[1].startswith("# Patch list: hall\n")
    assert ran(capsys, "hall.rig", "leads", "--as", "csv")[1].startswith("lead,label text,name,near end,far end,")
    assert ran(capsys, "hall.rig", "--as", "html")[1].startswith("<!DOCTYPE html>")
    everything = ran(capsys, "hall.rig")[1]
    assert everything.count("\n# ") + 1 == len(SHEETS)


def test_running_it_again_replaces_its_own_files_only(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran(capsys, "hall.rig", "-o", "paper")
    (folder / "hall.rig").write_text((RIG + WIRED).replace("15 m", "16 m"), encoding="utf-8")
    assert ran(capsys, "hall.rig", "-o", "paper")[0] == 0
    patch = folder / "paper" / "patch.md"
    patch.write_text("my own notes", encoding="utf-8")
    code, out, err = ran(capsys, "hall.rig", "-o", "paper")
    assert (code, out) == (2, "")
    assert "patch.md was not written by `rigspec sheets`, or was changed since" in err
    assert patch.read_text(encoding="utf-8") == "my own notes"
    assert ran(capsys, "hall.rig", "-o", "paper", "--overwrite")[0] == 0
    assert patch.read_text(encoding="utf-8").startswith("# Patch list")


def test_nothing_is_written_where_one_file_is_somebody_elses(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "paper").mkdir()
    (folder / "paper" / "leads.md").write_text("mine", encoding="utf-8")
    assert ran(capsys, "hall.rig", "-o", "paper")[0] == 2
    assert [path.name for path in (folder / "paper").iterdir()] == ["leads.md"]


def test_a_link_is_never_written_through(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "paper").mkdir()
    (folder / "precious").write_text("precious", encoding="utf-8")
    (folder / "paper" / "leads.md").symlink_to(folder / "precious")
    assert ran(capsys, "hall.rig", "-o", "paper")[0] == 2
    assert ran(capsys, "hall.rig", "-o", "paper", "--overwrite")[0] == 0
    os.replace(folder / "paper" / "leads.md", folder / "moved.md")
    (folder / "paper" / "leads.md").symlink_to(folder / "moved.md")
    assert ran(capsys, "hall.rig", "-o", "paper")[0] == 2, "a link to what was written here is somebody's own too"
    assert (folder / "precious").read_text(encoding="utf-8") == "precious"


def test_sheets_that_a_rig_no_longer_has_are_taken_away(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    ran(capsys, "hall.rig", "-o", "paper")
    assert (folder / "paper" / "patch-power.csv").exists()
    (folder / "hall.rig").write_text(RIG, encoding="utf-8")
    code, out, _ = ran(capsys, "hall.rig", "-o", "paper")
    assert code == 0
    assert "took away" in out
    assert not (folder / "paper" / "patch-power.csv").exists()


def test_a_file_is_whole_or_not_there(
    folder: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    ran(capsys, "hall.rig", "-o", "paper")
    before = {path.name: path.read_bytes() for path in (folder / "paper").iterdir()}
    (folder / "hall.rig").write_text((RIG + WIRED).replace("15 m", "16 m"), encoding="utf-8")
    real, calls = os.replace, []

    def full(old: str, new: str) -> None:
        calls.append(new)
        if len(calls) > 2:
            raise OSError(28, "No space left on device")
        real(old, new)

    monkeypatch.setattr(os, "replace", full)
    code, _, err = ran(capsys, "hall.rig", "-o", "paper")
    assert code == 2
    assert "no space left on device" in err
    monkeypatch.undo()
    after = {path.name: path.read_bytes() for path in (folder / "paper").iterdir()}
    assert set(after) == set(before), "no temporary file stays"
    changed = {name for name in after if after[name] != before[name]}
    assert len(changed) == 2
    os.chdir(folder)
    assert ran(capsys, "hall.rig", "-o", "paper")[0] == 0, "what the broken run left is known as its own"


def test_errors_give_one_and_stand_on_the_sheets(folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    (folder / "hall.rig").write_text(RIG + WIRED + "amp\n", encoding="utf-8")
    code, out, err = ran(capsys, "hall.rig", "patch")
    assert code == 1
    assert "THE CHECK FOUND 1 ERROR IN THIS RIG" in out
    assert "do not build from its sheets" in err


@pytest.mark.parametrize(
    ("words", "piece"),
    [
        (("hall.rig", "pathc"), "did you mean patch or pack?"),
        (("patch", "hall.rig"), "the rig comes before the sheets"),
        (("nowhere.rig",), "it does not exist"),
        (("hall.rig", "--overwrite"), "--overwrite goes with -o"),
        (("hall.rig", "-o", "hall.rig"), "cannot be used"),
        ((), "sheets needs a FILE"),
    ],
)
def test_what_cannot_be_done_is_said(words: tuple[str, ...], piece: str, capsys: pytest.CaptureFixture[str]) -> None:
    code, out, err = ran(capsys, *words)
    assert (code, out) == (2, "")
    assert piece in err


def test_a_rig_of_a_project_folder(capsys: pytest.CaptureFixture[str]) -> None:
    code, out, _ = ran(capsys, str(ROOT / "samples" / "bi-amped-hang.rig"), "leads")
    assert code == 0
    assert "CROSSED" in out or "straight" in out


def test_a_check_loads_nothing_of_the_sheets() -> None:
    import subprocess

    code = "import sys; from rigspec.cli.main import main; main(['check', sys.argv[1]]); print(*sys.modules)"
    command = [sys.executable, "-c", code, str(ROOT / "samples" / "two-box-hall.rig")]
    loaded = subprocess.run(command, capture_output=True, text=True, check=True).stdout.split()
    assert "rigspec.check" in loaded
    assert not [name for name in loaded if name.startswith("rigspec.sheets") or name in ("csv", "html", "hashlib")]
