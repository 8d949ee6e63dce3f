"""Figures of limiter thresholds: for every amplifier channel, every processor output and every powered loudspeaker."""

from __future__ import annotations

from collections.abc import Mapping

from attrs import evolve, frozen

from rigspec.figures.limiters import SetLimiter, ceilings, limiters_set
from rigspec.figures.load import Corner, solve_run
from rigspec.figures.points import ProcessorPoint, before_channel, before_sink
from rigspec.figures.trace import Arrival, Run
from rigspec.figures.values import BaseFigures, BoxFigures, ChannelFigures
from rigspec.rig.model import Measure, one
from rigspec.solve.decibel import volt_to_dbu
from rigspec.solve.limiter import (
    TimeConstants,
    at_output_volt,
    peak_level_dbu,
    peak_power_w,
    peak_volt,
    rms_volt,
    time_constants,
)
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class Weakest(Value):
    """The loudspeaker that reaches its rating first, and the amplifier's output at which it does.

    ``box_volt`` stands across it at its rating, ``volt`` at the amplifier's output then: rms volts for the continuous
    rating, instantaneous peak volts for the peak one. ``low_volt`` to ``high_volt`` is what tolerances of the rating,
    of impedances and of leads leave. ``dbu`` is the level at the amplifier's output; of peaks that of the sine which
    has them. ``rating`` is the figure in the stock, ``watt`` what it stands for; ``assumed`` says so where the stock
    gives no peak rating.
    """

    box: BoxFigures
    rating: Measure
    watt: float
    box_volt: float
    volt: float
    low_volt: float
    high_volt: float
    dbu: float
    assumed: str = ""


@frozen(eq=False, repr=False)
class ChannelProtection(Value):
    """What a channel's limiter must hold, and what is set.

    ``rms`` and ``peak`` are the weakest loudspeakers by mean power and by peaks, None where none has a rating;
    ``unrated`` names those without one. ``clip_dbu`` is the amplifier's rated output into this load, a sine.
    ``ceilings`` are the highest levels that this and earlier stages can give, as levels at the amplifier's output, each
    with what gives it. ``points`` are the processor outputs on the way, the nearest first. ``low_hz`` is where the band
    of the channel's loudspeakers begins. ``limiters`` are those set on the way.
    """

    channel: ChannelFigures
    rms: Weakest | None
    peak: Weakest | None
    unrated: tuple[str, ...]
    clip_dbu: float | None
    ceilings: tuple[tuple[float, str], ...]
    points: tuple[ProcessorPoint, ...]
    low_hz: float | None
    limiters: tuple[SetLimiter, ...]

    @property
    def in_doubt(self) -> bool:
        """Has a processor on the way a fault, so that a limiter may be set that nobody could read?"""
        return any(point.output.gear.doubt for point in self.points)

    @property
    def times(self) -> TimeConstants | None:
        """The usual attack and release for this band (common practice, no source)."""
        return None if self.low_hz is None else time_constants(self.low_hz)

    def right_dbu(self, watches: str) -> float | None:
        """The right threshold at the amplifier's output, for ``rms`` or ``peak``."""
        found = self.rms if watches == "rms" else self.peak
        return found.dbu if found else None

    def at_input_dbu(self, watches: str) -> float | None:
        """The right threshold at the amplifier's input."""
        dbu, gain_db = self.right_dbu(watches), self.channel.gain_db
        return None if dbu is None or gain_db is None else dbu - gain_db

    def at_point_dbu(self, watches: str, number: int = 0) -> float | None:
        """The right threshold at a processor output on the way, the nearest first."""
        dbu = self.right_dbu(watches)
        if dbu is None or number >= len(self.points):
            return None
        return dbu - self.points[number].gain_db


@frozen(eq=False, repr=False)
class PoweredProtection(Value):
    """A powered loudspeaker: the input level that gives its full output, and the processor outputs before it."""

    arrival: Arrival
    drive: Measure
    drive_dbu: float
    points: tuple[ProcessorPoint, ...]

    @property
    def key(self) -> str:
        return self.arrival.sink.key

    @property
    def at_point_dbu(self) -> float | None:
        return self.drive_dbu - self.points[0].gain_db if self.points else None


@frozen(eq=False, repr=False)
class OutputProtection(Value):
    """The right thresholds at a processor output that is the last before some channels: those of the strictest."""

    key: str
    rms: ChannelProtection | None
    peak: ChannelProtection | None
    channels: tuple[ChannelProtection, ...]


@frozen(eq=False, repr=False)
class ProtectionFigures(Value):
    """Limiters: ``channels`` by the key of an amplifier channel or bridged pair, ``powered`` by that of a powered
    loudspeaker, ``outputs`` by that of a processor output."""

    channels: Mapping[str, ChannelProtection]
    powered: Mapping[str, PoweredProtection]
    outputs: Mapping[str, OutputProtection]


def protection_figures(ground: BaseFigures) -> ProtectionFigures:
    """Work out where limiters have to stand, and where those that are set stand."""
    channels = {key: _channel(ground, channel) for key, channel in ground.channels.items()}
    fed: dict[str, list[ChannelProtection]] = {}
    for each in channels.values():
        for point in each.points[:1]:
            fed.setdefault(point.output.key, []).append(each)
    outputs = {key: _output(key, found) for key, found in fed.items()}
    return ProtectionFigures(channels, _powered(ground), outputs)


def _channel(ground: BaseFigures, channel: ChannelFigures) -> ChannelProtection:
    points = () if channel.gain_db is None else before_channel(ground, channel.output, channel.gain_db)
    return _protection(channel, ground.trace.runs[channel.key], points, ground.case)


def _protection(
    channel: ChannelFigures, run: Run, points: tuple[ProcessorPoint, ...], case: Corner
) -> ChannelProtection:
    clip_dbu = volt_to_dbu(channel.rated_volt) if channel.rated_volt else None
    unrated = tuple(box.key for box in channel.boxes if not _rating(box.continuous))
    made = ChannelProtection(
        channel=channel,
        rms=_weakest(run, case, channel, "rms"),
        peak=_weakest(run, case, channel, "peak"),
        unrated=unrated,
        clip_dbu=clip_dbu,
        ceilings=ceilings(channel, clip_dbu, points),
        points=points,
        low_hz=_low_hz(channel),
        limiters=(),
    )
    found = limiters_set(channel, points)
    if not found:
        return made
    rights = {watches: made.right_dbu(watches) for watches in ("rms", "peak")}
    return evolve(made, limiters=tuple(evolve(each, right_dbu=rights[each.watches]) for each in found))


def _rating(measure: Measure | None) -> bool:
    return measure is not None and measure.value > 0


def _weakest(run: Run, case: Corner, channel: ChannelFigures, watches: str) -> Weakest | None:
    """The box that reaches its rating at the least output; boxes without a rating, or without a signal, are none."""
    least: tuple[float, BoxFigures, Measure, float] | None = None
    for box in channel.boxes:
        rating, times = (box.continuous, 1.0) if watches == "rms" else _peak_rating(box)
        if rating is None or rating.value <= 0 or box.share_volt <= 0 or not box.box.impedance_ohm:
            continue
        squared = rating.value * times * box.box.impedance_ohm / box.share_volt**2
        if (
            least is None
            or squared < least[0] * (1 - 1e-9)
            or (squared < least[0] * (1 + 1e-9) and _first(box, least[1]))
        ):
            least = squared, box, rating, times
    return _made(run, case, channel, watches, *least[1:]) if least else None


def _first(box: BoxFigures, other: BoxFigures) -> bool:
    """Of two alike, the first by name and number, whatever the order of the statements."""
    one, two = box.box.gear, other.box.gear
    return (one.name, one.number or 0) < (two.name, two.number or 0)


def _peak_rating(box: BoxFigures) -> tuple[Measure | None, float]:
    """The peak rating, or the continuous one and by how many times it stands for that."""
    return (box.peak, 1.0) if _rating(box.peak) else (box.continuous, peak_power_w(1.0))


def _made(
    run: Run, case: Corner, channel: ChannelFigures, watches: str, box: BoxFigures, rating: Measure, times: float
) -> Weakest:
    volt_of = rms_volt if watches == "rms" else peak_volt
    assumed = ""
    if times != 1.0:
        assumed = f"no peak rating of {box.key} is given: four times the continuous one stands for it"
    box_volt = volt_of(rating.value * times, box.box.impedance_ohm or 0.0)
    volt = low = high = at_output_volt(box_volt, box.share_volt)
    if rating.low != rating.high or _inexact(channel, box):
        ends = [
            at_output_volt(volt_of(watt * times, ohm), share)
            for ohm, share in _corners(run, case, channel, box)
            for watt in (rating.low, rating.high)
        ]
        low, high = min((volt, *ends)), max((volt, *ends))
    dbu = volt_to_dbu(volt) if watches == "rms" else peak_level_dbu(volt)
    return Weakest(box, rating, rating.value * times, box_volt, volt, low, high, dbu, assumed)


def _inexact(channel: ChannelFigures, box: BoxFigures) -> bool:
    """Does a tolerance or a range move what a box gets?"""
    measures = (each.box.impedance for each in channel.boxes)
    return box.loss_low_db != box.loss_high_db or any(m is not None and m.low != m.high for m in measures)


def _corners(run: Run, case: Corner, channel: ChannelFigures, box: BoxFigures) -> list[tuple[float, float]]:
    """The impedance of a box and its share of the voltage at the ends of what is inexact, all leads moved together."""
    if not _inexact(channel, box):
        return [(box.box.impedance_ohm or 0.0, box.share_volt)]
    boxes = [each.box for each in channel.boxes]
    found = []
    for copper, impedance in ((-1, -1), (-1, 1), (1, -1), (1, 1)):
        end = evolve(case, copper=copper, impedance=impedance)
        solved = solve_run(run, boxes, end)
        if solved is not None and solved.box_volt[box.key] > 0:
            found.append((box.box.ohm(end), solved.box_volt[box.key]))
    return found


def _low_hz(channel: ChannelFigures) -> float | None:
    """Where the band begins that the channel's loudspeakers get and are made for; None where nothing says."""
    lows = [part.low_hz for part in channel.parts]
    filtered = None if not lows or None in lows else min(hz for hz in lows if hz is not None)
    found = []
    for box in channel.boxes:
        facts = box.box.gear.way(box.box.way)
        band = one(facts, "band", "frequency")
        edges = [hz for hz in (filtered, band.low if band else None) if hz]
        if edges:
            found.append(max(edges))
    return min(found, default=filtered)


def _output(key: str, channels: list[ChannelProtection]) -> OutputProtection:
    def strictest(watches: str) -> ChannelProtection | None:
        known = [(dbu, each) for each in channels if (dbu := each.at_point_dbu(watches)) is not None]
        return min(known, key=lambda each: (round(each[0], 9), each[1].channel.key))[1] if known else None

    return OutputProtection(key, strictest("rms"), strictest("peak"), tuple(channels))


def _powered(ground: BaseFigures) -> dict[str, PoweredProtection]:
    found = {}
    for key, arrival in ground.trace.arrivals.items():
        gear = arrival.sink.gear
        if gear.word != "speaker" or arrival.sink.takes != "signal" or not gear.says("powered") or gear.doubt:
            continue
        drive = gear.measure("drive", "level") or gear.measure("drive", "voltage")
        if drive is None or (drive.kind == "voltage" and drive.value <= 0):
            continue
        dbu = drive.value if drive.kind == "level" else volt_to_dbu(drive.value)
        found[key] = PoweredProtection(arrival, drive, dbu, before_sink(ground, key))
    return found
