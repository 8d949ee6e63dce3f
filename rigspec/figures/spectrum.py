"""Figures of loads and losses over frequency, where a stock gives impedance as it is."""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable, Mapping, Sequence
from math import log10

from attrs import evolve, frozen

from rigspec.figures.bands import BandFigures
from rigspec.figures.load import Box
from rigspec.figures.sweep import PHASE_UNKNOWN, Law, RunTree, facts_of, law_of, tree_of
from rigspec.figures.values import BaseFigures, ChannelFigures
from rigspec.rig.model import Measure, one
from rigspec.solve.impedance import (
    STEPS_OF_UNLIKE,
    STEPS_PER_OCTAVE,
    grid_hz,
    real_power_watt,
    resistive,
)
from rigspec.solve.tree import TreeState, solve_tree
from rigspec.text.value import Content, Value

AUDIBLE_HZ = 20.0, 20_000.0

NOMINAL = "each loudspeaker of which only the rated impedance is known is at 80 % of it (IEC 60268-5)"
SAID = "the least impedance that a data sheet says is taken as resistive and for all frequencies"
BEYOND = "where a curve gives nothing its loudspeaker is at 80 % of its rated impedance (IEC 60268-5)"
PHASE_OF_RATED = "the phase of a rated impedance is not known: all impedances beside it are taken as resistive"


@frozen(eq=False, repr=False)
class Extreme(Content):
    """A figure, and the frequency at which it is the least or the greatest of a band."""

    value: float
    hz: float


@frozen(eq=False, repr=False)
class BoxSpectrum(Value):
    """A loudspeaker over the band that reaches it (its own band, cut by what comes).

    ``law`` is its impedance over frequency, None where only the rated one is known. ``least`` is the least |Z| in the
    band as far as the law goes, None where it reaches none of it, and ``most`` the greatest. ``loss`` is the greatest
    loss in leads in dB.
    ``real_watt`` is the most that it turns into heat and sound, and ``rating_watt`` the most voltage there squared over
    its rated impedance, which is what its rating means; both with the voltage that the amplifier gives at its rated
    output held over the band, None where that is not known. ``uncovered`` is what the law leaves of the band.
    """

    key: str
    law: Law | None
    low_hz: float
    high_hz: float
    least: Extreme | None
    most: Extreme | None
    loss: Extreme
    real_watt: Extreme | None
    rating_watt: Extreme | None
    uncovered: tuple[tuple[float, float], ...]


@frozen(eq=False, repr=False)
class ChannelSpectrum(Value):
    """An output over the band that reaches its loudspeakers.

    ``least`` and ``most`` are the least and the greatest |Z| it sees; the least with the shortest and thickest leads,
    with every tolerance at its low end and with 80 % of rated where nothing better is known; ``usual`` is the least
    with leads and loudspeakers as they are given, rated where nothing better is known. ``least_box`` is the
    loudspeaker that lies furthest below its rated impedance there. ``lead_watt`` is the most that all leads together
    burn at the rated output's voltage. ``hertz`` are the frequencies that were looked at: the least lies in a wide
    valley and is known to about 0.2 %, the top of a sharp peak of a driver between them to a few percent.
    """

    key: str
    low_hz: float
    high_hz: float
    least: Extreme
    usual: Extreme
    most: Extreme
    least_box: str
    lead_watt: Extreme | None
    hertz: tuple[float, ...]
    boxes: tuple[BoxSpectrum, ...]
    assumes: tuple[str, ...]


@frozen(eq=False, repr=False)
class SpectrumFigures(Value):
    """``channels``: outputs with at least one loudspeaker whose curve or driver is given, by key; ``boxes``: theirs."""

    channels: Mapping[str, ChannelSpectrum]
    boxes: Mapping[str, BoxSpectrum]


def spectrum_figures(ground: BaseFigures, bands: BandFigures) -> SpectrumFigures:
    """Work out every output that has a loudspeaker with impedance as it is; equal ones are solved once."""
    channels: dict[str, ChannelSpectrum] = {}
    solved: dict[Hashable, tuple[ChannelSpectrum, ChannelFigures]] = {}
    laws: dict[Hashable, Law | None] = {}
    for channel in ground.channels.values():
        prepared = prepare(ground, bands, channel, laws)
        if prepared is None:
            continue
        shape = prepared.shape
        if shape in solved:
            channels[channel.key] = _renamed(*solved[shape], channel)
        else:
            channels[channel.key] = work_out(prepared)
            solved[shape] = channels[channel.key], channel
    boxes = {box.key: box for channel in channels.values() for box in channel.boxes}
    return SpectrumFigures(channels, boxes)


# ---- what goes in ---------------------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class Prepared(Value):
    """A channel ready to be solved: its trees, and each box's law and band (None: nothing of its band reaches it)."""

    channel: ChannelFigures
    typical: RunTree
    shortest: RunTree
    bare: RunTree | None
    laws: tuple[Law | None, ...]
    bands: tuple[tuple[float, float] | None, ...]
    lowest_ohm: tuple[float, ...]  # where nothing is known over frequency: as low as a rated impedance may fall

    @property
    def boxes(self) -> list[Box]:
        return [box.box for box in self.channel.boxes]

    @property
    def band(self) -> tuple[float, float]:
        """From the lowest to the highest frequency that reaches any of its loudspeakers."""
        known = [band for band in self.bands if band is not None]
        return min(low for low, _ in known), max(high for _, high in known)

    @property
    def resistive(self) -> bool:
        """Is the phase of some loudspeaker not known, so that none may count?"""
        return any(law is None or law.curve is not None for law in self.laws)

    @property
    def shape(self) -> Hashable:
        """Equal for channels that have equal figures."""
        laws = tuple(None if law is None else law.span for law in self.laws)
        rated = tuple(box.box.impedance_ohm for box in self.channel.boxes)
        trees = self.typical.shape, self.shortest.shape, None if self.bare is None else self.bare.shape
        return trees, laws, self.bands, rated, self.lowest_ohm, self.channel.rated_volt


def prepare(
    ground: BaseFigures, bands: BandFigures, channel: ChannelFigures, laws: dict[Hashable, Law | None] | None = None
) -> Prepared | None:
    """A channel with a law and a band for at least one of its loudspeakers; None if there is none."""
    boxes = [box.box for box in channel.boxes]
    found = [_law(box, {} if laws is None else laws) for box in boxes]
    if not any(found):
        return None
    reached = [_band(bands, box, law) for box, law in zip(boxes, found, strict=True)]
    if not any(band is not None and law is not None for band, law in zip(reached, found, strict=True)):
        return None
    run = ground.trace.runs[channel.key]
    low = evolve(ground.case, copper=-1, impedance=-1)
    typical, shortest = tree_of(run, boxes, ground.case), tree_of(run, boxes, low)
    bare = tree_of(run, boxes, ground.case, copper=False) if run.splits else None
    lowest = tuple(box.least_ohm(low) for box in boxes)
    return Prepared(channel, typical, shortest, bare, tuple(found), tuple(reached), lowest)


def _law(box: Box, known: dict[Hashable, Law | None]) -> Law | None:
    """The law of a loudspeaker, made once for all of its kind."""
    facts = facts_of(box)
    curve, driver = facts.get("curve"), facts.get("driver")
    if curve is None and driver is None:
        return None
    key = box.tapped, None if curve is None else curve.span, None if driver is None else driver.span
    if key not in known:
        known[key] = law_of(box)
    return known[key]


def own_band(box: Box) -> Measure | None:
    """The band that a loudspeaker, or this way of it, is made for."""
    band = one(facts_of(box), "band", "frequency")
    return band or box.gear.measure("band", "frequency")


def _band(bands: BandFigures, box: Box, law: Law | None) -> tuple[float, float] | None:
    """A loudspeaker's own band, cut by what reaches it; an end that nobody says is that of its curve, or of hearing."""
    own, reached = own_band(box), bands.boxes.get(box.key)
    lows = [own.low if own else None, reached.low_hz if reached else None]
    highs = [own.high if own else None, reached.high_hz if reached else None]
    ends = (law.curve.low_hz, law.curve.high_hz) if law is not None and law.curve is not None else AUDIBLE_HZ
    low = max((hz for hz in lows if hz is not None and hz > 0), default=ends[0])
    high = min((hz for hz in highs if hz is not None), default=ends[1])
    return (low, high) if low <= high else None


# ---- what comes out -------------------------------------------------------------------------------------------------


def work_out(prepared: Prepared) -> ChannelSpectrum:
    """A channel over its band, solved at each frequency."""
    hertz = _grid(prepared, prepared.band)
    typical, lowest = loads_over(prepared, hertz)
    state = solve_tree(prepared.typical.joints, typical)
    same = prepared.typical.shape == prepared.shortest.shape and typical == lowest
    least_state = state if same else solve_tree(prepared.shortest.joints, lowest)
    bare = None if prepared.bare is None else solve_tree(prepared.bare.joints, typical)
    least = _least(hertz, least_state)
    number = hertz.index(least.hz)
    channel = prepared.channel
    shares = [ohm[number] for ohm in lowest]
    rated = [box.box.impedance_ohm or 1.0 for box in channel.boxes]
    furthest = min(range(len(rated)), key=lambda each: round(abs(shares[each]) / rated[each], 9))
    boxes = [_box(prepared, each, hertz, (typical[each], lowest[each]), state, bare) for each in range(len(rated))]
    low, high = prepared.band
    return ChannelSpectrum(
        channel.key,
        low,
        high,
        least,
        _least(hertz, state),
        _most(hertz, lambda at: 1 / abs(state.siemens[at])),
        channel.boxes[furthest].key,
        _lead_watt(prepared, hertz, state),
        hertz,
        tuple(box for box in boxes if box is not None),
        _assumes(prepared),
    )


def _renamed(earlier: ChannelSpectrum, alike: ChannelFigures, channel: ChannelFigures) -> ChannelSpectrum:
    """The figures of an equal channel, under the names of this one."""
    names = {old.key: new.key for old, new in zip(alike.boxes, channel.boxes, strict=True)}
    boxes = tuple(evolve(box, key=names[box.key]) for box in earlier.boxes)
    return evolve(earlier, key=channel.key, boxes=boxes, least_box=names[earlier.least_box])


def _grid(prepared: Prepared, band: tuple[float, float]) -> tuple[float, ...]:
    """Where a band is looked at: all points of all curves, the ends of each box's band, and steps for drivers."""
    marks = [hz for law in prepared.laws if law is not None for hz in law.marks_hz]
    marks += [hz for each in prepared.bands if each is not None for hz in each]
    drivers = {law.span for law in prepared.laws if law is not None and law.curve is None}
    steps = (0, STEPS_PER_OCTAVE, STEPS_OF_UNLIKE)[min(len(drivers), 2)]
    return grid_hz(*band, marks, steps)


def loads_over(prepared: Prepared, hertz: Sequence[float]) -> tuple[list[list[complex]], list[list[complex]]]:
    """Every box's impedance at every frequency: as given (rated where nothing is), and the lowest that it may be."""
    typical: list[list[complex]] = []
    lowest: list[list[complex]] = []
    known: dict[Hashable, tuple[list[complex], list[complex]]] = {}
    plain = resistive if prepared.resistive else _as_it_is
    for law, low_ohm, box in zip(prepared.laws, prepared.lowest_ohm, prepared.boxes, strict=True):
        rated = box.impedance_ohm or 0.0
        key = None if law is None else law.span, rated, low_ohm
        if key not in known:
            known[key] = (
                [plain(law.ohm(hz)) if law is not None and law.covers(hz) else rated for hz in hertz],
                [plain(law.lowest_ohm(hz)) if law is not None and law.covers(hz) else low_ohm for hz in hertz],
            )
        typical.append(known[key][0])
        lowest.append(known[key][1])
    return typical, lowest


def _as_it_is(ohm: complex) -> complex:
    return ohm


def _least(hertz: Sequence[float], state: TreeState) -> Extreme:
    """The least load, of equal ones at the lowest frequency."""
    number = max(range(len(hertz)), key=lambda at: (abs(state.siemens[at]), -at))
    return Extreme(1 / abs(state.siemens[number]), hertz[number])


def _most(hertz: Sequence[float], figure: Callable[[int], float], within: Sequence[int] | None = None) -> Extreme:
    numbers = range(len(hertz)) if within is None else within
    number = max(numbers, key=figure)
    return Extreme(figure(number), hertz[number])


def _box(
    prepared: Prepared,
    number: int,
    hertz: Sequence[float],
    ohms: tuple[Sequence[complex], Sequence[complex]],
    state: TreeState,
    bare: TreeState | None,
) -> BoxSpectrum | None:
    band, law, box = prepared.bands[number], prepared.laws[number], prepared.channel.boxes[number]
    if band is None:
        return None
    low, high = band
    within = [at for at, hz in enumerate(hertz) if low <= hz <= high]
    volt = state.volt[prepared.typical.at[number]]
    whole = None if bare is None or prepared.bare is None else bare.volt[prepared.bare.at[number]]

    def loss_db(at: int) -> float:
        without = 1.0 if whole is None else abs(whole[at])
        return max(0.0, 20 * log10(without / abs(volt[at]))) if volt[at] and without else 0.0

    covered = [at for at in within if law is not None and law.covers(hertz[at])]
    ohm, low_ohm = ohms
    lowest = [(abs(low_ohm[at]), hertz[at]) for at in covered]
    given, rated = prepared.channel.rated_volt, box.box.impedance_ohm
    real = rating = None
    if given is not None and rated:
        real = _most(hertz, lambda at: real_power_watt(given * abs(volt[at]), ohm[at]), within)
        rating = _most(hertz, lambda at: (given * abs(volt[at])) ** 2 / rated, within)
    return BoxSpectrum(
        box.key,
        law,
        low,
        high,
        Extreme(*min(lowest)) if lowest else None,
        _most(hertz, lambda at: abs(ohm[at]), covered) if covered else None,
        _most(hertz, loss_db, within),
        real,
        rating,
        uncovered(law, low, high),
    )


def uncovered(law: Law | None, low: float, high: float) -> tuple[tuple[float, float], ...]:
    """The parts of a band that a curve does not reach."""
    if law is None or law.curve is None:
        return ()
    first, last = law.curve.low_hz, law.curve.high_hz
    below = ((low, min(first, high)),) if low < first * (1 - 1e-9) else ()
    above = ((max(last, low), high),) if high > last * (1 + 1e-9) else ()
    return (*below, *above)


def _lead_watt(prepared: Prepared, hertz: Sequence[float], state: TreeState) -> Extreme | None:
    volt, joints = prepared.channel.rated_volt, prepared.typical.joints
    if volt is None:
        return None
    leads = [number for _, number in prepared.typical.leads if joints[number].loop_ohm]

    def watt(at: int) -> float:
        return sum(abs(volt * state.ampere[each][at]) ** 2 * joints[each].loop_ohm for each in leads)

    return _most(hertz, watt)


def nominal(boxes: Iterable[Box]) -> tuple[str, ...]:
    """How low loudspeakers are taken of which no impedance over frequency is known."""
    return tuple(dict.fromkeys(NOMINAL if box.least is None else SAID for box in boxes))


def _assumes(prepared: Prepared) -> tuple[str, ...]:
    found: list[str] = []
    for law, band, box in zip(prepared.laws, prepared.bands, prepared.boxes, strict=True):
        if law is None:
            found += nominal([box])
        else:
            found += law.assumes
            found += [BEYOND] if band is not None and uncovered(law, *band) else []
    if prepared.resistive and PHASE_UNKNOWN not in found and len(prepared.laws) > 1:
        found.append(PHASE_OF_RATED)
    return tuple(dict.fromkeys(found))
