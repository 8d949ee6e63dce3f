"""A figure as it is written in a rig, said in other words: other units, and what it comes to by a definition."""

from __future__ import annotations

import re
from collections.abc import Iterator
from math import ceil, floor, log, log10, pi, sqrt

from rigspec.rig.model import SPEED_OF_SOUND_M_PER_S as SPEED
from rigspec.solve.conductor import awg_area_mm2
from rigspec.text import unit_table, units

_figure = re.compile(r"([+-]?\d+(?:\.\d+)?(?:[eE][+-]?\d+)?(?:/\d+)?)[ \t]*(.*)", re.DOTALL)
_LEAST, _MOST = 0.1, 2000.0  # nobody reads a figure in a unit in which it is smaller or greater
_MOST_DB, _MOST_AWG = 200.0, 60.0  # what is beyond is a slip of the fingers, and has no size in other words
_THINNEST_AWG, _THICKEST_AWG = 30, -3  # of the leads that loudspeakers hang on, with some to spare


def said_otherwise(text: str) -> str:
    """What a figure with its unit is: of which kind, and the same in other words; nothing of one that has no unit."""
    read = _read(text)
    if read is None:
        return ""
    kind, value, own = read
    same = _in_another_unit(kind, value, own)
    others = [f"= {same}"] if same else []
    said = f"**{' '.join(text.split())}**: {'an' if kind[0] in 'aeiou' else 'a'} {kind}"
    others += _besides(kind, value, own)
    return f"{said}\n\n{'; '.join(others)}" if others else said


def kind_of(text: str) -> str:
    """The kind of a figure with its unit, or nothing."""
    read = _read(text)
    return read[0] if read is not None else ""


def _read(text: str) -> tuple[units.FigureKind, float, str] | None:
    """The kind of a figure, its value in the base unit of that kind, and its own unit by its first spelling."""
    match = _figure.fullmatch(text)
    if match is None or not match[2]:
        return None
    above, _, below = match[1].partition("/")
    spelt = " ".join(match[2].split())
    try:
        wide = spelt == "AWG" and below  # 2/0 AWG is -1
        number = float(1 - int(above)) if wide else float(above) / (float(below) if below else 1.0)
        found = units.quantity(number, spelt)
    except (units.UnknownUnit, ValueError, ZeroDivisionError):
        return None
    own = next((unit.spellings[0] for unit in units.UNITS if spelt in unit.spellings), "")
    return found.kind, found.value, own


def _in_another_unit(kind: units.FigureKind, value: float, own: str) -> str:
    """The figure in the first unit of another system in which it can be read: not in one that moves the point alone."""
    _, factor, offset = unit_table.TABLE.get(own, ("", 1.0, 0.0))
    for unit in units.units_of(kind):
        _, other, other_offset = unit_table.TABLE[unit]
        moved = log10(factor / other)
        if offset == other_offset and abs(moved - round(moved)) < 1e-9:
            continue
        if kind in ("temperature", "level") or _LEAST <= abs(value / other) < _MOST:
            return units.show(value, kind, unit)
    return ""


def _besides(kind: units.FigureKind, value: float, own: str) -> Iterator[str]:
    """The same figure as another kind of figure, where a definition says so."""
    match kind:
        case "level" if abs(value) <= _MOST_DB:
            yield f"{units.show(units.DBU_REFERENCE_VOLT * 10 ** (value / 20), 'voltage')} rms"
        case "gauge" if abs(value) <= _MOST_AWG:
            yield units.show(awg_area_mm2(value), "area")
        case "area" if value > 0:
            yield from _gauges(value)
        case "gain" if abs(value) <= _MOST_DB:
            yield f"a factor of {10 ** (value / 20):.4g} in voltage, {10 ** (value / 10):.4g} in power"
        case "length" if own in ("m", "ft", "km") and value > 0:
            yield f"sound takes {units.show(value / SPEED, 'time')} in air of 20 degC"
        case "time" if own in ("ms", "us") and value > 0:
            yield f"sound goes {units.show(value * SPEED, 'length')} in air of 20 degC"
        case "frequency" if value > 0:
            yield f"a wave of {units.show(SPEED / value, 'length')} in air of 20 degC"


def _gauges(area_mm2: float) -> Iterator[str]:
    """The gauges next to a size (ASTM B258): for whoever has leads by AWG only."""
    exact = 36 - 39 * log(sqrt(4 * area_mm2 / pi) / 0.127) / log(92)
    near = sorted({floor(exact), ceil(exact)})
    if near[0] >= _THICKEST_AWG and near[-1] <= _THINNEST_AWG:
        said = [f"{units.show(float(awg), 'gauge')} ({units.show(awg_area_mm2(awg), 'area')})" for awg in near]
        yield f"between {said[1]} and {said[0]}" if len(said) > 1 else said[0]
