"""What findings about the mains propose is tried out: done as it says the finding is gone, short of it it is not."""

from __future__ import annotations

import re

import pytest
from rig_checks import check_text

from rigspec.text.finding import Finding

BOX = """rig "cures" {{ mains 230 V 50 Hz; air 30 degC{code} }}
stock speaker box {{ powered; input 20 kohm; draw {draw}; power-factor 0.95; inrush {inrush} }}
feed f {{ level 4 dBu }}
speaker b[1..3] is box
each f -> b[1..3]
"""


def rig(mains: str, draw: str = "1 A", inrush: str = "10 A", code: str = "") -> str:
    return BOX.format(draw=draw, inrush=inrush, code=code) + mains


def found(text: str, rule: str) -> list[Finding]:
    return [finding for finding in check_text(text).findings if finding.rule == rule]


def proposed(finding: Finding, pattern: str) -> str:
    said = re.search(pattern, finding.help)
    assert said, finding.help
    return said[1]


HALL = "mains hall {{ supply 230 V; breaker {breaker}; residual 30 mA; lead {lead} }}\neach hall -> b[1..3]\n"


@pytest.mark.parametrize("draw", ["6 A", "7 A", "10 A"])
def test_the_breaker_and_the_lead_that_are_proposed_for_an_overload(draw: str) -> None:
    (finding,) = found(rig(HALL.format(breaker="16 A D", lead="2.5 mm2 5 m"), draw), "breaker-overloaded")
    rating = proposed(finding, r"a breaker of (\d+ A)")
    lead = re.search(r"on ([\d.]+ mm2)", finding.help)
    size = lead[1] if lead else "2.5 mm2"
    better = rig(HALL.format(breaker=f"{rating} D", lead=f"{size} 5 m"), draw)
    assert not [f for f in found(better, "breaker-overloaded") if not f.possible]
    assert not found(better, "mains-lead-thin")


def test_moving_the_gear_that_is_proposed_clears_an_overload() -> None:
    mains = HALL.format(breaker="20 A D", lead="4 mm2 5 m")
    (finding,) = found(rig(mains, "7 A"), "breaker-overloaded")
    name = proposed(finding, r"move (\S+) to another circuit")
    rest = [f"hall -> b[{number}]" for number in (1, 2, 3) if f"b[{number}]" != name]
    moved = mains.replace("each hall -> b[1..3]", "\n".join(rest))
    assert not found(rig(moved, "7 A"), "breaker-overloaded")


def test_the_curve_that_is_proposed_holds_the_inrush_and_so_does_a_sequence() -> None:
    mains = HALL.format(breaker="16 A B", lead="2.5 mm2 5 m")
    (finding,) = found(rig(mains, inrush="25 A"), "inrush-high")
    curve = proposed(finding, r"use curve ([BCD])")
    assert not found(rig(mains.replace("16 A B", f"16 A {curve}"), inrush="25 A"), "inrush-high")
    assert "`sequence`" in finding.help
    assert not found(rig(mains.replace("residual", "sequence; residual"), inrush="25 A"), "inrush-high")


def test_a_sequence_is_not_proposed_where_one_piece_alone_is_too_much() -> None:
    (finding,) = found(rig(HALL.format(breaker="16 A B", lead="2.5 mm2 5 m"), inrush="60 A"), "inrush-high")
    assert "sequence" not in finding.help


@pytest.mark.parametrize(("breaker", "size"), [("32 A C", "2.5 mm2"), ("63 A C", "6 mm2"), ("20 A C", "1.5 mm2")])
def test_the_size_and_the_breaker_that_are_proposed_for_a_thin_lead(breaker: str, size: str) -> None:
    (finding,) = found(rig(HALL.format(breaker=breaker, lead=f"{size} 5 m")), "mains-lead-thin")
    thicker = proposed(finding, r"use ([\d.]+ mm2) or thicker")
    smaller = proposed(finding, r"a breaker of (\d+ A)")
    assert not found(rig(HALL.format(breaker=breaker, lead=f"{thicker} 5 m")), "mains-lead-thin")
    assert not found(rig(HALL.format(breaker=f"{smaller} C", lead=f"{size} 5 m")), "mains-lead-thin")


def test_the_gauge_that_is_proposed_for_a_thin_lead() -> None:
    mains = "mains hall {{ supply 120 V; breaker 30 A; lead {} 15 ft }}\n"
    (finding,) = found(rig(mains.format("12 AWG"), code="; code nec"), "mains-lead-thin")
    gauge = proposed(finding, r"use (\S+ AWG) or thicker")
    assert gauge == "10 AWG"  # NEC 240.4(D)
    assert not found(rig(mains.format(gauge), code="; code nec"), "mains-lead-thin")


LONG = (
    "mains hall {{ supply 230 V; breaker 32 A D; residual 30 mA; lead {} }}\neach hall -> lead 2.5 mm2 {} -> b[1..3]\n"
)


@pytest.mark.parametrize(
    ("feed", "loose", "draw", "at_feed"),
    [("6 mm2 90 m", "5 m", "8 A", True), ("6 mm2 20 m", "80 m", "8 A", False), ("4 mm2 40 m", "30 m", "9 A", True)],
)
def test_the_size_and_the_length_that_are_proposed_for_a_drop(feed: str, loose: str, draw: str, at_feed: bool) -> None:
    finding = found(rig(LONG.format(feed, loose), draw), "mains-drop-high")[0]
    longest = float(proposed(finding, r"stay at ([\d.]+) m or less"))
    size = proposed(finding, r"use (\S+ mm2)")
    own = " ".join(feed.split()[:2])
    assert finding.span.text == (own if at_feed else "2.5 mm2")

    def shortened(metres: float) -> str:
        if at_feed:
            return rig(LONG.format(f"{own} {metres:.2f} m", loose), draw)
        return rig(LONG.format(feed, f"{metres:.2f} m"), draw)

    assert not found(shortened(longest * 0.999), "mains-drop-high")
    assert found(shortened(longest * 1.08), "mains-drop-high")  # a little cautious: thicker or shorter runs cooler
    if at_feed:
        thicker = rig(LONG.format(f"{size} {feed.split(' ', 2)[2]}", loose), draw)
    else:
        thicker = rig(LONG.replace("2.5 mm2", size).format(feed, loose), draw)
    assert not found(thicker, "mains-drop-high")


def test_the_generator_that_is_proposed_is_large_enough() -> None:
    mains = "mains hall {{ supply 230 V; generator {}; residual 30 mA }}\neach hall -> b[1..3]\n"
    (finding,) = found(rig(mains.format("5 kVA"), "8 A"), "generator-small")
    size = proposed(finding, r"a generator of ([\d.]+ k?VA)")
    better = rig(mains.format(size), "8 A")
    assert not found(better, "generator-small")
    assert not found(better, "generator-tight")


def test_the_move_that_is_proposed_evens_the_phases() -> None:
    mains = """mains house {{ supply 230 V; phases 3; breaker 32 A D; residual 30 mA }}
mains c[1..3] from house {{ breaker 16 A D }}
c[1] {{ phase {} }}
c[2] {{ phase {} }}
c[3] {{ phase {} }}
each c[1..3] -> b[1..3]
"""
    phases = ["L1", "L1", "L2"]
    (finding,) = found(rig(mains.format(*phases), "10 A"), "phases-uneven")
    said = re.search(r"move c\[(\d)\] from (L\d) to (L\d)", finding.help)
    assert said, finding.help
    assert phases[int(said[1]) - 1] == said[2]
    phases[int(said[1]) - 1] = said[3]
    assert not found(rig(mains.format(*phases), "10 A"), "phases-uneven")
