"""Figures of distributed lines of 70.7 V and 100 V: what each tap takes, and what the line puts on its amplifier."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence

from attrs import frozen

from rigspec.figures.load import Box, Corner, solve_run, tap_volt
from rigspec.figures.rated import line_volt, rated_points
from rigspec.figures.sweep import facts_of
from rigspec.figures.values import BaseFigures, BoxFigures, ChannelFigures
from rigspec.rig.model import Measure, one
from rigspec.solve.line import after_transformer_w, exact_volt, load_ohm, tap_takes_w
from rigspec.text.source import Span
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class TapFigures(Value):
    """A loudspeaker on a line, with the line at its full voltage.

    ``tap_w`` is the power its transformer is set to, ``made_for_volt`` the line that this is said for. ``asks_w`` is
    what the tap takes of this line without leads, ``volt`` and ``takes_w`` what arrives behind them. ``insertion`` is
    what its transformer costs, where the stock says it, and ``behind_w`` what is left of ``takes_w`` then.
    """

    box: BoxFigures
    line_volt: float
    tap_w: float
    made_for_volt: float
    asks_w: float
    volt: float
    takes_w: float
    insertion: Measure | None
    behind_w: float | None


@frozen(eq=False, repr=False)
class LineChannel(Value):
    """One line: its voltage, the sum of what its taps ask for, and their load without leads.

    ``rated_w`` is the most that the amplifier is rated for, ``free`` the share of it that the taps leave. ``low_hz`` is
    where the signal on the line begins; None where nothing bounds it. ``signal``: something feeds the line.
    """

    channel: ChannelFigures
    line_volt: float
    taps: tuple[TapFigures, ...]
    taps_w: float
    taps_ohm: float
    rated_w: float | None
    low_hz: float | None
    signal: bool

    @property
    def free(self) -> float | None:
        return None if not self.rated_w else 1 - self.taps_w / self.rated_w

    @property
    def worst(self) -> TapFigures:
        """The loudspeaker that the leads cost most."""
        return max(self.taps, key=lambda tap: tap.box.loss_db)


@frozen(eq=False, repr=False)
class LineFigures(Value):
    """Distributed lines: ``channels`` by the key of the channel that drives one, ``taps`` by that of the loudspeaker.

    A channel is one where its amplifier drives a line; loudspeakers without a tap on it are left out here (the rule
    `line-mismatch` tells of them), and a channel with none but those has no figures.
    """

    channels: Mapping[str, LineChannel]
    taps: Mapping[str, TapFigures]


def line_figures(ground: BaseFigures) -> LineFigures:
    """Work out the lines of a rig."""
    channels = {}
    taps: dict[str, TapFigures] = {}
    for key, channel in ground.channels.items():
        volt = line_volt(channel.gear)
        if volt is None or volt <= 0:
            continue
        found = tuple(_tap(box, volt) for box in channel.boxes if box.box.tapped)
        if not found:
            continue
        asks_w = [tap.asks_w for tap in found]
        rated = [point.power_w for point in rated_points(channel.gear, "all")]
        lows = [part.low_hz for part in channel.parts]
        channels[key] = LineChannel(
            channel=channel,
            line_volt=volt,
            taps=found,
            taps_w=sum(asks_w),
            taps_ohm=load_ohm(volt, asks_w),
            rated_w=max(rated, default=None),
            low_hz=None if None in lows else min((hz for hz in lows if hz is not None), default=None),
            signal=bool(channel.parts),
        )
        taps.update({tap.box.key: tap for tap in found})
    return LineFigures(channels, taps)


def _tap(box: BoxFigures, volt: float) -> TapFigures:
    measure = box.box.impedance
    assert measure is not None  # a tapped box has its tap there
    said = tap_volt(box.box.gear)
    made_for = exact_volt(said.value) if said else volt
    insertion = one(box.box.gear.facts, "insertion-loss", "gain")
    here = volt * box.share_volt
    asks_w = tap_takes_w(measure.value, made_for, volt)
    takes_w = asks_w * box.share_volt**2
    behind = None if insertion is None else after_transformer_w(takes_w, abs(insertion.value))
    return TapFigures(box, volt, measure.value, made_for, asks_w, here, takes_w, insertion, behind)


@frozen(eq=False, repr=False)
class TapEnds(Value):
    """What taps take together at the ends of their tolerances; ``moved``: what each inexact figure does to that."""

    least_w: float
    most_w: float
    moved: tuple[tuple[Measure, float], ...]


def tap_ends(boxes: Sequence[Box], volt: float) -> TapEnds:
    """The ends of what loudspeakers take together of a line of this voltage, without leads."""
    ends = [[volt * volt / box.ohm(Corner(impedance=end)) for box in boxes] for end in (1, -1)]
    moved: dict[Span, tuple[Measure, float]] = {}
    for box, least, most in zip(boxes, *ends, strict=True):
        measure = box.impedance
        if measure is not None and most > least:
            moved[measure.span] = measure, most - least + moved.get(measure.span, (measure, 0.0))[1]
    return TapEnds(sum(ends[0]), sum(ends[1]), tuple(moved.values()))


def taps_alone(boxes: Iterable[Box]) -> tuple[str, ...]:
    """Of which loudspeakers on taps a `curve` or a `driver` is given that is not counted, in words; each kind once."""
    found = {}
    for box in boxes:
        words = [word for word in ("curve", "driver") if word in facts_of(box)] if box.tapped else []
        if words:
            kind = box.gear.kind.name if box.gear.kind else box.gear.full
            said = " and ".join(f"`{word}`" for word in words)
            found[kind] = f"the {said} of {kind} is not counted: behind a line transformer its tap stands for it"
    return tuple(found.values())


def least_line_ohm(ground: BaseFigures, line: LineChannel) -> float | None:
    """The least impedance that the amplifier may see: every loudspeaker at 80 % of its rated impedance (IEC 60268-5).

    Solved when it is asked for, since it takes a network of its own.
    """
    run = ground.trace.runs[line.channel.key]
    boxes = [box.box for box in line.channel.boxes]
    solved = solve_run(run, boxes, ground.case, at_least=True)
    return solved.load_ohm if solved else None
