"""`rigspec format`: when it writes, when it only looks, and what it never touches."""

import subprocess
from pathlib import Path

import pytest
from running import CLEAN, SLIP, UNTIDY, Run, process

from rigspec import check
from rigspec.cli import format_command, writing
from rigspec.language.format import Unprovable, canonical
from rigspec.text.source import Refused, Source

TIDY = canonical(Source("hall.rig", UNTIDY))


def test_only_what_changes_is_written(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(UNTIDY)
    (folder / "tidy.rig").write_text(TIDY)
    before = (folder / "tidy.rig").stat().st_mtime_ns
    ran = run("format", ".", "hall.rig")
    assert (ran.code, ran.out) == (0, "formatted hall.rig\n")
    assert ran.err == "1 file formatted, 1 file already in canonical form\n"
    assert (folder / "hall.rig").read_text() == TIDY != UNTIDY
    assert (folder / "tidy.rig").stat().st_mtime_ns == before
    again = run("format")
    assert (again.code, again.out) == (0, "")


def test_check_lists_what_would_change_and_writes_nothing(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(UNTIDY)
    (folder / "tidy.rig").write_text(TIDY)
    ran = run("format", "--check")
    assert (ran.code, ran.out) == (1, "hall.rig\n")
    assert (folder / "hall.rig").read_text() == UNTIDY
    assert run("format", "--check", "tidy.rig").code == 0


@pytest.mark.parametrize("before", [UNTIDY, UNTIDY + "# end", 'rig "a"\n\n\n\nfeed  x { level 4 dBu }\n'])
def test_the_diff_turns_the_file_into_its_canonical_form(folder: Path, run: Run, before: str) -> None:
    (folder / "hall.rig").write_text(before)
    ran = run("format", "--diff", "hall.rig")
    assert ran.code == 1
    assert (folder / "hall.rig").read_text() == before
    subprocess.run(["patch", "-s", "hall.rig"], input=ran.out.encode(), check=True)
    assert (folder / "hall.rig").read_text() == canonical(Source("hall.rig", before))


def test_line_ends_and_a_byte_order_mark_are_told_not_shown(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_bytes(b"\xef\xbb\xbf" + TIDY.replace("\n", "\r\n").encode())
    ran = run("format", "--diff", "hall.rig")
    assert (ran.code, ran.out) == (
        1,
        "# hall.rig: the byte order mark goes\n# hall.rig: the line ends CR LF become LF\n",
    )
    assert run("format").code == 0
    assert (folder / "hall.rig").read_bytes() == TIDY.encode()


def test_standard_input_comes_out_on_standard_output_byte_by_byte(folder: Path) -> None:
    for text in (UNTIDY, TIDY, "", "# 8 Ω ± 10 %\n"):
        ran = process("format", "-", stdin=text.encode())
        assert (ran.returncode, ran.stdout, ran.stderr) == (0, canonical(Source("", text)).encode(), b"")
    slips = process("format", "-", "--name", "rigs/new.rig", stdin=SLIP.encode())
    assert (slips.returncode, slips.stdout) == (2, b"")
    assert slips.stderr.startswith(b"rigs/new.rig:1:1: error syntax: ")
    looked = process("format", "--check", "-", stdin=UNTIDY.encode())
    assert (looked.returncode, looked.stdout) == (1, b"stdin\n")


def test_a_file_with_slips_is_left_and_the_others_are_formatted(folder: Path, run: Run) -> None:
    (folder / "a.rig").write_text(UNTIDY + SLIP)
    (folder / "b.rig").write_bytes(b"\xff")
    (folder / "c.rig").write_text(UNTIDY)
    ran = run("format")
    assert (ran.code, ran.out) == (2, "formatted c.rig\n")
    assert "a.rig:2:1: error syntax: " in ran.err
    assert "a.rig: not formatted; put this right first\n" in ran.err
    assert "b.rig:1:1: error file-unreadable: " in ran.err
    assert ran.err.endswith("1 file formatted, 2 files left untouched\n")
    assert (folder / "a.rig").read_text() == UNTIDY + SLIP
    assert run("format", "--check").code == 2


def test_what_cannot_be_proved_is_not_written(folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    def unprovable(source: Source) -> str:
        raise Unprovable("the canonical form would lose or move a comment")

    (folder / "hall.rig").write_text(UNTIDY)
    with monkeypatch.context() as patch:
        patch.setattr(format_command, "canonical", unprovable)
        ran = run("format")
    assert ran.code == 2
    assert "hall.rig: not formatted: the canonical form would lose or move a comment; this is a fault" in ran.err
    with monkeypatch.context() as patch:
        patch.setattr(check, "same_findings", lambda before, after, load: False, raising=False)
        ran = run("format")
    assert ran.code == 2
    assert "the canonical form would change what is found or computed" in ran.err
    assert (folder / "hall.rig").read_text() == UNTIDY


def test_a_write_that_fails_is_told_and_the_rest_goes_on(
    folder: Path, run: Run, monkeypatch: pytest.MonkeyPatch
) -> None:
    (folder / "a.rig").write_text(UNTIDY)
    (folder / "b.rig").write_text(UNTIDY)
    real = writing.replace

    def replace(place: str, before: Source, text: str) -> str:
        return "it is write-protected" if before.path == "a.rig" else real(place, before, text)

    monkeypatch.setattr(format_command, "replace", replace)
    ran = run("format")
    assert (ran.code, ran.out) == (2, "formatted b.rig\n")
    assert "a.rig: not formatted, it cannot be written: it is write-protected\n" in ran.err
    assert (folder / "a.rig").read_text() == UNTIDY


def test_clean_is_clean(folder: Path, run: Run) -> None:
    (folder / "hall.rig").write_text(CLEAN)
    assert run("format", "--check", "--diff").out == ""


QUOTING = {
    "allow-unused": "amp a is twin\nspeaker x[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> x[1,2] linked 2.5 mm2 1 m\n"
    'spare a.2\nallow  load-too-low   on   x[1,  2]   because "once"\n',
    "unit-mismatch": "stock speaker y { impedance 8 ohm; band 95 Hz  to   35 Hz }\n",
    "name-unknown": "amp a is twin\na.1  ->  nobody[ 1 .. 2 ]\nspare a.2\n",
    "setting-value": "amp a is twin  {  attenuator   -3 dB  loud }\nspare a.1 , a.2\n",
}


@pytest.mark.parametrize("rule", QUOTING)
def test_a_finding_may_quote_what_is_spaced_otherwise(folder: Path, run: Run, rule: str) -> None:
    stock = "stock amp twin { channels 2; least-load 2 ohm }\nstock speaker sub { impedance 8 ohm }\n"
    (folder / "hall.rig").write_text(stock + QUOTING[rule])
    assert f"[{rule}]" in run("check", "--as", "line", "hall.rig").out
    ran = run("format", "hall.rig")
    assert (ran.code, ran.out) == (0, "formatted hall.rig\n"), ran.err
    assert f"[{rule}]" in run("check", "--as", "line", "hall.rig").out


def test_a_form_that_changed_a_figure_of_a_finding_would_be_refused() -> None:
    before = Source("hall.rig", "stock speaker y { impedance 8 ohm; band 95 Hz to 35 Hz }\n")
    assert check.same_findings(before, Source("hall.rig", before.text.replace(" to ", "  to  ")), refuse)
    assert not check.same_findings(before, Source("hall.rig", before.text.replace("35", "36")), refuse)
    assert not check.same_findings(before, Source("hall.rig", before.text.replace("95", "25")), refuse)


def refuse(user: str, used: str) -> Refused:
    return Refused(used, "there is nothing beside it")
