"""What a rig may take in with `use`: files of its own project only, each read once."""

from pathlib import Path

import pytest
from running import CLEAN, Run

from rigspec.files import files, library
from rigspec.files.library import Library
from rigspec.text.source import Refused, Source


def load(rig: str, used: str) -> Source | Refused:
    """What a rig gets that says `use "used"`."""
    texts = Library()
    source = texts.open(rig)
    assert isinstance(source, Source)
    return texts.reader(source)(source.path, used)


def write(*paths: str) -> None:
    for path in paths:
        Path(path).parent.mkdir(parents=True, exist_ok=True)
        Path(path).write_text(CLEAN)


def test_a_stock_file_is_known_by_the_path_a_person_would_type(folder: Path) -> None:
    write("tour/.rigspec", "tour/rigs/hall.rig", "tour/stock/house.rig")
    for rig in ("tour/rigs/hall.rig", "./tour/../tour/rigs/hall.rig", str(folder / "tour/rigs/hall.rig")):
        assert load(rig, "../stock/house.rig") == Source("tour/stock/house.rig", CLEAN)


@pytest.mark.parametrize("mark", [".rigspec", ".git"])
def test_the_project_is_the_nearest_folder_with_a_mark(folder: Path, mark: str) -> None:
    write(".rigspec", "stock.rig", "tour/rigs/hall.rig", "tour/stock.rig")
    assert isinstance(load("tour/rigs/hall.rig", "../../stock.rig"), Source)
    Path("tour", mark).mkdir()
    assert isinstance(load("tour/rigs/hall.rig", "../stock.rig"), Source)
    refused = load("tour/rigs/hall.rig", "../../stock.rig")
    assert isinstance(refused, Refused)
    assert refused.reason == (
        f"it lies outside the project's folder tour; an empty file .rigspec in {folder} makes that the project"
    )


def test_without_a_mark_the_project_is_the_rigs_own_folder() -> None:
    write("tour/rigs/hall.rig", "tour/rigs/more/stock.rig", "tour/rigs-old/stock.rig")
    assert isinstance(load("tour/rigs/hall.rig", "more/stock.rig"), Source)
    assert isinstance(load("tour/rigs/hall.rig", "../rigs-old/stock.rig"), Refused)


def test_the_mark_that_a_refusal_proposes_lets_the_file_in() -> None:
    write("show/tour/rigs/hall.rig", "show/tour/stock.rig")
    refused = load("show/tour/rigs/hall.rig", "../stock.rig")
    assert isinstance(refused, Refused)
    assert "an empty file .rigspec in show/tour makes that the project" in refused.reason
    Path("show/tour/.rigspec").touch()
    assert isinstance(load("show/tour/rigs/hall.rig", "../stock.rig"), Source)


def test_a_link_may_lead_through_the_project_but_not_out_of_it() -> None:
    write("secret.txt", "tour/.rigspec", "tour/hall.rig", "tour/stock/house.rig")
    Path("tour/inside.rig").symlink_to("stock/house.rig")
    Path("tour/outside.rig").symlink_to("../secret.txt")
    Path("tour/up").symlink_to("..")
    assert isinstance(load("tour/hall.rig", "inside.rig"), Source)
    for used in ("outside.rig", "up/secret.txt", "up/tour/up/secret.txt"):
        refused = load("tour/hall.rig", used)
        assert isinstance(refused, Refused)
        assert refused.reason == "a link leads it outside the project's folder tour"


@pytest.mark.parametrize(
    ("used", "reason"),
    [
        ("/etc/hostname", "its path is absolute"),
        ("C:/stock.rig", "its path is absolute"),
        ("c:stock.rig", "its path is absolute"),
        ("stock\\house.rig", "its path holds a backslash"),
        ("~/stock.rig", "`~` does not stand for a home folder here"),
        (" ", "it names no file"),
        ("a\0b", "its name holds a character that no file name can hold"),
        ("x" * 5000, "its name is too long"),
        ("hall.rig/x", "a part of its path is not a folder"),
        ("gone.rig", "it does not exist"),
        ("hal.rig", "it does not exist (did you mean hall.rig?)"),
        (".", "it is a folder"),
    ],
)
def test_a_path_that_is_not_taken_says_why(used: str, reason: str) -> None:
    write("hall.rig")
    Path(".rigspec").touch()
    refused = load("hall.rig", used)
    assert isinstance(refused, Refused)
    assert refused.reason == reason


def test_a_stock_file_is_read_once_however_many_rigs_and_paths_lead_to_it(monkeypatch: pytest.MonkeyPatch) -> None:
    write(".rigspec", "rigs/a.rig", "rigs/b.rig", "stock/house.rig")
    Path("stock/same.rig").symlink_to("house.rig")
    reads: list[str] = []

    def counted(path: str, shown: str) -> Source | files.Unreadable:
        reads.append(shown)
        return files.read(path, shown)

    monkeypatch.setattr(library, "read", counted)
    texts = Library()
    got = set()
    for rig in ("rigs/a.rig", "rigs/b.rig"):
        source = texts.open(rig)
        assert isinstance(source, Source)
        for used in ("../stock/house.rig", "../stock/same.rig", "./../rigs/../stock/house.rig"):
            got.add(id(texts.reader(source)(source.path, used)))
    assert len(got) == 1
    assert reads == ["rigs/a.rig", "stock/house.rig", "rigs/b.rig"]


def test_text_from_standard_input_stands_for_the_file_it_is_named_after(run: Run) -> None:
    write("rigs/hall.rig", "rigs/stock.rig")
    assert run("check", "-", "--name", "rigs/hall.rig", stdin=b'use "stock.rig"\n').code == 0
