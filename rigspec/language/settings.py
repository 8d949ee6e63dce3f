"""Every setting the language has: where it may stand, what it takes, what it says, and one written right.

The grammar only knows that a setting is a word with items. What the words are, and which figures they take, stands in
these tables and nowhere else: the binder checks against them, and the reference is made from them. What a sort of gear
says stands in `gear_settings.py`.
"""

from __future__ import annotations

from rigspec.language.fields import NUMBER, Field
from rigspec.language.gear_settings import (
    AMP,
    AMP_DYNAMICS,
    AT,
    BAND,
    DELAY,
    DYNAMICS,
    EARS,
    FILTERS,
    GAIN,
    HEARS,
    INPUT,
    INVERTED,
    LABEL,
    LEAD,
    LIMIT,
    MUTED,
    PANEL,
    PROCESSOR,
    PROGRAMME,
    SOURCE,
    SPEAKER,
    WAY,
    Table,
    count,
    flag,
    kept,
    one,
    table_of,
)
from rigspec.language.words import SettingWord, StockSort

TABLES: dict[str, Table] = {
    "rig": table_of(
        count("language", "the edition of the language that it is written in", "language 1"),
        PROGRAMME,
        Field("mains", "the mains at this place", "mains 230 V 50 Hz", ("voltage",), ("frequency",)),
        Field("air", "temperature and humidity", "air 14 degC 60 %", ("temperature",), ("ratio",)),
        Field("limits", "limits that this company uses", "limits { lead-loss 0.5 dB }", inner="limits"),
        Field("code", "whose rules for mains wiring apply", "code iec", words=("iec", "nec"), word_needed=True),
    ),
    "limits": table_of(
        one("lead-loss", "gain", "the most a lead may cost", "lead-loss 0.5 dB"),
        one("spread", "gain", "the most that boxes of a group may differ", "spread 1 dB"),
        one("damping", NUMBER, "the least damping factor at a box", "damping 20"),
        one("headroom", "gain", "the least headroom, from nominal level to clip", "headroom 10 dB"),
        one("drop", "ratio", "the most mains voltage a feed may lose", "drop 3 %"),
    ),
    "stock amp": table_of(*AMP),
    "stock speaker": table_of(*SPEAKER),
    "stock lead": table_of(*LEAD),
    "stock processor": table_of(*PROCESSOR),
    "stock panel": table_of(*PANEL),
    "way": table_of(*WAY),
    "asks": table_of(*FILTERS),
    "driver": table_of(
        one("dc-resistance", "resistance", "the voice coil's resistance", "dc-resistance 5.4 ohm"),
        one("coil-inductance", "inductance", "the voice coil's inductance", "coil-inductance 0.9 mH"),
        one(
            "resonance",
            "frequency",
            "its resonance: in free air where `box` says the one in the box or a tuning, else in its box",
            "resonance 38 Hz",
        ),
        one("mechanical-q", NUMBER, "its mechanical Q", "mechanical-q 6.2"),
        one("electrical-q", NUMBER, "its electrical Q", "electrical-q 0.34"),
        Field(
            "box",
            "its box: sealed, with the resonance in it; or vented, with the tuning",
            "box vented 42 Hz",
            (),
            ("frequency",),
            ("sealed", "vented"),
            True,
        ),
        one("compliance-ratio", NUMBER, "its compliance over that of the air in its box", "compliance-ratio 1.4"),
        one("box-q", NUMBER, "the Q of a vented box with its losses, at the tuning", "box-q 7"),
    ),
    "supply": table_of(
        flag("transformer", "mains transformer, rectifier and reservoir"),
        flag("switch-mode", "switch-mode supply"),
        flag("regulated", "its rails do not sag"),
        Field("shared", "all channels draw on one supply, or each pair", "shared", pairs=True, many=True, bare=True),
        flag("separate", "each channel has its own supply"),
        one("capacitance", "capacitance", "the reservoir on each rail", "capacitance 10 mF"),
        one("source", "resistance", "the resistance that each rail sees while both are charged", "source 0.2 ohm"),
        Field(
            "common",
            "the share of that resistance that both rails have in common",
            "common 50 %",
            ("ratio",),
            zero=True,
            share=True,
        ),
        one("rail", "voltage", "the voltage of each rail at idle", "rail 75 V"),
        one("trip", "voltage", "the rail voltage at which it protects itself", "trip 95 V"),
    ),
    "feed": table_of(
        one("level", "level", "its nominal level", "level 4 dBu"),
        one("peak", "level", "its highest level", "peak 18 dBu"),
        SOURCE,
        BAND,
        flag("inverted", "it comes inverted"),
        *FILTERS,
        DELAY,
        *kept(LIMIT),
        PROGRAMME,
        LABEL,
    ),
    "split": table_of(
        count("legs", "how many legs it has", "legs 3", 200),
        flag("passive", "a plain Y: the legs are wired together"),
        flag("transformer", "a split with a transformer"),
        flag("active", "a split with its own output stage for each leg"),
        one("loss", "gain", "what each leg loses", "loss 6 dB"),
        INPUT,
        SOURCE,
        INVERTED,
        LABEL,
    ),
    "processor": table_of(*PROCESSOR, LABEL),
    "processor output": table_of(
        Field("from", "the inputs it takes", "from a, b -3 dB", (), ("gain",), refs=True, many=True),
        *FILTERS,
        GAIN,
        DELAY,
        flag("inverted", "its polarity is switched"),
        *DYNAMICS,
        MUTED,
        LABEL,
    ),
    "amp": table_of(
        *AMP,
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
        one("attenuator", "gain", "its gain controls, all alike", "attenuator -6 dB"),
        *FILTERS,
        *AMP_DYNAMICS,
        LABEL,
    ),
    "amp channel": table_of(
        one("attenuator", "gain", "its gain control", "attenuator -2 dB"),
        GAIN,
        flag("inverted", "its polarity is switched"),
        *FILTERS,
        *AMP_DYNAMICS,
        MUTED,
        LABEL,
    ),
    "speaker": table_of(
        *SPEAKER,
        AT,
        Field("on", "what it stands on", "on ground", words=("ground",), word_needed=True),
        Field(
            "aim", "where it points, across and up: 90 deg is house right", "aim 30 deg, -5 deg", ("angle",), many=True
        ),
        one("tap", "power", "the power its line transformer is set to", "tap 12 W"),
        LABEL,
    ),
    "lead": table_of(
        *LEAD,
        Field("ends", "where its two ends are", 'ends "rack", "house left"', texts=True, many=True),
        LABEL,
    ),
    "panel": table_of(*PANEL, LABEL),
    "panel line": table_of(flag("inverted", "plus and minus are exchanged"), LABEL),
    "lead pair": table_of(flag("inverted", "plus and minus are exchanged"), LABEL),
    "mains": table_of(
        one("supply", "voltage", "the voltage it begins with", "supply 230 V"),
        count("phases", "how many phases it has", "phases 3"),
        Field("phase", "the phase it hangs on", "phase L1", words=("L1", "L2", "L3"), word_needed=True),
        Field("breaker", "its breaker and its curve", "breaker 16 A C", ("current",), (), ("B", "C", "D")),
        Field(
            "residual",
            "its residual-current device, and how long it waits, or that it is selective",
            "residual 300 mA selective",
            ("current",),
            ("time",),
            ("selective",),
        ),
        Field(
            "lead", "its own lead", "lead 2.5 mm2 9 m", ("area|gauge", "length"), (), ("solid", "tinned"), ranges=True
        ),
        one("generator", "apparent power", "a generator of this size", "generator 60 kVA"),
        count("outlets", "how many outlets it has", "outlets 6", 200),
        Field("draw", "what else hangs on it, besides this rig", "draw 1500 W", ("power|apparent power|current",)),
        flag("sequence", "what hangs on it is switched on one by one"),
        LABEL,
    ),
    "place": table_of(AT, HEARS, EARS, LABEL),
    "area": table_of(
        Field(
            "corner",
            "a corner of it; two opposite ones of a rectangle, or three and more in turn",
            "corner -8 m, 5 m; corner 8 m, 20 m",
            ("length",),
            many=True,
            again=True,
        ),
        HEARS,
        EARS,
        LABEL,
    ),
    "group": table_of(
        Field(
            "array",
            "what it is meant to be",
            "array end-fire",
            (),
            ("angle",),
            ("side-by-side", "spaced", "end-fire", "gradient", "curved"),
            word_needed=True,
        ),
        one("toward", "angle", "where its front points: 0 deg is the audience", "toward 0 deg"),
        LABEL,
    ),
    "stereo": table_of(LABEL),
    "mix": table_of(LABEL),
    "rack": table_of(LABEL),
    "measured": table_of(
        *kept(
            Field(
                "lead",
                "the lead as it was when it was read",
                "lead 2.5 mm2 15 m",
                ("area|gauge", "length"),
                (),
                ("solid", "tinned"),
            ),
            Field("meter", "how far the meter may be off", "meter 0.1 ohm", ("ratio|resistance|gain|time",)),
            Field("note", "what else is to be known of it", 'note "warm, after the show"', texts=True),
        )
    ),
}

STOCK_SORTS: tuple[StockSort, ...] = ("amp", "speaker", "lead", "processor", "panel")

# Settings of which a thing can have one only, by the table they stand in.
ONE_OF: dict[str, tuple[tuple[SettingWord, ...], ...]] = {
    "split": (("passive", "transformer", "active"),),
    "supply": (("transformer", "switch-mode"), ("shared", "separate")),
}
