"""What follows from something that is told already is one finding with it, and nothing of it is lost."""

from __future__ import annotations

from rig_checks import check_example, check_rig

from rigspec.check import Report
from rigspec.text.finding import Severity

_LOW = (
    "amp a is twin\nspeaker s[1..4] is sub\na.1 -> lead 4 mm2 2 m -> s[1..4] linked 4 mm2 1 m\n"
    "expect load of a.1 >= 4 ohm\n"
)
_WHY = 'because "one night only"\n'
_LEAD = (
    'rig "x" {{ limits {{ damping 20 }} }}\namp a is twin {{ damping 400 at 8 ohm }}\nspeaker s is sub\n'
    "a.1 -> lead 1.5 mm2 {} m -> s\nexpect loss of s <= 0.1 dB\n"
)


def said(report: Report) -> list[tuple[str, str, str]]:
    return [(each.rule, each.severity.value, each.subject) for each in report.findings]


def test_a_low_load_and_the_promise_of_it_are_one_error_at_the_channel() -> None:
    (finding,) = check_example(_LOW).findings
    assert (finding.rule, finding.severity, finding.span.text) == ("load-too-low", Severity.ERROR, "a.1")
    (promise,) = [label for label in finding.related if label.text.startswith("and so")]
    assert promise.span.text == "expect load of a.1 >= 4 ohm"
    assert "is 2.0" in promise.text
    assert [each.rule for each in finding.brings] == ["expect-unmet"]


def test_a_promise_speaks_alone_where_its_cause_is_allowed() -> None:
    report = check_example(_LOW + f"allow load-too-low on a.1 {_WHY}")
    assert said(report) == [("expect-unmet", "error", "a.1")]
    assert [each.rule for each in report.excused] == ["load-too-low"]


def test_a_cause_speaks_alone_where_what_it_brings_is_allowed() -> None:
    report = check_example(_LOW + f"allow expect-unmet on a.1 {_WHY}")
    assert said(report) == [("load-too-low", "error", "a.1")]
    assert report.findings[0].brings == ()
    assert [each.rule for each in report.excused] == ["expect-unmet"]


def test_both_can_be_allowed() -> None:
    report = check_example(_LOW + f"allow expect-unmet on a.1 {_WHY}allow load-too-low on a.1 {_WHY}")
    assert said(report) == []
    assert len(report.excused) == 2


def test_a_promise_of_several_speaks_alone_where_one_of_them_is_told_by_nothing_else() -> None:
    both = _LOW.replace("s[1..4] is", "s[1..6] is").replace(
        "expect load of a.1 >=", "a.2 -> lead 4 mm2 2 m -> s[5..6] linked 4 mm2 1 m\nexpect load of a.1..2 >="
    )
    assert said(check_example(both)) == [("load-too-low", "error", "a.1")], "a.2 keeps it"
    assert said(check_example(both.replace("4 ohm", "8 ohm"))) == [
        ("load-too-low", "error", "a.1"),
        ("expect-unmet", "error", "a.1"),
    ]


def test_a_promise_that_is_broken_the_other_way_is_not_taken_for_what_follows() -> None:
    report = check_example(_LOW.replace(">= 4 ohm", "<= 1 ohm"))
    assert [each.rule for each in report.findings] == ["load-too-low", "expect-unmet"]


def test_a_broken_promise_makes_an_error_of_its_cause() -> None:
    """A lead that loses more than 1 dB is a warning, with a promise that breaks by it an error: the exit code stays."""
    (finding,) = check_example(_LEAD.format(80)).findings
    assert (finding.rule, finding.severity) == ("lead-loss-high", Severity.ERROR)
    assert [each.rule for each in finding.brings] == ["damping-low", "expect-unmet"]
    allowed = check_example(_LEAD.format(80) + f"allow expect-unmet on s {_WHY}")
    assert said(allowed) == [("lead-loss-high", "warning", "s")]


def test_where_a_lead_keeps_the_one_limit_the_others_speak() -> None:
    report = check_example(_LEAD.format(20))
    assert said(report) == [("damping-low", "warning", "s"), ("expect-unmet", "error", "s")]


def test_exchanged_ways_bring_what_is_too_much_and_uneven() -> None:
    text = (
        "feed f { level -8 dBu; peak 4 dBu }\namp a is twin\namp b is twin { limit -2 dBu rms }\n"
        "speaker h[1..2] is two-way\n"
        "processor x is cross\nx.1 { from a; low-pass 1.2 kHz }\nx.2 { from a; high-pass 1.2 kHz; gain -12 dB }\n"
        "f -> x.a\n{}x.1 -> b.1 -> h[2].low\nx.2 -> b.2 -> h[2].high\ngroup hang: h[*]\n"
    )
    crossed = text.replace("{}", "x.1 -> a.1 -> h[1].high\nx.2 -> a.2 -> h[1].low\n")
    (finding,) = check_example(crossed).findings
    assert finding.rule == "pairs-exchanged"
    assert {each.rule for each in finding.brings} >= {"group-uneven", "box-over-peak"}


def test_an_inverted_box_and_the_promise_of_its_polarity_are_one() -> None:
    (finding,) = check_example(
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> s[1]\na.2 -> invert -> s[2]\ngroup subs: s[*]\n"
        "expect polarity of s[*] = normal\n"
    ).findings
    assert finding.rule == "polarity-clash"
    assert [each.rule for each in finding.brings] == ["expect-unmet"]


def test_a_lead_that_makes_a_group_uneven_brings_that() -> None:
    finding = next(each for each in check_rig("group-uneven.rig").findings if each.rule == "lead-loss-high")
    (brought,) = finding.brings
    assert "c1[2] gets 3.2 dB less than c1[1]" in brought.message
