"""How certain a finding is: what the tolerances and ranges leave open, and which given figure matters most."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from attrs import evolve, frozen

from rigspec.figures import ChannelFigures, Figures
from rigspec.figures.load import NetworkFigures, solve_run
from rigspec.rig.model import Measure
from rigspec.text.finding import Label
from rigspec.text.source import Span
from rigspec.text.value import Value

MOST_TRIED = 50  # given figures that are moved one at a time; the first of a channel with more decide


@frozen(eq=False, repr=False)
class Dominant(Value):
    """The given figure that matters most for a finding, in words and as a place; empty where all are exact."""

    text: str = ""
    labels: tuple[Label, ...] = ()


def inexact(figures: Figures, channel: ChannelFigures) -> list[Measure]:
    """What is given as a range or with a tolerance on the loudspeaker side of a channel, each place once."""
    run = figures.trace.runs[channel.key]
    specs = [piece.spec for piece in run.pieces if piece.what == "lead" and piece.spec is not None]
    measures = [m for spec in specs for m in (spec.length, spec.area_mm2, spec.awg) if m is not None]
    measures += [m for box in channel.boxes if (m := box.box.impedance) is not None]
    return list({measure.span: measure for measure in measures if measure.low != measure.high}.values())


def decides(
    figures: Figures,
    channel: ChannelFigures,
    figure: Callable[[NetworkFigures], float],
    beside: Iterable[tuple[Measure, float]] = (),
) -> Dominant:
    """Which inexact figure of a channel's network moves a figure of it most, each being moved alone.

    ``beside`` are others that count, such as the limit, each with how far it goes from end to end.
    """
    tried = inexact(figures, channel)[:MOST_TRIED]
    moved = [(measure, _moves(figures, channel, measure.span, figure)) for measure in tried]
    return dominant([*moved, *(each for each in beside if each[1] > 0)])


def dominant(moved: Iterable[tuple[Measure, float]]) -> Dominant:
    """Of given figures, each with how far it alone moves the computed one, the one that decides most."""
    found = max(moved, key=lambda each: each[1], default=None)
    if found is None:
        return Dominant()
    text = " ".join(found[0].span.text.split())  # with its tolerance, as it is written
    return Dominant(f"{text} (line {found[0].span.line}) decides most", (Label(found[0].span, f"{text} decides most"),))


def _moves(figures: Figures, channel: ChannelFigures, span: Span, figure: Callable[[NetworkFigures], float]) -> float:
    """How far the figure moves while the one given at ``span`` goes from end to end."""
    run, boxes = figures.trace.runs[channel.key], [box.box for box in channel.boxes]
    ends = []
    for end in (-1, 1):
        solved = solve_run(run, boxes, evolve(figures.case, copper=end, impedance=end, only=span))
        ends.append(0.0 if solved is None else figure(solved))
    return abs(ends[1] - ends[0])
