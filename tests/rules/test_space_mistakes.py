"""Mistakes of space and time, sown one by one into good samples: nearly every one is told, by a rule that fits.

Each mistake is one edit that an engineer makes: a delay forgotten, doubled, in the wrong unit or on the wrong output, a
box aimed or placed the wrong way round, an inversion forgotten or added, lines exchanged, a side turned down.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from pathlib import Path

import pytest
from rig_checks import in_memory

from rigspec.check import check
from rigspec.text.source import Source

SAMPLES = Path(__file__).parents[2] / "samples"
STOCK = {"stock/house.rig": (SAMPLES / "stock" / "house.rig").read_text(encoding="utf-8")}
TIME = {"arrival-early", "echo-heard", "expect-unmet", "comb-heard"}
ARRAY = {"array-backwards", "array-weak", "array-unset", "polarity-clash", "polarity-shared"}
AIM = {"aim-away", "place-uncovered", "stereo-unlike", "fill-loud", *TIME}
Mistake = tuple[str, str, str, set[str]]  # its kind, the sample, the rig with it, and the rules that may tell it


def text(name: str) -> str:
    return (SAMPLES / f"{name}.rig").read_text(encoding="utf-8")


def edits(kind: str, name: str, pattern: str, by: str, rules: set[str], rig: str = "") -> Iterator[Mistake]:
    """The rig with each place that a pattern fits changed alone."""
    whole = rig or text(name)
    for found in re.finditer(pattern, whole, re.MULTILINE):
        changed = whole[: found.start()] + found.expand(by) + whole[found.end() :]
        assert changed != whole, (kind, found[0])
        yield kind, name, changed, rules


# A rig for what the samples do not have: boxes at both sides, a fill, wedges and a spaced line, all with places.
STAGE = """\
rig "stage" { mains 230 V 50 Hz; air 18 degC 55 % }
use "stock/house.rig"
feed left     { level 0 dBu; peak 12 dBu; source 100 ohm }
feed right    { level 0 dBu; peak 12 dBu; source 100 ohm }
feed mon[1..3] { level 0 dBu; peak 12 dBu; source 150 ohm }
feed bass     { level 4 dBu; peak 16 dBu; source 100 ohm; band 35 Hz to 90 Hz }
stereo main: left, right
processor xo is cross-24
xo.1 { from a }
xo.2 { from b }
xo.3 { from a -6 dB, b -6 dB; high-pass 150 Hz 12 dB/octave butterworth; delay 35 ms; gain -6 dB }
spare xo.4
amp tops is twin-900 { attenuator -12 dB }
amp fill is twin-400 { attenuator -12 dB }
amp wedges is four-250 { attenuator -12 dB }
amp lows[1..2] is twin-1600 { attenuator -12 dB }
speaker side_left  is fifteen-two { at -7 m, 0 m, 4 m; aim 8 deg, -4 deg }
speaker side_right is fifteen-two { at 7 m, 0 m, 4 m; aim -8 deg, -4 deg }
speaker lip        is compact-8 { at 0 m, 1 m, 1.4 m; aim 0 deg, 0 deg }
speaker wedge[1]   is wedge-12 { at -4 m, -1 m; aim 180 deg }
speaker wedge[2]   is wedge-12 { at 0 m, -1 m; aim 180 deg }
speaker wedge[3]   is wedge-12 { at 4 m, -1 m; aim 180 deg }
speaker low[1]     is reflex-18 { at -3 m, 0 m }
speaker low[2]     is reflex-18 { at -1 m, 0 m }
speaker low[3]     is reflex-18 { at 1 m, 0 m }
speaker low[4]     is reflex-18 { at 3 m, 0 m }
left  -> xo.a
right -> xo.b
xo.1 -> tops.1 -> lead 4 mm2 10 m -> side_left
xo.2 -> tops.2 -> lead 4 mm2 10 m -> side_right
xo.3 -> fill.1 -> lead 2.5 mm2 10 m -> lip
mon[1] -> wedges.1 -> lead 2.5 mm2 10 m -> wedge[1]
mon[2] -> wedges.2 -> lead 2.5 mm2 10 m -> wedge[2]
mon[3] -> wedges.3 -> lead 2.5 mm2 10 m -> wedge[3]
bass -> lows[1].1 -> lead 4 mm2 10 m -> low[1]
bass -> lows[1].2 -> lead 4 mm2 10 m -> low[2]
bass -> lows[2].1 -> lead 4 mm2 10 m -> low[3]
bass -> lows[2].2 -> lead 4 mm2 10 m -> low[4]
spare wedges.4, fill.2
group tops_both: side_left, side_right
group line: low[*] { array spaced }
place front_row { at 0 m, 4 m; height 1.2 m; hears main }
place desk      { at 0 m, 20 m; height 1.7 m; hears main }
place fiddle    { at -4 m, -3 m; height 1.7 m; hears mon[1] }
place singer    { at 0 m, -3 m; height 1.7 m; hears mon[2] }
place brass     { at 4 m, -3 m; height 1.7 m; hears mon[3] }
expect level at desk >= 82 dB SPL
"""


def of_time() -> Iterator[Mistake]:
    name = "delay-line"
    yield from edits("delay forgotten", name, r"(xo\.[23] +\{) delay \d+ ms;", r"\1", TIME)
    yield from edits("delay in the wrong unit", name, r"delay (\d+) ms", r"delay \1 us", TIME)
    yield from edits("delay a digit short", name, r"delay (\d+)0 ms", r"delay \1 ms", TIME)
    yield from edits("delay doubled", name, r"delay 80 ms", r"delay 160 ms", TIME)
    yield from edits("delay doubled", name, r"delay 150 ms", r"delay 300 ms", TIME)
    yield from edits("delay in feet", name, r"delay (\d+) ms", r"delay \1 ft", TIME)
    swapped = text(name).replace("delay 80 ms", "delay X").replace("delay 150 ms", "delay 80 ms")
    yield "delays exchanged", name, swapped.replace("delay X", "delay 150 ms"), TIME
    yield from edits("delay on the main boxes", name, r"(xo\.1 +\{)", r"\1 delay 80 ms;", TIME)
    aim = r"aim (-?)5 deg, -([46]) deg"
    yield from edits("aimed the wrong way round", name, aim, r"aim \g<1>175 deg, -\2 deg", AIM)
    yield from edits("placed behind the stage", name, r"m, (24|48) m, 3\.5", r"m, -\1 m, 3.5", AIM)


def of_arrays() -> Iterator[Mistake]:
    for name in ("end-fire-bass", "gradient-bass"):
        yield from edits("array: delay forgotten", name, r"delay [\d.]+ ms(; )?", "", ARRAY)
        yield from edits("array: delay doubled", name, r"delay (\d)", r"delay 2\1", ARRAY)
        lead = r"-> lead heavy-pair 10 m ->"
        yield from edits("array: a lead crossed", name, lead, f"{lead} invert ->", ARRAY)
    yield from edits("array: inversion forgotten", "gradient-bass", r"inverted; ", "", ARRAY)
    stands = r"at 0 m, (-?)(\d\S*) m; on"
    yield from edits("array: a box moved", "end-fire-bass", stands, r"at 0 m, \g<1>9\2 m; on", ARRAY)
    yield from edits("array: the wrong way round", "end-fire-bass", r"toward 0 deg", "toward 180 deg", ARRAY)
    yield from edits("array: the wrong sort", "end-fire-bass", r"array end-fire", "array gradient", ARRAY)
    yield from edits("array: the wrong sort", "gradient-bass", r"array gradient", "array end-fire", ARRAY)


def on_stage() -> Iterator[Mistake]:
    def sown(kind: str, pattern: str, by: str, rules: set[str]) -> Iterator[Mistake]:
        return edits(kind, "stage", pattern, by, rules, STAGE)

    yield from sown("fill without its delay", r"delay 35 ms; ", "", TIME)
    yield from sown("fill late by a digit", r"delay 35 ms", "delay 350 ms", TIME)
    for one, other in (("1", "2"), ("2", "3"), ("1", "3")):
        lines = rf"^mon\[{one}\](.*\n(?:mon.*\n)*)mon\[{other}\]"
        yield from sown("wedges exchanged", lines, rf"mon[{other}]\1mon[{one}]", {"wedge-exchanged"})
    side = r"(xo\.[12] +-> )(tops)"
    yield from sown("one side delayed", side, r"\1delay 6 ms -> \2", {"stereo-unlike"})
    yield from sown("one side turned down", side, r"\1pad 8 dB -> \2", {"stereo-unlike", "group-uneven"})
    yield from sown("a side aimed outward", r"aim (-?)8 deg", r"aim \g<1>170 deg", AIM)
    yield from sown("a side aimed at the wall", r"aim (-?)8 deg", r"aim \g<1>-88 deg", AIM)
    yield from sown("the fill aimed at the stage", r"aim 0 deg, 0 deg", "aim 180 deg, 0 deg", AIM)
    yield from sown("a sub crossed", r"(lead 4 mm2 10 m) -> (low\[\d\])", r"\1 -> invert -> \2", ARRAY)
    yield from sown("a sub delayed", r"bass -> (lows)", r"bass -> delay 4 ms -> \1", ARRAY)
    for metres in ("9", "12", "30"):
        yield from sown("a line too wide", r"at 3 m, 0 m", f"at {metres} m, 0 m", {"array-wide"})
    soft = r"^feed (left|right) +\{ level 0"
    yield from sown("far too soft", soft, r"feed \1 { level -14", {"expect-unmet", "stereo-unlike"})


ALL = [*of_time(), *of_arrays(), *on_stage()]


def told(rig: str) -> set[str]:
    files = {**STOCK, "rig.rig": rig}
    return {finding.rule for finding in check(Source("rig.rig", rig), in_memory(files)).findings}


@pytest.mark.parametrize("name", ["delay-line", "end-fire-bass", "gradient-bass", "stage"])
def test_without_a_mistake_nothing_is_told(name: str) -> None:
    assert told(STAGE if name == "stage" else text(name)) == set()


def test_nearly_every_mistake_is_told_by_a_rule_that_fits() -> None:
    missed = []
    for kind, name, rig, rules in ALL:
        found = told(rig)
        if not found & rules:
            missed.append(f"{kind}: {name}: {sorted(found)}")
    kinds = {kind for kind, *_ in ALL}
    assert len(kinds) >= 12
    assert len(ALL) >= 70
    assert len(missed) <= len(ALL) / 100, "\n".join([f"{len(missed)} of {len(ALL)} in {len(kinds)} kinds", *missed])
