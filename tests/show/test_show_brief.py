"""Findings for people are short: the fault, the line, the figures, the cure; alike things speak once."""

import pytest

from rigspec.show.brief import MOST_LINES, brief
from rigspec.text.finding import Finding, Fix
from rigspec.text.source import Source, Span
from tests.rules.rig_checks import RIGS, check_rig, check_text

STOCK = """
stock amp four { channels 4; rated 500 W at 4 ohm, 300 W at 8 ohm; least-load 2 ohm; gain 32 dB }
stock speaker top { impedance 8 ohm; rated 300 W continuous, 1200 W peak; band 60 Hz to 18 kHz }
feed f { level -10 dBu; peak 0 dBu }
"""


def blocks(findings: tuple[Finding, ...], width: int = 100) -> list[list[str]]:
    return [block.splitlines() for block in brief(findings, colour=False, width=width).split("\n\n") if block]


def test_alike_leads_speak_once_with_the_others_named() -> None:
    rows = "".join(f"f -> a[{n}].1 -> lead 1.5 mm2 40 m -> hl[{n}]\n" for n in range(1, 9))
    report = check_text(STOCK + f"amp a[1..8] is four\nspeaker hl[1..8] is top\n{rows}")
    lost = [each for each in report.findings if each.rule == "lead-loss-high"]
    assert len(lost) == 8, "programs are told of each"
    (block,) = blocks(tuple(lost))
    assert block[0] == "rig.rig:7:16 warning lead-loss-high, and 7 alike: hl[2..8] (lines 8 to 14)"
    assert "the lead to hl[1] costs 1.08 dB" in block[1]


def test_figures_that_differ_are_told_apart() -> None:
    rows = "f -> a[1].1 -> lead 1.5 mm2 40 m -> hl[1]\nf -> a[2].1 -> lead 1.5 mm2 60 m -> hl[2]\n"
    report = check_text(STOCK + f"amp a[1..2] is four\nspeaker hl[1..2] is top\n{rows}")
    assert len(blocks(tuple(each for each in report.findings if each.rule == "lead-loss-high"))) == 2


def test_a_finding_takes_three_to_six_lines() -> None:
    """Where sentence, figures and cure are long it may be one or two more, and that is seldom."""
    findings = [each for path in sorted(RIGS.glob("*.rig")) for each in check_rig(path.name).findings]
    found = [block for each in findings if not each.aside for block in blocks((each,))]
    lengths = [len(block) for block in found]
    assert max(lengths) <= MOST_LINES + 2
    assert sum(length <= MOST_LINES for length in lengths) >= 0.8 * len(found)
    assert all(len(line) <= 102 for block in found for line in block[1:])


def heads(text: str) -> int:
    return sum(not line.startswith(" ") for line in text.splitlines() if line)


def ten_causes(name: str, width: int) -> str:
    """As many of a rig's findings as are told in ten blocks; what is alike is told with them."""
    findings = check_rig(name).findings
    texts = (brief(findings[:count], colour=False, width=width) for count in range(len(findings), 0, -1))
    return next((text for text in texts if heads(text) <= 10), "")


@pytest.mark.parametrize("width", [100, 60, 40])
def test_ten_causes_take_less_than_sixty_lines(width: int) -> None:
    """With a blank line and the summary behind them; on a phone too."""
    lengths = {path.name: ten_causes(path.name, width).count("\n") + 2 for path in sorted(RIGS.glob("*.rig"))}
    assert max(lengths.values()) < 60, lengths
    assert max(lengths.values()) > 45, "none of them comes near"


@pytest.mark.parametrize("fix", [Fix("write it otherwise " * 20, ()), None])
def test_the_longest_that_ten_findings_can_be_goes_on_a_page(fix: Fix | None) -> None:
    source, long = Source("a.rig", "x " * 300), "word " * 80
    of = {"computed": long, "allowed": long, "help": long, "fix": fix}
    found = tuple(Finding("r", Span(source, n, n + 1), f"{n} {long}", subject=f"s{n}", **of) for n in range(10))
    text = brief(found, colour=False, width=40)
    assert heads(text) == 10
    assert text.count("\n") + 2 < 60


def test_few_findings_are_told_with_their_lines_and_many_on_a_page() -> None:
    findings = check_rig("box-power.rig").findings
    few, many = (brief(findings[:count], colour=False) for count in (4, 9))
    assert few.count("\n\n") == 3
    assert few.count("^^") == 4
    assert many.count("\n\n") == 0
    assert [line for line in many.splitlines() if " | " in line and "-> a1" in line], "its line is told all the same"


def test_of_a_change_that_is_too_long_the_first_ways_are_told_whole() -> None:
    source = Source("a.rig", "x")
    help = "use 2.5 mm2 (class 5, tinned), or keep this size and stay at 36.6 m or less, or go by another way"
    findings = tuple(Finding("r", Span(source, 0, 1), f"m{n} " * 40, help=help, subject=f"s{n}") for n in range(10))
    told = [line for line in brief(findings, colour=False, width=60).splitlines() if "change:" in line]
    assert told == ["  change: use 2.5 mm2 (class 5, tinned)"] * 10


def test_a_change_drops_words_before_figures() -> None:
    source = Source("a.rig", "x")
    help = f"move it; {'look for another way round it, ' * 8}; 2.5 mm2 is enough"
    ((*_, last),) = blocks((Finding("r", Span(source, 0, 1), "m", help=help, subject="x"),))
    assert "2.5 mm2 is enough" in last


def test_a_figure_that_the_sentence_says_is_not_repeated() -> None:
    source = Source("a.rig", "x")
    said = Finding("r", Span(source, 0, 1), "it is 3 ohm, less than 4 ohm", computed="3 ohm", allowed="at least 4 ohm")
    unsaid = Finding("r", Span(source, 0, 1), "it is 3 ohm", computed="3 ohm", allowed="at least 4 ohm")
    assert not any("at least" in line for line in blocks((said,))[0])
    assert "  3 ohm; at least 4 ohm" in blocks((unsaid,))[0]


def test_what_a_terminal_obeys_comes_out_escaped() -> None:
    source = Source("a\x1b[2Jb.rig", "x\x1b[31m")
    text = brief((Finding("r", Span(source, 0, 4), "m\x07", help="h\x1b"),), colour=False)
    assert "\x1b" not in text
    assert "\x07" not in text


def test_a_gain_that_is_left_unused_takes_one_line() -> None:
    found = [each for each in check_rig("supply.rig").findings if each.rule == "opposed-drive-gains"]
    assert blocks(tuple(found[:1])) == [
        ["supply.rig:12:12 advice opposed-drive-gains: opposed, a.1 and a.2 would give 13.6 % more power at 35 Hz"]
    ]


def test_what_follows_is_named_at_its_cause() -> None:
    low = "amp a is four\nspeaker s[1..5] is top\nf -> a.1 -> parallel(s[1], s[2], s[3], s[4], s[5])\n"
    (block,) = blocks(check_text(STOCK + low + "spare a.2..4\nexpect load of a.1 >= 2 ohm\n").findings)
    assert block[0] == "rig.rig:7:6 error load-too-low, with expect-unmet (line 9)"
