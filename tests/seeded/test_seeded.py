"""Seeded mistakes: what of the single-edit mutants of the clean samples is found, and where.

The criteria by which a mutant matters are in `criteria.py`; they rest on a reckoning of their own, which is held here
against figures worked by hand.
"""

import pytest

from rigspec.language.reader import parse
from rigspec.text.finding import Severity
from rigspec.text.source import Source

from .circuit import Circuit
from .criteria import WITHOUT_CRITERION
from .measuring import Sample, Table, measure, samples
from .reading import read
from .showing import markdown, percent

LEAST_SHARE = 0.95


@pytest.fixture(scope="module")
def rigs() -> list[Sample]:
    return samples()


@pytest.fixture(scope="module")
def table(rigs: list[Sample]) -> Table:
    return measure(rigs)


def test_the_clean_rigs_give_no_error_and_no_warning(rigs: list[Sample]) -> None:
    loud = [(rig.name, f.rule) for rig in rigs for f in rig.findings if f.severity is not Severity.ADVICE]
    assert len(rigs) >= 5
    assert loud == []


def test_the_judge_has_nothing_against_the_clean_rigs(rigs: list[Sample]) -> None:
    assert {rig.name: rig.judged.crossed for rig in rigs if rig.judged.crossed} == {}


# Worked by hand from IEC 60228 class 5 and ASTM B258 copper, Ohm's law and the boxes' rated impedances.
@pytest.mark.parametrize(
    ("sample", "channel", "ohm", "box", "loss_db"),
    [
        ("two-box-hall", "tops.1", 8 + 2 * 15 * 7.98e-3, "left_box", 0.256),
        ("opposed-bass", "bass.1", 4.136, "sub[2]", 0.287),
        ("bridged-sub", "bass[1].1+2", 8.1596, "sub[1]", 0.172),
        ("series-columns", "column.1", 4.1596, "nave[3]", 0.340),
        ("feet-and-gauge", "back.1", 8.206, "back_left", 0.221),
        ("hundred-volt-street", "street.2", 104.17 + 2 * 40 * 13.3e-3, "ceiling[1]", 0.088),
    ],
)
def test_the_judge_reckons_right(
    rigs: list[Sample], sample: str, channel: str, ohm: float, box: str, loss_db: float
) -> None:
    judged = next(rig.judged for rig in rigs if rig.name == sample)
    assert judged.loads[channel] == pytest.approx(ohm, rel=0.01)
    assert judged.losses[box] == pytest.approx(loss_db, abs=0.003)


ROWS = """use "stock/house.rig"
feed send[1..2] { level 4 dBu }
amp mon is four-250
lead loom is four-pair 12 m
panel stage is stage-box
speaker wedge[1..4] is wedge-12
speaker side[1..4] is column-4
"""


# What `each` means is said in grammar/reference.md, under Paths.
@pytest.mark.parametrize(
    ("short", "long"),
    [
        (
            "each send[1..2] -> mon.1..2 -> loom.3..4 -> stage.7..8 -> wedge[1,4]",
            "send[1] -> mon.1 -> loom.3 -> stage.7 -> wedge[1]\nsend[2] -> mon.2 -> loom.4 -> stage.8 -> wedge[4]",
        ),
        (
            "each send[1] -> invert -> mon.3..4\neach mon.3..4 -> series(side[1..2], lead 2.5 mm2 4 m -> side[3..4])",
            "send[1] -> invert -> mon.3\nsend[1] -> invert -> mon.4\n"
            "mon.3 -> series(side[1], lead 2.5 mm2 4 m -> side[3])\n"
            "mon.4 -> series(side[2], lead 2.5 mm2 4 m -> side[4])",
        ),
    ],
)
def test_the_judge_takes_each_for_the_paths_that_it_stands_for(rigs: list[Sample], short: str, long: str) -> None:
    shown, wanted = (Circuit(read(parse(Source("rows.rig", ROWS + text)), rigs[0].stock)) for text in (short, long))
    assert repr(shown.outlets) == repr(wanted.outlets)
    assert shown.arrived == wanted.arrived
    assert shown.faults | shown.plan.faults | wanted.faults | wanted.plan.faults == set()


@pytest.mark.parametrize("path", ["each send[1..2] -> mon.1..3", "each send[1] -> mon.1"])
def test_the_judge_faults_each_over_uneven_rows_or_none(rigs: list[Sample], path: str) -> None:
    assert Circuit(read(parse(Source("rows.rig", ROWS + path)), rigs[0].stock)).faults


def test_mistakes_that_matter_are_found_at_their_line(table: Table, capsys: pytest.CaptureFixture[str]) -> None:
    with capsys.disabled():
        print("\n" + markdown(table))
    total, readable = table.total, table.readable
    assert total.matter >= 400
    assert readable.matter >= 200
    assert total.there / total.matter >= LEAST_SHARE, percent(total.there, total.matter)
    # Slips of the text are the easy ones: without them the share must hold as well.
    assert readable.there / readable.matter >= LEAST_SHARE, percent(readable.there, readable.matter)


def test_harmless_edits_raise_no_alarm(table: Table) -> None:
    told = [each for each in table.alarmed if not {finding.rule for finding in each.new} & WITHOUT_CRITERION]
    alarmed = [(each.sample, each.line, each.mutant.operator, each.new[0].rule) for each in told]
    assert table.total.harmless >= 100
    assert len(alarmed) <= (1 - LEAST_SHARE) * table.total.harmless, alarmed
