"""Every figure of a rig: what each channel sees and gives, what reaches each loudspeaker, what each lead costs."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import frozen

from rigspec.load import LONGEST, SHORTEST, TYPICAL, Box, NetworkFigures, box_of, solve_run
from rigspec.rig import Entry, Gear, Measure, Output, Piece, Rig, inversion
from rigspec.signal import Part, Signals, amplifier_gain_db, level_dbu
from rigspec.solve.amplifier import RatedPoint, bridged_points, rated_output
from rigspec.solve.decibel import dbu_to_volt, ratio_to_gain
from rigspec.trace import Run, Trace, Turn, trace
from rigspec.value import Value

COPPER = "copper at 20 degC; warm copper has more"


@frozen(eq=False, repr=False)
class BoxFigures(Value):
    """What reaches a loudspeaker or one way of it. Powers are watts into the rated impedance, None where not known.

    ``rated_w``: with the amplifier at its rated output for this load. ``nominal_w``: at the level that the feed
    delivers, never above the amplifier's rated output. ``peak_w``: the instantaneous peak at the feed's peak level.
    ``nominal_wanted_w`` and ``peak_wanted_w`` are the same without the amplifier's limit: what the feed asks for.
    ``loss_db`` is what the leads cost, with their worst sizes and lengths. ``parts`` are the feeds that it carries.
    """

    box: Box
    channel: str
    share_volt: float
    loss_db: float
    rated_w: float | None
    nominal_w: float | None
    peak_w: float | None
    nominal_wanted_w: float | None
    peak_wanted_w: float | None
    parts: tuple[Part, ...]
    own_turns: tuple[Turn, ...]
    continuous: Measure | None
    peak: Measure | None

    @property
    def key(self) -> str:
        return self.box.key


@frozen(eq=False, repr=False)
class LeadFigures(Value):
    """A lead: ohms there and back, and what it carries and burns at the amplifier's rated output."""

    piece: Piece
    channel: str
    loop_ohm: float
    ampere: float | None
    watt: float | None
    loss_db: float


@frozen(eq=False, repr=False)
class ChannelFigures(Value):
    """What an amplifier channel or a bridged pair sees and gives.

    ``load_ohm`` holds leads of typical length; ``least_seen_ohm`` the shortest and thickest that are said. ``halves``
    gives for each channel of a bridged pair what that half sees. ``limit`` is the least load each half stands, where
    it was said, ``bridge_limit`` that of the pair. ``load_assumes`` is what the load rests on,
    ``rated_assumes`` what the rated output rests on, ``level_assumes`` what the levels do.
    """

    output: Output
    load_ohm: float
    least_seen_ohm: float
    halves: tuple[tuple[str, float], ...]
    limit: Measure | None
    limit_assumed: str
    bridge_limit: Measure | None
    rated_volt: float | None
    rated_w: float | None
    input_dbu: float | None
    nominal_volt: float | None
    peak_volt: float | None
    clips: bool
    boxes: tuple[BoxFigures, ...]
    leads: tuple[LeadFigures, ...]
    parts: tuple[Part, ...]
    load_assumes: tuple[str, ...]
    rated_assumes: tuple[str, ...]
    level_assumes: tuple[str, ...]

    @property
    def assumes(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(self.rated_assumes + self.level_assumes))

    @property
    def key(self) -> str:
        return self.output.key

    @property
    def gear(self) -> Gear:
        return self.output.gear


@frozen(eq=False, repr=False)
class Figures(Value):
    """All figures of a rig, by the key of the channel or loudspeaker; ``unknown`` says why a channel has none."""

    rig: Rig
    trace: Trace
    signals: Signals
    channels: Mapping[str, ChannelFigures]
    boxes: Mapping[str, BoxFigures]
    unknown: Mapping[str, str]


def figures(rig: Rig) -> Figures:
    """Work out a rig. Nothing is guessed: what cannot be known is None, and what stood in for it is said."""
    traced = trace(rig.wiring)
    signals = Signals(rig, traced)
    for output in rig.wiring.outputs.values():
        signals.at_output(output)
    channels: dict[str, ChannelFigures] = {}
    boxes: dict[str, BoxFigures] = {}
    unknown: dict[str, str] = {}
    loads: dict[str, NetworkFigures] = {}
    runs = [run for run in traced.runs.values() if run.output.carries == "power"]
    prepared = {}
    for run in runs:
        found = _loads(run, unknown)
        if found is not None:
            prepared[run.output.key] = found
            loads[run.output.key] = found[1]
    for key, (hung, typical) in prepared.items():
        made = _channel(rig, signals, traced.runs[key], hung, typical, loads)
        channels[key] = made
        boxes.update({box.key: box for box in made.boxes})
    return Figures(rig, traced, signals, channels, boxes, unknown)


def line_volt(gear: Gear) -> float | None:
    """The voltage of the distributed line that an amplifier drives, if it drives one."""
    line = gear.measure("line", "voltage")
    return line.value if line else None


def _loads(run: Run, unknown: dict[str, str]) -> tuple[list[Box], NetworkFigures] | None:
    """The loudspeakers of a run and its network; None, with the reason kept, where a load is not known."""
    key = run.output.key
    if run.broken or run.output.gear.broken:
        unknown[key] = "a fault on the way leaves it unknown"
        return None
    arrivals = [arrival for arrival in run.arrivals if arrival.sink.gear.word == "speaker"]
    passive = [arrival for arrival in arrivals if "powered" not in arrival.sink.gear.facts]
    boxes = [box_of(arrival, line_volt(run.output.gear)) for arrival in passive]
    lacking = next((box.unknown for box in boxes if box.unknown), "")
    if lacking or any(box.gear.broken for box in boxes):
        unknown[key] = lacking or "a fault in a loudspeaker's data leaves it unknown"
        return None
    if not boxes:
        return None
    solved = solve_run(run, boxes)
    if solved is None:
        unknown[key] = "nothing closes the circuit"
        return None
    return boxes, solved


def _channel(
    rig: Rig,
    signals: Signals,
    run: Run,
    hung: list[Box],
    typical: NetworkFigures,
    loads: Mapping[str, NetworkFigures],
) -> ChannelFigures:
    output = run.output
    gear = output.gear
    ranged = any(_ranged(piece) for piece in run.pieces if piece.what == "lead")
    light = solve_run(run, hung, SHORTEST) if ranged else typical
    heavy = solve_run(run, hung, LONGEST) if ranged else typical
    assert light is not None  # lengths change ohms, never what is connected
    assert heavy is not None
    ideal = solve_run(run, hung, TYPICAL, copper=False) if run.splits else None
    assumes = list(typical.assumes)
    if typical.lead_ohm:
        assumes.append(COPPER)
    load_assumes = tuple(assumes)
    halves = _halves(output, typical.load_ohm, loads)
    limit, limit_assumed, bridge_limit = _limits(gear, len(halves) == 2)
    rated_volt, note = _rated_volt(gear, typical.load_ohm, halves, limit)
    assumes += [text for text in (note, limit_assumed) if text]
    parts = signals.at_output(output)
    level_assumes = tuple(dict.fromkeys(text for part in parts if part.gain_db is not None for text in part.assumes))
    nominal_wanted, peak_wanted = (_wanted_volt(rig, parts, word) for word in ("level", "peak"))
    nominal_volt, peak_volt = _capped(nominal_wanted, rated_volt), _capped(peak_wanted, rated_volt)
    clips = nominal_volt is not None and nominal_wanted is not None and nominal_wanted > nominal_volt * 1.0001
    volts = (rated_volt, nominal_volt, peak_volt, nominal_wanted, peak_wanted)
    boxes = tuple(_box(box, output, typical, heavy, ideal, parts, volts) for box in hung)
    return ChannelFigures(
        output=output,
        load_ohm=typical.load_ohm,
        least_seen_ohm=light.load_ohm,
        halves=_halves(output, light.load_ohm, loads) if ranged else halves,
        limit=limit,
        limit_assumed=limit_assumed,
        bridge_limit=bridge_limit,
        rated_volt=rated_volt,
        rated_w=None if rated_volt is None else rated_volt**2 / typical.load_ohm,
        input_dbu=_input_dbu(rig, parts, gear, output),
        nominal_volt=nominal_volt,
        peak_volt=peak_volt,
        clips=clips,
        boxes=boxes,
        leads=_leads(output, typical, rated_volt),
        parts=parts,
        load_assumes=load_assumes,
        rated_assumes=tuple(assumes),
        level_assumes=level_assumes,
    )


def _leads(output: Output, solved: NetworkFigures, rated_volt: float | None) -> tuple[LeadFigures, ...]:
    """Every lead of a run, at the amplifier's rated output."""
    leads = []
    for piece, ohm in solved.lead_ohm.items():
        ampere = None if rated_volt is None else solved.lead_ampere[piece] * rated_volt
        watt = None if ampere is None else ampere**2 * ohm
        leads.append(LeadFigures(piece, output.key, ohm, ampere, watt, solved.lead_loss_db[piece]))
    return tuple(leads)


def _ranged(piece: Piece) -> bool:
    spec = piece.spec
    return spec is not None and any(m is not None and m.low != m.high for m in (spec.area_mm2, spec.awg, spec.length))


def _halves(output: Output, load_ohm: float, loads: Mapping[str, NetworkFigures]) -> tuple[tuple[str, float], ...]:
    """What each half of a bridged pair sees: half the bridged load, beside anything that hangs on the half alone."""
    channels = output.port.split("+")
    if len(channels) != 2:
        return ()
    halves = []
    for channel in channels:
        siemens = 2 / load_ohm
        alone = loads.get(f"{output.gear.full}.{channel}")
        if alone is not None:
            siemens += 1 / alone.load_ohm
        halves.append((channel, 1 / siemens))
    return tuple(halves)


def _entries(gear: Gear, word: str) -> tuple[Entry, ...]:
    given = gear.facts.get(word)
    return given.entries if given else ()


def _limits(gear: Gear, bridged: bool) -> tuple[Measure | None, str, Measure | None]:
    """The least load of a channel as said, or the lowest rated load in its place; and that of a bridged pair."""
    said = [(each.get("resistance"), "bridge" in each.words) for each in _entries(gear, "least-load")]
    single = next((m for m, bridge in said if m and not bridge), None)
    pair = next((m for m, bridge in said if m and bridge), None) if bridged else None
    if single is not None:
        return single, "", pair
    rated = [m for each in _entries(gear, "rated") if "bridge" not in each.words and (m := each.get("resistance"))]
    lowest = min(rated, key=lambda m: m.value, default=None)
    if lowest is None:
        return None, "", pair
    return lowest, f"no least load of {gear.full} is given: the lowest rated load stands for it", pair


def rated_points(gear: Gear, mode: str) -> list[RatedPoint]:
    """The rated points of an amplifier: ``all`` channels driven, one ``alone``, or ``bridge``."""
    points = []
    for each in _entries(gear, "rated"):
        own = "bridge" if "bridge" in each.words else "alone" if "alone" in each.words else "all"
        power, load, volt = each.get("power"), each.get("resistance"), each.get("voltage")
        if own != mode or power is None or power.value <= 0:
            continue
        if load is not None and load.value > 0:
            points.append(RatedPoint(load.value, power.value))
        elif (at := volt.value if volt else line_volt(gear)) is not None:
            points.append(RatedPoint(at * at / power.value, power.value))
    return points


def _rated_volt(
    gear: Gear, load_ohm: float, halves: tuple[tuple[str, float], ...], limit: Measure | None
) -> tuple[float | None, str]:
    """The rated output voltage into this load, and what was assumed for it."""
    note = ""
    points = rated_points(gear, "all")
    if not points:
        points = rated_points(gear, "alone")
        if points:
            note = f"only one-channel ratings of {gear.full} are given; less may be left with all channels driven"
    least_ohm = judged(limit) if limit else 0.0
    seen = load_ohm
    if halves:
        bridge = rated_points(gear, "bridge")
        if bridge:
            note = ""
        elif points:
            note = f"no bridged rating of {gear.full} is given: twice that of each channel into half the load"
        points = bridge or bridged_points(points)
        least_ohm *= 2
        seen = 2 * min(ohm for _, ohm in halves)
    line = line_volt(gear)
    rated = rated_output(points, seen, least_ohm if line is None else min(least_ohm, seen))
    if rated is None:
        return None, ""
    return rated.volt, "; ".join(text for text in (note, rated.assumes) if text)


def judged(limit: Measure) -> float:
    """The least load that still keeps a limit, with its printed precision in mind.

    A rating that is no whole number of ohms is a rounded fraction of a usual impedance (2.7 ohm is 8/3): a load within
    2 % below it keeps it. A whole number is that number, however it is spelt.
    """
    whole = abs(limit.value - round(limit.value)) < 1e-9
    return limit.value * (0.9999 if whole else 0.98)


def _wanted_volt(rig: Rig, parts: tuple[Part, ...], word: str) -> float | None:
    """The output voltage that the feeds' level or peak asks for, whatever the amplifier can give."""
    dbu = level_dbu(parts, {part.feed: rig.gear[part.feed].measure(word, "level") for part in parts})
    return None if dbu is None else dbu_to_volt(dbu)


def _capped(volt: float | None, rated_volt: float | None) -> float | None:
    return None if volt is None or rated_volt is None else min(volt, rated_volt)


def _input_dbu(rig: Rig, parts: tuple[Part, ...], gear: Gear, output: Output) -> float | None:
    dbu = level_dbu(parts, {part.feed: rig.gear[part.feed].measure("level", "level") for part in parts})
    halves = output.port.split("+")
    gain_db, _ = amplifier_gain_db(gear, halves[0])
    if dbu is None or gain_db is None:
        return None
    return dbu - gain_db - (ratio_to_gain(2.0) if len(halves) == 2 else 0.0)


def _box(
    box: Box,
    output: Output,
    typical: NetworkFigures,
    heavy: NetworkFigures,
    ideal: NetworkFigures | None,
    parts: tuple[Part, ...],
    volts: Sequence[float | None],
) -> BoxFigures:
    share = typical.box_volt[box.key]
    without_copper = ideal.box_volt[box.key] if ideal else 1.0
    lowest = heavy.box_volt[box.key]
    loss_db = ratio_to_gain(without_copper / lowest) if lowest > 0 else 0.0
    assert box.impedance_ohm is not None
    rated_w, nominal_w, peak_w, nominal_wanted_w, peak_wanted_w = (
        None if volt is None else (volt * share) ** 2 / box.impedance_ohm for volt in volts
    )
    continuous, peak = ratings(box)
    return BoxFigures(
        box,
        output.key,
        share,
        max(loss_db, 0.0),
        rated_w,
        nominal_w,
        None if peak_w is None else 2 * peak_w,  # a sine's instantaneous peak is twice its mean power
        nominal_wanted_w,
        None if peak_wanted_w is None else 2 * peak_wanted_w,
        parts,
        box.arrival.turns + _turned_inside(box),
        continuous,
        peak,
    )


_PAIR_OF_WAY = {"low": "1", "high": "2"}  # of a four-pole connector (common practice, no source)


def _turned_inside(box: Box) -> tuple[Turn, ...]:
    """The turns inside a loudspeaker: of the whole box, of the numbered pair of a way, of the way itself."""
    turns = []
    whole = inversion(box.gear.facts, _PAIR_OF_WAY.get(box.way, "") if box.way else "1")
    if whole is not None:
        turns.append(Turn(whole.span, f"{box.gear.full} is inverted inside"))
    own = box.gear.way(box.way).get("inverted") if box.way else None
    if own is not None:
        turns.append(Turn(own.span, f"the {box.way} way of {box.gear.full} is inverted inside"))
    return tuple(turns)


def ratings(box: Box) -> tuple[Measure | None, Measure | None]:
    """The continuous and the peak rating of a loudspeaker or a way, where they are given."""
    facts = box.gear.way(box.way) if box.way else box.gear.facts
    given = facts.get("rated")
    found: dict[str, Measure] = {}
    for each in given.entries if given else ():
        power = each.get("power")
        for word in each.words:
            if power is not None:
                found.setdefault(word, power)
    return found.get("continuous"), found.get("peak")
