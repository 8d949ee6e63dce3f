"""`rigspec new` and `rigspec gaps`: a checked rig at once, entries that can be filled in, what a stock lacks."""

from __future__ import annotations

import re
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from rigspec.check import check
from rigspec.language.format import canonical
from rigspec.language.settings import TABLES
from rigspec.make import PATTERNS
from rigspec.plans.gaps import LACKS, POWERED, gaps_text
from rigspec.plans.starting import SORTS, entry, started
from rigspec.text.source import Refused, Source

Run = Callable[..., "subprocess.CompletedProcess[str]"]
ROOT = Path(__file__).parents[2]
HOUSE = (ROOT / "samples/stock/house.rig").read_text(encoding="utf-8")


def alone(_: str, used: str) -> Refused:
    return Refused(used, "there is none")


@pytest.mark.parametrize("name", PATTERNS)
def test_each_pattern_checks_clean_with_its_own_stock_and_no_more(name: str) -> None:
    rig, stock = started((ROOT / f"grammar/patterns/{name}.rig").read_text(encoding="utf-8"), HOUSE)
    report = check(Source("a.rig", rig), lambda _, used: Source(used, stock))
    assert (report.findings, report.excused) == ((), ())
    used = {gear.kind.name for gear in report.figures.rig.gear.values() if gear.kind is not None}
    used |= {name for name in report.figures.rig.kinds if name in rig}
    assert set(report.figures.rig.kinds) == used
    assert [canonical(Source("", text)) for text in (rig, stock)] == [rig, stock]
    assert len(rig.splitlines()) <= 35


def test_every_pattern_has_a_place_on_the_page() -> None:
    assert sorted(path.stem for path in (ROOT / "grammar/patterns").iterdir()) == sorted(PATTERNS)


@pytest.mark.parametrize("sort", SORTS)
def test_an_entry_says_all_settings_and_each_line_can_be_taken_as_it_stands(sort: str) -> None:
    text = entry(sort, "mine")
    assert canonical(Source("", text)) == text
    assert not check(Source("s.rig", text), alone).findings
    for word, field in TABLES[f"stock {sort}"].items():
        (line,) = re.findall(rf"^  # ({re.escape(field.example)} +# .*)$", text, re.MULTILINE)
        told = check(Source("s.rig", f"stock {sort} mine {{\n  {line}\n}}\n"), alone).findings
        assert not [
            each for each in told if each.rule in ("syntax", "setting-unknown", "setting-value", "unit-unknown")
        ], word


def test_what_is_lacking_are_settings_that_there_are() -> None:
    for sort, rows in LACKS.items():
        for words, _ in (*rows, *(POWERED if sort == "speaker" else ())):
            assert set(words) <= set(TABLES[f"stock {sort}"]), words


def test_a_stock_is_told_what_it_lacks() -> None:
    stock = (
        "stock amp even { channels 2; rated 400 W at 4 ohm }\n"
        "stock speaker top { impedance 8 ohm; rated 300 W continuous; sensitivity 97 dB SPL; band 60 Hz to 18 kHz }\n"
        "stock speaker sub { impedance 8 ohm; rated 300 W continuous; sensitivity 97 dB SPL; band 40 Hz to 120 Hz }\n"
    )
    said = gaps_text(check(Source("s.rig", stock), alone).figures.rig).splitlines()
    assert said[0].startswith("3 kinds of gear.")
    assert "least-load: no load is too low for it (even)" in said
    assert "coverage: it is taken as equal in all directions above the bass (top)" in said, "bass spreads anyway"
    assert "weight: weights leave it out (every speaker)" in said
    assert not any(line.startswith(("rated", "impedance")) for line in said)


def test_a_newcomer_has_a_checked_rig_and_nothing_is_written_over(run: Run, tmp_path: Path) -> None:
    assert run("new", "sub", "-o", "shows").returncode == 0
    assert run("check", "shows/sub.rig").returncode == 0
    before = (tmp_path / "shows/sub.rig").read_bytes()
    (tmp_path / "shows/stock.rig").unlink()
    again = run("new", "sub", "-o", "shows")
    assert (again.returncode, (tmp_path / "shows/sub.rig").read_bytes()) == (2, before)
    assert "shows/sub.rig is there already" in again.stderr
    assert not (tmp_path / "shows/stock.rig").exists(), "all or nothing"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("pear",), "did you mean pair"),
        (("amp", "9!"), "9! is no name"),
        (("pair", "mine"), "pair takes no name"),
    ],
)
def test_what_cannot_be_started_is_said(words: tuple[str, ...], said: str, run: Run, tmp_path: Path) -> None:
    ran = run("new", *words)
    assert ran.returncode == 2
    assert said in ran.stderr
    assert list(tmp_path.glob("*.rig")) == []


@pytest.mark.parametrize(("asked", "written"), [("monitors", "wedge"), ("delay", "tower"), ("wedding", "sub")])
def test_a_show_may_be_asked_for_by_its_name(asked: str, written: str, run: Run, tmp_path: Path) -> None:
    assert run("new", asked).returncode == 0
    assert sorted(path.name for path in tmp_path.glob("*.rig")) == sorted([f"{written}.rig", "stock.rig"])


def test_all_there_is_to_start_from_is_listed(run: Run) -> None:
    said = run("new").stdout
    assert all(re.search(rf"^{name} +\S", said, re.MULTILINE) for name in PATTERNS)
