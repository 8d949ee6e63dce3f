"""The small invented stock that the rules' examples use; the figures mean nothing beyond the examples."""

EXAMPLE_STOCK = """\
stock amp twin { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; least-load 4 ohm; gain 32 dB; input 20 kohm }
stock amp street { channels 2; line 100 V; rated 240 W at 100 V; gain 38 dB; input 20 kohm }
stock speaker box { impedance 8 ohm; rated 500 W continuous, 2000 W peak; band 60 Hz to 18 kHz }
stock speaker sub { impedance 8 ohm; rated 600 W continuous, 2400 W peak; band 35 Hz to 120 Hz }
stock speaker horn { taps 15 W, 30 W at 100 V; rated 30 W continuous; band 200 Hz to 8 kHz }
stock speaker active { powered; input 20 kohm; band 60 Hz to 18 kHz }
stock speaker two-way {
  low { impedance 8 ohm; rated 400 W continuous; band 60 Hz to 1.2 kHz }
  high { impedance 8 ohm; rated 80 W continuous; band 1.2 kHz to 18 kHz }
}
stock lead twin-pair { pairs 2; size 2.5 mm2 }
stock processor cross { inputs 2; outputs 4; input 20 kohm; source 100 ohm }
"""
