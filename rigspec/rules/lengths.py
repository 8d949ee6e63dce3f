"""How far a lead would have to change: the longest length and the next size with which a figure keeps its limit.

Both are found by solving the channel's network again, so that what hangs further along and beside counts too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from math import floor, log10

from attrs import evolve

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.load import Corner, NetworkFigures, loop_ohm, solve_run
from rigspec.rig.model import LeadSpec, Measure, Piece
from rigspec.solve.conductor import next_size_up
from rigspec.text.source import Span
from rigspec.text.units import UnknownUnit, quantity, show

HALVINGS = 30
MOST_SIZES = 12

Keeps = Callable[[NetworkFigures], bool]


def alike(leads: Iterable[Piece]) -> list[list[Piece]]:
    """Leads in lots that were said at one place, as the links of a row are, the costliest lot first."""
    lots: dict[Span, list[Piece]] = {}
    for lead in leads:
        if lead.spec is not None and lead.spec.length is not None:
            lots.setdefault(lead.spec.length.span, []).append(lead)
    return list(lots.values())


def lot_ohm(pieces: Iterable[Piece], case: Corner) -> float:
    """Leads there and back, one after the other."""
    return sum(loop_ohm(piece.spec, case) for piece in pieces if piece.spec is not None)


def thicker_or_shorter(figures: Figures, channel: ChannelFigures, lot: Sequence[Piece], keeps: Keeps) -> str:
    """The next size that keeps a limit, and the longest length of this size that does, as an order; else nothing.

    ``lot`` are leads that were said at one place and change together. ``keeps`` says of a solved network, with every
    lead at its longest and thinnest, whether it keeps the limit.
    """
    spec = lot[0].spec
    assert spec is not None
    assert spec.length is not None  # a lot is made by its length
    size = _next_size(figures, channel, lot, spec, keeps)
    factor = _longest(figures, channel, lot, spec, keeps)
    longest = rounded_down(spec.length.high * factor, spec.length)
    if not factor or not longest:
        return f"use {size}" if size else ""
    return f"use {size}, or keep this size and stay at {longest} or less" if size else f"stay at {longest} or less"


def _with(figures: Figures, channel: ChannelFigures, lot: Sequence[Piece], spec: LeadSpec, keeps: Keeps) -> bool:
    """Is the limit kept once these leads are as ``spec`` says?"""
    run = figures.trace.runs[channel.key]
    changed = {id(piece) for piece in lot}
    pieces = tuple(evolve(piece, spec=spec) if id(piece) in changed else piece for piece in run.pieces)
    boxes = [box.box for box in channel.boxes]
    solved = solve_run(evolve(run, pieces=pieces), boxes, evolve(figures.case, copper=1, impedance=-1))
    return solved is not None and keeps(solved)


def _longest(figures: Figures, channel: ChannelFigures, lot: Sequence[Piece], spec: LeadSpec, keeps: Keeps) -> float:
    """Which part of its length a lead may keep; 0 where no length does."""
    length = spec.length
    assert length is not None

    def short(factor: float) -> LeadSpec:
        ends = (length.value * factor, length.low * factor, length.high * factor)
        return evolve(spec, length=evolve(length, value=ends[0], low=ends[1], high=ends[2]))

    if not _with(figures, channel, lot, short(0.0), keeps):
        return 0.0
    low, high = 0.0, 1.0
    for _ in range(HALVINGS):
        middle = (low + high) / 2
        low, high = (middle, high) if _with(figures, channel, lot, short(middle), keeps) else (low, middle)
    return low


def _next_size(figures: Figures, channel: ChannelFigures, lot: Sequence[Piece], spec: LeadSpec, keeps: Keeps) -> str:
    """The thinnest usual size above this one that keeps the limit, as it is written."""
    area, awg = spec.area_mm2, spec.awg
    for _ in range(MOST_SIZES):
        size = next_size_up(area_mm2=area.low if area else None, awg=awg.high if awg and not area else None)
        if size is None:
            return ""
        area = evolve(area, value=size, low=size, high=size) if area is not None else None
        awg = evolve(awg, value=size, low=size, high=size) if awg is not None and area is None else awg
        if _with(figures, channel, lot, evolve(spec, area_mm2=area, awg=awg), keeps):
            return show(size, "area" if area else "gauge")
    return ""


def rounded_down(length_m: float, like: Measure) -> str:
    """A length in the author's own unit, three digits, never more than it is: it is a boundary to stay within."""
    unit = unit_of(like)
    step_m = quantity(1.0, unit).value if unit else 1.0
    in_unit = length_m / step_m
    if in_unit <= 0:
        return ""
    digit = 10.0 ** (floor(log10(in_unit)) - 2)
    return show(floor(in_unit / digit * (1 + 1e-12)) * digit * step_m, "length", unit)


def unit_of(length: Measure) -> str:
    """The author's own unit of a length; the customary one for a length that is written in several."""
    unit = length.text.rpartition(" ")[2].lstrip("0123456789.")
    try:
        return unit if quantity(1.0, unit).kind == "length" else ""
    except UnknownUnit:
        return ""
