"""One slip in a sample is one finding: what follows from it is not said, and a second fault elsewhere still is."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
from rig_checks import check_example, check_text

from rigspec.check import Report
from rigspec.why import figure_of

SAMPLES = Path(__file__).parents[2] / "samples"

# The sample, what is changed in it (a pattern, each place where it stands), and all that is to be said of it.
SLIPS = (
    ("monitors", "is four-250", "is quad-25", "11 kind-unknown: no amp of the kind `quad-25`"),
    ("monitors", r"^feed monitor\[1..6\]", "feed monitor[1..6", "9 syntax: this `[` is never closed"),
    ("monitors", r"^amp mon\[1..2\] is", "amp mon[1..2] is {", "11 syntax: this `{` is never closed"),
    ("monitors", r"^amp mon\[", "amp mno[", "29 name-unknown: nothing is called `mon`"),
    (
        "monitors",
        "linked 2.5 mm2 2 m$",
        "linked 2.5 mm2 2",
        "34 unit-missing: `2`",
        "38 unit-missing",
        "39 unit-missing",
    ),
    ("monitors", "3 m -> singer", "3 -> singer", "34 unit-missing: `3` has no unit"),
    ("monitors", r"^stage\.1 -> ", "stage.9 -> ", "34 port-unknown: `stage` has no `.9`"),
    ("monitors", r"^stage\.1 -> ", "stgae.1 -> ", "34 name-unknown: nothing is called `stgae`"),
    ("monitors", "^panel stage is", "panel stage si", "13 kind-unknown: `si` stands before the kind `stage-box`"),
    ("monitors", r"^amp mon\[1..2\] is", "amp mon[1..2] i", "11 kind-unknown: `i` stands before the kind `four-250`"),
    ("festival-stage", "^feed bass_send", "feed bass_sendd", "77 name-unknown: nothing is called `bass_send`"),
    ("festival-stage", "is cross-24", "is cross-2", "55 kind-unknown: no processor of the kind `cross-2`"),
    ("opposed-bass", "^feed bass_send", "feed bas_send", "18 name-unknown: nothing is called `bass_send`"),
    ("bridge-switch", "^feed bass_send", "feed bas_send", "17 name-unknown: nothing is called `bass_send`"),
    ("monitors", "is four-250 {", "is {", "11 syntax: `{` stands behind `is`, where a kind of the stock belongs"),
    ("monitors", r"^amp mon\[1..2\]", "amp mon[1..]", "11 syntax: the brackets hold no member numbers"),
    ("monitors", "is four-pair", "is quad-par", "12 kind-unknown: no lead of the kind `quad-par`"),
    ("monitors", r"^(speaker singer.*)wedge-12", r"\1wedge-1", "21 kind-unknown: no speaker of the kind `wedge-1`"),
    ("monitors", r"^speaker singer\[1..2\]", "speaker singer[1..2", "21 syntax: this `[` is never closed"),
    ("powered-boxes", r"(bass_box +is powered-15-bass)", r"\1x", "22 kind-unknown: `powered-15-bassx`"),
    ("opposed-bass", r"^(speaker sub\[1..2\] is reflex-18)", r"\1x", "15 kind-unknown: `reflex-18x`"),
    ("festival-stage", "^amp highs", "amp hihgs", "89 name-unknown: nothing is called `highs`"),
    ("monitors", "^speaker side_left.*$", "speaker side_left", "25 kind-unknown: a loudspeaker needs a kind"),
    (
        "monitors",
        r"^speaker side_left\[1..2\] .*$",
        "speaker side_left[1]",
        "25 kind-unknown: a loudspeaker needs a kind",
    ),
    ("monitors", r"^amp mon\[1..2\].*$", "amp mon", "11 kind-unknown: an amplifier needs a kind"),
    ("monitors", r"^amp mon\[1..2\]", "amp mon", "29 member-unknown: `mon` is one thing, not a row"),
    ("monitors", r"^speaker side_left\[1..2\]", "speaker side_left", "38 member-unknown: `side_left` is one thing"),
    ("monitors", r"^speaker side_left\[1..2\]", "speaker side_left[3..4]", "38 member-unknown: has no member 1"),
    ("monitors", "^panel stage is.*$", "panel stage", "15 port-unknown: `stage` has no `.2`"),
    ("festival-stage", r"^speaker front\[7.*$", "speaker front[7]", "119 kind-unknown: a loudspeaker needs a kind"),
    ("monitors", "^use .*$", 'use "stock', "7 syntax: in a use of another file: this text is never closed"),
    ("monitors", "^use .*$", "us", "7 syntax: `us` begins no statement"),
    ("monitors", "^use ", "uqe ", "7 syntax: `uqe` begins no statement"),
    ("festival-stage", "^stereo main: .*$", "stereo main: lef", "27 name-unknown: nothing is called `lef`"),
    ("bridged-sub", r"^xo\.2 +\{.*$", "xo.2 { from b; high-pass 95 Hz", "16 syntax: this `{` is never closed"),
    ("festival-stage", r"^xo\.2, xo\.4 .*$", "xo.2, xo.4 { h }", "43 setting-unknown: no setting `h`"),
    ("festival-stage", r"^tower_xo\.2 .*$", "tower_xo.2", "70 syntax: a path ends too early"),
    ("festival-stage", r"^tower_xo\.2 ", "towe_xo.2 ", "70 name-unknown: nothing is called `towe_xo`"),
    ("festival-stage", r"^bass_xo\.2 \{ inverted", "bass_xo.2 { inverte", "64 setting-unknown: no setting `inverte`"),
    ("measured-bass", "  high-pass 36 Hz", "  high-pas 36 Hz", "13 setting-unknown: no setting `high-pas`"),
    ("bi-amped-hang", "^processor xo.*$", "proc", "16 syntax: `proc` begins no statement"),
    ("bi-amped-hang", "^processor xo ", "processorx o ", "16 syntax: `processorx` begins no statement"),
    ("bridged-sub", "^speaker top_right", "speakert op_right", "28 syntax: `speakert` begins no statement"),
    ("bridge-switch", "^amp bass", "ampbass", "13 syntax: `ampbass` begins no statement"),
    ("festival-stage", "^stereo main: .*$", "stereo m", "27 syntax: a stereo pair ends too early"),
    ("festival-stage", r"^amp lows\[1", "amp low[s1", "81 syntax: the brackets hold no member numbers"),
    ("festival-stage", r"^speaker front\[3", "speakerfront[3", "117 syntax: in settings of a thing"),
    ("monitors", r"^amp mon\[1", "box mon[1", "11 syntax: `box` begins no statement"),
    ("monitors", "^speaker fiddle ", "box fidle ", "22 syntax: `box` begins no statement"),
    ("feet-and-gauge", "^mains stage_left ", "maiins stage_left ", "34 syntax: `maiins` begins no statement"),
    (
        "festival-stage",
        "^mains mon_circuit ",
        "mains mno_circuit ",
        "206 name-unknown: nothing is called `mon_circuit`",
    ),
    ("festival-stage", r"^(mains bass_circuit\[1\].*)breaker", r"\1breker", "190 setting-unknown: no setting `breker`"),
    ("festival-stage", r"^(mains hang_circuit\[2\].*)phase", r"\1phaes", "194 setting-unknown: no setting `phaes`"),
    ("festival-stage", "^(mains site .*)phases", r"\1phasees", "181 setting-unknown: no setting `phasees`"),
    ("festival-stage", "^mains pa ", "maqns pa ", "182 syntax: `maqns` begins no statement"),
    (
        "festival-stage",
        "^mains drum_circuit    from backline",
        "mains drum_circuit from bakline",
        "197 name-unknown: `bakline`",
    ),
    ("bi-amped-hang", "^speaker hang_right.*$", "speaker han", "32 kind-unknown: a loudspeaker needs a kind"),
    ("festival-stage", r"^speaker front\[1..2\].*$", "speaker fro", "116 kind-unknown: a loudspeaker needs a kind"),
    (
        "bi-amped-hang",
        "^lead loom_right +is",
        "lead loom_right qs",
        "34 kind-unknown: `qs` stands before the kind `four-pair`",
    ),
    ("festival-stage", r"^xo\.2, xo\.4 .*$", "xo.2, xo", "43 syntax: a path ends too early"),
    ("festival-stage", r"^xo\.2 +\{", "xo2. {", "46 syntax: `.` cannot stand here"),
    ("series-columns", "^feed voice.*$", "feed vo", "14 name-unknown: nothing is called `voice`"),
    ("festival-stage", r"^(amp lows\[1..2\]  is four-90)0", r"\1 0", "81 kind-unknown: no amp of the kind `four-90`"),
    ("monitors", r"^feed monitor\[", "feedmonitor[", "9 name-unknown: nothing is called `feedmonitor`"),
    ("feet-and-gauge", "^feed right +\\{", "feed righ t{", "16 setting-value: `t` says nothing here"),
    (
        "festival-stage",
        "^(feed bass_send .*)band 35 Hz to 95 Hz",
        r"\1so",
        "25 setting-unknown: a feed has no setting `so`",
    ),
    ("powered-boxes", "^mains slip .*$", "mains slip { supp", "31 syntax: this `{` is never closed"),
    ("bi-amped-hang", "^processor xo is", "processor xoi s", "16 kind-unknown: `s` stands before the kind `cross-24`"),
    ("monitors", r"^(lead loom\[1..2\] is four-pair) .*$", r"\1", "12 lead-incomplete: the length of this lead"),
    (
        "bi-amped-hang",
        "^lead loom_left.*$",
        "lead loom_left",
        "33 lead-incomplete: the size and the length of this lead",
    ),
    ("festival-stage", r"^speaker front\[1", "speaker rfont[1", "128 member-unknown: `front` has no member 1"),
)


def changed(sample: str, *changes: tuple[str, str]) -> Report:
    text = (SAMPLES / f"{sample}.rig").read_text(encoding="utf-8")
    for pattern, instead in changes:
        text, count = re.subn(pattern, instead, text, flags=re.MULTILINE)
        assert count, pattern
    files = {path.relative_to(SAMPLES).as_posix(): path.read_text(encoding="utf-8") for path in SAMPLES.rglob("*.rig")}
    return check_text(text, files, f"{sample}.rig")


def assert_said(report: Report, *wanted: str) -> None:
    """All findings and no others: the line, the rule and a piece of the message of each."""
    said = [(f"{finding.span.line} {finding.rule}", finding.message) for finding in report.findings]
    assert len(said) == len(wanted), said
    for (where, message), want in zip(said, wanted, strict=True):
        place, _, piece = want.partition(": ")
        assert where == place, said
        assert piece in message


@pytest.mark.parametrize(("sample", "pattern", "instead", "wanted"), [(*slip[:3], slip[3:]) for slip in SLIPS])
def test_a_slip_has_one_finding(sample: str, pattern: str, instead: str, wanted: tuple[str, ...]) -> None:
    assert_said(changed(sample, (pattern, instead)), *wanted)


def test_a_name_that_nobody_knows_is_told_once_with_its_other_places() -> None:
    (finding,) = changed("monitors", (r"^amp mon\[", "amp mno[")).findings
    assert [(label.span.line, label.text) for label in finding.related] == [
        (11, "`mno` is declared here"),
        (30, "named here too"),
        (31, "named here too"),
        (47, "named here too"),
    ]


def test_the_fix_of_a_name_writes_it_everywhere() -> None:
    (finding,) = changed("monitors", ("(-> lead.* |of )singer", r"\1siger")).findings
    assert finding.fix is not None
    assert [(edit.span.line, edit.span.text, edit.text) for edit in finding.fix.edits] == [
        (34, "siger", "singer"),
        (48, "siger", "singer"),
        (49, "siger", "singer"),
    ]


def test_a_second_fault_behind_the_first_is_said() -> None:
    report = changed("monitors", ("is four-250", "is quad-25"), (r"^stage\.6 -> .*$", "stage.6 -> lead 2.5 mm2 3 m"))
    assert_said(
        report,
        "11 kind-unknown: `quad-25`",
        "26 nothing-connected: side_right[1..2] are declared, and no path leads to them",
    )


def test_a_member_that_is_not_there_is_told_once_with_its_other_places() -> None:
    (finding,) = changed("monitors", (r"^amp mon\[1..2\]", "amp mon")).findings
    assert [(label.span.line, label.text) for label in finding.related] == [
        (11, "declared here"),
        (30, "named here too"),
        (31, "named here too"),
        (47, "named here too"),
    ]


def test_a_row_of_a_like_name_that_has_the_member_is_shown() -> None:
    (finding,) = changed("festival-stage", (r"^speaker front\[1", "speaker rfont[1")).findings
    assert (116, "`rfont` has some of them") in [(label.span.line, label.text) for label in finding.related]


def test_members_that_a_row_lacks_are_two_slips_where_others_are_right() -> None:
    assert_said(
        check_example(
            "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1..2] linked 2.5 mm2 2 m\n"
            "expect loss of s[3] <= 1 dB\nexpect loss of s[3..4], s[5] <= 1 dB\n"
        ),
        "4 member-unknown: `s` has no member 3",
        "5 member-unknown: `s` has no member 5",
    )


def test_a_member_behind_a_slip_that_does_not_touch_the_row_is_said() -> None:
    report = changed("monitors", (r"^amp mon\[1..2\] is", "amp mon[1..2] i"), (r"-> mon\[2\]", "-> mon[3]"))
    assert_said(
        report,
        "11 kind-unknown: `i` stands before the kind `four-250`",
        "30 member-unknown: `mon` has no member 3",
    )


def test_what_needs_no_other_file_is_said_behind_a_use_that_cannot_be_read() -> None:
    report = changed("monitors", ("^use .*$", 'use "stock'), ("3 m -> singer", "3 -> singer"))
    assert_said(report, "7 syntax: this text is never closed", "34 unit-missing: `3` has no unit")


def test_where_files_are_read_a_word_that_may_become_another_use_hides_no_kind() -> None:
    report = changed("monitors", ("^use .*$", r"\g<0>\nu"), ("is four-250", "is quad-25"))
    assert_said(report, "8 syntax: `u` begins no statement", "12 kind-unknown: no amp of the kind `quad-25`")


def test_three_feeds_of_which_one_is_unknown_are_two_slips() -> None:
    report = changed("festival-stage", ("^stereo main: .*$", "stereo main: left, right, midle"))
    assert_said(
        report,
        "27 setting-value: a stereo pair has two feeds",
        "27 name-unknown: nothing is called `midle`",
    )


def test_lists_that_hold_each_other_are_one_slip_whoever_names_them() -> None:
    report = check_example(
        "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\ngroup x: y, s\ngroup y: z\ngroup z: x, y\n"
        "group of_them: x, s\nexpect loss of x <= 1 dB\n"
    )
    assert_said(report, "4 list-loop: a list cannot hold itself: x holds y holds z holds x")
    assert [label.span.line for label in report.findings[0].related] == [5, 6]


def test_two_circles_of_lists_are_two_slips() -> None:
    assert_said(
        check_example(
            "amp a is twin\nspeaker s is sub\na.1 -> lead 2.5 mm2 9 m -> s\ngroup v: v, s\ngroup x: y, v\ngroup y: x\n"
        ),
        "4 list-loop: v holds v",
        "5 list-loop: x holds y holds x",
    )


def test_a_path_that_begins_at_gear_which_is_set_already_brings_no_doubt_of_it() -> None:
    report = changed("bridged-sub", (r"^xo\.2 +\{.*$", "xo.2 { high-pass 95 Hz 24 dB/octave linkwitz-riley }\nxo.2"))
    assert_said(
        report,
        "17 syntax: a path ends too early, behind `.2`",
        "36 source-unsaid: xo.2 does not say which of its inputs it takes",
    )


def test_settings_that_cannot_be_read_hide_nothing_of_other_gear() -> None:
    report = changed(
        "festival-stage", (r"^xo\.2, xo\.4 .*$", "xo.2, xo.4 { h }"), (r"^bass_xo\.2 \{ inverted; ", "bass_xo.2 { ")
    )
    assert {"setting-unknown", "polarity-clash"} <= {finding.rule for finding in report.findings}


@pytest.mark.parametrize(
    ("settings", "wanted"),
    [
        ("level 4 dBu peak 17 dBu", ["no `;` stands between `level` and `peak`"]),
        ("level 4 dBu; band 150 Hzto 8 kHz", ["`Hzto` is not a unit of this language"]),
        ("level 4 d Bu", ["`d` is not a unit"]),
        ("level 4 dBx; peak 17 dBu rest", ["`dBx` is not a unit", "`rest` says nothing in `peak`"]),
        ("band 150 Hx to 8 kHx", ["`Hx` is not a unit", "`kHx` is not a unit"]),
    ],
)
def test_what_follows_a_slip_in_a_setting_is_the_rest_of_it(settings: str, wanted: list[str]) -> None:
    found = check_example(f"feed f {{ {settings} }}\nspeaker s is active\nf -> s\n").findings
    assert len(found) == len(wanted), found
    assert all(piece in finding.message for piece, finding in zip(wanted, found, strict=True)), found


def test_a_declaration_that_is_not_typed_yet_shows_who_speaks_of_it() -> None:
    (finding,) = changed("monitors", ("^speaker fiddle.*$", "spea")).findings
    assert [(label.span.line, label.span.text) for label in finding.related] == [(35, "fiddle"), (49, "fiddle")]


def test_a_name_that_is_misspelt_is_not_taken_for_what_is_being_typed() -> None:
    report = changed("monitors", ("^speaker fiddle.*$", r"\g<0>\nspea"), ("(-> lead.* )accordion", r"\1acordion"))
    assert_said(report, "23 syntax: `spea` begins no statement", "37 name-unknown: nothing is called `acordion`")


def test_of_two_unknown_names_none_is_taken_for_what_is_being_typed() -> None:
    report = check_example("amp a is twin\nspea\na.1 -> lead 2.5 mm2 9 m -> port\na.2 -> lead 2.5 mm2 9 m -> lee\n")
    assert_said(report, "2 syntax: `spea`", "3 name-unknown: nothing is called `port`", "4 name-unknown: `lee`")


def test_a_part_of_the_mains_that_has_its_own_breaker_is_judged_below_one_with_a_fault() -> None:
    report = changed(
        "festival-stage",
        ("^(mains pa from .*)breaker", r"\1breker"),
        (r"^(mains bass_circuit\[1\].*)breaker 16 A C; lead 2.5 mm2", r"\1breaker 63 A C; lead 2.5 mm2"),
    )
    assert {"setting-unknown", "mains-lead-thin"} <= {finding.rule for finding in report.findings}


def test_a_port_that_gear_has_not_is_said_beside_settings_that_cannot_be_read() -> None:
    report = changed(
        "bridged-sub", (r"^xo\.2 +\{.*$", "xo.2 { from b; high-pass 95"), (r"^right( +)-> xo\.b", r"right\1-> xo.c")
    )
    assert {"syntax", "port-unknown"} == {finding.rule for finding in report.findings}


def test_a_promise_of_a_figure_that_no_such_thing_has_is_not_hidden_by_a_fault() -> None:
    report = changed(
        "monitors", ("is four-250", "is quad-25"), ("^expect loss of singer.*$", "expect load of drums >= 4 ohm")
    )
    assert [finding.rule for finding in report.findings] == ["kind-unknown", "expect-unjudged"]


def test_a_promise_of_a_spare_says_that_no_path_leads_to_it() -> None:
    report = check_example(
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 2.5 mm2 9 m -> s[1]\nspare s[2], a.2\n"
        "expect loss of s[2] <= 1 dB\nexpect load of a.2 >= 4 ohm\n"
    )
    assert_said(
        report,
        "5 expect-unjudged: no path leads to s[2]",
        "6 expect-unjudged: no loudspeaker hangs on a.2",
    )


@pytest.mark.parametrize(("lead", "value"), [("12 m", 0.0), ("12", None)])
def test_no_filter_on_the_way_is_a_figure_only_where_the_way_is_known(lead: str, value: float | None) -> None:
    report = check_example(
        f"feed f {{ level 0 dBu }}\namp a is twin\nspeaker s is sub\nf -> a.1 -> lead 2.5 mm2 {lead} -> s\n"
    )
    assert figure_of(report.figures, "attenuation", "s") == value
