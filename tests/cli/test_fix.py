"""`rigspec check --fix`: what it may change and what it must leave, shown with rules made for these tests.

The rules look at words in comments, so that each test can say what a fix does: `# bad` is a finding whose fix makes it
`# good`; other words name fixes that do not cure, that harm, or that change another file.
"""

import os
import re
import stat
from collections.abc import Iterable, Iterator
from pathlib import Path

import pytest
from attrs import evolve
from running import Run

from rigspec import check
from rigspec.check import Report
from rigspec.cli import checking
from rigspec.text.finding import Edit, Finding, Fix, Label
from rigspec.text.source import Load, Source, Span

FIXES = {"bad": "good", "useless": "useless ", "harmful": "broken"}


def findings(source: Source) -> Iterator[Finding]:
    for match in re.finditer(r"# *(bad|useless|harmful|broken)", source.text):
        span = Span(source, match.start(1), match.end(1))
        finding = Finding("syntax", span, f"{match[1]} is wrong", subject=match[1])
        cure = FIXES.get(match[1])
        yield evolve(finding, fix=Fix(f"make it {cure}", (Edit(span, cure),))) if cure else finding


def reported(source: Source, load: Load, found: Iterable[Finding]) -> Report:
    return evolve(check.check(source, load), findings=tuple(found))


def judge(source: Source, load: Load) -> Report:
    found = list(findings(source))
    for match in re.finditer(r'use "(.*)"', source.text):
        used = load(source.path, match[1])
        assert isinstance(used, Source)
        found += findings(used)
    return reported(source, load, found)


@pytest.fixture(autouse=True)
def _rules(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "check", judge)


def test_a_fix_that_cures_is_written_and_told(folder: Path, run: Run) -> None:
    rig = folder / "hall.rig"
    rig.write_bytes(b"\xef\xbb\xbf# first\r\n# bad\r\n# bad\r\n")
    ran = run("check", "--fix", "hall.rig")
    assert (ran.code, ran.err) == (0, "")
    assert rig.read_bytes() == b"\xef\xbb\xbf# first\r\n# good\r\n# good\r\n"
    assert ran.out == (
        "fixed: hall.rig:2:3: make it good [syntax]\n"
        "fixed: hall.rig:3:3: make it good [syntax]\n"
        "\n"
        "no findings in 1 file\n"
    )
    assert run("check", "--fix", "hall.rig").out == "no findings in 1 file\n"


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("# useless\n", "the finding would stay"),
        ("# harmful\n", "it would bring a new finding: broken is wrong [syntax]"),
        # the same words stand there already: there would be one more of them, which counts as new
        ("# harmful\n# broken\n", "it would bring a new finding: broken is wrong [syntax]"),
    ],
)
def test_a_fix_that_does_not_cure_or_harms_is_left(folder: Path, run: Run, text: str, reason: str) -> None:
    rig = folder / "hall.rig"
    rig.write_text(text)
    before = rig.stat()
    ran = run("check", "--fix", "hall.rig")
    assert ran.code == 1
    assert ran.out.startswith("not fixed: hall.rig:1:3: make it ")
    assert f" [syntax]: {reason}\n" in ran.out
    assert (rig.read_text(), rig.stat()) == (text, before)


def test_a_fix_that_moves_lines_does_not_make_other_findings_new(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setitem(FIXES, "bad", "good\n\n#")
    (folder / "hall.rig").write_bytes(b"# bad\r\n# broken\r\n")
    ran = run("check", "--fix", "hall.rig")
    assert "fixed: hall.rig:1:3" in ran.out
    assert "hall.rig:4:3 error syntax\n  broken is wrong" in ran.out
    assert (folder / "hall.rig").read_bytes() == b"# good\r\n\r\n#\r\n# broken\r\n"


def test_a_stock_file_is_changed_only_when_it_was_named(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text('use "stock.rig"\n')
    (folder / "stock.rig").write_text("# bad\n")
    ran = run("check", "--fix", "hall.rig")
    assert ran.code == 1
    assert "not fixed: stock.rig:1:3: make it good [syntax]: it changes stock.rig, which was not named" in ran.out
    assert (folder / "stock.rig").read_text() == "# bad\n"
    ran = run("check", "--fix", ".")
    assert ran.code == 0
    assert ran.out.count("fixed: ") == 1
    assert (folder / "stock.rig").read_text() == "# good\n"


def test_a_fix_must_not_harm_another_rig_that_uses_the_same_file(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def picky(source: Source, load: Load) -> Report:
        report = judge(source, load)
        if source.path == "other.rig" and "good" in load(source.path, "stock.rig").text:  # type: ignore[union-attr]
            broken = Finding("syntax", Span(source, 0, 3), "the other rig needs what was there")
            return evolve(report, findings=(*report.findings, broken))
        return report

    monkeypatch.setattr(checking, "check", picky)
    for name in ("hall.rig", "other.rig"):
        (folder / name).write_text('use "stock.rig"\n')
    (folder / "stock.rig").write_text("# bad\n")
    ran = run("check", "--fix", ".")
    assert "it would bring a new finding: the other rig needs what was there" in ran.out
    assert (folder / "stock.rig").read_text() == "# bad\n"


def test_a_finding_that_many_rigs_share_is_printed_once(folder: Path, run: Run) -> None:
    for number in range(3):
        (folder / f"{number}.rig").write_text('use "stock.rig"\n')
    (folder / "stock.rig").write_text("# broken\n")
    ran = run("check", "0.rig", "1.rig", "2.rig")
    assert ran.out.count("broken is wrong") == 1
    assert "1 error in 3 files; why" in ran.out


def test_edits_that_overlap_are_left(folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def twice(source: Source, load: Load) -> Report:
        edits = (Edit(Span(source, 0, 3), "x"), Edit(Span(source, 2, 5), "y"))
        span = Span(source, 0, 1)
        finding = Finding("syntax", span, "both", fix=Fix("do both", edits), related=(Label(span, "here"),))
        return reported(source, load, [finding])

    monkeypatch.setattr(checking, "check", twice)
    (folder / "hall.rig").write_text("# bad\n")
    assert "its edits contradict each other or change nothing" in run("check", "--fix", "hall.rig").out
    assert (folder / "hall.rig").read_text() == "# bad\n"


def test_permissions_and_links_survive(folder: Path, run: Run) -> None:
    (folder / "real").mkdir()
    real = folder / "real/hall.rig"
    real.write_text("# bad\n")
    real.chmod(0o640)
    (folder / "hall.rig").symlink_to("real/hall.rig")
    assert run("check", "--fix", "hall.rig").code == 0
    assert (folder / "hall.rig").is_symlink()
    assert (real.read_text(), stat.S_IMODE(real.stat().st_mode)) == ("# good\n", 0o640)
    assert [path.name for path in real.parent.iterdir()] == ["hall.rig"]


@pytest.mark.parametrize("step", ["fsync", "replace", "chmod"])
def test_a_write_that_fails_leaves_the_old_file_and_no_other(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch, step: str
) -> None:
    def fail(*_: object) -> None:
        raise OSError(28, "No space left on device")

    (folder / "hall.rig").write_text("# bad\n")
    monkeypatch.setattr(os, step, fail)
    ran = run("check", "--fix", "hall.rig")
    monkeypatch.undo()
    assert ran.code == 2
    assert "not written: hall.rig: no space left on device; nothing in it was changed\n" in ran.out
    assert "bad is wrong" in ran.out
    assert [(path.name, path.read_text()) for path in folder.iterdir()] == [("hall.rig", "# bad\n")]


def test_a_file_that_changed_meanwhile_is_not_overwritten(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def meddling(source: Source, load: Load) -> Report:
        (folder / "hall.rig").write_text("# somebody else's\n")
        return judge(source, load)

    (folder / "hall.rig").write_text("# bad\n")
    monkeypatch.setattr(checking, "check", meddling)
    ran = run("check", "--fix", "hall.rig")
    assert ran.code == 2
    assert "not written: hall.rig: somebody else changed it meanwhile" in ran.out
    assert (folder / "hall.rig").read_text() == "# somebody else's\n"


def test_programs_get_the_findings_alone(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text("# bad\n# broken\n")
    ran = run("check", "--fix", "--as", "line", "hall.rig")
    assert ran.out == "hall.rig:2:3: error: broken is wrong [syntax]\n"
    assert ran.err == "fixed: hall.rig:1:3: make it good [syntax]\n"


def test_the_rules_that_ship_are_fixed_too(folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(checking, "check", check.check)
    (folder / "hall.rig").write_text("place lawn { at 0 m, 9 m }\nplace stage { at 0 m, 0 m }\nspare lwan\n")
    ran = run("check", "--fix", "hall.rig")
    assert "fixed: hall.rig:3:7: write `lawn` [name-unknown]\n" in ran.out
    assert (folder / "hall.rig").read_text().endswith("\nspare lawn\n")


def test_a_cure_of_which_a_person_has_to_choose_is_never_made(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    """One inversion of opposed drive is forgotten: is it to be added, or the other taken out?"""
    monkeypatch.setattr(checking, "check", check.check)
    text = (
        "stock amp twin { channels 2 }\nstock speaker sub { impedance 8 ohm }\namp a is twin\nspeaker s[1..2] is sub\n"
        "feed f { level 0 dBu }\nf -> a.1 -> lead 2.5 mm2 9 m -> s[1]\nf -> invert -> a.2 -> lead 2.5 mm2 9 m -> s[2]\n"
        "group subs: s[*]\n"
    )
    (folder / "hall.rig").write_text(text)
    ran = run("check", "--fix", "hall.rig")
    assert "polarity-clash" in ran.out
    assert "fix" not in ran.out
    assert (folder / "hall.rig").read_text() == text
