"""What an editor's texts are read, bound and checked for, and how often; and which files are offered and read."""

from __future__ import annotations

from pathlib import Path

import pytest
from served import RIG, STOCK, Look

from rigspec.language.reader import parse
from rigspec.language.syntax import File
from rigspec.server import workspace as desks
from rigspec.server.completing import completions
from rigspec.server.hints import hints
from rigspec.server.outline import symbols
from rigspec.server.paint import paints
from rigspec.server.workspace import Workspace
from rigspec.text.source import Source


def test_each_text_is_parsed_once_for_each_content(
    desk: Workspace, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    parsed: list[str] = []

    def counted(source: Source) -> File:
        parsed.append(source.path)
        return parse(source)

    monkeypatch.setattr(desks, "parse", counted)
    uri = (folder / "hall.rig").as_uri()
    desk.open(uri, RIG, 1)
    for version, text in enumerate((RIG, f"# a\n{RIG}", RIG), 1):
        desk.change(uri, text, version)
        desk.findings()
        assert desk.sight(uri) is not None
    assert parsed == ["hall.rig", "house.rig", "hall.rig", "hall.rig"]
    (folder / "house.rig").write_text(f"# moved\n{STOCK}", encoding="utf-8")
    desk.findings()
    assert parsed[4:] == ["house.rig"]


def test_a_text_is_checked_again_once_it_or_what_it_uses_is_another(desk: Workspace, folder: Path) -> None:
    hall, street, house = ((folder / name).as_uri() for name in ("hall.rig", "street.rig", "house.rig"))
    desk.open(hall, RIG, 1)
    desk.open(street, RIG.replace("bass", "treble").replace("house", "gone"), 1)
    assert [each.rule for each in desk.findings()[street]] == ["use-missing"]

    def checks() -> int:
        before = desk.checks
        desk.findings()
        return desk.checks - before

    assert checks() == 0
    desk.change(hall, RIG, 2)  # the same again
    assert checks() == 0
    desk.change(hall, f"{RIG}# more\n", 3)
    assert (checks(), desk.others_changed) == (1, False)  # of others
    (folder / "gone.rig").mkdir()
    assert (checks(), desk.findings()[street][0].message.endswith("it is a folder")) == (1, True)
    (folder / "gone.rig").rmdir()
    (folder / "gone.rig").write_text(STOCK, encoding="utf-8")
    assert (checks(), desk.others_changed) == (1, True)
    assert desk.findings()[street] == ()
    desk.open(house, STOCK.replace("least-load 2.7", "least-load 4.5"), 1)
    assert checks() == 2  # itself and the hall
    assert [each.rule for each in desk.findings()[hall]] == ["load-too-low"]
    desk.close(house)
    assert (checks(), desk.findings()[hall]) == (1, ())


def test_what_needs_no_figures_waits_for_no_check(look: Look, desk: Workspace, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(desks, "resolve", None)  # nor for a rig
    sight, offset = look(f"{RIG}bass.2 -> s\u2038")
    labels = [each.label for each in completions(sight, offset)]
    assert "sub" in labels
    assert paints(sight, 0, offset)
    assert symbols(sight.file)
    assert desk.checks == 0
    assert hints(sight, 0, offset)
    assert desk.checks == 1


def test_files_outside_and_hidden_ones_are_neither_offered_nor_read(
    look: Look, desk: Workspace, folder: Path, tmp_path_factory: pytest.TempPathFactory
) -> None:
    outside = tmp_path_factory.mktemp("outside")
    other = 'use "house.rig"\namp a is twin-900\n'
    for path in (
        outside / "far.rig",
        folder / ".hidden.rig",
        folder / ".drafts" / "old.rig",
        folder / "deep" / "b.rig",
    ):
        path.parent.mkdir(exist_ok=True)
        path.write_text(
            other.replace("house", "../house" if path.parent.parent == folder else "house"), encoding="utf-8"
        )
    (outside / "house.rig").write_text(STOCK, encoding="utf-8")
    (folder / "far.rig").symlink_to(outside / "far.rig")
    (folder / "far").symlink_to(outside)
    (folder / "~home.rig").write_text(other, encoding="utf-8")  # a `use` beside it refuses that
    (folder / "old.rig").symlink_to(folder / ".drafts" / "old.rig")
    (folder / "same.rig").symlink_to("deep/b.rig")
    sight, _ = look(RIG)
    assert desk.usable(sight.source) == ["deep/b.rig", "house.rig"]
    files = desk.family(sight, "kind", "twin-900")
    assert sorted(files) == ["deep/b.rig", "hall.rig", "house.rig"]
    sight, _ = look(RIG, "deep/street.rig")
    assert desk.usable(sight.source) == ["../house.rig", "../~home.rig", "b.rig"]
