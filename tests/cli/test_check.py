"""`rigspec check`: what is read, what comes out, and the exit code."""

import json
import os
import shutil
import socket
from pathlib import Path
from xml.etree import ElementTree

import pytest
from hypothesis import HealthCheck, example, given, settings
from hypothesis import strategies as st
from running import CLEAN, SLIP, Run, process

from rigspec.cli import checking
from rigspec.files.files import LIMIT
from rigspec.rules import RULES
from rigspec.show.people import summary
from rigspec.text.finding import Severity


def test_a_clean_rig_gives_exit_0_and_one_line(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(CLEAN)
    ran = run("check", "hall.rig")
    assert (ran.code, ran.out, ran.err) == (0, summary((), 1) + "\n", "")


def test_a_finding_gives_exit_1_and_its_place(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(CLEAN + SLIP)
    ran = run("check", "hall.rig")
    assert ran.code == 1
    assert ran.out.startswith("hall.rig:2:1 error syntax\n")
    assert "\n1 error in 1 file; why" in ran.out


def test_without_a_path_the_current_folder_is_checked_and_hidden_things_are_left_out(folder: Path, run: Run) -> None:
    for name in ("b/2.rig", "b-c/1.rig", "a.rig", ".hidden/no.rig", "b/.#no.rig", "b/notes.txt"):
        (folder / name).parent.mkdir(exist_ok=True)
        (folder / name).write_text(SLIP)
    ran = run("check", "--as", "json")
    assert json.loads(ran.out)["files"] == ["a.rig", "b/2.rig", "b-c/1.rig"]


def test_a_file_that_is_named_twice_is_checked_once(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(SLIP)
    (folder / "link.rig").symlink_to("hall.rig")
    ran = run("check", "hall.rig", "./hall.rig", str(folder / "hall.rig"), ".", "link.rig")
    assert ran.out.count("error syntax") == 1
    assert "in 1 file; why" in ran.out


@pytest.mark.parametrize(
    ("severity", "fail_on", "code"),
    [
        ("error", "error", 1),
        ("error", "never", 0),
        ("warning", "error", 0),
        ("warning", "warning", 1),
        ("advice", "warning", 0),
        ("advice", "advice", 1),
    ],
)
def test_fail_on_is_the_least_severity_that_fails(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch, severity: str, fail_on: str, code: int
) -> None:
    from attrs import evolve

    monkeypatch.setitem(RULES, "syntax", evolve(RULES["syntax"], severity=Severity(severity)))
    (folder / "hall.rig").write_text(SLIP)
    ran = run("check", "hall.rig", "--fail-on", fail_on)
    assert (ran.code, f"{severity} syntax" in ran.out) == (code, True)


def test_every_form_tells_of_slips_missing_files_and_misuse(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(SLIP)

    def json_rules(text: str) -> list[str]:
        return [finding["rule"] for finding in json.loads(text)["findings"]]

    def sarif_rules(text: str) -> list[str]:
        return [result["ruleId"] for result in json.loads(text)["runs"][0]["results"]]

    def junit_rules(text: str) -> list[str]:
        return [failure.attrib["type"] for failure in ElementTree.fromstring(text.encode()).iter("failure")]

    def line_rules(text: str) -> list[str]:
        return [line.rpartition("[")[2].rstrip("]") for line in text.splitlines()]

    readers = {"json": json_rules, "sarif": sarif_rules, "junit": junit_rules, "line": line_rules}
    for form, rules in readers.items():
        found = run("check", f"--as={form}", "gone.rig", "hall.rig")
        assert (found.code, sorted(rules(found.out)), found.err) == (2, ["file-unreadable", "syntax"], "")
        misused = run("check", "--as", form, "--wrong")
        assert (misused.code, rules(misused.out), misused.err) == (2, ["usage"], "")


def test_a_misused_command_line_is_shown_with_the_word_that_is_wrong(run: Run) -> None:
    ran = run("check", "a b.rig", "--fial-on", "error")
    assert ran.code == 2
    assert ran.out == ""
    assert ran.err == (
        "command-line:1:25: error usage: check has no option --fial-on\n"
        "        1 | rigspec check 'a b.rig' --fial-on error\n"
        "          |                         ^^^^^^^^^\n"
        "    change: did you mean --fail-on? `rigspec check --help` lists the options\n"
    )


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["chekc"], "there is no command chekc"),
        (["hall.rig"], "`rigspec check hall.rig`"),
        (["--versoin"], "did you mean --version?"),
        (["check", "--as", "xml"], "--as takes people, line, json, sarif or junit, not xml"),
        (["check", "--as"], "--as needs a value"),
        (["check", "--fix=yes"], "--fix takes no value"),
        (["check", "--name", "x.rig"], "--name goes with -"),
        (["check", "--fix", "-"], "--fix cannot change standard input"),
        (["figures"], "figures needs a FILE"),
        (["figures", "a", "b"], "figures has no table b"),
        (["explain", "a", "b"], "explain takes 1 RULE only, here are 2"),
        (["help", "chek"], "there is no command chek"),
    ],
)
def test_misuse_says_what_would_be_right(run: Run, arguments: list[str], said: str) -> None:
    ran = run(*arguments)
    assert ran.code == 2
    assert said in ran.err


def test_what_follows_two_hyphens_is_a_path(folder: Path, run: Run) -> None:
    (folder / "--as.rig").write_text(CLEAN)
    assert run("check", "--", "--as.rig").code == 0


def test_standard_input_has_the_name_and_the_folder_it_is_given(folder: Path, run: Run) -> None:
    (folder / "rigs").mkdir()
    ran = run("check", "-", "--name", "./rigs/new.rig", "--as", "line", stdin=SLIP.encode())
    assert (ran.code, ran.out[:19]) == (1, "rigs/new.rig:1:1: e")
    assert run("check", "-", "--as", "line", stdin=SLIP.encode()).out.startswith("stdin:1:1: error")


@pytest.mark.parametrize(
    ("data", "place", "said"),
    [
        (b"amp a is b\namp \xe9", "2:5", "not UTF-8 text (byte 0xE9 at offset 15)"),
        ("amp".encode("utf-16"), "1:1", "UTF-16"),
        (b"#" * (LIMIT + 1), "1:1", "larger than 4 MiB"),
    ],
    ids=["latin-1", "utf-16", "huge"],
)
def test_what_is_no_rig_text_is_a_finding(folder: Path, run: Run, data: bytes, place: str, said: str) -> None:
    (folder / "hall.rig").write_bytes(data)
    for ran in (run("check", "hall.rig", "--as", "line"), run("check", "-", "--as", "line", stdin=data)):
        assert ran.code == 2
        assert f":{place}: error: this file cannot be read: it is" in ran.out
        assert said in ran.out


def test_the_largest_file_is_read(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_bytes(b"#" * LIMIT)
    assert run("check", "hall.rig").code == 0


def test_what_is_no_regular_file_is_refused_and_never_waited_for(folder: Path) -> None:
    os.mkfifo("pipe.rig")
    with socket.socket(socket.AF_UNIX) as server:
        server.bind("socket.rig")
        (folder / "link.rig").symlink_to("nowhere")
        ran = process("check", "--as", "line", "/dev/zero", ".")
    assert ran.returncode == 2
    assert [line.split(": ", 3)[3].split(" [")[0] for line in ran.stdout.decode().splitlines()] == [
        "it is a device, not a regular file",
        "it is a link to a file that does not exist",
        "it is a pipe, not a regular file",
        "it is a socket, not a regular file",
    ]


def test_a_missing_file_proposes_the_nearest(folder: Path, run: Run) -> None:
    (folder / "rigs").mkdir()
    (folder / "rigs/hall.rig").write_text(CLEAN)
    ran = run("check", "rigs/hal.rig")
    assert ran.code == 2
    assert "did you mean rigs/hall.rig?" in ran.out


def test_nothing_to_check_is_not_clean(folder: Path, run: Run) -> None:
    ran = run("check")
    assert ran.code == 2
    assert "no *.rig file" in ran.out


@given(st.binary(max_size=200) | st.text(max_size=80).map(lambda text: text.encode("utf-8", "replace")))
@example(b'use "\\0"\nuse "/etc/passwd"\nuse "' + b"a" * 5000 + b'"')
@example(b"\xef\xbb\xbf\x00{{{{")
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_any_bytes_give_findings_or_exit_2_but_never_an_internal_error(run: Run, data: bytes) -> None:
    for form in ("people", "json"):
        ran = run("check", "-", "--as", form, stdin=data)
        assert ran.code in (0, 1, 2)
        assert ran.err == ""
        assert ran.code != 2 or "file-unreadable" in ran.out


SAMPLES = [path.read_bytes() for path in sorted(Path(__file__).parents[2].glob("samples/*.rig"))]


@st.composite
def mangled(draw: st.DrawFn) -> bytes:
    """A sample with pieces of it, and of others, in the wrong places."""
    data = draw(st.sampled_from(SAMPLES))
    for _ in range(draw(st.integers(1, 4))):
        piece = draw(st.sampled_from(draw(st.sampled_from(SAMPLES)).split()) | st.binary(max_size=3))
        at, gone = draw(st.integers(0, len(data))), draw(st.integers(0, 12))
        data = data[:at] + draw(st.sampled_from([b"", b" ", b"\n"])) + piece + data[at + gone :]
    return data


@given(mangled())
@settings(max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_a_mangled_rig_never_gives_an_internal_error(run: Run, data: bytes) -> None:
    shutil.copytree(Path(__file__).parents[2] / "samples/stock", "stock", dirs_exist_ok=True)
    ran = run("check", "-", stdin=data)
    assert (ran.err, "error" in ran.out) == ("", ran.code > 0)


def test_colour_is_for_terminals_that_want_it(folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    from rigspec.cli import terminal

    (folder / "hall.rig").write_text(SLIP)

    def coloured(*options: str) -> bool:
        return "\x1b[" in run("check", "hall.rig", *options).out

    assert (coloured(), coloured("--colour", "always"), coloured("--color=never")) == (False, True, False)
    monkeypatch.setattr(terminal, "is_terminal", lambda stream: True)
    monkeypatch.setenv("TERM", "xterm")
    assert (coloured(), coloured("--colour", "never")) == (True, False)
    monkeypatch.setenv("NO_COLOR", "")  # no-color.org: only when it is not empty
    assert coloured()
    monkeypatch.setenv("NO_COLOR", "1")
    assert (coloured(), coloured("--colour", "always")) == (False, True)
    monkeypatch.delenv("NO_COLOR")
    monkeypatch.setenv("TERM", "dumb")
    assert not coloured()


def test_an_internal_error_is_one_line_that_asks_for_a_report(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    def broken(source: object, load: object) -> None:
        raise ValueError("two\nlines")

    (folder / "hall.rig").write_text(CLEAN)
    monkeypatch.setattr(checking, "check", broken)
    ran = run("check", "hall.rig")
    assert (ran.code, ran.out, ran.err.count("\n")) == (2, "", 1)
    for said in ("internal error while checking hall.rig: ValueError two lines", "test_check.py:", "report"):
        assert said in ran.err
    assert "Traceback" not in ran.err
    monkeypatch.setenv("RIGSPEC_DEBUG", "1")
    assert "Traceback" in run("check", "hall.rig").err


def test_ctrl_c_is_quiet(folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def interrupted(source: object, load: object) -> None:
        raise KeyboardInterrupt

    (folder / "hall.rig").write_text(CLEAN)
    monkeypatch.setattr(checking, "check", interrupted)
    ran = run("check", "hall.rig")
    assert (ran.code, ran.out, ran.err) == (130, "", "")


def test_a_reader_that_goes_away_is_no_fault(folder: Path) -> None:
    (folder / "hall.rig").write_text(SLIP * 2000)
    import subprocess
    import sys

    for form in ("people", "json"):
        with subprocess.Popen(
            [sys.executable, "-m", "rigspec", "check", "--as", form, "hall.rig"],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
        ) as child:
            assert child.stdout is not None
            assert child.stderr is not None
            child.stdout.read(1)
            child.stdout.close()
            assert child.stderr.read() == b""
            assert child.wait() == 2


def test_output_that_cannot_be_written_is_said(folder: Path) -> None:
    import subprocess
    import sys

    (folder / "hall.rig").write_text(SLIP)
    with open("/dev/full", "wb") as full:
        command = [sys.executable, "-m", "rigspec", "check", "hall.rig"]
        ran = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, check=False)
    assert ran.returncode == 2
    assert ran.stderr == b"rigspec: the output cannot be written: no space left on device\n"


def test_a_terminal_without_the_letters_gets_escapes_and_programs_get_utf_8(folder: Path) -> None:
    (folder / "hall.rig").write_text("amp { µ Ω\n")
    os.environ["PYTHONIOENCODING"] = "ascii"
    try:
        people, line = process("check", "hall.rig"), process("check", "hall.rig", "--as", "junit")
    finally:
        del os.environ["PYTHONIOENCODING"]
    assert (people.returncode, people.stderr) == (1, b"")
    assert b"\\u03a9" in people.stdout
    assert "Ω" in line.stdout.decode("utf-8")


def test_the_everyday_command_takes_the_same_options_as_the_table_gives() -> None:
    from rigspec.cli.command import read_words
    from rigspec.cli.commands import CHECK
    from rigspec.cli.main import PLAIN_CHECK

    assert read_words(CHECK, ["check", "hall.rig"]) == (("hall.rig",), PLAIN_CHECK)


def test_a_clean_check_loads_nothing_that_it_does_not_need(folder: Path) -> None:
    import subprocess
    import sys

    (folder / "hall.rig").write_text(CLEAN)
    code = (
        "import sys; sys.argv = ['rigspec', 'check', 'hall.rig']\n"
        "from rigspec.cli.main import main; main(); print(*sys.modules)"
    )
    loaded = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True).stdout.split()
    heavy = {"argparse", "json", "xml", "pathlib", "tempfile", "logging", "lark", "pint", "shutil", "subprocess"}
    assert not heavy & set(loaded)


@pytest.mark.parametrize("rule", ["file-unreadable", "usage"])
def test_the_examples_of_the_command_line_rules_do_what_they_say(folder: Path, rule: str) -> None:
    (folder / "hall.rig").write_text(CLEAN)

    def ran(example: str) -> tuple[int, bool]:
        prompt, name, *arguments = example.split()
        assert (prompt, name) == ("$", "rigspec")
        done = process(*arguments)
        return done.returncode, f"error {rule}".encode() in done.stdout + done.stderr

    assert ran(RULES[rule].bad) == (2, True)
    assert ran(RULES[rule].good) == (0, False)
