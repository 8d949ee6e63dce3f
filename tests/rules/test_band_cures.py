"""What findings about bands propose is tried out: at the figure that they name they are gone, and not before."""

import re

import pytest
from rig_checks import check_text

from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.text.finding import Finding

WAYS = (
    "feed f {{ level -20 dBu; peak -10 dBu }}\nprocessor x is cross\nf -> x.a\namp a is twin\nspeaker h is two-way\n"
    "x.1 {{ from a; high-pass 60 Hz 24 dB/octave butterworth; low-pass {low} }}\nx.2 {{ from a; high-pass {high} }}\n"
    "x.1 -> a.1 -> h.low\nx.2 -> a.2 -> h.high\n"
)


def found(low: str, high: str, rule: str) -> list[Finding]:
    report = check_text(WAYS.format(low=low, high=high) + EXAMPLE_STOCK)
    return [finding for finding in report.findings if finding.rule == rule]


def hertz_in(text: str) -> list[float]:
    return [float(number) * (1000 if kilo else 1) for number, kilo in re.findall(r"([\d.]+) (k?)Hz", text)]


@pytest.mark.parametrize("kind", ["24 dB/octave linkwitz-riley", "24 dB/octave butterworth"])
def test_a_hole_is_gone_where_the_finding_says_and_not_before(kind: str) -> None:
    low, high = f"700 Hz {kind}", f"1.25 kHz {kind}"
    (gap,) = found(low, high, "band-gap")
    assert "set the low-pass of x.1 to" in gap.help
    highest = hertz_in(gap.help)[-1]
    assert not found(f"{highest * 1.01} Hz {kind}", high, "band-gap")
    assert found(f"{highest * 0.98} Hz {kind}", high, "band-gap")

    low, high = f"1.15 kHz {kind}", f"2.1 kHz {kind}"
    (gap,) = found(low, high, "band-gap")
    # The low way ends at 1.2 kHz by itself, so that only the high one can be moved.
    (lowest,) = hertz_in(gap.help)
    assert gap.help.startswith("set the high-pass of x.2 to")
    assert not found(low, f"{lowest * 0.99} Hz {kind}", "band-gap")
    assert found(low, f"{lowest * 1.02} Hz {kind}", "band-gap")


def test_a_hole_between_what_two_boxes_play_by_themselves_wants_another_box() -> None:
    kind = "48 dB/octave linkwitz-riley"
    rig = WAYS.format(low=f"800 Hz {kind}", high=f"2 kHz {kind}").replace("is two-way", "is apart") + (
        "stock speaker apart {\n  low { impedance 8 ohm; band 60 Hz to 900 Hz }\n"
        "  high { impedance 8 ohm; band 1.9 kHz to 18 kHz }\n}\n"
    )
    (gap,) = [finding for finding in check_text(rig + EXAMPLE_STOCK).findings if finding.rule == "band-gap"]
    assert gap.help == "hang a box on this feed that plays 800 Hz to 2 kHz"


@pytest.mark.parametrize("kind", ["12 dB/octave butterworth", "24 dB/octave linkwitz-riley", "18 dB/octave bessel"])
def test_a_weak_high_pass_is_strong_enough_at_the_corner_that_is_named(kind: str) -> None:
    low = "1.2 kHz 24 dB/octave linkwitz-riley"
    (weak,) = found(low, f"650 Hz {kind}", "high-pass-weak")
    (corner,) = hertz_in(weak.help.partition("corner")[2])
    assert not found(low, f"{corner * 1.01} Hz {kind}", "high-pass-weak")
    assert found(low, f"{corner * 0.98} Hz {kind}", "high-pass-weak")


def test_a_weak_high_pass_is_strong_enough_with_the_slope_that_is_named() -> None:
    low = "1.2 kHz 24 dB/octave linkwitz-riley"
    (weak,) = found(low, "1.2 kHz 6 dB/octave butterworth", "high-pass-weak")
    assert "set a slope of 12 dB/octave or more at x.2" in weak.help
    assert not found(low, "1.2 kHz 12 dB/octave butterworth", "high-pass-weak")


@pytest.mark.parametrize("place", ["{sub} 35 Hz; low-pass 100 Hz", "low-pass 100 Hz; {sub} 35 Hz"])
def test_a_bass_box_needs_the_high_pass_that_is_proposed(place: str) -> None:
    rig = (
        "feed f { level -20 dBu }\nprocessor x is cross\nf -> x.a\namp a is twin\nspeaker s is sub\n"
        "x.1 -> a.1 -> s\nx.1 { from a; FILTERS }\n"
    )
    without = check_text(rig.replace("FILTERS", "low-pass 100 Hz") + EXAMPLE_STOCK).findings
    (bare,) = [finding for finding in without if finding.rule == "bass-below-band"]
    assert hertz_in(bare.help) == [35.0]
    guarded = check_text(rig.replace("FILTERS", place.format(sub="high-pass")) + EXAMPLE_STOCK).findings
    assert not [finding for finding in guarded if finding.rule == "bass-below-band"]


def test_a_null_says_what_turning_leaves() -> None:
    """Linkwitz-Riley of 12 dB/octave: flat with one side turned, but for the phase of the bass filter."""
    kind = "1.2 kHz 12 dB/octave linkwitz-riley"
    (null,) = found(kind, kind, "crossover-null")
    assert null.fix is None, "the other way may be turned as well"
    (choice,) = null.choices
    (edit,) = choice.edits
    assert edit.text == "; inverted"
    assert not found(kind, f"{kind}; inverted", "crossover-null")
    assert "no more than" not in null.allowed or hertz_in(null.allowed)


def test_boxes_of_a_stereo_pair_that_push_apart_are_not_told_as_a_null_too() -> None:
    rig = (
        "feed l { level -20 dBu }\nfeed r { level -20 dBu }\nstereo m: l, r\nprocessor x is cross\nl -> x.a\nr -> x.b\n"
        "x.1 { from a; low-pass 1.2 kHz 24 dB/octave linkwitz-riley }\n"
        "x.2 { from a; high-pass 1.2 kHz 24 dB/octave linkwitz-riley }\n"
        "x.3 { from b; low-pass 1.2 kHz 24 dB/octave linkwitz-riley }\n"
        "x.4 { from b; high-pass 1.2 kHz 24 dB/octave linkwitz-riley }\n"
        "amp a is twin\namp b is twin\nspeaker h[1..2] is two-way\n"
        "x.1 -> a.1 -> h[1].low\nx.2 -> a.2 -> TURN h[1].high\nx.3 -> b.1 -> h[2].low\nx.4 -> b.2 -> MAYBE h[2].high\n"
    )

    def rules(text: str) -> list[str]:
        return sorted(
            finding.rule
            for finding in check_text(text + EXAMPLE_STOCK).findings
            if finding.rule.startswith(("polarity", "crossover"))
        )

    assert rules(rig.replace("TURN", "").replace("MAYBE", "")) == []
    assert rules(rig.replace("TURN", "invert ->").replace("MAYBE", "")) == ["polarity-stereo"]
    assert rules(rig.replace("TURN", "invert ->").replace("MAYBE", "invert ->")) == ["crossover-null"] * 2


@pytest.mark.parametrize("group", ["", "group tops: h[*]\n"])
def test_the_fixes_of_nulls_on_both_sides_of_a_stereo_pair_leave_nothing_to_find(group: str) -> None:
    """One way of each box is then opposite to the other, as its crossover asks for, in both boxes alike."""
    kind = "1.2 kHz 12 dB/octave linkwitz-riley"
    rig = (
        "feed l { level -20 dBu }\nfeed r { level -20 dBu }\nstereo m: l, r\nprocessor x is cross\nl -> x.a\nr -> x.b\n"
        f"x.1 {{ from a; low-pass {kind} }}\nx.2 {{ from a; high-pass {kind} }}\n"
        f"x.3 {{ from b; low-pass {kind} }}\nx.4 {{ from b; high-pass {kind} }}\n"
        "amp a is twin\namp b is twin\nspeaker h[1..2] is two-way\n"
        f"x.1 -> a.1 -> h[1].low\nx.2 -> a.2 -> h[1].high\nx.3 -> b.1 -> h[2].low\nx.4 -> b.2 -> h[2].high\n{group}"
    )

    def judged(text: str) -> list[Finding]:
        findings = check_text(text + EXAMPLE_STOCK).findings
        return [each for each in findings if each.rule.startswith(("polarity", "crossover", "band"))]

    nulls = judged(rig)
    assert [each.rule for each in nulls] == ["crossover-null"] * 2
    edits = [edit for each in nulls for choice in each.choices for edit in choice.edits]
    for edit in sorted(edits, key=lambda edit: -edit.span.start):
        rig = rig[: edit.span.start] + edit.text + rig[edit.span.end :]
    assert rig.count("inverted") == 2
    assert judged(rig) == []
