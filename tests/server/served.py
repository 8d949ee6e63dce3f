"""A small rig and its stock, as an editor has them open."""

from __future__ import annotations

from collections.abc import Callable

from rigspec.server.snapshot import Snapshot

STOCK = """\
stock amp twin-900 { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; least-load 2.7 ohm; gain 32 dB }
stock speaker reflex-18 { impedance 8 ohm; rated 600 W continuous, 2400 W peak; band 35 Hz to 120 Hz }
stock speaker two-way { low { impedance 8 ohm }; high { impedance 8 ohm } }
stock lead thick-pair { size 4 mm2; length 10 m }
stock processor cross-24 { inputs 2; outputs 4 }
"""
RIG = """\
use "house.rig"
feed send { level 4 dBu; peak 17 dBu; source 100 ohm; band 35 Hz to 95 Hz }
amp bass is twin-900 { attenuator -12 dB }
speaker sub[1..2] is reflex-18
send -> bass.1 -> lead 2.5 mm2 15 m -> sub[1..2] linked 2.5 mm2 2 m
spare bass.2
"""
Look = Callable[..., tuple[Snapshot, int]]
