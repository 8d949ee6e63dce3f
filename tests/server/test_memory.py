"""What is taken over from earlier checks: after every edit of a sample findings and figures are those of a new one."""

from __future__ import annotations

from pathlib import Path

import pytest
from replaying import edits
from test_edits import _whole

from rigspec.check import Report, check
from rigspec.memory import FORGET_EVERY, Memory, remembered, remembering
from rigspec.parse.again import Rereader
from rigspec.parse.reader import parse
from rigspec.show.figures_csv import figures_csv
from rigspec.source import Refused, Source
from rigspec.syntax import File

SAMPLES = Path(__file__).parents[2] / "samples"
ROUNDS = 40


class Readers:
    """A reader for each text, as a server has them, and the files that texts use."""

    def __init__(self) -> None:
        self.texts: dict[str, Source] = {}
        self.readers: dict[str, Rereader] = {}

    def load(self, using: str, used: str) -> Source | Refused:
        path = str(Path(using).parent / used)
        if path not in self.texts:
            if not Path(path).is_file():
                return Refused(used, "it does not exist")
            self.texts[path] = Source(path, Path(path).read_text(encoding="utf-8"))
        return self.texts[path]

    def read(self, source: Source) -> File:
        return self.readers.setdefault(source.path, Rereader()).parse(source)


def told(report: Report) -> object:
    """Everything that is said: findings, exceptions, and every table of figures."""
    return _whole(report.findings), _whole(report.excused), figures_csv(report)


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("**/*-*.rig")), ids=lambda path: path.stem)
def test_edits_of_a_sample_are_checked_as_if_for_the_first_time(path: Path) -> None:
    readers, memory = Readers(), Memory()
    text = path.read_text(encoding="utf-8")
    check(Source(str(path), text), readers.load, readers.read, memory)
    for number, (_, after) in enumerate(edits(text, ROUNDS, len(text))):
        source = Source(str(path), after)
        again = check(source, readers.load, readers.read, memory)
        assert told(again) == told(check(source, readers.load, parse)), number


def test_stock_that_changes_is_taken_in(tmp_path: Path) -> None:
    readers, memory = Readers(), Memory()
    rig = Source(
        str(tmp_path / "a.rig"),
        'use "s.rig"\namp a is twin\nspeaker s[1..2] is box\na.1 -> lead 4 mm2 9 m -> s[1..2] linked 4 mm2 1 m\n',
    )
    amp = "stock amp twin { channels 2; rated 900 W at 4 ohm; least-load 2.7 ohm; gain 32 dB }\n"
    stock = str(tmp_path / "s.rig")
    for ohm, low in ((8, False), (4, True), (8, False)):
        readers.texts[stock] = Source(stock, f"{amp}stock speaker box {{ impedance {ohm} ohm }}\n")
        found = check(rig, readers.load, readers.read, memory).findings
        assert any(finding.rule == "load-too-low" for finding in found) == low


def test_lines_that_a_finding_names_move_with_the_text(tmp_path: Path) -> None:
    readers, memory = Readers(), Memory()
    text = (
        "stock amp twin { channels 2; rated 550 W at 8 ohm; gain 32 dB }\nstock speaker box { impedance 8 ohm; rated "
        "200 W continuous, 9000 W peak }\nfeed f { level 1 dBu ± 4 dB; peak 5 dBu }\namp a is twin\nspeaker s is box\n"
        "f -> a.1 -> lead 10 mm2 1 m -> s\n"
    )
    for lines in (0, 2):
        source = Source(str(tmp_path / "a.rig"), "\n" * lines + text)
        found = check(source, readers.load, readers.read, memory).findings
        over = next(finding for finding in found if finding.rule == "box-over-continuous")
        assert over.decides == f"1 dBu ± 4 dB (line {3 + lines}) decides most"


def test_a_remembered_function_is_asked_once_for_the_same_values() -> None:
    asked = []

    @remembered
    def twice(number: float, names: tuple[str, ...], thing: Path, things: tuple[Path, ...]) -> float:
        asked.append(number)
        return 2 * number

    one, other, memory = Path("a"), Path("a"), Memory()
    with remembering(memory):
        assert twice(1.0, ("a",), one, (one,)) == twice(1.0, ("a",), one, (one,)) == 2.0
        assert len(asked) == 1
        assert twice(3.0, ("a",), one, (one,)) == 6.0
        twice(1.0, ("b",), one, (one,))
        twice(1.0, ("a",), other, (one,))  # equal is not the same: it may stand elsewhere
        twice(1.0, ("a",), one, (other,))
        twice(1.0, ("a",), one, (one, one))
        assert len(asked) == 6
    assert twice(1.0, ("a",), one, (one,)) == 2.0
    assert len(asked) == 7  # outside a check nothing is kept
    for _ in range(2 * FORGET_EVERY):
        memory.turn()
    assert not memory.kept
