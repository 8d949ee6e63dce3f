"""Whole trees of the mains against a circuit simulator, and against sums worked out by hand.

The simulator is ngspice, run live. Gear is a current in phase with the supply, each conductor of each lead a resistor,
as warm as the figures say; the neutral of every lead is a conductor of its own.
"""

from __future__ import annotations

import random
import subprocess
from math import sqrt

import pytest

from rigspec.check import Report, check
from rigspec.figures.mains import MainsFigures
from rigspec.figures.mains_tree import PHASES
from rigspec.text.source import Refused, Source
from rigspec.text.units import quantity

STOCK = """\
stock speaker box { powered; input 20 kohm }
feed f { level 4 dBu }
"""


def worked(text: str) -> MainsFigures:
    report: Report = check(Source("rig.rig", text), lambda using, used: Refused(used, "there is none"))
    assert not [finding for finding in report.findings if finding.rule in ("syntax", "setting-value", "name-unknown")]
    return report.figures.mains


def made_up(seed: int) -> str:
    """A supply of three phases, two distributions, circuits on all phases, boxes on loose leads."""
    dice = random.Random(seed)
    lines = ['rig "made up" { mains 230 V 50 Hz; air 25 degC }', STOCK]
    lines.append(f"mains site {{ supply 230 V; phases 3; breaker 63 A D; lead 16 mm2 {dice.randint(5, 60)} m }}")
    box = 0
    for side in range(2):
        lines.append(f"mains side{side} from site {{ phases 3; breaker 32 A D; lead 6 mm2 {dice.randint(5, 40)} m }}")
        for circuit in range(dice.randint(2, 5)):
            name, phase = f"c{side}_{circuit}", dice.choice(PHASES)
            size, length = dice.choice((2.5, 4)), dice.randint(2, 30)
            lines.append(
                f"mains {name} from side{side} {{ phase {phase}; breaker 16 A D; lead {size:g} mm2 {length} m }}"
            )
            for _ in range(dice.randint(1, 3)):
                lines.append(f"speaker b{box} is box {{ draw {dice.uniform(0.5, 5):.2f} A; power-factor 0.95 }}")
                lines.append(f"f -> b{box}\n{name} -> lead 1.5 mm2 {dice.randint(2, 25)} m -> b{box}")
                box += 1
    return "\n".join(lines) + "\n"


def simulated(mains: MainsFigures) -> dict[str, float]:
    """Voltages between phase and neutral at all outlets and inlets, by name of part and phase or of gear."""
    deck = ["* the mains as a tree"]
    deck += [f"V{phase} site_in_{phase} 0 dc 0 ac 230 {-120 * number}" for number, phase in enumerate(PHASES)]
    deck.append("Rground site_in_N 0 1e-9")
    asked: dict[str, tuple[str, str]] = {}
    for name, part in mains.parts.items():
        before = f"{part.node.parent}_out" if part.node.parent else "site_in"
        assert part.lead is not None
        deck += [
            f"R{name}{each} {before}_{each} {name}_out_{each} {part.lead.ohm!r}" for each in (*part.node.labels, "N")
        ]
        for label in part.node.labels:
            asked[f"{name} {label}"] = (f"{name}_out_{label}", f"{name}_out_N")
        for plug in part.node.plugs:
            inlet = mains.inlets[plug.sink.gear.full]
            (lead,) = inlet.leads
            label = part.node.labels[0]
            deck += [f"R{inlet.key}{each} {name}_out_{each} {inlet.key}_{each} {lead.ohm!r}" for each in (label, "N")]
            angle = -120 * PHASES.index(label)
            deck.append(f"I{inlet.key} {inlet.key}_{label} {inlet.key}_N dc 0 ac {inlet.amperes[1]!r} {angle}")
            asked[inlet.key] = (f"{inlet.key}_{label}", f"{inlet.key}_N")
    deck += [".control", "ac lin 1 50 50", *(f"print vm({a},{b})" for a, b in asked.values()), ".endc", ".end"]
    ran = subprocess.run(
        ["ngspice", "-b"], input="\n".join(deck) + "\n", capture_output=True, text=True, check=False, timeout=60
    )
    found = [float(line.split("=")[1]) for line in ran.stdout.splitlines() if line.startswith("vm(")]
    assert len(found) == len(asked), ran.stdout + ran.stderr
    return dict(zip(asked, found, strict=True))


@pytest.mark.parametrize("seed", range(12))
def test_voltages_along_made_up_trees_are_those_of_the_simulator(seed: int) -> None:
    mains = worked(made_up(seed))
    theirs = simulated(mains)
    for name, part in mains.parts.items():
        assert part.end_volts is not None
        for label, volt in zip(part.node.labels, part.end_volts, strict=True):
            assert volt == pytest.approx(theirs[f"{name} {label}"], rel=1e-6)
    for name, inlet in mains.inlets.items():
        # A loose lead's drop is taken along the voltage it begins with, which leans a little by then.
        assert inlet.end_volt == pytest.approx(theirs[name], rel=1e-4)


@pytest.mark.parametrize("seed", range(12))
def test_what_hangs_below_adds_up_to_what_flows_above(seed: int) -> None:
    """Kirchhoff's current law on every phase, from the inlets straight to the supply."""
    mains = worked(made_up(seed))
    for phase, label in enumerate(PHASES):
        flows = [inlet.amperes[1] or 0.0 for inlet in mains.inlets.values() if inlet.phase == label]
        assert mains.parts["site"].total.ampere(1, phase) == pytest.approx(sum(flows))
    watt = sum(draw.power_w for inlet in mains.inlets.values() if (draw := inlet.draws[1]))
    assert mains.parts["site"].total.power_w[1] == pytest.approx(watt)


# ---- by hand --------------------------------------------------------------------------------------------------------

AMPLIFIERS = """\
rig "by hand" { mains 230 V 50 Hz; air 30 degC }
stock amp linear { channels 2; rated 500 W at 8 ohm; stage class-ab; idle 40 W; efficiency 62 %; power-factor 0.7 }
stock amp switching {
  channels 4; rated 1000 W at 8 ohm; stage full-bridge; idle 60 W; efficiency 80 %; power-factor 0.95
}
stock speaker cabinet { impedance 8 ohm }
amp a is linear
amp b is switching
speaker s[1..6] is cabinet
each a.1..2 -> s[1..2]
each b.1..4 -> s[3..6]
mains hall { supply 230 V; breaker 16 A C }
hall -> a
hall -> b
"""


def test_amplifiers_at_an_eighth() -> None:
    """The worked cases of the trade (see test_mains_power.py), with the efficiency of class AB by its law.

    Class D with 80 %: 500 W of 4 kW are 685 W, 3.135 A at a power factor of 0.95, and 185 W of heat.
    Class AB with 62 % at rated output has 62 % sqrt(1/8) = 21.9 %: 125 W are 570.2 W and 40 W idle, 3.790 A at 0.7.
    """
    mains = worked(AMPLIFIERS)
    b, a = mains.inlets["b"], mains.inlets["a"]
    assert b.draws[1] is not None
    assert a.draws[1] is not None
    assert b.draws[1].power_w == pytest.approx(685.0)
    assert b.amperes[1] == pytest.approx(3.135, abs=5e-4)
    assert b.draws[1].heat_w == pytest.approx(185.0)
    assert a.draws[1].power_w == pytest.approx(40 + 125 / (0.62 / sqrt(8)))
    assert a.amperes[1] == pytest.approx(3.790, abs=5e-4)
    assert a.amperes[0] == pytest.approx(40 / 0.7 / 230)
    assert mains.parts["hall"].ampere() == pytest.approx(3.135 + 3.790, abs=1e-3)


def test_only_channels_with_a_load_give_power() -> None:
    """A channel that nothing hangs on takes its share of idle and no more."""
    mains = worked(AMPLIFIERS.replace("each b.1..4 -> s[3..6]", "b.1 -> s[3]"))
    drawn = mains.inlets["b"].draws[1]
    assert drawn is not None
    assert drawn.power_w == pytest.approx(60 + 1000 / 8 / 0.8)


@pytest.mark.parametrize(
    ("draw", "watt", "ampere"), [("460 W", 460, 460 / 0.8 / 230), ("460 VA", 368, 2.0), ("2 A", 368, 2.0)]
)
def test_a_draw_in_any_of_its_units(draw: str, watt: float, ampere: float) -> None:
    text = f"""rig "x" {{ mains 230 V }}
stock speaker box {{ powered; draw {draw}; power-factor 0.8 }}
speaker b is box
mains hall {{ supply 230 V }}
hall -> b
"""
    inlet = worked(text).inlets["b"]
    assert inlet.draws[1] is not None
    assert inlet.draws[1].power_w == pytest.approx(watt)
    assert inlet.amperes[1] == pytest.approx(ampere)


TOLERANT = """\
rig "tolerances" {{ mains 230 V }}
stock speaker box {{ powered; draw 1000 VA ± 10 %; inrush 30 A ± 50 %; leakage 1 mA ± 20 %; power-factor 0.95 }}
speaker b is box
mains hall {{ {supply}; breaker 16 A C; lead 2.5 mm2 20 m ± 5 m }}
hall -> b
"""


@pytest.mark.parametrize(
    ("supply", "low", "high"),
    [
        ("supply 230 V", 900 / 230, 1100 / 207),  # IEC 60038: it may be 10 % low; as said at the mild end
        ("supply 230 V ± 5 %", 900 / 241.5, 1100 / 218.5),
    ],
)
def test_both_ends_of_what_is_given_with_a_tolerance(supply: str, low: float, high: float) -> None:
    mains = worked(TOLERANT.format(supply=supply))
    found = [each.parts["hall"] for each in (mains.mild, mains, mains.bad)]
    assert [part.ampere() for part in found] == pytest.approx([low, 1000 / 230, high])
    assert [part.inrush_ampere for part in found] == pytest.approx([15, 30, 45])
    assert [part.total.leakage_ampere for part in found] == pytest.approx([0.8e-3, 1e-3, 1.2e-3])
    drops = [part.drop or 0.0 for part in found]
    assert drops == sorted(drops)
    assert drops[0] < drops[2]


def test_two_hundred_and_eight_volts_are_a_hundred_and_twenty_to_neutral() -> None:
    """ANSI C84.1: 120/208 V."""
    text = """rig "x" { mains 120 V 60 Hz; code nec }
stock speaker box { powered; draw 12 A }
speaker b is box
mains hall { supply 208 V; phases 3 }
mains leg from hall { phase L3 }
leg -> b
"""
    mains = worked(text)
    volt = mains.inlets["b"].volt
    assert volt == pytest.approx(208 / sqrt(3))
    assert [flows[0] for flows in mains.parts["leg"].amperes or ()] == pytest.approx([12.0] * 3)
    assert quantity(120, "V").value == pytest.approx(volt, rel=1e-3)


def test_switching_on_in_sequence_takes_the_largest_piece() -> None:
    text = """rig "x" { mains 230 V }
stock speaker box { powered; draw 1 A; inrush 30 A }
speaker b[1..3] is box
speaker c is box { inrush 50 A }
mains hall { supply 230 V }
mains row from hall { sequence }
each row -> b[1..3]
hall -> c
"""
    mains = worked(text)
    assert mains.parts["row"].inrush_ampere == 30
    assert mains.parts["hall"].inrush_ampere == 80


def test_a_part_in_sequence_takes_the_largest_of_the_parts_below() -> None:
    text = """rig "x" { mains 230 V }
stock speaker box { powered; draw 1 A; inrush 30 A; leakage 2 mA }
speaker b[1..5] is box
mains site { supply 230 V; sequence }
mains left from site { residual 30 mA }
mains right from site { residual 30 mA }
each left  -> b[1..2]
each right -> b[3..5]
"""
    mains = worked(text)
    assert [part.inrush_ampere for part in mains.parts.values()] == [90, 60, 90]
    assert [part.total.leakage_ampere for part in mains.parts.values()] == pytest.approx([10e-3, 4e-3, 6e-3])
