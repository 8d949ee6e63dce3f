"""The settings of gear: what a data sheet says of each sort, and the settings that several tables share."""

from __future__ import annotations

from attrs import evolve

from rigspec.language.fields import NUMBER, Field
from rigspec.language.words import SettingWord

Table = dict[str, Field]


def table_of(*fields: Field) -> Table:
    return {each.word: each for each in fields}


def one(word: SettingWord, kind: str, says: str, example: str, may: tuple[str, ...] = ()) -> Field:
    return Field(word, says, example, need=(kind,), may=may)


def count(word: SettingWord, says: str, example: str, most: int = 0, zero: bool = False) -> Field:
    return Field(word, says, example, need=(NUMBER,), whole=True, zero=zero, most=most)


def kept(*fields: Field) -> tuple[Field, ...]:
    """Settings that are checked and kept, and that nothing computes with yet."""
    return tuple(evolve(each, kept=True) for each in fields)


def flag(word: SettingWord, says: str) -> Field:
    return Field(word, says, word)


INVERTED = Field(
    "inverted",
    "plus and minus are exchanged inside, or on the numbered ways only",
    "inverted",
    (),
    (NUMBER,),
    many=True,
    whole=True,
)
WEIGHT = one("weight", "mass", "its weight", "weight 12.5 kg")
HEIGHT = one("height", "rack units", "its height in a rack", "height 2 U")
OWNED = count("owned", "how many the company owns", "owned 6", zero=True)
LABEL = Field("label", "the text on its label", 'label "house left low"', texts=True)
LATENCY = Field("latency", "how long the signal takes through it", "latency 1.2 ms", ("time",))
DELAY = Field("delay", "its delay, as time or as distance", "delay 3.2 ms", ("time|length",))
DRAW = Field(
    "draw",
    "what it takes from the mains at 1/8 of its output, and at another part of it",
    "draw 300 W, 480 W at 1/3",
    ("power|apparent power|current",),
    (NUMBER,),
    many=True,
    zero=True,
    share=True,
)
PROGRAMME = Field(
    "programme", "the part of full power that the programme takes on average", "programme 1/4", (NUMBER,), share=True
)
HEARS = Field("hears", "which feeds are meant for it", "hears main, subs", refs=True, many=True)
EARS = one("height", "length", "how high the ears are", "height 1.2 m")
AT = Field(
    "at", "where it stands: across to house right, along, and up if given", "at -4 m, 0 m", ("length",), many=True
)
HIGH_PASS = Field(
    "high-pass",
    "nothing below this frequency passes",
    "high-pass 95 Hz 24 dB/octave linkwitz-riley",
    ("frequency",),
    ("slope",),
    ("butterworth", "linkwitz-riley", "bessel"),
)
LOW_PASS = Field(
    "low-pass",
    "nothing above this frequency passes",
    "low-pass 95 Hz 24 dB/octave linkwitz-riley",
    ("frequency",),
    ("slope",),
    ("butterworth", "linkwitz-riley", "bessel"),
)
LIMIT = Field(
    "limit", "where its limiter begins to act", "limit 6.2 dBu rms", ("level|voltage",), (), ("rms", "peak"), again=True
)
GAIN = one("gain", "gain", "its gain from input to output", "gain 32 dB")
BAND = Field("band", "the band it is meant for", "band 35 Hz to 200 Hz", ("frequency",), ranges=True, range_only=True)
INPUT = one("input", "resistance", "the impedance of an input", "input 20 kohm")
SOURCE = one("source", "resistance", "the impedance of an output", "source 100 ohm")
FILTERS = (HIGH_PASS, LOW_PASS)
TIMES = (
    one("attack", "time", "how fast its limiter acts", "attack 16 ms"),
    one("release", "time", "how fast its limiter lets go", "release 256 ms"),
)
DYNAMICS = (LIMIT, *TIMES)
AMP_DYNAMICS = (
    Field(
        "limit",
        "where its limiter begins to act: a level at its input, or a voltage at its output",
        "limit 6.2 dBu rms",
        ("level|voltage",),
        (),
        ("rms", "peak"),
        again=True,
    ),
    *TIMES,
)
MUTED = flag("muted", "it is switched off")
INLET = (
    Field("power-factor", "real over apparent power at the mains", "power-factor 0.7", (NUMBER,), share=True),
    one("inrush", "current", "its peak current when switched on", "inrush 45 A"),
    one("leakage", "current", "its current to earth", "leakage 0.7 mA"),
    Field(
        "mains", "the mains voltage it is made for", "mains 220 V to 240 V", ("voltage",), ("frequency",), ranges=True
    ),
)

WAY = (
    Field(
        "impedance",
        "the rated impedance first; `least` before its minimum; that at a frequency",
        "impedance 8 ohm, least 6.4 ohm, 9.5 ohm at 1 kHz",
        ("resistance",),
        ("frequency",),
        ("least",),
        many=True,
    ),
    Field(
        "rated",
        "the power it stands",
        "rated 600 W continuous, 2400 W peak",
        ("power",),
        (),
        ("continuous", "peak"),
        many=True,
        word_needed=True,
    ),
    Field(
        "sensitivity",
        "the level at 1 m from 1 W, or from what is said",
        "sensitivity 97 dB SPL at 2.83 V half-space",
        ("sound level",),
        ("power|voltage", "length"),
        ("half-space", "free-field"),
    ),
    BAND,
    Field(
        "drivers",
        "its drivers; `inverted` behind one that is inverted inside the box",
        "drivers low, high inverted",
        refs=True,
        words=("inverted",),
        many=True,
    ),
    INVERTED,
    *kept(
        one("capacitor", "capacitance", "a capacitor in series before it", "capacitor 47 uF"),
        Field("asks", "the filters that its data sheet asks for", "asks { high-pass 35 Hz }", inner="asks"),
    ),
    Field(
        "curve",
        "the measured impedance over frequency",
        "curve 6.4 ohm at 30 Hz, 42 ohm at 48 Hz",
        ("resistance", "frequency"),
        many=True,
    ),
    Field("driver", "the driver's parameters", "driver { dc-resistance 5.4 ohm; resonance 38 Hz }", inner="driver"),
)
SPEAKER = (
    *WAY,
    WEIGHT,
    OWNED,
    Field(
        "low",
        "the low way of a loudspeaker driven in several ways",
        "low { impedance 8 ohm; band 40 Hz to 1 kHz }",
        inner="way",
    ),
    Field("mid", "the middle way", "mid { impedance 8 ohm }", inner="way"),
    Field("high", "the high way", "high { impedance 8 ohm; band 1 kHz to 18 kHz }", inner="way"),
    Field(
        "taps",
        "the powers its line transformer can be set to, and at which line voltage",
        "taps 6 W, 12 W, 24 W at 100 V",
        ("power",),
        ("voltage",),
        many=True,
    ),
    one("insertion-loss", "gain", "what its line transformer costs", "insertion-loss 1 dB"),
    Field("coverage", "how wide it throws, across and up", "coverage 90 deg, 60 deg", ("angle",), many=True),
    flag("powered", "it has its own amplifier: an input and a mains draw instead of an impedance"),
    INPUT,
    Field("drive", "the input level that gives its full output", "drive 4 dBu", ("level|voltage",)),
    one("attenuator", "gain", "the level control of a powered one", "attenuator -6 dB"),
    *FILTERS,
    DELAY,
    LATENCY,
    DRAW,
    *INLET,
    one("peak-level", "sound level", "the highest peak at 1 m", "peak-level 131 dB SPL"),
)
AMP = (
    count("channels", "how many channels it has", "channels 2", 64),
    Field(
        "rated",
        "what each channel gives with all driven; with one `alone`; or bridged",
        "rated 900 W at 4 ohm, 550 W at 8 ohm",
        ("power",),
        ("resistance|voltage",),
        ("alone", "bridge"),
        many=True,
        again=True,
    ),
    Field(
        "least-load",
        "the least load it stands on each channel, and bridged",
        "least-load 2.7 ohm",
        ("resistance",),
        (),
        ("bridge",),
        again=True,
    ),
    GAIN,
    *kept(one("bridged-gain", "gain", "the gain of a bridged pair, from its input to its load", "bridged-gain 38 dB")),
    Field(
        "sensitivity",
        "the input that gives its rated output, and at which load",
        "sensitivity 1.4 V at 4 ohm",
        ("voltage|level",),
        ("resistance",),
    ),
    INPUT,
    one("input-peak", "level", "the input level it clips at before its gain control", "input-peak 21 dBu"),
    Field(
        "damping",
        "its damping factor, and at which load",
        "damping 400 at 8 ohm",
        (NUMBER,),
        ("resistance", "frequency"),
    ),
    Field("line", "it drives a distributed line of this voltage", "line 100 V", ("voltage",)),
    INVERTED,
    Field(
        "stage",
        "how its output stage works",
        "stage class-ab",
        words=("class-ab", "class-h", "half-bridge", "full-bridge"),
        word_needed=True,
    ),
    one("rated-at", "frequency", "the tone at which its ratings hold", "rated-at 1 kHz"),
    Field("supply", "its power supply", "supply { transformer; shared }", inner="supply"),
    Field("idle", "what it draws with no signal", "idle 40 W", ("power|apparent power|current",), zero=True),
    Field("efficiency", "output over input power", "efficiency 62 %", ("ratio",), share=True),
    *INLET,
    WEIGHT,
    HEIGHT,
    OWNED,
)
LEAD = (
    count("pairs", "how many pairs it has", "pairs 4", 200),
    Field("size", "the size of each conductor", "size 2.5 mm2", ("area|gauge",), (), ("solid", "tinned"), ranges=True),
    Field("length", "its length, where it is made to one", "length 10 m", ("length",), ranges=True),
    Field("connectors", "what is on its ends", 'connectors "4-pole", "4-pole"', texts=True, many=True),
    Field(
        "carries",
        "what it is made for",
        "carries loudspeaker",
        words=("signal", "loudspeaker", "mains"),
        word_needed=True,
    ),
    INVERTED,
    WEIGHT,
    OWNED,
)
PROCESSOR = (
    count("inputs", "how many inputs it has; they are called a, b, c ...", "inputs 2", 26),
    count("outputs", "how many outputs it has; they are called 1, 2, 3 ...", "outputs 6", 200),
    INPUT,
    SOURCE,
    GAIN,
    one("peak", "level", "the highest level its outputs give", "peak 20 dBu"),
    one("input-peak", "level", "the highest level its inputs take", "input-peak 22 dBu"),
    LATENCY,
    DRAW,
    *INLET,
    WEIGHT,
    HEIGHT,
    OWNED,
)
PANEL = (
    count("lines", "how many lines pass through it", "lines 4", 200),
    *kept(one("contact", "resistance", "what its contacts add, both poles together", "contact 10 mohm")),
    INVERTED,
    WEIGHT,
    HEIGHT,
    OWNED,
)
