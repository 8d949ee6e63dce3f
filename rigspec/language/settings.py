"""Every setting the language has: where it may stand, what it takes, what it says, and one written right.

The grammar only knows that a setting is a word with items. What the words are, and which figures they take, stands in
these tables and nowhere else: the binder checks against them, and the reference is made from them.
"""

from __future__ import annotations

from rigspec.language.fields import NUMBER, Field
from rigspec.language.words import SettingWord, StockSort

Table = dict[str, Field]


def _table(*fields: Field) -> Table:
    return {each.word: each for each in fields}


def _one(word: SettingWord, kind: str, says: str, example: str, may: tuple[str, ...] = ()) -> Field:
    return Field(word, says, example, need=(kind,), may=may)


def _count(word: SettingWord, says: str, example: str, most: int = 0, zero: bool = False) -> Field:
    return Field(word, says, example, need=(NUMBER,), whole=True, zero=zero, most=most)


def _flag(word: SettingWord, says: str) -> Field:
    return Field(word, says, word)


_INVERTED = Field(
    "inverted",
    "plus and minus are exchanged inside, or on the numbered ways only",
    "inverted",
    (),
    (NUMBER,),
    many=True,
    whole=True,
)
_WEIGHT = _one("weight", "mass", "its weight", "weight 12.5 kg")
_HEIGHT = _one("height", "rack units", "its height in a rack", "height 2 U")
_OWNED = _count("owned", "how many the company owns", "owned 6", zero=True)
_LABEL = Field("label", "the text on its label", 'label "house left low"', texts=True)
_AT = Field(
    "at", "where it stands: across to house right, along, and up if given", "at -4 m, 0 m", ("length",), many=True
)
_HIGH_PASS = Field(
    "high-pass",
    "nothing below this frequency passes",
    "high-pass 95 Hz 24 dB/octave linkwitz-riley",
    ("frequency",),
    ("slope",),
    ("butterworth", "linkwitz-riley", "bessel"),
)
_LOW_PASS = Field(
    "low-pass",
    "nothing above this frequency passes",
    "low-pass 95 Hz 24 dB/octave linkwitz-riley",
    ("frequency",),
    ("slope",),
    ("butterworth", "linkwitz-riley", "bessel"),
)
_LIMIT = Field(
    "limit", "where its limiter begins to act", "limit 6.2 dBu rms", ("level|voltage",), (), ("rms", "peak"), again=True
)
_GAIN = _one("gain", "gain", "its gain from input to output", "gain 32 dB")
_BAND = Field("band", "the band it is meant for", "band 35 Hz to 200 Hz", ("frequency",), ranges=True, range_only=True)
_INPUT = _one("input", "resistance", "the impedance of an input", "input 20 kohm")
_SOURCE = _one("source", "resistance", "the impedance of an output", "source 100 ohm")
_FILTERS = (_HIGH_PASS, _LOW_PASS)
_TIMES = (
    _one("attack", "time", "how fast its limiter acts", "attack 16 ms"),
    _one("release", "time", "how fast its limiter lets go", "release 256 ms"),
)
_DYNAMICS = (_LIMIT, *_TIMES)
_AMP_DYNAMICS = (
    Field(
        "limit",
        "where its limiter begins to act: a level at its input, or a voltage at its output",
        "limit 6.2 dBu rms",
        ("level|voltage",),
        (),
        ("rms", "peak"),
        again=True,
    ),
    *_TIMES,
)
_MUTED = _flag("muted", "it is switched off")
_INLET = (
    Field("power-factor", "real over apparent power at the mains", "power-factor 0.7", (NUMBER,), share=True),
    _one("inrush", "current", "its peak current when switched on", "inrush 45 A"),
    _one("leakage", "current", "its current to earth", "leakage 0.7 mA"),
    Field(
        "mains", "the mains voltage it is made for", "mains 220 V to 240 V", ("voltage",), ("frequency",), ranges=True
    ),
)

_WAY = (
    _one("impedance", "resistance", "the rated impedance", "impedance 8 ohm"),
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
        "sensitivity 97 dB SPL",
        ("sound level",),
        ("power|voltage", "length"),
    ),
    _BAND,
    Field(
        "drivers",
        "its drivers; `inverted` behind one that is turned inside the box",
        "drivers low, high inverted",
        refs=True,
        words=("inverted",),
        many=True,
    ),
    _INVERTED,
    Field(
        "curve",
        "the measured impedance over frequency",
        "curve 6.4 ohm at 30 Hz, 42 ohm at 48 Hz",
        ("resistance", "frequency"),
        many=True,
    ),
    Field("driver", "the driver's parameters", "driver { dc-resistance 5.4 ohm; resonance 38 Hz }", inner="driver"),
)
_SPEAKER = (
    *_WAY,
    _WEIGHT,
    _OWNED,
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
    _one("insertion-loss", "gain", "what its line transformer costs", "insertion-loss 1 dB"),
    Field("coverage", "how wide it throws, across and up", "coverage 90 deg, 60 deg", ("angle",), many=True),
    _flag("powered", "it has its own amplifier: an input and a mains draw instead of an impedance"),
    _INPUT,
    Field("drive", "the input level that gives its full output", "drive 4 dBu", ("level|voltage",)),
    Field("draw", "what it takes from the mains", "draw 300 W", ("power|apparent power|current",), zero=True),
    *_INLET,
    _one("peak-level", "sound level", "the highest peak at 1 m", "peak-level 131 dB SPL"),
)
_AMP = (
    _count("channels", "how many channels it has", "channels 2", 64),
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
    _GAIN,
    Field(
        "sensitivity",
        "the input that gives its rated output, and at which load",
        "sensitivity 1.4 V at 4 ohm",
        ("voltage|level",),
        ("resistance",),
    ),
    _INPUT,
    _one("input-peak", "level", "the input level it clips at before its gain control", "input-peak 21 dBu"),
    Field(
        "damping",
        "its damping factor, and at which load",
        "damping 400 at 8 ohm",
        (NUMBER,),
        ("resistance", "frequency"),
    ),
    Field("line", "it drives a distributed line of this voltage", "line 100 V", ("voltage",)),
    _INVERTED,
    Field(
        "stage",
        "how its output stage works",
        "stage class-ab",
        words=("class-ab", "class-h", "half-bridge", "full-bridge"),
        word_needed=True,
    ),
    _one("rated-at", "frequency", "the tone at which its ratings hold", "rated-at 1 kHz"),
    Field("supply", "its power supply", "supply { transformer; shared }", inner="supply"),
    Field("idle", "what it draws with no signal", "idle 40 W", ("power|apparent power|current",), zero=True),
    Field("efficiency", "output over input power", "efficiency 62 %", ("ratio",), share=True),
    *_INLET,
    _WEIGHT,
    _HEIGHT,
    _OWNED,
)
_LEAD = (
    _count("pairs", "how many pairs it has", "pairs 4", 200),
    Field("size", "the size of each conductor", "size 2.5 mm2", ("area|gauge",), (), ("solid", "tinned"), ranges=True),
    Field("length", "its length, where it is made to one", "length 10 m", ("length",), ranges=True),
    Field("connectors", "what is on its ends", 'connectors "4-pole", "4-pole"', texts=True, many=True),
    _INVERTED,
    _WEIGHT,
    _OWNED,
)
_PROCESSOR = (
    _count("inputs", "how many inputs it has; they are called a, b, c ...", "inputs 2", 26),
    _count("outputs", "how many outputs it has; they are called 1, 2, 3 ...", "outputs 6", 200),
    _INPUT,
    _SOURCE,
    _GAIN,
    _one("peak", "level", "the highest level its outputs give", "peak 20 dBu"),
    _one("input-peak", "level", "the highest level its inputs take", "input-peak 22 dBu"),
    _one("latency", "time", "how long the signal takes through it", "latency 1.2 ms"),
    Field("draw", "what it takes from the mains", "draw 25 W", ("power|apparent power|current",), zero=True),
    *_INLET,
    _WEIGHT,
    _HEIGHT,
    _OWNED,
)
_PANEL = (_count("lines", "how many lines pass through it", "lines 4", 200), _INVERTED, _WEIGHT, _HEIGHT, _OWNED)

TABLES: dict[str, Table] = {
    "rig": _table(
        Field("mains", "the mains at this place", "mains 230 V 50 Hz", ("voltage",), ("frequency",)),
        Field("air", "temperature and humidity", "air 14 degC 60 %", ("temperature",), ("ratio",)),
        Field("limits", "limits that this company uses", "limits { lead-loss 0.5 dB }", inner="limits"),
        Field("code", "whose rules for mains wiring apply", "code iec", words=("iec", "nec"), word_needed=True),
    ),
    "limits": _table(
        _one("lead-loss", "gain", "the most a lead may cost", "lead-loss 0.5 dB"),
        _one("spread", "gain", "the most that boxes of a group may differ", "spread 1 dB"),
        _one("damping", NUMBER, "the least damping factor at a box", "damping 20"),
        _one("headroom", "gain", "the least room between nominal level and clip", "headroom 10 dB"),
        _one("drop", "ratio", "the most mains voltage a feed may lose", "drop 3 %"),
    ),
    "stock amp": _table(*_AMP),
    "stock speaker": _table(*_SPEAKER),
    "stock lead": _table(*_LEAD),
    "stock processor": _table(*_PROCESSOR),
    "stock panel": _table(*_PANEL),
    "way": _table(*_WAY),
    "driver": _table(
        _one("dc-resistance", "resistance", "the voice coil's resistance", "dc-resistance 5.4 ohm"),
        _one("coil-inductance", "inductance", "the voice coil's inductance", "coil-inductance 0.9 mH"),
        _one(
            "resonance",
            "frequency",
            "its resonance: in free air where `box` says the one in the box or a tuning, else in its box",
            "resonance 38 Hz",
        ),
        _one("mechanical-q", NUMBER, "its mechanical Q", "mechanical-q 6.2"),
        _one("electrical-q", NUMBER, "its electrical Q", "electrical-q 0.34"),
        Field(
            "box",
            "its box: sealed, with the resonance in it; or vented, with the tuning",
            "box vented 42 Hz",
            (),
            ("frequency",),
            ("sealed", "vented"),
            True,
        ),
        _one("compliance-ratio", NUMBER, "its compliance over that of the air in its box", "compliance-ratio 1.4"),
        _one("box-q", NUMBER, "the Q of a vented box with its losses, at the tuning", "box-q 7"),
    ),
    "supply": _table(
        _flag("transformer", "mains transformer, rectifier and reservoir"),
        _flag("switch-mode", "switch-mode supply"),
        _flag("regulated", "its rails do not sag"),
        Field("shared", "all channels draw on one supply, or each pair", "shared", pairs=True, many=True, bare=True),
        _flag("separate", "each channel has its own supply"),
        _one("capacitance", "capacitance", "the reservoir on each rail", "capacitance 10 mF"),
        _one("source", "resistance", "the resistance in series with each rail", "source 0.2 ohm"),
        Field(
            "common", "the share of it that both rails have in common", "common 50 %", ("ratio",), zero=True, share=True
        ),
        _one("rail", "voltage", "the voltage of each rail at idle", "rail 75 V"),
        _one("trip", "voltage", "the rail voltage at which it protects itself", "trip 95 V"),
    ),
    "feed": _table(
        _one("level", "level", "its nominal level", "level 4 dBu"),
        _one("peak", "level", "its highest level", "peak 18 dBu"),
        _SOURCE,
        _BAND,
        _flag("inverted", "it comes inverted"),
    ),
    "split": _table(
        _count("legs", "how many legs it has", "legs 3", 200),
        _flag("passive", "a plain Y: the legs are wired together"),
        _flag("transformer", "a split with a transformer"),
        _flag("active", "a split with its own output stage for each leg"),
        _one("loss", "gain", "what each leg loses", "loss 6 dB"),
        _INPUT,
        _SOURCE,
        _INVERTED,
        _LABEL,
    ),
    "processor": _table(*_PROCESSOR, _LABEL),
    "processor output": _table(
        Field("from", "the inputs it takes", "from a, b -3 dB", (), ("gain",), refs=True, many=True),
        *_FILTERS,
        _GAIN,
        Field("delay", "its delay, as time or as distance", "delay 3.2 ms", ("time|length",)),
        _flag("inverted", "its polarity is switched"),
        *_DYNAMICS,
        _MUTED,
        _LABEL,
    ),
    "amp": _table(
        *_AMP,
        Field(
            "bridge",
            "the bridge switch: the second channel carries the first one's input, inverted",
            "bridge 1+2",
            pairs=True,
            many=True,
        ),
        Field(
            "joined",
            "the input switch: the second channel carries the first one's input",
            "joined 1+2",
            pairs=True,
            many=True,
        ),
        _one("attenuator", "gain", "its gain controls, all alike", "attenuator -6 dB"),
        *_FILTERS,
        *_AMP_DYNAMICS,
        _LABEL,
    ),
    "amp channel": _table(
        _one("attenuator", "gain", "its gain control", "attenuator -2 dB"),
        _GAIN,
        _flag("inverted", "its polarity is switched"),
        *_FILTERS,
        *_AMP_DYNAMICS,
        _MUTED,
        _LABEL,
    ),
    "speaker": _table(
        *_SPEAKER,
        _AT,
        Field(
            "aim", "where it points, across and up: 90 deg is house right", "aim 30 deg, -5 deg", ("angle",), many=True
        ),
        _one("tap", "power", "the power its line transformer is set to", "tap 12 W"),
        _LABEL,
    ),
    "lead": _table(
        *_LEAD,
        Field("ends", "where its two ends are", 'ends "rack", "house left"', texts=True, many=True),
        _LABEL,
    ),
    "panel": _table(*_PANEL, _LABEL),
    "panel line": _table(_flag("inverted", "plus and minus are exchanged"), _LABEL),
    "lead pair": _table(_flag("inverted", "plus and minus are exchanged"), _LABEL),
    "mains": _table(
        _one("supply", "voltage", "the voltage it begins with", "supply 230 V"),
        _count("phases", "how many phases it has", "phases 3"),
        Field("phase", "the phase it hangs on", "phase L1", words=("L1", "L2", "L3"), word_needed=True),
        Field("breaker", "its breaker and its curve", "breaker 16 A C", ("current",), (), ("B", "C", "D")),
        _one("residual", "current", "its residual-current device", "residual 30 mA"),
        Field(
            "lead", "its own lead", "lead 2.5 mm2 9 m", ("area|gauge", "length"), (), ("solid", "tinned"), ranges=True
        ),
        _one("generator", "apparent power", "a generator of this size", "generator 60 kVA"),
        _count("outlets", "how many outlets it has", "outlets 6", 200),
        Field("draw", "what else hangs on it, besides this rig", "draw 1500 W", ("power|apparent power|current",)),
        _flag("sequence", "what hangs on it is switched on one by one"),
        _LABEL,
    ),
    "place": _table(
        _AT,
        Field("hears", "which feeds are meant for it", "hears main, subs", refs=True, many=True),
        _one("height", "length", "how high the ears are", "height 1.2 m"),
        _LABEL,
    ),
}

STOCK_SORTS: tuple[StockSort, ...] = ("amp", "speaker", "lead", "processor", "panel")

# Settings of which a thing can have one only, by the table they stand in.
ONE_OF: dict[str, tuple[tuple[SettingWord, ...], ...]] = {
    "split": (("passive", "transformer", "active"),),
    "supply": (("transformer", "switch-mode"), ("shared", "separate")),
}
