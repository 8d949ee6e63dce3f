"""Figures of a text as measures: each gets its kind and value, and is held against the kinds that its place takes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigspec.language.fields import NUMBER
from rigspec.language.syntax import Figure, Range
from rigspec.rig.faults import Faults
from rigspec.rig.model import Measure
from rigspec.text.finding import Edit, Fix
from rigspec.text.source import Span
from rigspec.text.units import FigureKind, UnknownUnit, example, quantity, units_of

LARGEST = 1e12  # no figure of a rig is larger; keeps slips such as 1e999 out of the arithmetic
LARGEST_DB = 200.0  # and no gain or level, in decibels of any sort
FINEST_FRACTION = 64  # of an inch: with a unit, what is finer or above 1 is no fraction but two figures


def article(kind: FigureKind) -> str:
    """A kind with its article: ``a length``, ``an area``, ``a bare number``."""
    if kind == NUMBER:
        return "a bare number"
    return f"{'an' if kind[0] in 'aeiou' else 'a'} {kind}"


def either(kinds: Iterable[FigureKind]) -> str:
    bare = "a number without a unit"
    return " or ".join(bare if kind == NUMBER else f"{article(kind)} such as {example(kind)}" for kind in kinds)


def _number(text: str) -> float:
    above, _, below = text.partition("/")
    return float(above) / float(below) if below and float(below) else float(above)


def measure(
    figure: Figure, kinds: Sequence[FigureKind], faults: Faults, hoped: Sequence[FigureKind] = ()
) -> Measure | None:
    """The figure as one of the kinds its place takes; a fault and None if it is not.

    ``hoped`` are the kinds to speak of in a fault, where not all of those taken are worth naming.
    """
    hoped = hoped or kinds
    text = f"{figure.number} {figure.unit}".strip()
    if not _plausible(figure, faults):
        return None
    if not figure.unit:
        kind: FigureKind = NUMBER
        value = _number(figure.number)
        if NUMBER not in kinds:
            _bare(figure, hoped, faults)
            return None
    elif figure.unit == "AWG" and figure.number.endswith("/0"):
        kind, value = "gauge", 1.0 - float(figure.number[:-2])
    else:
        try:
            found = quantity(_number(figure.number), figure.unit)
        except UnknownUnit as unknown:
            if "area" in kinds and figure.unit in ("x", "X"):
                _cores(figure, faults)
                return None
            near = next((unit for unit in unknown.nearest if quantity(1.0, unit).kind in kinds), "")
            unit_span = _unit_span(figure)
            sure = near if unknown.sure == near else ""
            faults.add(
                "unit-unknown",
                unit_span,
                f"`{figure.unit}` is not a unit of this language",
                label=f"did you mean `{near}`?" if near else "unknown unit",
                help=f"write {figure.number} {near}" if near else f"write {either(hoped)}",
                fix=Fix(f"write `{near}`", (Edit(unit_span, near),)) if sure else None,
            )
            return None
        kind, value = found.kind, found.value
        if "/" in figure.number and _two_in_one(figure, kind, faults):
            return None
    # A plain `dB` where only a sound level makes sense is not taken for one: level, gain and sound level stay apart.
    if kind not in kinds:
        faults.add(
            "unit-mismatch",
            figure.span,
            f"`{text}` is {article(kind)}, and {' or '.join(article(each) for each in hoped)} belongs here",
            label=f"{article(kind)}",
            help=f"write {either(hoped)}" + ("; dB alone is a gain or a loss" if figure.unit == "dB" else ""),
        )
        return None
    low, high = _bounds(figure, kind, value, faults)
    return Measure(kind, value, low, high, text, figure.span)


def _plausible(figure: Figure, faults: Faults) -> bool:
    number = figure.number
    try:
        value = _number(number)
    except (ValueError, OverflowError):
        value = float("inf")
    if number.partition("/")[2].strip("0") == "" and "/" in number and figure.unit != "AWG":
        faults.add("unit-mismatch", figure.span, f"`{number}` divides by zero", help="write a fraction such as 1/8")
        return False
    if abs(value) > (LARGEST_DB if figure.unit.startswith("dB") else LARGEST):
        faults.add(
            "unit-mismatch", figure.span, f"`{number}` is larger than any figure of a rig", help="check its digits"
        )
        return False
    return True


def _two_in_one(figure: Figure, kind: FigureKind, faults: Faults) -> bool:
    """Are two figures written as one, `400/230 V`? Taken as a fraction it would be a figure that nobody means."""
    above, _, below = figure.number.partition("/")
    high, low = float(above), float(below)
    volts = kind == "voltage"
    if not volts and abs(high) < low <= FINEST_FRACTION:
        return False
    one, other = f"{above} {figure.unit}", f"{below} {figure.unit}"
    phases = 3 if abs(high / low / 3**0.5 - 1) < 0.02 else 2 if high == 2 * low else 0
    help = f"write one of them: {one} or {other}"
    if volts and phases:
        help = (
            f"for a supply of {one} between phases and {other} to neutral write `supply {one}; phases {phases}` in its "
            f"part of the mains, and {other} elsewhere"
        )
    elif volts and 0 < high < low:
        help += f"; or from one to the other: {one} to {other}"
    faults.add(
        "unit-mismatch",
        figure.span,
        f"`{figure.number} {figure.unit}` holds two figures, {one} and {other}",
        label="two figures in one",
        help=help,
    )
    return True


def _cores(figure: Figure, faults: Faults) -> None:
    """`3 x` before a size, as leads are called: how many conductors there are."""
    text = figure.span.source.text
    end = figure.span.end + len(text[figure.span.end :]) - len(text[figure.span.end :].lstrip(" \t"))
    faults.add(
        "unit-unknown",
        figure.span,
        f"`{figure.span.text}` counts conductors, and a size is that of one",
        label="leave it out",
        help="write the size alone: `2.5 mm2`, not `3 x 2.5 mm2`",
        fix=Fix("write the size alone", (Edit(Span(figure.span.source, figure.span.start, end), ""),)),
    )


def _unit_span(figure: Figure) -> Span:
    whole = figure.span
    text = whole.text
    start = text.index(figure.unit.split()[0], len(figure.number))
    end = len(text) if figure.tolerance is None else start + len(figure.unit)
    return whole.part(start, end)


def _bare(figure: Figure, kinds: Sequence[FigureKind], faults: Faults) -> None:
    units = [unit for kind in kinds for unit in units_of(kind)[:3]]
    faults.add(
        "unit-missing",
        figure.span,
        f"`{figure.number}` has no unit, and {' or '.join(article(kind) for kind in kinds)} belongs here",
        label="a unit is missing",
        help=f"write it with its unit ({', '.join(units[:6])}), for example {' or '.join(example(k) for k in kinds)}",
    )


def _bounds(figure: Figure, kind: FigureKind, value: float, faults: Faults) -> tuple[float, float]:
    if figure.tolerance is None:
        return value, value
    kinds = ["ratio", kind] + (["gain"] if kind in ("level", "sound level") else [])
    by = measure(figure.tolerance, kinds, faults)
    if by is None:
        return value, value
    # A temperature's tolerance is a difference: its offset (0 degC is not 0 K) must not be counted.
    width = abs(by.value * value) if by.kind == "ratio" else abs(by.value)
    if kind == "temperature" and by.kind == kind:
        width = abs(by.value - quantity(0.0, figure.tolerance.unit).value)
    return value - width, value + width


def span_measure(atom: Range, kinds: Sequence[FigureKind], faults: Faults) -> Measure | None:
    """A range as one figure: its value is the middle, by ratio for frequencies, else by sum."""
    low, high = measure(atom.low, kinds, faults), measure(atom.high, kinds, faults)
    if low is None or high is None:
        return None
    if low.kind != high.kind or low.value > high.value:
        turned = low.kind == high.kind
        faults.add(
            "unit-mismatch",
            atom.span,
            f"the range {atom.span.text} {'does not run from low to high' if turned else 'has two kinds of ends'}",
            label="from high to low" if turned else "no range",
            help=f"write {f'{high.text} to {low.text}' if turned else 'two of one kind, for example 35 Hz to 95 Hz'}",
        )
        return None
    between = (low.value * high.value) ** 0.5 if low.kind == "frequency" else (low.value + high.value) / 2
    return Measure(low.kind, between, low.value, high.value, atom.span.text, atom.span)
