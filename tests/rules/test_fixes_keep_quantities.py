"""No fix puts one quantity for another, and none is made where a person has to choose."""

import pytest
from rig_checks import check_text

from rigspec.language.figure_kinds import FIGURES
from rigspec.language.settings import TABLES
from rigspec.rig.spoken import SPOKEN
from rigspec.rules import RULES
from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.text.finding import Finding

KINDS = ("amp", "speaker", "lead", "processor", "panel")


def fixes(text: str) -> list[str]:
    return [finding.fix.title for finding in check_text(text).findings if finding.fix]


@pytest.mark.parametrize("kind", KINDS)
def test_no_word_of_the_language_is_written_in_place_of_another(kind: str) -> None:
    strangers = sorted(SPOKEN - TABLES[f"stock {kind}"].keys())
    for word in strangers:
        assert fixes(f"stock {kind} x {{ {word} 3 }}\n") == [], word


def test_no_word_of_the_language_is_written_in_place_of_a_figure_or_a_statement() -> None:
    for word in sorted(SPOKEN - FIGURES.keys()):
        assert fixes(f"amp a is twin\nexpect {word} of a.1 >= 3 ohm\n{EXAMPLE_STOCK}") == [], word
    for word in sorted(FIGURES):
        assert fixes(f"{word} x\n") == [], word


@pytest.mark.parametrize(
    ("text", "fixed"),
    [
        ("stock speaker s { least-impedance 6.4 ohm }\n", []),  # a worst case is not the nominal one
        ("stock speaker s { imedance 8 ohm }\n", ["write `impedance`"]),
        ("stock amp a { heigt 8 U }\n", ["write `height`"]),
        ("stock amp a { heigt 8 kg }\n", []),  # or `weight`?
        ("stock speaker s { weigth 8 kg; rated 600 Watts continuous }\n", ["write `weight`", "write `W`"]),
        ("stock speaker s { rated 600 MW continuous }\n", []),
        ("stock amp a { sensitivity 4 dBv }\n", []),
        ("stock amp a { sensitivity 4 dbu }\n", ["write `dBu`"]),
        ("stock speaker s { impedance 8 okm }\n", []),
        ("stock amp a { supply { unregulated } }\n", []),
    ],
)
def test_a_setting_and_a_unit_are_put_right_only_where_the_quantity_stays(text: str, fixed: list[str]) -> None:
    assert fixes(text) == fixed


CHOSEN = (
    "polarity-clash",
    "polarity-stereo",
    "polarity-shared",
    "crossover-null",
    "opposed-drive-gains",
    "opposed-drive-half",
    "rails-pump",
    "pairs-exchanged",
)


def of(rule: str, text: str) -> list[Finding]:
    return [finding for finding in check_text(text + EXAMPLE_STOCK).findings if finding.rule == rule]


@pytest.mark.parametrize("rule", CHOSEN)
def test_where_several_cures_exist_none_is_the_fix(rule: str) -> None:
    findings = of(rule, RULES[rule].bad)
    assert findings
    for finding in findings:
        assert finding.fix is None
        assert finding.choices, finding.help


def test_two_inversions_that_may_be_half_of_something_are_not_taken_out_unasked() -> None:
    rig = (
        "feed f {{ level 0 dBu }}\namp a is twin\nspeaker s[1..2] is sub\n"
        "f -> invert -> a.1 -> lead 2.5 mm2 9 m -> invert -> s[1]\n"
        "f -> {turn}a.2 -> lead 2.5 mm2 9 m -> {turn}s[2]\n"
    )
    assert not of("inversions-cancel", rig.format(turn="")), "opposed: both are meant"
    both = of("inversions-cancel", rig.format(turn="invert -> "))
    assert both
    assert all(finding.fix is None and finding.choices for finding in both)
