"""What a finding about levels proposes is tried out: done as it says the finding is gone, done by less it stays."""

import re

import pytest
from rig_checks import check_text

from rigspec.rules.example_stock import EXAMPLE_STOCK
from rigspec.text.finding import Finding


def found(text: str, rule: str) -> list[Finding]:
    return [finding for finding in check_text(text + EXAMPLE_STOCK).findings if finding.rule == rule]


def said(pattern: str, finding: Finding) -> float:
    number = re.search(pattern, finding.help)
    assert number, finding.help
    return float(number[1])


AMP = (
    "feed f {{ level 4 dBu; peak {peak} dBu }}\namp a is twin {{ attenuator {cut:.1f} dB }}\nspeaker b is box\n"
    "f -> pad {pad:.1f} dB -> a.1 -> lead 2.5 mm2 9 m -> b\nspare a.2\n"
)


@pytest.mark.parametrize("peak", [17, 17.34, 24.567])
def test_turning_an_amplifier_down_as_proposed_is_enough_and_little_more_than_needed(peak: float) -> None:
    (finding,) = found(AMP.format(peak=peak, cut=-9, pad=0), "amp-clips")
    cut = said(r"attenuator at (-[\d.]+) dB", finding)
    assert not found(AMP.format(peak=peak, cut=cut, pad=0), "amp-clips")
    assert found(AMP.format(peak=peak, cut=cut + 0.7, pad=0), "amp-clips")
    pad = said(r"`pad ([\d.]+) dB`", finding)
    assert not found(AMP.format(peak=peak, cut=-9, pad=pad), "amp-clips")
    assert found(AMP.format(peak=peak, cut=-9, pad=pad - 0.7), "amp-clips")


STAGE = (
    "feed f {{ level 4 dBu; peak 17 dBu }}\nprocessor xo is cross {{ peak 20 dBu }}\n"
    "xo.1 {{ from a; gain {gain} dB }}\namp a is twin {{ attenuator {cut} dB }}\nspeaker b is box\nf -> xo.a\n"
    "xo.1 -> a.1 -> lead 2.5 mm2 9 m -> b\n"
)


def test_lowering_a_stage_and_opening_the_amplifier_is_as_loud_as_before() -> None:
    before = STAGE.format(gain=5.25, cut=-24)
    (finding,) = found(before, "stage-clips")
    gain = said(r"gain ([\d.]+) dB", finding)
    cut = said(r"to (-[\d.]+) dB to be as loud", finding)
    after = STAGE.format(gain=gain, cut=cut)
    assert not found(after, "stage-clips")
    assert found(STAGE.format(gain=gain + 0.2, cut=cut), "stage-clips")
    volts = [check_text(text + EXAMPLE_STOCK).figures.channels["a.1"].nominal_volt for text in (before, after)]
    assert volts[1] == pytest.approx(volts[0], rel=0.006)  # gains are said to a tenth of a dB


def test_an_attenuator_that_leaves_no_room_is_not_to_be_opened() -> None:
    rig = STAGE.replace("gain {gain} dB", "gain 6 dB").replace(" {{ attenuator {cut} dB }}", "").format()
    rig = rig.replace("peak 17 dBu", "peak 17 dBu; source 100 ohm").replace("amp a is twin", "amp a is faint")
    rig += "stock amp faint { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; gain 10 dB; input 20 kohm }\n"
    (finding,) = found(rig, "stage-clips")
    assert "open" not in finding.help


def test_a_pad_before_a_powered_loudspeaker_is_enough() -> None:
    rig = "feed f {{ level 4 dBu; peak 17.3 dBu }}\nspeaker m is active {{ drive 4 dBu }}\nf -> pad {pad} dB -> m\n"
    (finding,) = found(rig.format(pad=2), "box-overdriven")
    pad = said(r"`pad ([\d.]+) dB`", finding) + 2
    assert not found(rig.format(pad=pad), "box-overdriven")
    assert found(rig.format(pad=pad - 0.2), "box-overdriven")


HEADROOM = (
    'rig "hall" {{ limits {{ headroom 15 dB }} }}\nfeed f {{ level 4 dBu; peak 14 dBu }}\n'
    "amp a is twin {{ attenuator {cut} dB }}\nspeaker b is box\nf -> a.1 -> lead 2.5 mm2 9 m -> b\n"
)


def test_turning_down_as_proposed_gives_the_headroom_that_is_wanted() -> None:
    (finding,) = found(HEADROOM.format(cut=-9), "headroom-short")
    cut = -9 - said(r"down by at least ([\d.]+) dB", finding)
    assert not found(HEADROOM.format(cut=cut), "headroom-short")
    assert found(HEADROOM.format(cut=cut + 0.1), "headroom-short")


LOADED = "feed f {{ level 4 dBu; source {source} ohm }}\nspeaker m[1..{count}] is active\n{path}"


@pytest.mark.parametrize(("source", "count"), [(600, 5), (450, 6), (150, 20), (420, 5)])
def test_so_many_inputs_as_proposed_are_not_too_many(source: int, count: int) -> None:
    def rig(inputs: int) -> str:
        return LOADED.format(source=source, count=inputs, path=f"each f -> m[1..{inputs}]\n")

    def findings(inputs: int) -> list[Finding]:
        return found(rig(inputs), "output-loaded-down") + found(rig(inputs), "output-loaded")

    (finding,) = findings(count)
    most = int(said(r"at most (\d+) of these", finding))
    assert not findings(most)
    assert findings(most + 1)


def test_the_rated_output_that_sets_the_limit_is_shown() -> None:
    """Of several ratings the one that comes next to the load, with the mode in which the output works."""
    stock = (
        "stock amp many { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; rated 990 W at 4 ohm alone\n"
        "  rated 1800 W at 8 ohm bridge; gain 32 dB; input 20 kohm }\n"
        "stock speaker strong { impedance 8 ohm; rated 2000 W continuous }\n"
    )
    rig = "feed f {{ level 4 dBu; peak 17 dBu }}\namp a is many\nspeaker b is strong\nf -> {output} -> b\n"
    shown = {}
    for output in ("a.1", "a.1+2"):
        (finding,) = found(rig.format(output=output) + stock, "amp-clips")
        shown[output] = [label.span.text for label in finding.related if "sets the limit" in label.text]
    assert shown == {"a.1": ["550 W at 8 ohm"], "a.1+2": ["1800 W at 8 ohm bridge"]}
