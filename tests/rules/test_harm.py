"""How much a finding counts for goes by the harm: what kills or stops the show, and what two assumptions carry."""

from __future__ import annotations

import pytest
from rig_checks import check_example

from rigspec.text.finding import Severity

_LOAD = "amp a is twin\nspeaker s[1..2] is sub\n{}a.1 -> lead {} 2 m -> s[1..2] linked 2.5 mm2 1 m\n"
_FED = "feed f {{ level -20 dBu{} }}\nf -> "
_HOT = (
    "stock amp hot {{ channels 2; rated 2400 W at 4 ohm; idle 50 W{} }}\n"
    "stock speaker pair {{ impedance 4 ohm; rated 2400 W continuous, 9600 W peak }}\n"
    "amp h[1..2] is hot\nspeaker s[1..4] is pair\n"
    "h[1].1 -> s[1]\nh[1].2 -> s[2]\nh[2].1 -> s[3]\nh[2].2 -> s[4]\n"
    "mains main {{ supply 230 V; {}; residual 30 mA }}\neach main -> h[1..2]\n"
)
_KNOWN = "; stage full-bridge; efficiency 85 %; power-factor 0.65"
_SOCKETS = (
    "stock speaker loud {{ powered; draw 300 W }}\nspeaker a is loud\nfeed f {{ level 4 dBu }}\nf -> a\n"
    "mains hall {{ supply 230 V; {}breaker 16 A C }}\nhall -> a\n"
)
_PEAKS = (
    "stock amp big {{ channels 1; rated 1200 W at 8 ohm }}\nstock speaker box {{ impedance 8 ohm; rated {} }}\n"
    "feed f {{ level -20 dBu }}\namp a is big {{ gain 32 dB }}\nspeaker s is box\nf -> a.1 -> lead 4 mm2 2 m -> s\n"
)


def severity(example: str, rule: str) -> Severity | None:
    found = [finding.severity for finding in check_example(example).findings if finding.rule == rule]
    assert len(found) <= 1
    return found[0] if found else None


# 900 W into 4 ohm are 15 A, 14.7 A with the lead; an eighth of the power is 0.354 of the current, 5.2 A. A cord of
# 0.75 mm2 stands 6 A, one of 0.5 mm2 3 A (IEC 60335-1 table 11).
@pytest.mark.parametrize(
    ("size", "programme", "wanted"),
    [
        ("1.5 mm2", "", None),
        ("0.75 mm2", "", Severity.ADVICE),
        ("0.5 mm2", "", Severity.ERROR),
        ("0.75 mm2", "; programme 1/4", Severity.ERROR),  # 7.3 A
        ("0.75 mm2", "; programme 1/7", Severity.ADVICE),  # 5.6 A
        ("0.5 mm2", "; programme 1/40", Severity.ADVICE),  # 2.3 A
    ],
)
def test_copper_is_an_error_at_the_programme_and_advice_up_to_full_output(
    size: str, programme: str, wanted: Severity | None
) -> None:
    fed = _FED.format(programme) if programme else ""
    assert severity(_LOAD.format(fed, size), "lead-overheats") is wanted


def test_a_rig_says_the_programme_for_all_its_feeds() -> None:
    rig = 'rig "x" {{ programme {} }}\n{}'
    load = _LOAD.format(_FED.format(""), "0.75 mm2")
    assert severity(rig.format("1/4", load), "lead-overheats") is Severity.ERROR
    assert severity(rig.format("1/8", load), "lead-overheats") is Severity.ADVICE


def test_sockets_without_a_residual_device_are_no_advice() -> None:
    assert severity(_SOCKETS.format(""), "residual-missing") is Severity.WARNING
    assert severity(_SOCKETS.format("residual 300 mA; "), "residual-missing") is Severity.ERROR
    assert severity(_SOCKETS.format("residual 30 mA; "), "residual-missing") is None


def test_a_breaker_that_falls_within_the_hour_is_no_advice() -> None:
    assert severity(_HOT.format(_KNOWN, "breaker 16 A C"), "breaker-close") is Severity.WARNING


@pytest.mark.parametrize(
    ("rule", "supply"),
    [("breaker-overloaded", "breaker 10 A C"), ("generator-small", "generator 2 kVA"), ("mains-lead-thin", "")],
)
def test_an_overload_at_an_assumed_drive_with_assumed_data_is_a_warning(rule: str, supply: str) -> None:
    supply = supply or "lead 0.5 mm2 5 m"
    assert severity(_HOT.format(_KNOWN, supply), rule) is Severity.ERROR
    for lacking in ("; stage full-bridge", "; efficiency 85 %", "; power-factor 0.65"):
        half = _KNOWN.replace(lacking, "")
        assert severity(_HOT.format(half, supply), rule) is Severity.WARNING


def test_a_peak_over_an_assumed_rating_at_an_assumed_level_is_a_warning() -> None:
    """A sine of 1200 W peaks at 2400 W; four times 500 W are 2000 W."""
    assert severity(_PEAKS.format("500 W continuous, 2000 W peak"), "box-over-peak") is Severity.ERROR
    assert severity(_PEAKS.format("500 W continuous"), "box-over-peak") is Severity.WARNING
