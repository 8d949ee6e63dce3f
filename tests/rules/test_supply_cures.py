"""What findings about shared supplies propose is done, and nothing is left to find; directions hold."""

import re

import pytest
from rig_checks import check_text

from rigspec.rules import RULES
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.text.finding import Edit, Finding

OPPOSING = ("opposed-drive-gains", "opposed-drive-costs", "opposed-drive-half", "rails-pump")


def edited(text: str, edits: tuple[Edit, ...]) -> str:
    for edit in sorted(edits, key=lambda each: -each.span.start):
        text = text[: edit.span.start] + edit.text + text[edit.span.end :]
    return text


def findings(text: str) -> tuple[Finding, ...]:
    return check_text(text).findings


@pytest.mark.parametrize("rule", OPPOSING)
def test_the_fix_leaves_nothing_to_find_and_every_box_as_it_pushed(rule: str) -> None:
    text = RULES[rule].bad + EXAMPLE_STOCK
    (finding,) = [each for each in findings(text) if each.rule == rule]
    (cure,) = [finding.fix] if finding.fix else finding.choices
    assert (cure is finding.fix) == (rule == "opposed-drive-costs"), "what builds in a crossing is for a person to say"
    done = edited(text, cure.edits)
    assert [each.rule for each in findings(done)] == []
    if rule != "opposed-drive-half":
        assert pushing(text) == pushing(done)


def pushing(text: str) -> dict[str, bool]:
    """Which way every box pushes for a positive pulse at the feed."""
    boxes = check_text(text).figures.boxes
    return {key: (len(box.parts[0].turns) + len(box.own_turns)) % 2 == 1 for key, box in boxes.items()}


BAND = "band 35 Hz to 95 Hz"


@pytest.mark.parametrize(
    ("was", "becomes"),
    [
        (BAND, "band 70 Hz to 95 Hz"),  # too high for a gain
        (BAND, "band 35 Hz to 300 Hz"),  # not for bass alone
        ("capacitance 10 mF", "capacitance 40 mF"),  # so stiff that the gain is sure, but not worth it
        ("transformer; shared", "transformer; separate"),
        ("transformer; shared", "transformer; regulated; shared"),
        ("stage class-ab", "stage full-bridge"),
    ],
)
def test_where_opposing_is_not_worth_it_nothing_is_said(was: str, becomes: str) -> None:
    text = RULES["opposed-drive-gains"].bad + EXAMPLE_STOCK
    assert was in text
    assert [each.rule for each in findings(text)] == ["opposed-drive-gains"]
    assert [each.rule for each in findings(text.replace(was, becomes))] == []


def test_no_fix_where_a_hop_serves_other_channels_too() -> None:
    text = RULES["opposed-drive-gains"].bad + EXAMPLE_STOCK
    head = text.partition("f -> a.1")[0]
    rows = "each f -> a.1..2\na.1 -> s[1..2] linked 4 mm2 1 m\na.2 -> s[3..4] linked 4 mm2 1 m\ngroup subs: s[*]\n"
    (finding,) = findings(head + rows + EXAMPLE_STOCK)
    assert finding.rule == "opposed-drive-gains"
    assert finding.fix is None
    assert "invert the input of a.2" in finding.help


def test_each_branch_behind_a_channel_is_crossed_once() -> None:
    text = RULES["opposed-drive-gains"].bad + EXAMPLE_STOCK
    branched = text.replace(
        "s[3..4] linked 2.5 mm2 2 m", "parallel(lead 2.5 mm2 1 m -> s[3], lead 2.5 mm2 1 m -> s[4])"
    )
    (finding,) = findings(branched)
    assert finding.fix is None
    (cure,) = finding.choices
    assert len(cure.edits) == 3
    assert [each.rule for each in findings(edited(branched, cure.edits))] == []


def test_a_half_bridge_that_pumps_is_not_told_to_be_opposed_twice() -> None:
    text = RULES["rails-pump"].bad + EXAMPLE_STOCK
    assert [each.rule for each in findings(text)] == ["rails-pump"]


def test_only_one_inversion_is_one_finding_with_or_without_a_group() -> None:
    text = RULES["opposed-drive-half"].bad + EXAMPLE_STOCK
    assert [each.rule for each in findings(text)] == ["opposed-drive-half"]
    assert [each.rule for each in findings(text + "group subs: s[*]\n")] == ["polarity-clash"]


@pytest.mark.parametrize("rule", [*OPPOSING, "opposed-drive-uneven"])
def test_the_order_of_statements_changes_nothing(rule: str) -> None:
    statements = re.sub(r"\n  (?=\w)", "; ", RULES[rule].bad).replace("{;", "{").replace("\n}", " }").splitlines()
    there, back = "\n".join([*statements, ""]), "\n".join([*reversed(statements), ""])
    said = [(each.rule, each.message, each.computed) for each in findings(there + EXAMPLE_STOCK)]
    assert said
    assert said == [(each.rule, each.message, each.computed) for each in findings(back + EXAMPLE_STOCK)]


def test_boxes_that_are_meant_to_push_the_other_way_are_not_half_opposed() -> None:
    text = RULES["opposed-drive-half"].bad + EXAMPLE_STOCK
    assert [each.rule for each in findings(text + "group subs: s[1..2], against s[3..4]\n")] == []


def test_channels_with_one_input_are_opposed_by_the_bridge_switch() -> None:
    text = RULES["opposed-drive-gains"].bad + EXAMPLE_STOCK
    joined = text.replace("is twin {", "is twin { joined 1+2;", 1).replace("f -> a.2", "a.2")
    (finding,) = findings(joined)
    assert finding.rule == "opposed-drive-gains"
    assert "write `bridge 1+2` for `joined 1+2` and cross the lead of a.2" in finding.help
    done = joined.replace("joined 1+2", "bridge 1+2").replace(
        "a.2 -> lead 4 mm2 9 m", "a.2 -> lead 4 mm2 9 m -> invert"
    )
    assert [each.rule for each in findings(done)] == []
