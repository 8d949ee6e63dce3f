"""A finding stands where the one edit is to be made that cures it; where there are several, at what they do."""

from __future__ import annotations

from rig_checks import check_example

from rigspec.show.line import lines
from rigspec.text.finding import Finding

_SUBS = (
    "amp a is quad\nspeaker s[1..4] is sub\n{}group subs: s[*]\nstock amp quad {{ channels 4; rated 500 W at 4 ohm }}\n"
)


def only(example: str, rule: str) -> Finding:
    (finding,) = [each for each in check_example(example).findings if each.rule == rule]
    return finding


def label(finding: Finding, start: str) -> str:
    """The text where the label stands that begins so."""
    return next(each.span.text for each in finding.related if each.text.startswith(start))


def test_a_crossed_lead_is_the_place_to_edit_and_its_box_is_named() -> None:
    finding = only(
        _SUBS.format(
            "lead odd is pair 5 m { inverted }\na.1 -> s[1]\na.2 -> s[2]\na.3 -> s[3]\na.4 -> odd -> s[4]\n"
            "stock lead pair { pairs 1; size 2.5 mm2 }\n"
        ),
        "polarity-clash",
    )
    assert (finding.span.line, finding.span.text, finding.label) == (3, "inverted", "odd is made inverted")
    assert label(finding, "s[4] pushes against s[1]") == "s[4]"
    assert lines([finding]).startswith("rig.rig:3:24: error: s[4] pushes against s[1]")


def test_a_leg_of_a_split_that_turns_two_channels_is_one_finding() -> None:
    finding = only(
        "feed f { level 0 dBu }\nsplit y { legs 3; transformer; inverted 3 }\nf -> y\namp b is twin\namp a is twin\n"
        "speaker s[1..4] is sub\nspeaker t is sub\nspare b.2\n"
        "y.1 -> a.1 -> s[1..2] linked 2.5 mm2 1 m\ny.2 -> b.1 -> t\ny.3 -> a.2 -> s[3]\n"
        "a.2 -> s[4]\ngroup subs: s[*], t\n".replace("-> s[3]\na.2 -> s[4]", "-> s[3..4] linked 2.5 mm2 1 m"),
        "polarity-clash",
    )
    assert (finding.span.text, finding.message) == ("inverted 3", "s[3], s[4] push against s[1] in the group subs")


def test_what_turns_several_channels_speaks_once() -> None:
    finding = only(
        _SUBS.format(
            "feed f { level 0 dBu }\nfeed g { level 0 dBu; inverted }\nf -> a.1 -> s[1]\nf -> a.2 -> s[2]\n"
            "g -> a.3 -> s[3]\ng -> a.4 -> s[4]\n"
        ),
        "polarity-clash",
    )
    assert (finding.span.line, finding.span.text) == (4, "inverted")
    assert finding.message == "s[3], s[4] push against s[1] in the group subs"


def test_where_two_edits_would_cure_it_the_box_is_marked() -> None:
    """Each of three inversions may be the slip; and with none, a box that is listed as `against`."""
    thrice = only(
        _SUBS.format("a.1 -> s[1]\na.2 -> s[2]\na.3 -> s[3]\na.4 -> invert -> invert -> invert -> s[4]\n"),
        "polarity-clash",
    )
    assert thrice.span.text == "s[4]"
    against = only(
        _SUBS.format("a.1 -> s[1]\na.2 -> s[2]\na.3 -> s[3]\na.4 -> s[4]\n").replace("s[*]", "s[1..3], against s[4]"),
        "polarity-clash",
    )
    assert against.span.text == "s[4]"


_LEVEL = (
    "feed f {{ level 4 dBu; peak 17 dBu }}\namp a[1..2] is twin {{ {} }}\nspeaker b[1..2] is box\n"
    "f -> {}a[1].1 -> lead 2.5 mm2 9 m -> b[1]\nf -> {}a[2].1 -> lead 2.5 mm2 9 m -> b[2]\n"
)


def test_an_attenuator_is_the_place_to_edit_where_no_other_control_is_set() -> None:
    finding = only(_LEVEL.format("attenuator -6 dB", "", ""), "amp-clips")
    assert (finding.span.line, finding.span.text) == (2, "-6 dB")
    assert label(finding, "a[1].1 clips here") == "a[1].1"


def test_of_several_controls_none_is_marked() -> None:
    finding = only(_LEVEL.format("attenuator -6 dB", "pad 1 dB -> ", "pad 1 dB -> "), "amp-clips")
    assert finding.span.text == "a[1].1"


def test_a_control_that_others_hear_rightly_is_not_marked() -> None:
    finding = only(_LEVEL.format("attenuator -6 dB", "", "pad 20 dB -> "), "amp-clips")
    assert finding.span.text == "a[1].1"


def test_a_limiter_that_lets_too_much_through_is_the_place_to_edit() -> None:
    finding = only(
        "feed f { level 4 dBu; peak 17 dBu }\namp a is twin { attenuator -10 dB; limit 30 V rms }\n"
        "stock speaker weak { impedance 8 ohm; rated 100 W continuous, 900 W peak }\nspeaker b is weak\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b\n".replace("level 4", "level 14"),
        "box-over-continuous",
    )
    assert (finding.span.text, label(finding, "b gets it here")) == ("30 V", "b")


def test_the_control_that_makes_two_boxes_unlike_is_the_place_to_edit() -> None:
    text = (
        "feed f {{ level -4 dBu; peak 4 dBu }}\namp a is twin\n{}speaker b[1..2] is box\nf -> a.1 -> b[1]\n"
        "f -> {}a.2 -> b[2]\ngroup front: b[*]\n"
    )
    finding = only(text.format("a.2 { attenuator -6 dB }\n", ""), "group-uneven")
    assert (finding.span.text, label(finding, "b[2] gets the least")) == ("-6 dB", "b[2]")
    assert only(text.format("", "pad 6 dB -> "), "group-uneven").span.text == "pad 6 dB"
    both = only(text.format("a.2 { attenuator -6 dB }\n", "pad 6 dB -> "), "group-uneven")
    assert both.span.text == "b[2]"


def test_boxes_on_the_wrong_side_are_marked_where_they_stand() -> None:
    finding = only(
        "feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\n"
        "speaker b[1] is box { at 4 m, 0 m }\nspeaker b[2] is box { at -4 m, 0 m }\n"
        "l -> a.1 -> b[1]\nr -> a.2 -> b[2]\n",
        "sides-exchanged",
    )
    assert (finding.span.line, label(finding, "l is the left")) == (5, "stereo main: l, r")


def test_the_one_box_that_is_too_much_for_a_channel_is_marked() -> None:
    text = (
        "amp a is twin {{ least-load 4 ohm }}\nstock speaker four {{ impedance 4 ohm }}\nspeaker s[1..2] is sub\n"
        "speaker t is {}\na.1 -> parallel(lead 4 mm2 1 m -> s[1], lead 4 mm2 1 m -> s[2], lead 4 mm2 1 m -> t)\n"
    )
    finding = only(text.format("four"), "load-too-low")
    assert (finding.span.text, finding.label) == ("t", "without t the others would fit")
    assert label(finding, "2") == "a.1"
    assert only(text.format("sub"), "load-too-low").span.text == "a.1", "any of three alike may go"


def test_the_one_tap_that_is_too_much_for_a_line_is_marked() -> None:
    text = (
        "stock amp line {{ channels 1; rated 100 W at 100 V; line 100 V }}\namp a is line\n"
        "stock speaker horn {{ taps 15 W, 60 W, 120 W at 100 V }}\n"
        "speaker h[1..4] is horn {{ tap {} }}\nspeaker loud is horn {{ tap {} }}\n"
        "a.1 -> parallel(h[1..4] linked 1.5 mm2 2 m, lead 1.5 mm2 2 m -> loud)\n"
    )
    finding = only(text.format("15 W", "120 W"), "load-too-low")
    assert (finding.span.line, finding.span.text) == (5, "120 W")
    assert [each.rule for each in finding.brings] == ["tap-short"], (
        "a line that is overloaded has less than its voltage"
    )
    assert only(text.format("60 W", "60 W"), "load-too-low").span.text == "a.1"
