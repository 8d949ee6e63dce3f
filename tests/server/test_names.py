"""Where names are declared and used, over all files of a rig, and what renaming changes."""

from __future__ import annotations

from pathlib import Path

import pytest
from served import RIG, STOCK, Look

from rigspec.check import check
from rigspec.files.fixing import applied
from rigspec.server.navigate import Refusal, definition, file_at, references, renamable, rename, subject
from rigspec.server.snapshot import Snapshot
from rigspec.server.workspace import Workspace
from rigspec.text.source import Source

EXTRA = """\
speaker sub[3..4] is reflex-18
bass.2 -> lead thick-pair -> sub[3..4] linked thick-pair 1 m
group subs: sub[*], against sub[3]
expect loss of subs <= 1 dB
allow lead-loss-high on sub[3] because "once"
place lawn { at 0 m, 9 m; hears send }
"""
WHOLE = RIG.replace("spare bass.2\n", "") + EXTRA


def at(look: Look, word: str, occurrence: int = 1) -> tuple[Snapshot, int]:
    offset = -1
    for _ in range(occurrence):
        offset = WHOLE.index(word, offset + 1)
    sight, _ = look(WHOLE)
    return sight, offset + 1


def places(spans: object) -> list[tuple[str, int]]:
    return [(span.path, span.line) for span in spans]  # type: ignore[attr-defined]


@pytest.mark.parametrize(
    ("word", "occurrence", "expected"),
    [
        ("send ->", 1, [("hall.rig", 2)]),
        ("bass.1", 1, [("hall.rig", 3)]),
        (".1 -> lead", 1, [("hall.rig", 3)]),  # a port leads to what it is of
        ("sub[1..2] linked", 1, [("hall.rig", 4)]),
        ("sub[3..4] linked", 1, [("hall.rig", 6)]),
        ("sub[*]", 1, [("hall.rig", 4), ("hall.rig", 6)]),
        ("subs <=", 1, [("hall.rig", 8)]),
        ("twin-900", 1, [("house.rig", 1)]),
        ("thick-pair ->", 1, [("house.rig", 4)]),
        ("thick-pair 1 m", 1, [("house.rig", 4)]),
        ("2.5 mm2", 1, []),
        ("lead-loss-high", 1, []),
    ],
)
def test_a_name_leads_to_where_it_is_declared(
    look: Look, word: str, occurrence: int, expected: list[tuple[str, int]]
) -> None:
    assert places(definition(*at(look, word, occurrence))) == expected


def test_the_path_of_a_file_leads_to_it(look: Look) -> None:
    assert file_at(*at(look, "house.rig")) == "house.rig"


@pytest.mark.parametrize(
    ("word", "expected"),
    [
        ("send {", [2, 5, 11]),
        ("sub[3]", [4, 5, 6, 7, 8, 8, 10]),
        ("subs:", [8, 9]),
    ],
)
def test_every_use_of_a_name_is_found(look: Look, desk: Workspace, word: str, expected: list[int]) -> None:
    sight, offset = at(look, word)
    mention = sight.mention(offset)
    assert mention is not None
    what, name = subject(mention)
    found = references(desk.family(sight, what, name), what, name)
    assert places(found) == [("hall.rig", line) for line in expected]
    without = references(desk.family(sight, what, name), what, name, declaration=False)
    assert len(without) < len(found)


def test_a_kind_is_found_in_all_rigs_of_the_project_open_or_not(look: Look, desk: Workspace, tmp_path: Path) -> None:
    (tmp_path / "deep").mkdir()
    (tmp_path / "deep" / "street.rig").write_text('use "../house.rig"\namp a is twin-900\n', encoding="utf-8")
    (tmp_path / "alone.rig").write_text("stock amp twin-900 { channels 4 }\namp b is twin-900\n", encoding="utf-8")
    (tmp_path / "deep" / ".rigspec").touch()  # a project of its own must not be looked through ...
    (tmp_path / "deep" / ".rigspec").unlink()
    sight, _offset = at(look, "twin-900")
    family = desk.family(sight, "kind", "twin-900")
    spans = references(family, "kind", "twin-900")
    assert places(spans) == [("deep/street.rig", 2), ("hall.rig", 3), ("house.rig", 1)]


@pytest.mark.parametrize(
    ("word", "new"),
    [("sub[3]", "low-box"), ("bass.1", "amp_1"), ("send ->", "desk"), ("subs", "line"), ("twin-900", "twin-1000")],
)
def test_a_new_name_leaves_every_figure_and_finding_as_it_was(look: Look, desk: Workspace, word: str, new: str) -> None:
    sight, offset = at(look, word)
    mention = renamable(sight, offset)
    files = desk.family(sight, mention.what, mention.name)
    edits = rename(files, mention.what, mention.name, new)
    after = {}
    for path, file in files.items():
        text = applied(file.source, [edit for edit in edits if edit.span.path == path])
        assert text is not None
        after[path] = Source(path, text)
    report = check(after["hall.rig"], lambda user, used: after[used])
    assert [f.rule for f in report.findings] == [f.rule for f in sight.report.findings]
    assert len(report.figures.boxes) == len(sight.report.figures.boxes) == 4
    names = {gear.name for gear in report.figures.rig.gear.values()} | {r.name for r in report.figures.rig.rosters}
    known = names | set(report.figures.rig.kinds)
    assert new in known
    assert mention.name not in known


@pytest.mark.parametrize(
    ("word", "new", "why"),
    [
        ("bass.1", "2bass", "cannot be a name"),
        ("bass.1", "", "cannot be a name"),
        ("bass.1", "bass-", "cannot be a name"),
        ("bass.1", "sub", "there is a thing called sub already"),
        ("bass.1", "subs", "there is a thing called subs already"),
        ("bass.1", "amp", "is a word of the language"),
        ("bass.1", "lead", "is a word of the language"),
        ("bass.1", "linked", "is a word of the language"),
        ("bass.1", "bass", "already"),
        ("twin-900", "reflex-18", "there is a kind called reflex-18 already"),
        ("thick-pair", "tinned", "says how a lead is made"),
        ("send {", "against", "would not mean what it means now"),
    ],
)
def test_a_name_that_cannot_be_is_refused(look: Look, desk: Workspace, word: str, new: str, why: str) -> None:
    text_word = word
    sight, offset = at(look, text_word)
    mention = renamable(sight, offset)
    if new == "against":
        sight, _ = look(WHOLE + "stereo main: send, send\nmix m: send sub\n")
    files = desk.family(sight, mention.what, mention.name)
    with pytest.raises(Refusal, match=why):
        rename(files, mention.what, mention.name, new)


def test_what_has_no_name_is_not_renamed(look: Look) -> None:
    for word in ("2.5 mm2", "lead-loss-high", "attenuator"):
        with pytest.raises(Refusal):
            renamable(*at(look, word))


def test_a_slip_that_names_the_thing_keeps_it_from_being_renamed(look: Look, desk: Workspace) -> None:
    sight, _ = look(WHOLE + "bass.2 -> -> su\u2038b[1]\n")
    files = desk.family(sight, "thing", "sub")
    with pytest.raises(Refusal, match="line 12 of hall\\.rig cannot be read and names sub"):
        rename(files, "thing", "sub", "box")
    assert rename(files, "thing", "send", "desk")  # the slip does not name that one


def test_the_stock_of_a_rig_that_is_open_is_looked_at_as_it_is_there(
    look: Look, desk: Workspace, tmp_path: Path
) -> None:
    desk.open((tmp_path / "house.rig").as_uri(), "# moved\n" + STOCK, 1)
    assert places(definition(*at(look, "twin-900"))) == [("house.rig", 2)]
