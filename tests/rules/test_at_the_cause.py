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
