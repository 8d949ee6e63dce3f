"""What a finding proposes is tried out: done as it says, the finding is gone."""

import re
from collections import Counter
from collections.abc import Iterable

import pytest
from rig_checks import FOUND_AT_THE_EDGE, check_example, check_rig, check_text, rig_files

from rigspec.rules import RULES
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.rules.rule import Rule
from rigspec.text.finding import Edit, Finding
from rigspec.text.source import Span


def found(text: str, rule: str) -> list[Finding]:
    return [finding for finding in check_text(text + EXAMPLE_STOCK).findings if finding.rule == rule]


def decibels_of(finding: Finding) -> float:
    said = re.search(r"down by ([\d.]+) dB", finding.help)
    assert said, finding.help
    return float(said[1])


POWER = (
    "feed f {{ level {level} dBu; peak {peak} dBu }}\namp a is twin {{ attenuator {cut} dB }}\n"
    "speaker b is two-way\nspare b.low, a.2\nf -> a.1 -> lead 2.5 mm2 9 m -> b.high\n"
)


@pytest.mark.parametrize(
    ("rule", "level", "peak"),
    [
        ("box-over-continuous", 4, 4),
        ("box-over-continuous", 16, 16),  # far above what the amplifier gives: it clips
        ("box-over-peak", -4, 3),
        ("box-over-peak", -4, 18),  # clips
    ],
)
def test_turning_a_channel_down_as_proposed_is_enough_and_no_more_than_needed(
    rule: str, level: float, peak: float
) -> None:
    (finding,) = found(POWER.format(level=level, peak=peak, cut=0), rule)
    cut = decibels_of(finding) + 0.005  # it is said to a hundredth
    assert not found(POWER.format(level=level, peak=peak, cut=-cut), rule)
    assert found(POWER.format(level=level, peak=peak, cut=-(cut - 0.1)), rule)


def test_turning_down_is_not_proposed_where_no_level_is_known() -> None:
    """The rated output stands for the level there, and no control of the rig changes that."""
    rig = "amp a is twin {{ attenuator {cut} dB }}\nspeaker b is two-way\nspare b.low\na.1 -> b.high\n"
    findings = found(rig.format(cut=0), "box-over-continuous")
    assert findings
    assert found(rig.format(cut=-20), "box-over-continuous")
    assert not [finding.help for finding in findings if re.search(r"down by [\d.]+ dB", finding.help)]


LEAD = "amp a is twin\nspeaker s[1..4] is sub\n{path}\nspare s[*]\n"
LEADS = [
    "a.1 -> lead 2.5 mm2 80 m -> s[1]",
    "a.1 -> lead 1.5 mm2 30 m -> s[1..2] linked 2.5 mm2 2 m",
    "a.1 -> lead 14 AWG 300 ft -> s[1]",
    "a.1 -> lead 1.5 mm2 60 m -> lead 4 mm2 10 m -> s[1]",
    "a.1 -> lead 2.5 mm2 20 m to 80 m -> s[1]",
    "a.1 -> lead 1.5 mm2 40 m -> s[1..4] linked 1.5 mm2 2 m",
]


@pytest.mark.parametrize("path", LEADS)
def test_the_size_that_is_proposed_keeps_the_limit(path: str) -> None:
    (finding,) = found(LEAD.format(path=path), "lead-loss-high")
    size = re.search(r"use (\S+ \S+)", finding.help)
    assert size, finding.help
    worse = re.search(r"\d\S* (?:mm2|AWG)", path)
    assert worse
    assert not found(LEAD.format(path=path.replace(worse[0], size[1], 1)), "lead-loss-high"), finding.help


@pytest.mark.parametrize("path", LEADS)
def test_the_length_that_is_proposed_keeps_the_limit_and_little_more_would_not(path: str) -> None:
    (finding,) = found(LEAD.format(path=path), "lead-loss-high")
    said = re.search(r"stay at ([\d.]+) (m|ft) or less", finding.help)
    assert said, finding.help
    assert said[2] in path  # in the unit that its author uses

    def with_length(share: float) -> str:
        length = re.search(r"(?<=mm2 |AWG )[\d.]+ (?:m to [\d.]+ m|m|ft)", path)
        assert length
        return LEAD.format(path=path.replace(length[0], f"{float(said[1]) * share:.3f} {said[2]}", 1))

    assert not found(with_length(1.0), "lead-loss-high"), finding.help
    assert found(with_length(1.02), "lead-loss-high"), finding.help


def test_the_number_of_boxes_that_would_fit_does_fit() -> None:
    rig = "amp a is twin\nspeaker s[1..6] is sub\na.1 -> s[1..{count}] linked 6 mm2 1 m\nspare s[*]\n"
    (finding,) = found(rig.format(count=6), "load-too-low")
    said = re.search(r"(\d+) of these", finding.help)
    assert said, finding.help
    assert not found(rig.format(count=said[1]), "load-too-low")
    assert found(rig.format(count=int(said[1]) + 1), "load-too-low")


def edited(finding: Finding, edits: list[Edit]) -> list[Finding]:
    """The findings after edits in the finding's own text."""
    source = finding.span.source
    text = source.text
    for edit in sorted(edits, key=lambda edit: -edit.span.start):
        assert edit.span.source == source
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return list(check_text(text, rig_files(), source.path).findings)


def told(findings: Iterable[Finding]) -> Counter[tuple[str, str]]:
    return Counter((finding.rule, finding.message) for finding in findings)


EXAMPLES = [rule for rule in RULES.values() if rule.name not in FOUND_AT_THE_EDGE]


@pytest.mark.parametrize("rule", EXAMPLES, ids=lambda rule: rule.name)
def test_a_fix_that_is_offered_cures_its_finding_and_breaks_nothing(rule: Rule) -> None:
    before = check_example(rule.bad).findings
    for finding in before:
        for cure in (*([finding.fix] if finding.fix else []), *finding.choices):
            after = told(edited(finding, list(cure.edits)))
            assert after <= told(before), cure.title
            assert (finding.rule, finding.message) not in after, cure.title


@pytest.mark.parametrize("name", ["polarity-clash.rig", "polarity-stereo.rig", "polarity-shared.rig"])
def test_crossing_the_lead_before_the_box_once_more_cures_a_clash(name: str) -> None:
    clashes = [finding for finding in check_rig(name).findings if finding.rule.startswith("polarity-")]
    proposed = [finding for finding in clashes if "`-> invert` before the box" in finding.help]
    assert proposed
    for finding in proposed:
        here = Edit(Span(finding.span.source, finding.span.start, finding.span.start), "invert -> ")
        after = [each for each in edited(finding, [here]) if each.rule.startswith("polarity-")]
        assert len(after) == len(clashes) - 1, finding.message


def test_a_box_that_faces_backwards_is_asked_about_and_never_turned() -> None:
    (finding,) = [f for f in check_rig("polarity-clash.rig").findings if f.message.startswith("t2 ")]
    assert (finding.fix, finding.choices) == (None, ())
    assert "against" in finding.help
    assert "`-> invert`" not in finding.help
