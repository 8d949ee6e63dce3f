"""The workings of levels lead to the levels, for sums, limiters, pads, splits and gains of every sort."""

from __future__ import annotations

import pytest
from checking import checked
from test_workings import assert_sound, every_step

from rigspec.why.working import Step

STOCK = """\
stock amp sensed { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; sensitivity 1.4 V at 8 ohm; input 20 kohm }
stock amp level-sensed { channels 2; rated 900 W at 4 ohm; sensitivity 5 dBu; input 20 kohm; input-peak 20 dBu }
stock amp lined { channels 2; line 100 V; rated 500 W; sensitivity 1 V; input 20 kohm }
stock amp lined-too { channels 2; rated 500 W at 100 V; sensitivity 1 V; input 20 kohm }
stock amp plain { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; gain 32 dB; input 20 kohm }
stock speaker box { impedance 8 ohm; rated 600 W continuous }
stock speaker horn { taps 15 W at 100 V }
stock speaker own { powered; input 10 kohm; drive 1.2 V; band 40 Hz to 110 Hz }
stock processor cross { inputs 2; outputs 4; input 20 kohm; source 100 ohm; gain 1 dB; peak 20 dBu; input-peak 22 dBu }
feed left { level 4 dBu; peak 17 dBu; source 100 ohm }
feed right { level 3 dBu; peak 16 dBu; source 150 ohm }
feed talk { level 0 dBu; peak 12 dBu }
stereo main: left, right
"""

RIGS = {
    "sensitivity": "amp a is sensed\nspeaker s is box\nleft -> pad 3 dB -> a.1 -> s\n",
    "sensitivity as a level, bridged": "amp a is level-sensed { attenuator -6 dB }\n"
    "speaker s is box\nleft -> a.1+2 -> s\n",
    "line": "amp a is lined\nspeaker s is horn { tap 15 W }\nleft -> a.1 -> s\n",
    "line said with the power": "amp a is lined-too\nspeaker s is horn { tap 15 W }\nleft -> a.1 -> s\n",
    "limiters of an amplifier": "amp a is plain { limit 2 dBu rms; limit 40 V peak }\n"
    "speaker s is box\nleft -> a.1 -> s\n",
    "limiters of a channel": "amp a is plain\na.1 { limit 20 V rms; limit 9 dBu peak }\n"
    "speaker s is box\nleft -> a.1 -> s\n",
    "by energy": "processor p is cross\np.1 { from a -6 dB, b -3 dB; gain 2 dB }\nspeaker m is own\n"
    "left -> p.a\ntalk -> pad 2 dB -> p.b\np.1 -> m\n",
    "by voltage": "processor p is cross\np.1 { from a -6 dB, b -3 dB; low-pass 90 Hz }\nspeaker m is own\n"
    "left -> p.a\nright -> p.b\np.1 -> m\n",
    "partly": "processor p is cross\np.1 { from a -6 dB, b -3 dB; limit 2 dBu rms; limit 2.2 V peak }\n"
    "speaker m is own\n"
    "left -> p.a\nright -> p.b\np.1 -> m\n",
    "all sorts": "mix all: left -6 dB, right -6 dB, talk -3 dB\nprocessor p is cross\np.1 { from a, b }\n"
    "speaker m is own\n"
    "all -> p.a\nleft -> p.b\np.1 -> m\n",
    "against each other": "processor p is cross\np.1 { from a, b -3 dB; low-pass 90 Hz }\nspeaker m is own\n"
    "left -> p.a\nright -> invert -> p.b\np.1 -> m\n",
    "splits": "split y { legs 2; transformer; loss 2 dB }\nsplit z { legs 2; passive }\nspeaker m[1..3] is own\n"
    "left -> y\ny.1 -> m[1]\ny.2 -> z\nz.1 -> m[2]\nz.2 -> m[3]\n",
    "outputs that only a mix takes": "processor p is cross\np.1 { from a }\np.2 { from a; delay 3 ms }\n"
    "mix both: p.1, p.2 -6 dB\n"
    "speaker m is own\nleft -> p.a\nboth -> m\n",
}


def steps(text: str) -> list[tuple[str, Step]]:
    return list(every_step(checked(STOCK + text).figures))


@pytest.mark.parametrize("name", RIGS)
def test_the_working_of_every_level_leads_to_it(name: str) -> None:
    found = steps(RIGS[name])
    assert {"level", "headroom"} <= {word for word, _ in found}
    for _, step in found:
        assert_sound(step)


def test_what_adds_up_says_how() -> None:
    def told(name: str) -> str:
        step = next(step for word, step in steps(RIGS[name]) if word == "level" and "p.1" in step.name)
        return " ".join(f"{each.formula} {each.method}" for each in step.walk())

    assert "10^(L1/10) + 10^(L2/10)" in told("by energy")
    assert "10^(L1/20) + 10^(L2/20)" in told("by voltage")
    assert "min(L_before, T1, T2)" in told("partly")
