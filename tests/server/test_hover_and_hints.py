"""What is shown of the thing under the cursor, and the figures between the words."""

from __future__ import annotations

import pytest
from served import RIG, Look

from rigspec.server.hints import KINDS, hints
from rigspec.server.hover import hover


def said(look: Look, text: str) -> str:
    sight, offset = look(text)
    found = hover(sight, offset)
    return found.text if found is not None else ""


@pytest.mark.parametrize(
    ("before", "after", "pieces"),
    [
        ("-> bass.1", "-> ba\u2038ss.1", ["an amplifier, `twin-900`", "**bass.1**: load 4.", "2 * l * r", "IEC 60228"]),
        ("-> bass.1", "-> bass.\u20381", ["**bass.1**: load 4."]),
        ("amp bass", "amp ba\u2038ss", ["**bass.1**: load 4."]),
        ("-> sub[1..2]", "-> su\u2038b[1..2]", ["**sub[1]**: power", "**sub[2]**: power", "loss 0."]),
        ("is twin-900", "is tw\u2038in-900", ["rated 900 W at 4 ohm", "house.rig, line 1"]),
        ("lead 2.5 mm2 15 m", "lead 2.5 mm2 1\u20385 m", ["49.2 ft", "lead of bass.1", "loop 0.2", "43.7 ms"]),
        ("attenuator -12", "atten\u2038uator -12", ["its gain controls, all alike", "attenuator -6 dB"]),
        ("level 4 dBu", "level 4\u2038 dBu", ["1.23 V rms", "dBV"]),
        ("amp bass", "a\u2038mp bass", ["an amplifier", "amp bass is twin-900"]),
    ],
)
def test_what_is_said_of_the_thing_under_the_cursor(look: Look, before: str, after: str, pieces: list[str]) -> None:
    assert before in RIG
    text = said(look, RIG.replace(before, after, 1))
    for piece in pieces:
        assert piece in text


def test_a_rule_is_explained_where_it_is_named(look: Look) -> None:
    text = said(look, RIG + 'allow lead-\u2038loss-high on sub[1] because "once"\n')
    assert "**lead-loss-high** (warning)" in text
    assert "Why: " in text
    assert "Source: " in text


def test_a_promise_shows_the_figure_that_it_is_about(look: Look) -> None:
    text = said(look, RIG + "expect lo\u2038ss of sub[*] <= 1 dB\n")
    assert "**loss of sub[1]**: 0.5 dB" in text
    assert "**loss of sub[2]**: 0.54 dB" in text


def test_what_is_wrong_here_is_said_with_its_cure(look: Look) -> None:
    text = said(look, RIG.replace("15 m", "8\u20380 m"))
    assert "lead-loss-high" in text
    assert "help: " in text


def test_nothing_is_said_where_there_is_nothing(look: Look) -> None:
    assert said(look, "# a comm\u2038ent\n" + RIG) == ""
    assert said(look, "\u2038") == ""


@pytest.mark.parametrize(
    ("figure", "other"),
    [("12 AWG", "3.31 mm2"), ("2/0 AWG", "67.4 mm2"), ("100 ft", "30.5 m"), ("1 kHz", "0.343 m"), ("-6 dB", "0.5012")],
)
def test_a_figure_is_converted(look: Look, figure: str, other: str) -> None:
    # American wire gauges: ASTM B258; 1 ft = 0.3048 m exactly; 343.2 m/s at 20 degC: ISO 9613-1; 10^(-6/20) = 0.5012
    assert other in said(look, f"lead loom is x {figure[0]}\u2038{figure[1:]}\n")


def shown(look: Look, text: str, *wanted: str) -> list[tuple[str, int, str]]:
    sight, _ = look(text)
    found = hints(sight, 0, len(text), wanted or KINDS)
    return [(hint.kind, text.count("\n", 0, hint.offset) + 1, hint.text) for hint in found]


def test_every_kind_of_hint_stands_at_its_place(look: Look) -> None:
    # By hand: 7.98 ohm/km (IEC 60228 class 5, 2.5 mm2); 30 m are 0.2394 ohm, 4 m 0.0319 ohm; 8 || 8.0319 = 4.0080 ohm.
    # Load 4.2474 ohm, 57 % above 2.7 ohm; losses 20 lg(4.2474/4.0080) = 0.504 dB and 20 lg(8.0319/8) = 0.035 dB.
    sight, _ = look(RIG + "expect load of bass.1 >= 4 ohm\n")
    boxes = sight.report.figures.boxes
    found = shown(look, RIG + "expect load of bass.1 >= 4 ohm\n")
    assert found == [
        ("load", 5, "4.25 ohm"),
        ("margin", 5, "57 % above its least load"),
        ("loss", 5, "-0.5 dB"),
        ("power", 5, f"{boxes['sub[2]'].rated_w:.0f} W to {boxes['sub[1]'].rated_w:.0f} W"),
        ("polarity", 5, "normal"),
        ("loss", 5, "-0.03 dB"),
        ("margin", 7, "4.25 ohm, met, 0.247 ohm to spare"),
    ]


@pytest.mark.parametrize("kind", KINDS)
def test_each_kind_can_be_wanted_alone(look: Look, kind: str) -> None:
    found = shown(look, RIG + "expect load of bass.1 >= 4 ohm\n", kind)
    assert found
    assert {each for each, _, _ in found} == {kind}


def test_a_lead_over_the_limit_says_by_how_much(look: Look) -> None:
    found = shown(look, RIG.replace("15 m", "80 m"), "margin")
    assert any(text.startswith("leads ") and text.endswith(" over the limit") for _, _, text in found)


def test_opposed_polarity_is_told(look: Look) -> None:
    assert ("polarity", 5, "inverted") in shown(look, RIG.replace("send ->", "send -> invert ->"), "polarity")


def test_hints_outside_of_what_is_seen_are_not_made(look: Look) -> None:
    sight, _ = look(RIG)
    assert hints(sight, 0, RIG.index("send ->") - 2) == []
