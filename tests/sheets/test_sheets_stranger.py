"""A stranger builds the rig from the sheets alone, and it is the same rig.

Nothing is taken from the rig file: a new one is written from the words of the sheets (`stranger.py`), with the stock
for the gear itself. Then both are checked: every figure of every table, every finding, and every setting is compared.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Callable

import pytest
from making import SAMPLES, reported, sample
from stranger import Paper, rows_of, written

from rigspec.check import Report
from rigspec.rig.model import Entry, Facts, Measure, Ref
from rigspec.show.figures_csv import figures_csv

PLACES = ("line", "file")  # where something stands in the text, which is another text
ON_CHANNELS = {"attenuator", "high-pass", "low-pass", "limit", "attack", "release", "joined", "bridge", "gain"}
"""What may be said of an amplifier or of each of its channels, with the same figures."""


def figures_of(report: Report) -> list[tuple[str, ...]]:
    """Every figure of every table; leads go without their names, as some are called by the line they stand in."""
    found = []
    for table, thing, key, value, unit in list(csv.reader(io.StringIO(figures_csv(report))))[1:]:
        if key not in PLACES:
            found.append((table, "" if table == "leads" else thing, key, "" if key == "lead" else value, unit))
    return sorted(found)


def _entry(entry: Entry) -> tuple[object, ...]:
    measures = tuple((each.kind, each.value, each.low, each.high) for each in entry.measures)
    refs: tuple[Ref, ...] = entry.refs
    return measures, entry.words, tuple(ref.span.text for ref in refs), entry.texts, entry.pairs


def _facts(facts: Facts, leave: set[str]) -> dict[str, object]:
    return {
        word: (tuple(map(_entry, given.entries)), _facts(given.inner, set()) if given.inner else None)
        for word, given in facts.items()
        if word not in leave
    }


def settings_of(report: Report) -> dict[str, object]:
    """Every setting of every thing, but what an amplifier and its channels share and how the supply is written."""
    found: dict[str, object] = {"rig": _facts(report.figures.rig.facts, set())}
    for name, gear in report.figures.rig.gear.items():
        leave = {"amp": ON_CHANNELS, "lead": {"size", "length"}, "mains": {"supply", "phases", "phase"}}
        found[name] = gear.word, gear.kind.name if gear.kind else "", _facts(gear.facts, leave.get(gear.word, set()))
        if gear.word != "amp":
            found |= {f"{name}.{port}": _facts(facts, set()) for port, facts in gear.ports.items() if facts}
    return found


def lists_of(report: Report) -> set[tuple[object, ...]]:
    """Groups, pairs, racks, mixes, spares, promises, readings and excuses."""
    rig = report.figures.rig
    found: set[tuple[object, ...]] = set()
    for each in rig.rosters:
        if each.word == "spare":
            found |= {("spare", part.key) for part in each.parts}
        else:
            parts = [(part.key, part.gain_db, part.against) for part in each.parts]
            found.add((each.word, each.name, str(_facts(each.facts, set())), *parts))
    for expectation in rig.expectations:
        wanted = expectation.value.value if isinstance(expectation.value, Measure) else expectation.value
        keys = tuple(part.key for part in expectation.subjects)
        band = expectation.band and (expectation.band.low, expectation.band.high)
        after = tuple(part.key for part in expectation.after)
        found.add((expectation.statement.figure, keys, after, band, expectation.statement.comparison, wanted))
    for reading in rig.readings:
        value = reading.value.value if isinstance(reading.value, Measure) else reading.value
        found.add(("measured", reading.statement.figure, reading.subject.key, value))
    return found | {("allow", each.statement.rule, each.names, each.statement.reason.value) for each in rig.excuses}


def findings_of(report: Report) -> set[tuple[str, str, str]]:
    return {(finding.rule, finding.subject, finding.message) for finding in report.findings}


@pytest.mark.parametrize("name", SAMPLES)
def test_the_rig_that_is_built_from_paper_is_the_rig(name: str) -> None:
    meant = sample(name)
    built = reported(written(rows_of(meant)))
    assert findings_of(built) == findings_of(meant)
    assert settings_of(built) == settings_of(meant)
    assert lists_of(built) == lists_of(meant)
    assert figures_of(built) == figures_of(meant)


def test_much_is_compared() -> None:
    meant = sample("festival-stage")
    assert len(figures_of(meant)) > 3500
    assert len(settings_of(meant)) > 80
    assert len(lists_of(meant)) > 30


def _first(table: str, head: str, is_so: Callable[[str], bool], becomes: str) -> Callable[[Paper], None]:
    def tamper(paper: Paper) -> None:  # the kind of a lead would tell its size once more
        next(row for row in paper[table] if is_so(row[head]) and not row.get("kind", "").endswith("pair"))[head] = (
            becomes
        )

    return tamper


@pytest.mark.parametrize(
    "tamper",
    [
        _first("patch power", "polarity", lambda cell: cell == "CROSSED", "straight"),
        _first("patch signal", "polarity", lambda cell: cell == "CROSSED", "straight"),
        _first("leads leads", "length (m)", lambda cell: cell == "10", "11"),
        _first("leads leads", "size (mm2)", lambda cell: cell == "2.5", "1.5"),
        _first("channels feeds", "source impedance", lambda cell: cell == "150 ohm", "not said"),
        _first("channels processors", "polarity", lambda cell: cell == "INVERTED", "normal"),
        _first("channels splits", "input impedance", lambda cell: True, "20 kohm"),
        _first("channels amps", "control", lambda cell: cell == "-12 dB", "-11 dB"),
        _first("places stands", "aim across (deg)", lambda cell: float(cell or 0) == 180, "170"),
        _first("places listeners", "hears", lambda cell: "bass_send" in cell, "main"),
        _first("mains parts", "residual", lambda cell: cell == "30 mA", "none said"),
        _first("mains parts", "label", lambda cell: bool(cell), ""),
        _first("pack racks", "holds", lambda cell: "bass[1]" in cell, "highs, xo"),
        _first("promises lists", "holds", lambda cell: "against" in cell, "front[1]"),
        _first("promises promises", "promised", lambda cell: cell == "at least 4 ohm", "at least 3.9 ohm"),
        _first("promises readings", "measured", lambda cell: True, "5.9 ohm"),
        _first("patch places", "goes", lambda cell: "spare" in cell, ""),
    ],
)
def test_one_wrong_word_on_paper_is_seen(tamper: Callable[[Paper], None]) -> None:
    meant = sample("festival-stage")
    paper = rows_of(meant)
    tamper(paper)
    built = reported(written(paper))
    told = (figures_of, settings_of, lists_of, findings_of)
    assert any(look(built) != look(meant) for look in told)
