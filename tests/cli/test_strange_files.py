"""What is no rig's text is not read, quoted or written: hidden files, links out of the project, pipes, devices."""

import os
from pathlib import Path

import pytest
from running import CLEAN, SLIP, UNTIDY, Run, process

from rigspec.files.library import Library, barred
from rigspec.text.source import Refused

TOKEN = "token_0123"
SECRET = f"[remote]\n{TOKEN} = x\n"


@pytest.fixture(autouse=True)
def project(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A project with things in it and beside it that are nobody's business."""
    here = folder / "tour"
    (here / ".git").mkdir(parents=True)
    for path in (".git/config", ".git/x.rig", ".env", "notes.txt", "../other.rig"):
        (here / path).write_text(SECRET)
    links = {
        "env.rig": ".env",
        "notes.rig": "notes.txt",
        "away.rig": "../other.rig",
        "passwd.rig": "/etc/passwd",
        "git": ".git",
        "up": "..",
    }
    for name, target in links.items():
        (here / name).symlink_to(target)
    os.mkfifo(here / "pipe.rig")
    monkeypatch.chdir(here)
    return here


USED = {
    ".git/config": "what is hidden is not read: .git",
    "./.git/x.rig": "what is hidden is not read: .git",
    ".env": "what is hidden is not read: .env",
    "git/x.rig": "what is hidden is not read: .git",
    "env.rig": "what is hidden is not read: .env",
    "notes.txt": "its name does not end in .rig, so it is no rig's text",
    "notes.rig": "it is a link to a file whose name does not end in .rig",
    "away.rig": "a link leads it outside the project's folder",
    "passwd.rig": "a link leads it outside the project's folder",
    "up/other.rig": "a link leads it outside the project's folder",
    "pipe.rig": "it is a pipe, not a regular file",
}


@pytest.mark.parametrize("used", USED)
def test_a_use_of_what_is_no_rigs_text_is_refused_and_nothing_of_it_is_told(project: Path, run: Run, used: str) -> None:
    (project / "hall.rig").write_text(f'use "{used}"\n')
    for form in ("people", "line", "json", "sarif", "junit"):
        ran = run("check", "--as", form, "hall.rig")
        assert ran.code == 1
        assert not [piece for piece in (TOKEN, "[remote]", "root:") if piece in ran.out + ran.err]
    assert f"`{used}` cannot be used: {USED[used]}" in run("check", "--as", "line", "hall.rig").out


NAMED = {
    ".git/config": "its name does not end in .rig",
    ".env": "its name does not end in .rig",
    "notes.txt": "its name does not end in .rig",
    "env.rig": "what is hidden is not read: .env",
    "notes.rig": "it is a link to a file whose name does not end in .rig",
    "away.rig": "a link leads it outside the project's folder",
    "passwd.rig": "a link leads it outside the project's folder",
    "pipe.rig": "it is a pipe, not a regular file",
    "/dev/zero": "it is a device, not a regular file",
}


@pytest.mark.parametrize("command", [("check",), ("check", "--fix"), ("format",), ("figures",), ("draw",), ("export",)])
@pytest.mark.parametrize("named", NAMED)
def test_a_file_that_is_named_is_held_to_the_same(run: Run, command: tuple[str, ...], named: str) -> None:
    ran = run(*command, named)
    said = ran.out + ran.err
    assert ran.code == 2
    assert NAMED[named] in " ".join(said.split())
    assert not [piece for piece in (TOKEN, "[remote]", "root:") if piece in said]


def test_a_walk_reports_links_that_leave_and_passes_over_what_is_hidden(project: Path, run: Run) -> None:
    outside = project / "../other.rig"
    outside.write_text(UNTIDY)
    for command in (("check", "--fix", "--as", "line"), ("format",)):
        ran = run(*command, ".")
        assert ran.code == 2
        assert (ran.out + ran.err).count("leads it outside") == 2
        assert ".git" not in ran.out + ran.err
    assert outside.read_text() == UNTIDY
    assert (project / "away.rig").is_symlink()


def test_a_hidden_rig_may_be_named_and_other_texts_come_through_standard_input(project: Path, run: Run) -> None:
    (project / ".draft.rig").write_text(SLIP)
    assert "expected" in run("check", ".draft.rig").out
    assert run("check", "-", "--name", "notes.txt", stdin=CLEAN.encode()).code == 0


def test_a_folder_on_the_way_may_be_a_link(project: Path, run: Run) -> None:
    (project / "hall.rig").write_text(CLEAN)
    (project / "../tour-of-today").symlink_to("tour")
    assert run("check", "../tour-of-today/hall.rig").code == 0


def test_whoever_reads_for_a_project_can_ask_before(project: Path) -> None:
    root = Library().root("hall.rig")
    (project / "hall.rig").write_text(CLEAN)
    assert barred("hall.rig", root) == ""
    assert "outside" in barred("away.rig", root)
    assert "hidden" in barred(".git/x.rig", root)
    assert isinstance(Library().reader(Library().open("hall.rig"))("hall.rig", "env.rig"), Refused)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    "text", [b"# old\ramp a is twin\r", CLEAN.encode() + b"# seen\ramp hidden\n", b"# twice\r\r\n"]
)
def test_a_carriage_return_alone_hides_nothing(project: Path, run: Run, text: bytes) -> None:
    (project / "mac.rig").write_bytes(text)
    column = len(text[: text.index(b"\r")].rpartition(b"\n")[2]) + 1
    ran = run("check", "--as", "line", "mac.rig")
    assert ran.code == 2
    assert f":{column}: error: this file cannot be read: a carriage return alone stands in it" in ran.out
    assert run("format", "mac.rig").code == 2
    assert (project / "mac.rig").read_bytes() == text
    assert run("check", "-", stdin=text).code == 2
    (project / "hall.rig").write_text('use "mac.rig"\n')
    assert "a carriage return alone" in run("check", "--as", "line", "hall.rig").out


def test_nothing_waits_for_a_pipe_or_a_device(project: Path) -> None:
    for words in (["pipe.rig"], ["/dev/zero"], ["."]):
        assert process("check", *words, timeout=10).returncode == 2
