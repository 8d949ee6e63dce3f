"""The figures of one amplifier channel or bridged pair: its load, its output, its loudspeakers and its leads."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from attrs import evolve, frozen

from rigspec.figures.lines import taps_alone
from rigspec.figures.load import Box, Corner, NetworkFigures, before_ohm, solve_run
from rigspec.figures.rated import alone_w, limits, most_given, output_ohm, rated_volt
from rigspec.figures.signal import Contribution, Feeds, amplifier_gain_db
from rigspec.figures.trace import Run, Turn
from rigspec.figures.values import BoxFigures, ChannelFigures, LeadFigures
from rigspec.rig.model import Gear, Measure, Output, Piece, entries, inversion
from rigspec.solve.ampacity import Ampacity, ampacity_ampere
from rigspec.solve.conductor import warmed_c
from rigspec.solve.decibel import dbu_to_volt, ratio_to_gain
from rigspec.text.value import Value

# The temperatures that the tables of `solve/ampacity.py` are for.
HOTTEST_C = 70.0
HOTTEST_GAUGE_C = 60.0


@frozen(eq=False, repr=False)
class _Networks(Value):
    """A run solved at both ends of what is given as a range, and without copper where something hangs in series.

    ``low`` and ``high`` give the lowest and the highest load, ``best`` and ``worst`` the least and the most loss.
    """

    typical: NetworkFigures
    low: NetworkFigures
    high: NetworkFigures
    best: NetworkFigures
    worst: NetworkFigures
    ideal: tuple[NetworkFigures, NetworkFigures, NetworkFigures] | None


@frozen(eq=False, repr=False)
class ChannelLoad(Value):
    """What hangs on an output, and its network as rated. ``air_said``: the rig says how warm its leads are."""

    run: Run
    boxes: tuple[Box, ...]
    typical: NetworkFigures
    case: Corner
    air_said: bool


def channel_figures(
    hung: ChannelLoad,
    beside: tuple[tuple[str, float], ...],
    parts: tuple[Contribution, ...],
    arriving: tuple[Contribution, ...],
    in_doubt: bool,
    feeds: Feeds,
) -> ChannelFigures:
    """Everything about one output: ``parts`` is the signal at it, ``arriving`` that at the input which it carries.

    ``in_doubt``: what is fed to that input lies behind a fault.
    ``beside`` are the loads that the halves of a bridged pair carry alone.
    """
    run, typical, case = hung.run, hung.typical, hung.case
    output, gear = run.output, run.output.gear
    solved = _networks(run, hung.boxes, typical, case)
    assumes = list(typical.assumes)
    if typical.lead_ohm:
        assumes.append(copper_note(case.copper_c, hung.air_said))
    assumes += taps_alone(hung.boxes)
    load_assumes = tuple(assumes)
    halves = _halves(output, typical.load_ohm, beside)
    limit, limit_assumed, bridge_limit = limits(gear, len(halves) == 2)
    volt, note = rated_volt(gear, typical.load_ohm, halves, limit)
    assumes += [text for text in (note, limit_assumed) if text]
    volt_limit, ampere_limit = most_given(gear, bool(halves))
    level_assumes = tuple(dict.fromkeys(text for part in parts if part.gain_db is not None for text in part.assumes))
    level, peak = (feeds.level(parts, word) for word in ("level", "peak"))
    nominal_wanted = None if level is None else dbu_to_volt(level.dbu)
    peak_wanted = None if peak is None else dbu_to_volt(peak.worst_dbu)  # what may be alike is taken as alike
    nominal_volt, peak_volt = _capped(nominal_wanted, volt), _capped(peak_wanted, volt)
    clips = nominal_volt is not None and nominal_wanted is not None and nominal_wanted > nominal_volt * 1.0001
    volts = (volt, nominal_volt, peak_volt, nominal_wanted, peak_wanted)
    source_ohm = output_ohm(gear, bool(halves))
    return ChannelFigures(
        output=output,
        load_ohm=typical.load_ohm,
        least_seen_ohm=solved.low.load_ohm,
        most_seen_ohm=solved.high.load_ohm,
        halves=halves,
        least_halves=_halves(output, solved.low.load_ohm, beside),
        limit=limit,
        limit_assumed=limit_assumed,
        bridge_limit=bridge_limit,
        source_ohm=source_ohm,
        volt_limit=volt_limit,
        ampere_limit=ampere_limit,
        limited_by=_limited_by(volt, typical.load_ohm, volt_limit, ampere_limit),
        gain_db=_gain_db(gear, output),
        rated_volt=volt,
        rated_w=None if volt is None else volt**2 / typical.load_ohm,
        alone_w=None if halves else alone_w(gear, typical.load_ohm, limit),
        input_dbu=None if (at_input := feeds.level(arriving)) is None else at_input.dbu,
        level=level,
        peak=peak,
        nominal_volt=nominal_volt,
        peak_volt=peak_volt,
        clips=clips,
        boxes=tuple(_box(box, run, solved, parts, in_doubt, volts, source_ohm) for box in hung.boxes),
        leads=_leads(output, typical, volt, case),
        parts=parts,
        load_assumes=load_assumes,
        rated_assumes=tuple(assumes),
        level_assumes=level_assumes,
    )


def copper_note(copper_c: float, said: bool) -> str:
    """What is taken for the temperature of the leads; ``said``: the rig says that of its air."""
    return f"copper at {copper_c:.3g} degC{', as the air' if said else ''}; warm copper has more"


def _networks(run: Run, hung: tuple[Box, ...], typical: NetworkFigures, case: Corner) -> _Networks:
    measures = [m for box in hung if (m := box.impedance) is not None]
    loads = any(m.low != m.high for m in measures)
    if not loads and not any(ranged(piece) for piece in run.pieces if piece.what == "lead"):
        ends = [typical] * 4
    else:
        ends = []
        for copper, impedance in ((-1, -1), (1, 1), (-1, 1), (1, -1)):
            end = solve_run(run, hung, evolve(case, copper=copper, impedance=impedance))
            assert end is not None  # figures that move change ohms, never what is connected
            ends.append(end)
    low, high, best, worst = ends
    ideal = None
    if run.splits:  # without copper, what hangs in series still shares the voltage
        bare = [solve_run(run, hung, evolve(case, impedance=impedance), copper=False) for impedance in (0, 1, -1)]
        ideal = tuple(each for each in bare if each is not None)
    return _Networks(typical, low, high, best, worst, ideal if ideal and len(ideal) == 3 else None)


def ranged(piece: Piece) -> bool:
    """Is the size or the length of a lead given as a range or with a tolerance?"""
    spec = piece.spec
    return spec is not None and any(m is not None and m.low != m.high for m in (spec.area_mm2, spec.awg, spec.length))


def _limited_by(volt: float | None, load_ohm: float, volt_limit: float | None, ampere_limit: float | None) -> str:
    """Which of the output's limits binds at its rated output into this load."""
    if volt is None or volt_limit is None or ampere_limit is None:
        return ""
    if volt >= volt_limit * 0.9999:
        return "voltage"
    return "current" if volt / load_ohm >= ampere_limit * 0.9999 else "supply"


def _leads(output: Output, solved: NetworkFigures, rated_volt: float | None, case: Corner) -> tuple[LeadFigures, ...]:
    """Every lead of a run, at the amplifier's rated output."""
    leads = []
    for piece, ohm in solved.lead_ohm.items():
        ampere = None if rated_volt is None else solved.lead_ampere[piece] * rated_volt
        watt = None if ampere is None else ampere**2 * ohm
        capacity, hot_c = _heat(piece, ampere, case)
        leads.append(LeadFigures(piece, output.key, ohm, ampere, watt, solved.lead_loss_db[piece], capacity, hot_c))
    return tuple(leads)


def _heat(piece: Piece, ampere: float | None, case: Corner) -> tuple[float | None, float | None]:
    """What a lead carries for ever in this air, and how warm its copper gets if ``ampere`` flow for ever."""
    spec = piece.spec
    assert spec is not None  # only leads have ohms
    area, awg = spec.area_mm2, spec.awg
    pairs = piece.gear.count("pairs", 1) if piece.gear is not None else 1
    found = _capacity(area.low if area else None, awg.high if awg else None, case.copper_c, pairs)
    if found is None:
        return None, None
    hottest_c = HOTTEST_C if area else HOTTEST_GAUGE_C
    warm_c = None if ampere is None else warmed_c(ampere, found.ampere, case.copper_c, hottest_c)
    return found.ampere, warm_c


@lru_cache(maxsize=512)
def _capacity(area_mm2: float | None, awg: float | None, air_c: float, pairs: int) -> Ampacity | None:
    return ampacity_ampere(area_mm2=area_mm2, awg=awg, air_c=air_c, bunched=pairs)


def _halves(output: Output, load_ohm: float, beside: tuple[tuple[str, float], ...]) -> tuple[tuple[str, float], ...]:
    """What each half of a bridged pair sees: half the bridged load, beside anything that hangs on the half alone."""
    channels = output.halves
    if len(channels) != 2:
        return ()
    halves = []
    for channel in channels:
        siemens = 2 / load_ohm
        siemens += sum(1 / ohm for half, ohm in beside if half == channel)
        halves.append((channel, 1 / siemens))
    return tuple(halves)


def _capped(volt: float | None, rated_volt: float | None) -> float | None:
    return None if volt is None or rated_volt is None else min(volt, rated_volt)


def _gain_db(gear: Gear, output: Output) -> float | None:
    """The gain of a channel with its control; a bridged pair gives twice the voltage between its two hot poles."""
    halves = output.halves
    gain_db, _ = amplifier_gain_db(gear, halves[0])
    return gain_db if gain_db is None or len(halves) < 2 else gain_db + ratio_to_gain(2.0)


def _box(
    box: Box,
    run: Run,
    solved: _Networks,
    parts: tuple[Contribution, ...],
    in_doubt: bool,
    volts: Sequence[float | None],
    source_ohm: float | None,
) -> BoxFigures:
    share = solved.typical.box_volt[box.key]
    losses = _losses(box, solved)
    least_power, most_power = _power_ends(box, solved)
    assert box.impedance_ohm is not None
    rated_w, nominal_w, peak_w, nominal_wanted_w, peak_wanted_w = (
        None if volt is None else (volt * share) ** 2 / box.impedance_ohm for volt in volts
    )
    before = None if source_ohm is None else before_ohm(run, box, solved.typical, source_ohm)
    continuous, peak = ratings(box)
    return BoxFigures(
        box=box,
        channel=run.output.key,
        share_volt=share,
        least_power=least_power,
        most_power=most_power,
        loss_db=losses[0],
        loss_low_db=losses[1],
        loss_high_db=losses[2],
        damping=None if not before else box.impedance_ohm / before,
        rated_w=rated_w,
        nominal_w=nominal_w,
        peak_w=None if peak_w is None else 2 * peak_w,  # a sine's instantaneous peak is twice its mean power
        nominal_wanted_w=nominal_wanted_w,
        peak_wanted_w=None if peak_wanted_w is None else 2 * peak_wanted_w,
        parts=parts,
        in_doubt=in_doubt,
        own_turns=box.arrival.turns + turned_inside(box.gear, box.way),
        continuous=continuous,
        peak=peak,
    )


def _losses(box: Box, solved: _Networks) -> list[float]:
    """What the leads cost a loudspeaker in dB: typically, at the least and at the most."""
    networks = (solved.typical, solved.best, solved.worst)
    bare = [1.0] * 3 if solved.ideal is None else [each.box_volt[box.key] for each in solved.ideal]
    return [
        max(ratio_to_gain(without / here.box_volt[box.key]), 0.0) if here.box_volt[box.key] > 0 else 0.0
        for here, without in zip(networks, bare, strict=True)
    ]


def _power_ends(box: Box, solved: _Networks) -> tuple[float, float]:
    """The least and the most power for a given voltage at the amplifier, over the typical one."""
    usual = solved.typical.box_volt[box.key] ** 2 / box.ohm()
    if solved.low is solved.typical or usual <= 0:
        return 1.0, 1.0
    ends = ((solved.low, -1), (solved.high, 1), (solved.best, 1), (solved.worst, -1))
    powers = [each.box_volt[box.key] ** 2 / box.ohm(Corner(impedance=end)) / usual for each, end in ends]
    return min(1.0, *powers), max(1.0, *powers)


_PAIR_OF_WAY = {"low": "1", "high": "2"}  # of a four-pole connector (common practice, no source)


def turned_inside(gear: Gear, way: str) -> tuple[Turn, ...]:
    """The turns inside a loudspeaker: of the whole box, of the numbered pair of a way, of the way itself."""
    turns = []
    whole = inversion(gear.facts, _PAIR_OF_WAY.get(way, "") if way else "1")
    if whole is not None:
        turns.append(Turn(whole.span, f"{gear.full} is inverted inside"))
    own = gear.way(way).get("inverted") if way else None
    if own is not None:
        turns.append(Turn(own.span, f"the {way} way of {gear.full} is inverted inside"))
    return tuple(turns)


def ratings(box: Box) -> tuple[Measure | None, Measure | None]:
    """The continuous and the peak rating of a loudspeaker or a way, where they are given."""
    facts = box.gear.way(box.way)
    found: dict[str, Measure] = {}
    for each in entries(facts, "rated"):
        power = each.get("power")
        for word in each.words:
            if power is not None:
                found.setdefault(word, power)
    return found.get("continuous"), found.get("peak")
