"""What tolerances and ranges do to a finding: certain, possible or clear, with the given figure that decides most."""

from __future__ import annotations

from rig_checks import check_example

from rigspec.finding import Finding, Severity

AMP = "amp a is twin\nspeaker s[1..2] is sub { impedance 8 ohm ± 6 % }\n"


def only(text: str, rule: str) -> Finding:
    found = [finding for finding in check_example(text).findings if finding.rule == rule]
    assert len(found) == 1, [str(finding) for finding in found]
    return found[0]


def test_a_possible_finding_is_one_step_milder_and_says_so() -> None:
    certain = only("amp a is twin\nspeaker s[1..3] is sub\na.1 -> s[1..3] linked 4 mm2 1 m\n", "load-too-low")
    possible = only(AMP + "a.1 -> s[1..2] linked 4 mm2 1 m\n", "load-too-low")
    assert (certain.severity, certain.possible) == (Severity.ERROR, False)
    assert (possible.severity, possible.possible) == (Severity.WARNING, True)
    assert "may work into 3.7" in possible.message
    assert "at most 4.2" in possible.computed


def test_the_figure_that_decides_most_is_named_and_marked() -> None:
    # 6 % of two boxes in parallel is 0.24 ohm; the length leaves 26.6 mohm/m * 2 m * 2 = 0.05 ohm at both ends.
    found = only(AMP + "a.1 -> lead 1.5 mm2 1 m ± 0.5 m -> s[1..2] linked 4 mm2 1 m\n", "load-too-low")
    assert found.decides == "8 ohm ± 6 % (line 2) decides most"
    assert any(label.text == "8 ohm ± 6 % decides most" for label in found.related)
    long = "a.1 -> lead 1.5 mm2 30 m ± 20 m -> s[1..2] linked 4 mm2 1 m\n"
    assert only(AMP + long, "lead-loss-high").decides == "30 m ± 20 m (line 3) decides most"


def test_exact_figures_decide_nothing() -> None:
    found = only("amp a is twin\nspeaker s is sub\na.1 -> lead 1.5 mm2 90 m -> s\n", "lead-loss-high")
    assert (found.possible, found.decides) == (False, "")
