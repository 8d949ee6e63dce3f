"""What a rig's text says of filters, followed to the loudspeaker, against scipy's filters."""

import math

import pytest
from scipy import signal

from rigspec.check import Refused, Report, check
from rigspec.text.source import Source
from rigspec.why import derive
from rigspec.why.working import Step

STOCK = """\
stock amp twin { channels 2; rated 900 W at 4 ohm, 550 W at 8 ohm; least-load 4 ohm; gain 32 dB; input 20 kohm }
stock speaker sub { impedance 8 ohm; band 35 Hz to 120 Hz }
stock speaker top { impedance 8 ohm; band 60 Hz to 18 kHz }
stock speaker active { powered; input 20 kohm; band 60 Hz to 18 kHz }
stock speaker two-way {
  low { impedance 8 ohm; band 60 Hz to 1.2 kHz }
  high { impedance 8 ohm; band 1.2 kHz to 18 kHz }
}
stock processor cross { inputs 2; outputs 4; input 20 kohm; source 100 ohm }
"""
FEED = "feed f { level -20 dBu; peak -10 dBu }\nprocessor x is cross\nf -> x.a\namp a is twin\n"


def checked(text: str) -> Report:
    return check(Source("rig.rig", text + STOCK), lambda using, used: Refused(used, "nothing is read"))


def figure(text: str, word: str, key: str) -> float:
    step = derive(checked(text).figures, word, key)
    assert isinstance(step, Step)
    assert isinstance(step.value, float)
    return step.value


def butterworth(order: int, kind: str, corner_hz: float, hz: float) -> complex:
    made = signal.butter(order, 2 * math.pi * corner_hz, kind, analog=True, output="zpk")
    return complex(signal.freqs_zpk(*made, worN=[2 * math.pi * hz])[1][0])


def down_db(value: complex) -> float:
    return -20 * math.log10(abs(value))


def test_filters_of_an_output_and_of_an_amplifier_add_up() -> None:
    """A Linkwitz-Riley high-pass in the processor and a Butterworth one in the amplifier, an octave below 60 Hz."""
    text = FEED.replace("is twin", "is twin { high-pass 40 Hz 18 dB/octave butterworth }") + (
        "x.1 { from a; high-pass 80 Hz 24 dB/octave linkwitz-riley }\nspeaker t is top\nx.1 -> a.1 -> t\n"
    )
    theirs = butterworth(2, "highpass", 80, 30) ** 2 * butterworth(3, "highpass", 40, 30)
    assert figure(text, "attenuation", "t") == pytest.approx(down_db(theirs), abs=1e-6)
    edge = figure(text, "low-edge", "t")
    there = butterworth(2, "highpass", 80, edge) ** 2 * butterworth(3, "highpass", 40, edge)
    assert down_db(there) == pytest.approx(20 * math.log10(2), abs=1e-6)


def test_the_edge_of_a_linkwitz_riley_filter_is_its_corner() -> None:
    """6.02 dB down there: S. Linkwitz, JAES 24, 1976 (from memory)."""
    text = FEED + "x.1 { from a; low-pass 95 Hz 24 dB/octave linkwitz-riley }\nspeaker s is sub\nx.1 -> a.1 -> s\n"
    assert figure(text, "high-edge", "s") == pytest.approx(95, rel=1e-9)
    assert derive(checked(text).figures, "low-edge", "s") is None


@pytest.mark.parametrize(
    ("band", "from_hz", "to_hz"),
    [
        ("; band 50 Hz to 70 Hz", 50, 70),  # the feed is narrower than the filters
        ("; band 20 Hz to 200 Hz", 40, 95),  # the filters are narrower
        ("; band 50 Hz to 200 Hz", 50, 95),
    ],
)
def test_the_band_of_a_feed_and_filters_bound_together(band: str, from_hz: float, to_hz: float) -> None:
    filters = "high-pass 40 Hz 24 dB/octave linkwitz-riley; low-pass 95 Hz 24 dB/octave linkwitz-riley"
    text = FEED.replace("peak -10 dBu", f"peak -10 dBu{band}") + (
        f"x.1 {{ from a; {filters} }}\nspeaker s is sub\nx.1 -> a.1 -> s\n"
    )
    assert figure(text, "low-edge", "s") == pytest.approx(from_hz, rel=1e-9)
    assert figure(text, "high-edge", "s") == pytest.approx(to_hz, rel=1e-9)


def test_of_two_feeds_the_one_that_is_lowered_least_counts() -> None:
    """The mono sum takes a bright feed behind a filter and another one behind none."""
    text = (
        "feed f { level -20 dBu }\nfeed g { level -20 dBu }\nprocessor x is cross\nprocessor y is cross\n"
        "amp a is twin\n"
        "f -> x.a\nx.1 { from a; high-pass 100 Hz 24 dB/octave butterworth }\nx.1 -> y.a\ng -> y.b\n"
        "y.1 { from a, b; high-pass 60 Hz 12 dB/octave butterworth }\nspeaker t is top\ny.1 -> a.1 -> t\n"
    )
    assert figure(text, "attenuation", "t") == pytest.approx(down_db(butterworth(2, "highpass", 60, 30)), abs=1e-6)
    edge = figure(text, "low-edge", "t")
    assert down_db(butterworth(2, "highpass", 60, edge)) == pytest.approx(20 * math.log10(2), abs=1e-6)


def test_filters_reach_a_powered_loudspeaker_too() -> None:
    text = (
        FEED + "x.1 { from a; high-pass 95 Hz 24 dB/octave linkwitz-riley }\nspeaker p is active\nx.1 -> p\nspare a\n"
    )
    assert figure(text, "attenuation", "p") == pytest.approx(down_db(butterworth(2, "highpass", 95, 30) ** 2), abs=1e-6)


@pytest.mark.parametrize("turned", [False, True])
def test_a_crossover_sums_as_scipy_says(turned: bool) -> None:
    """Butterworth of 24 dB/octave above, of 18 dB/octave below; apart from that with the high-pass of the low way."""
    text = FEED + (
        "x.1 { from a; high-pass 60 Hz 24 dB/octave butterworth; low-pass 1 kHz 18 dB/octave butterworth }\n"
        f"x.2 {{ from a; high-pass 1.1 kHz 24 dB/octave butterworth{'; inverted' if turned else ''} }}\n"
        "speaker h is two-way\nx.1 -> a.1 -> h.low\nx.2 -> a.2 -> h.high\n"
    )

    def summed(hz: float, far: complex) -> float:
        low = butterworth(3, "lowpass", 1000, hz) * far / abs(far)  # of the far filter only the phase counts
        high = butterworth(4, "highpass", 1100, hz)
        return 20 * math.log10(abs(low - high if turned else low + high))

    first, last = 1000 / 2**1.5, 1100 * 2**1.5
    places = [first * (last / first) ** (step / 2000) for step in range(2001)]
    lowest = min(summed(hz, 1 + 0j) for hz in places)
    assert figure(text, "crossover", "h.high") == pytest.approx(lowest, abs=0.01)
    (crossover,) = checked(text).figures.bands.crossovers
    whole = crossover.with_far_filters()
    assert whole is not None
    assert whole.dip_db == pytest.approx(min(summed(hz, butterworth(4, "highpass", 60, hz)) for hz in places), abs=0.01)


def test_turns_on_the_way_count_in_a_crossover() -> None:
    """A crossed loudspeaker lead, a crossed signal lead and a switch: an odd number leaves nothing at the corner."""
    text = FEED + (
        "x.1 { from a; low-pass 1.2 kHz 24 dB/octave linkwitz-riley }\n"
        "x.2 { from a; high-pass 1.2 kHz 24 dB/octave linkwitz-riley{} }\n"
        "speaker h is two-way\nx.1 -> a.1 -> h.low\nx.2 ->{} a.2 ->{} h.high\n"
    ).replace("{}", "%s")
    for switch, signal_turn, lead_turn in [("", "", ""), ("; inverted", "", ""), ("; inverted", " invert ->", "")]:
        turns = sum(bool(each) for each in (switch, signal_turn, lead_turn))
        found = figure(text % (switch, signal_turn, lead_turn), "crossover", "h.high")
        assert (found < -90) == (turns % 2 == 1)
    assert figure(text % ("; inverted", " invert ->", " invert ->"), "crossover", "h.high") < -90


def test_what_is_not_known_is_not_said() -> None:
    """No slope: no attenuation, no edge, no sum. Unlike delays: no sum."""
    text = FEED + (
        "x.1 { from a; low-pass 1.2 kHz }\nx.2 { from a; high-pass 1.2 kHz 24 dB/octave linkwitz-riley; delay 1 ms }\n"
        "speaker h is two-way\nx.1 -> a.1 -> h.low\nx.2 -> a.2 -> h.high\n"
    )
    worked = checked(text).figures
    assert derive(worked, "high-edge", "h.low") is None
    assert derive(worked, "crossover", "h.high") is None
    slopes = text.replace("low-pass 1.2 kHz", "low-pass 1.2 kHz 24 dB/octave linkwitz-riley")
    assert derive(checked(slopes).figures, "crossover", "h.high") is None
    assert derive(checked(slopes.replace("; delay 1 ms", "")).figures, "crossover", "h.high") is not None
    (crossover,) = checked(slopes).figures.bands.crossovers
    assert crossover.unjudged == "the two are delayed differently"
