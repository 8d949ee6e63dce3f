"""The units of the trade: what may stand behind a number, of which kind it is, and how a figure is shown.

pint is the authority on dimensions and conversion, in a registry of our own small definitions: the trade's ``dBu`` is a
voltage level, pint's own ``dBu`` is something else. Loading pint costs more than a whole check, so the conversions
that it gives are kept in ``unit_table.py``. After a change here, write that file anew::

    python -m rigspec.make
"""

from __future__ import annotations

from functools import cache
from math import floor, isfinite, log10
from typing import TYPE_CHECKING, Literal, TypeAlias, cast

from attrs import frozen

from rigspec.text.value import Content

if TYPE_CHECKING:
    from pint import UnitRegistry

DBU_REFERENCE_VOLT = 0.6**0.5
"""0 dBu: the voltage that puts 1 mW into 600 ohm (ITU-R V.574)."""

# fmt: off
FigureKind: TypeAlias = Literal[
    "resistance", "power", "apparent power", "voltage", "current", "frequency", "length", "area", "gauge", "time",
    "temperature", "mass", "angle", "ratio", "gain", "level", "sound level", "slope", "capacitance", "inductance",
    "rack units", "speed", "resistance per length", "number",
]
# fmt: on

BASE_UNIT: dict[FigureKind, str] = {
    "resistance": "ohm",
    "power": "W",
    "apparent power": "VA",
    "voltage": "V",
    "current": "A",
    "frequency": "Hz",
    "length": "m",
    "area": "mm2",
    "gauge": "AWG",
    "time": "s",
    "temperature": "K",
    "mass": "kg",
    "angle": "deg",
    "ratio": "",
    "gain": "dB",
    "level": "dBu",
    "sound level": "dB SPL",
    "slope": "dB/octave",
    "capacitance": "F",
    "inductance": "H",
    "rack units": "U",
    "speed": "m/s",
    "resistance per length": "ohm/m",
    "number": "",
}
"""The unit in which the values of each kind are kept. A ``number`` is bare, a ``ratio`` can be written in percent."""


@frozen(eq=False, repr=False)
class Unit(Content):
    """One unit: how the trade spells it (best first), its kind, and its name in the pint registry."""

    spellings: tuple[str, ...]
    kind: FigureKind
    pint: str


# Within a kind, the order in which units are proposed. Look-alikes (two omegas, two micro signs) are escaped.
UNITS = (
    Unit(("ohm", "\u03a9", "\u2126"), "resistance", "ohm"),
    Unit(("kohm", "k\u03a9", "k\u2126"), "resistance", "kiloohm"),
    Unit(("mohm", "m\u03a9", "m\u2126"), "resistance", "milliohm"),
    Unit(("Mohm", "M\u03a9", "M\u2126"), "resistance", "megaohm"),
    Unit(("W",), "power", "watt"),
    Unit(("kW",), "power", "kilowatt"),
    Unit(("mW",), "power", "milliwatt"),
    Unit(("VA",), "apparent power", "volt * ampere"),
    Unit(("kVA",), "apparent power", "kilovolt * ampere"),
    Unit(("V",), "voltage", "volt"),
    Unit(("mV",), "voltage", "millivolt"),
    Unit(("kV",), "voltage", "kilovolt"),
    Unit(("A",), "current", "ampere"),
    Unit(("mA",), "current", "milliampere"),
    Unit(("Hz",), "frequency", "hertz"),
    Unit(("kHz",), "frequency", "kilohertz"),
    Unit(("m",), "length", "metre"),
    Unit(("ft", "foot", "feet"), "length", "foot"),
    Unit(("mm",), "length", "millimetre"),
    Unit(("cm",), "length", "centimetre"),
    Unit(("in", "inch"), "length", "inch"),
    Unit(("km",), "length", "kilometre"),
    Unit(("mm2", "mm\u00b2"), "area", "millimetre ** 2"),
    Unit(("AWG",), "gauge", "american_wire_gauge"),
    Unit(("ms",), "time", "millisecond"),
    Unit(("s",), "time", "second"),
    Unit(("us", "\u00b5s", "\u03bcs"), "time", "microsecond"),
    Unit(("min",), "time", "minute"),
    Unit(("h",), "time", "hour"),
    Unit(("degC", "\u00b0C"), "temperature", "degree_Celsius"),
    Unit(("degF", "\u00b0F"), "temperature", "degree_Fahrenheit"),
    Unit(("K",), "temperature", "kelvin"),
    Unit(("kg",), "mass", "kilogram"),
    Unit(("lb", "lbs"), "mass", "pound"),
    Unit(("g",), "mass", "gram"),
    Unit(("deg", "\u00b0"), "angle", "degree"),
    Unit(("%",), "ratio", "percent"),
    Unit(("dB",), "gain", "decibel"),
    Unit(("dBu",), "level", "decibel_above_774_mV"),
    Unit(("dBV",), "level", "decibel_above_1_V"),
    Unit(("dB SPL", "dBSPL"), "sound level", "decibel_above_20_uPa"),
    Unit(("dB/octave", "dB/oct"), "slope", "decibel / octave"),
    Unit(("uF", "\u00b5F", "\u03bcF"), "capacitance", "microfarad"),
    Unit(("mF",), "capacitance", "millifarad"),
    Unit(("F",), "capacitance", "farad"),
    Unit(("nF",), "capacitance", "nanofarad"),
    Unit(("pF",), "capacitance", "picofarad"),
    Unit(("mH",), "inductance", "millihenry"),
    Unit(("uH", "\u00b5H", "\u03bcH"), "inductance", "microhenry"),
    Unit(("H",), "inductance", "henry"),
    Unit(("U",), "rack units", "rack_unit"),
    Unit(("m/s",), "speed", "metre / second"),
    Unit(("ft/s",), "speed", "foot / second"),
    Unit(("ohm/km", "\u03a9/km", "\u2126/km"), "resistance per length", "ohm / kilometre"),
    Unit(("mohm/m", "m\u03a9/m", "m\u2126/m"), "resistance per length", "milliohm / metre"),
    Unit(("ohm/m", "\u03a9/m", "\u2126/m"), "resistance per length", "ohm / metre"),
)

# Gain, level and sound level have a dimension each, so that pint itself refuses to add one to another.
DEFINITIONS = f"""
pico- = 1e-12
nano- = 1e-9
micro- = 1e-6
milli- = 1e-3
centi- = 1e-2
kilo- = 1e3
mega- = 1e6
metre = [length]
second = [time]
kilogram = [mass]
ampere = [current]
kelvin = [temperature]; offset: 0
degree = [angle]
american_wire_gauge = [gauge]
octave = [octave]
decibel = [gain]
decibel_above_774_mV = [level]
decibel_above_20_uPa = [sound_level]
decibel_above_1_V = decibel_above_774_mV; offset: {-20 * log10(DBU_REFERENCE_VOLT)!r}
degree_Celsius = kelvin; offset: 273.15
degree_Fahrenheit = 5 / 9 * kelvin; offset: 233.15 + 200 / 9
percent = 0.01
foot = 0.3048 * metre
inch = 0.0254 * metre
rack_unit = 1.75 * inch
minute = 60 * second
hour = 60 * minute
gram = 1e-3 * kilogram
pound = 0.45359237 * kilogram
hertz = 1 / second
watt = kilogram * metre ** 2 / second ** 3
volt = watt / ampere
ohm = volt / ampere
farad = ampere * second / volt
henry = volt * second / ampere
"""

EXAMPLES = {
    "resistance": "8 ohm",
    "power": "600 W",
    "apparent power": "2 kVA",
    "voltage": "230 V",
    "current": "16 A",
    "frequency": "95 Hz",
    "length": "15 m",
    "area": "2.5 mm2",
    "gauge": "12 AWG",
    "time": "3 ms",
    "temperature": "14 degC",
    "mass": "32 kg",
    "angle": "30 deg",
    "ratio": "10 %",
    "gain": "-3 dB",
    "level": "4 dBu",
    "sound level": "97 dB SPL",
    "slope": "24 dB/octave",
    "capacitance": "47 uF",
    "inductance": "1.2 mH",
    "rack units": "2 U",
    "speed": "343 m/s",
    "resistance per length": "7.98 ohm/km",
    "number": "4",
}

# In which unit a value is shown: the first row whose least value it reaches. Kinds that are absent use their base unit.
SHOWN_IN = {
    "resistance": ((1e6, "Mohm"), (1e3, "kohm"), (0.1, "ohm"), (0.0, "mohm")),
    "power": ((1e4, "kW"), (0.1, "W"), (0.0, "mW")),  # amplifiers are rated in watts up to several thousand
    "apparent power": ((1e4, "kVA"), (0.0, "VA")),
    "voltage": ((1e4, "kV"), (0.1, "V"), (0.0, "mV")),
    "current": ((0.1, "A"), (0.0, "mA")),
    "frequency": ((1e3, "kHz"), (0.0, "Hz")),
    "length": ((1e4, "km"), (0.1, "m"), (0.0, "mm")),
    "time": ((7200.0, "h"), (600.0, "min"), (1.0, "s"), (1e-3, "ms"), (0.0, "us")),
    "temperature": ((0.0, "degC"),),
    "mass": ((0.1, "kg"), (0.0, "g")),
    "ratio": ((0.0, "%"),),
    "capacitance": ((1.0, "F"), (1e-3, "mF"), (1e-6, "uF"), (1e-9, "nF"), (0.0, "pF")),
    "inductance": ((1.0, "H"), (1e-3, "mH"), (0.0, "uH")),
    "resistance per length": ((0.0, "ohm/km"),),
}

_LOGARITHMIC = frozenset({"gain", "level", "sound level", "slope"})


@frozen(eq=False, repr=False)
class Quantity(Content):
    """A figure: its kind, and its value in that kind's base unit."""

    kind: FigureKind
    value: float


class UnknownUnit(ValueError):
    """Nobody in the trade writes this unit; ``nearest`` are the spellings that may have been meant, best first.

    ``sure`` is the one that can only be meant, or empty: `Watts` is W, and nobody knows of `MW`.
    """

    def __init__(self, unit: str, nearest: tuple[str, ...]) -> None:
        super().__init__(f'unknown unit "{unit}"')
        self.unit = unit
        self.nearest = nearest
        self.sure = _sure(unit)


@cache
def _table() -> dict[str, tuple[str, float, float]]:
    from rigspec.text.unit_table import TABLE  # late, as it is made from what stands here

    return TABLE


def quantity(number: float, unit: str) -> Quantity:
    """The figure written as ``number`` and ``unit``, in the base unit of its kind; raises UnknownUnit."""
    row = _table().get(unit) or _table().get(" ".join(unit.split()))
    if row is None:
        raise UnknownUnit(unit, _nearest(unit))
    kind, factor, offset = row
    return Quantity(cast("FigureKind", kind), number * factor + offset)


def units_of(kind: FigureKind) -> tuple[str, ...]:
    """One spelling of each unit of a kind, the ones to propose first in front; none for a bare number."""
    return tuple(unit.spellings[0] for unit in UNITS if unit.kind == kind)


def example(kind: FigureKind) -> str:
    """A figure of this kind as one would write it, such as ``15 m``."""
    return EXAMPLES[kind]


def show(value: float, kind: FigureKind, unit: str = "") -> str:
    """A value in the base unit of its kind, as text for people, in ASCII.

    Three significant digits, and never fewer digits than the whole part has (1225 W stays 1225 W); decibels to a
    hundredth. ``unit`` asks for that unit instead of the customary one, as for a reader who works in feet.
    """
    return _written(value, kind, unit or _customary_unit(value, kind), digits=3, decimals=_decimals(kind, 3))


def show_pair(computed: float, allowed: float, kind: FigureKind) -> tuple[str, str]:
    """Two values to be compared, in one unit and with enough digits that different values never look the same."""
    unit = _customary_unit(max(computed, allowed, key=abs), kind)
    for digits in range(3, 18):
        decimals = _decimals(kind, digits)
        first = _written(computed, kind, unit, digits, decimals)
        second = _written(allowed, kind, unit, digits, decimals)
        if first != second or computed == allowed:
            return first, second
    # Converting neighbouring floats can make them equal; in the base unit 17 digits tell any two apart.
    base = BASE_UNIT[kind]
    return _written(computed, kind, base, 17, None), _written(allowed, kind, base, 17, None)


def _decimals(kind: FigureKind, digits: int) -> int | None:
    return digits - 1 if kind in _LOGARITHMIC else None


def _customary_unit(value: float, kind: FigureKind) -> str:
    rows = SHOWN_IN.get(kind, ())
    if value == 0 and kind not in ("temperature", "ratio"):
        return BASE_UNIT[kind]
    return next((unit for least, unit in rows if abs(value) >= least), BASE_UNIT[kind])


def _written(value: float, kind: FigureKind, unit: str, digits: int, decimals: int | None) -> str:
    """The value in ``unit`` with so many significant digits, but no more than ``decimals`` after the point."""
    if kind == "gauge" and value <= 0 and value == floor(value):
        return f"{1 - int(value)}/0 AWG"
    _, factor, offset = _table()[unit] if unit else ("", 1.0, 0.0)
    number = _number((value - offset) / factor, digits, decimals)
    sign = "+" if kind == "level" and number != "0" and not number.startswith("-") else ""
    return f"{sign}{number} {unit}".rstrip()


def _number(value: float, digits: int, decimals: int | None) -> str:
    if not isfinite(value):
        return str(value).replace("inf", "infinite")
    if value == 0:
        return "0"
    exponent = floor(log10(abs(value)))
    if (exponent < -digits - 3 and decimals is None) or exponent > 15:
        return f"{value:.{digits - 1}e}"
    places = max(0, digits - 1 - exponent)
    text = f"{value:.{places if decimals is None else min(places, decimals)}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


_LONGEST = 100  # letters of what may be meant for a unit


def _nearest(unit: str) -> tuple[str, ...]:
    """Spellings like ``unit``, in any case and also by the full name (``Watts``)."""
    from difflib import get_close_matches  # only a slip pays for it

    if len(unit) > _LONGEST:
        return ()
    known: dict[str, list[str]] = {}
    for entry in UNITS:
        for name in (*entry.spellings, entry.pint):
            proposals = known.setdefault(name.lower(), [])
            if entry.spellings[0] not in proposals:
                proposals.append(entry.spellings[0])
    found = [spelling for name in get_close_matches(unit.lower(), known, n=4) for spelling in known[name]]
    return tuple(dict.fromkeys(found))[:4]


def _sure(unit: str) -> str:
    """The one unit that this is in another case, by its full name, or as more than one of it.

    Case may be all that tells two quantities apart: M is no m, and in old papers `dBv` is dBu and `mf` is uF.
    """
    folded = unit.lower().replace("meter", "metre")
    names = {folded, folded.removesuffix("s")}
    found = [each.spellings[0] for each in UNITS if names & {name.lower() for name in (*each.spellings, each.pint)}]
    if len(found) != 1 or unit in ("dBv", "mf") or (unit[0] == "M" and found[0][0] == "m" and len(found[0]) > 1):
        return ""
    return found[0]


@cache
def registry() -> UnitRegistry[float]:
    """The only pint registry, made from the definitions above and nothing else."""
    from pint import UnitRegistry  # slow to load, and only the table's maker and the tests need it

    ours: UnitRegistry[float] = UnitRegistry(None)
    ours.load_definitions(DEFINITIONS.strip().splitlines())
    return ours


def base_in_registry(kind: FigureKind) -> str:
    """The name in the registry of the base unit of a kind; ratios and bare numbers are dimensionless."""
    symbol = BASE_UNIT[kind]
    return next((unit.pint for unit in UNITS if symbol in unit.spellings), "dimensionless")


def table_text() -> str:
    """The text of ``unit_table.py``, every figure as pint converts it."""
    make = registry().Quantity
    lines = [
        '"""Spelling -> (kind, factor, offset): value in the base unit = number * factor + offset.',
        "",
        "Made from pint by ``python -m rigspec.make``. Do not edit.",
        '"""',
        "",
        "TABLE: dict[str, tuple[str, float, float]] = {",
    ]
    for unit in UNITS:
        base = base_in_registry(unit.kind)
        offset = float(make(0, unit.pint).to(base).magnitude)
        step = f"delta_{unit.pint}" if offset else unit.pint
        factor = float(make(1, step).to(base).magnitude)
        for spelling in unit.spellings:
            key = spelling.encode("unicode_escape").decode("ascii")
            lines.append(f'    "{key}": ("{unit.kind}", {factor!r}, {offset!r}),')
    return "\n".join([*lines, "}", ""])
