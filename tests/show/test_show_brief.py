"""Findings for people are short: the fault, the line, the figures, the cure; alike things speak once."""

from rigspec.show.brief import MOST_LINES, brief
from rigspec.text.finding import Finding
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
    found = [block for path in sorted(RIGS.glob("*.rig")) for block in blocks(check_rig(path.name).findings)]
    lengths = [len(block) for block in found]
    assert max(lengths) <= MOST_LINES + 2
    assert sum(length <= MOST_LINES for length in lengths) >= 0.8 * len(found)
    assert all(len(line) <= 102 for block in found for line in block[1:])


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
