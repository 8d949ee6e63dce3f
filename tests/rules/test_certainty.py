"""What tolerances and ranges do to a finding: certain, possible or clear, with the given figure that decides most."""

from __future__ import annotations

from rig_checks import check_example

from rigspec.text.finding import Finding, Severity

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


LEVELS = (
    "amp a is twin\nspeaker s is box { rated 4000 W continuous, 9000 W peak }\nspare a.2\n"
    "f -> a.1 -> lead 10 mm2 1 m -> s\n"
)
PAIR = (
    "stereo main: f, g\nmix both: f, g\namp a is twin\nspeaker s is box { rated 4000 W continuous, 9000 W peak }\n"
    "spare a.2\nboth -> a.1 -> lead 10 mm2 1 m -> s\n"
)


def test_the_level_of_a_feed_decides_where_only_its_bad_end_clips() -> None:
    found = only("feed f { level -9 dBu; peak 6 dBu ± 1.5 dB }\n" + LEVELS, "amp-clips")
    assert (found.severity, found.possible) == (Severity.ADVICE, True)
    assert found.decides == "6 dBu ± 1.5 dB (line 1) decides most"
    assert any(label.text == "6 dBu ± 1.5 dB decides most" for label in found.related)
    assert found.help.startswith("turn a.1 down by at least 0.9 dB")  # 7.5 dBu over the 6.65 dBu at which it clips


def test_a_finding_that_is_certain_shows_the_level_as_said_and_is_cured_at_its_bad_end() -> None:
    found = only("feed f { level -9 dBu; peak 9 dBu ± 2 dB }\n" + LEVELS, "amp-clips")
    assert (found.severity, found.possible, found.decides) == (Severity.WARNING, False, "")
    assert "2.35 dB more" in found.message
    assert found.help.startswith("turn a.1 down by at least 4.4 dB")


def test_of_what_is_open_in_a_pair_the_greater_decides() -> None:
    """Both sides are 6 dB louder together if they are alike, 3 dB if they are not."""
    pair = "feed f { level -9 dBu; peak 2.5 dBuX }\nfeed g { level -9 dBu; peak 2.5 dBuX }\n" + PAIR
    alike = only(pair.replace("X", " ± 0.5 dB"), "amp-clips")
    assert alike.decides == "whether both sides of the stereo pair carry the same decides"
    assert "as a voice in the middle is" in "".join(alike.assumes)
    wide = only(pair.replace("X", " ± 4 dB"), "amp-clips")
    assert wide.decides == "2.5 dBu ± 4 dB (line 1) decides most"


def test_a_clipping_amplifier_need_not_clip_at_the_low_end_of_its_level() -> None:
    """550 W into 8 ohm at +6.65 dBu; at +4 dBu 299 W, which a box of 400 W stands."""
    text = "feed f { level 8 dBu ± 4 dB; peak 8 dBu }\n" + LEVELS.replace("4000 W", "400 W")
    found = only(text, "box-over-continuous")
    assert (found.possible, found.decides) == (True, "8 dBu ± 4 dB (line 1) decides most")
    assert only(text.replace("± 4 dB", "± 1 dB"), "box-over-continuous").possible is False
