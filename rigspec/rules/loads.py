"""Rules about loads, powers and leads: what amplifiers and loudspeakers stand, and what the copper costs."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence

from rigspec.figures import BoxFigures, ChannelFigures, Figures, judged, line_volt, rated_points
from rigspec.finding import Edit, Finding, Fix, Label, Severity
from rigspec.load import LONGEST, lead_conductor
from rigspec.rig import Gear, Measure, Piece
from rigspec.rules.rule import Rule
from rigspec.solve.conductor import next_size_up
from rigspec.solve.decibel import gain_to_ratio
from rigspec.source import Span
from rigspec.units import show, show_pair

PEAK_OVER_CONTINUOUS = 4.0  # crest factor 2, IEC 60268-1 programme noise as used by IEC 60268-5 (from memory)
PROGRAMME_OVER_CONTINUOUS = 2.0  # common practice, no source
LEAD_LOSS_DB = 1.0  # common practice, no source


def _listed(names: Sequence[str], most: int = 4) -> str:
    few = list(names[:most])
    return ", ".join(few) + (f" and {len(names) - most} more" if len(names) > most else "")


def _said(figures: Figures, channel: ChannelFigures, most: int = 6) -> list[Label]:
    """The places where the loads of a channel are said: each hop once, with what it adds."""
    places: dict[Span, tuple[BoxFigures, list[str]]] = {}
    for box in channel.boxes:
        span = box.box.arrival.sink.span
        places.setdefault(span, (box, []))[1].append(box.key)
    labels = []
    for span, (box, keys) in list(places.items())[:most]:
        ohm = show(box.box.impedance_ohm or 0.0, "resistance")
        count = f"{len(keys)} boxes of {ohm}" if len(keys) > 1 else f"{keys[0]}: {ohm}"
        labels.append(Label(span, count))
    return labels


def _suited(figures: Figures) -> Iterable[ChannelFigures]:
    """The channels whose boxes suit them; what else would be said of the others follows from `line-mismatch`."""
    for channel in figures.channels.values():
        lined = line_volt(channel.gear) is not None
        if all(box.box.tapped == lined for box in channel.boxes):
            yield channel


def load_too_low(figures: Figures) -> Iterable[Finding]:
    """The load of a channel, of a half of a bridged pair or of the pair lies below what the amplifier stands."""
    for channel in _suited(figures):
        volt = line_volt(channel.gear)
        if volt is not None:
            yield from _line_overloaded(figures, channel, volt)
            continue
        limit = channel.limit
        if channel.halves and limit is not None:
            worst, ohm = min(channel.halves, key=lambda half: half[1])
            if ohm < judged(limit):
                across = show(channel.least_seen_ohm, "resistance")
                what = f"each half of {channel.key} sees {{}} ({across} across the bridge is half of that on each side)"
                yield _low(figures, channel, ohm, limit, what, f"{channel.gear.full}.{worst}")
                continue
        elif limit is not None and channel.least_seen_ohm < judged(limit):
            yield _low(figures, channel, channel.least_seen_ohm, limit, f"{channel.key} works into {{}}", channel.key)
            continue
        pair = channel.bridge_limit
        if pair is not None and channel.least_seen_ohm < judged(pair):
            yield _low(figures, channel, channel.least_seen_ohm, pair, f"{channel.key} works into {{}}", channel.key)


def _low(figures: Figures, channel: ChannelFigures, ohm: float, limit: Measure, what: str, half: str) -> Finding:
    computed, allowed = show_pair(ohm, limit.value, "resistance")
    assumes = (channel.limit_assumed,) if channel.limit_assumed and limit is channel.limit else ()
    return Finding(
        "load-too-low",
        channel.output.span,
        f"{what.format(computed)}, less than the {allowed} it stands",
        label=f"{computed} here",
        related=(Label(limit.span, f"this sets the limit: {limit.text}"), *_said(figures, channel)),
        computed=computed,
        allowed=f"at least {allowed}",
        assumes=assumes,
        help=_lighter(channel, ohm, limit),
        subject=channel.key if half != channel.key else half,
    )


def _lighter(channel: ChannelFigures, ohm: float, limit: Measure) -> str:
    """What would bring the load back: with equal boxes in parallel, how many the channel carries."""
    advice = "move boxes to another channel, use boxes of a higher impedance, or an amplifier with a lower least load"
    loads = {round(box.box.impedance_ohm or 0.0, 6) for box in channel.boxes}
    if len(loads) != 1 or len(channel.boxes) < 2:
        return advice
    each = loads.pop()
    seen = 2 if channel.halves else 1
    fit = int(each / (judged(limit) * seen) + 1e-9)
    if 0 < fit < len(channel.boxes):
        return (
            f"{advice}; {fit} of these {show(each, 'resistance')} boxes would fit here, {len(channel.boxes)} hang on it"
        )
    return advice


def _line_overloaded(figures: Figures, channel: ChannelFigures, volt: float) -> Iterable[Finding]:
    points = rated_points(channel.gear, "all")
    if not points:
        return
    rated = max(point.power_w for point in points)
    taps = [box.box.impedance for box in channel.boxes if box.box.tapped and box.box.impedance]
    drawn = volt * volt * sum(1 / (box.box.impedance_ohm or 1e12) for box in channel.boxes)
    if drawn <= rated * 1.0001 or len(taps) != len(channel.boxes):
        return
    computed, allowed = show_pair(drawn, rated, "power")
    given = next(m for each in channel.gear.facts["rated"].entries if (m := each.get("power")))
    places = {box.box.arrival.sink.span: box.key for box in channel.boxes}
    yield Finding(
        "load-too-low",
        channel.output.span,
        f"the line on {channel.key} takes {computed}, more than the {allowed} it gives",
        label=f"{len(taps)} taps, {computed} together",
        related=(
            Label(given.span, f"this sets the limit: {given.text}"),
            *(Label(span, f"{key} hangs here") for span, key in list(places.items())[:4]),
        ),
        computed=f"{computed} at {show(volt, 'voltage')}, a load of {show(channel.load_ohm, 'resistance')}",
        allowed=f"at most {allowed}",
        help="set lower taps, or move boxes to another channel",
        subject=channel.key,
    )


def box_over_continuous(figures: Figures) -> Iterable[Finding]:
    """More mean power than a loudspeaker stands: at the feed's level, or by the amplifier alone where none is given."""
    yield from _worst_of_each(figures, _over_continuous)


def box_over_peak(figures: Figures) -> Iterable[Finding]:
    """A higher peak than a loudspeaker stands."""
    yield from _worst_of_each(figures, _over_peak)


def _worst_of_each(figures: Figures, judge: Callable[[BoxFigures], tuple[float, Finding] | None]) -> Iterable[Finding]:
    """One finding for the boxes of one kind on one channel: the worst of them speaks for all."""
    from itertools import groupby

    for channel in _suited(figures):
        faults = [(over, box, finding) for box in channel.boxes if (found := judge(box)) for over, finding in [found]]
        faults.sort(key=lambda fault: (id(fault[1].box.gear.kind), fault[1].box.way, -fault[0]))
        for _, same in groupby(faults, key=lambda fault: (id(fault[1].box.gear.kind), fault[1].box.way)):
            group = list(same)
            finding = group[0][2]
            others = tuple(
                Label(box.box.arrival.sink.span, f"{box.key} likewise")
                for _, box, _ in group[1:4]
                if box.box.arrival.sink.span != finding.span
            )
            from attrs import evolve

            yield evolve(finding, related=finding.related + others)


def _over_continuous(box: BoxFigures) -> tuple[float, Finding] | None:
    limit = box.continuous
    assumes: tuple[str, ...] = ()
    if limit is None or limit.value <= 0:
        return None
    if box.nominal_w is not None:
        watt, allowed_w = box.nominal_w, limit.value
        what = "at the feed's level"
    elif box.rated_w is not None:
        watt, allowed_w = box.rated_w, PROGRAMME_OVER_CONTINUOUS * limit.value
        what = "with the amplifier at its rated output"
        assumes = (
            "no level of a feed is known here, so the amplifier's rated output is held against twice the continuous"
            " rating (programme; common practice, no source)",
        )
    else:
        return None
    if watt <= allowed_w * 1.0001:
        return None
    return watt / allowed_w, _over(box, "box-over-continuous", watt, allowed_w, limit, what, assumes)


def _over_peak(box: BoxFigures) -> tuple[float, Finding] | None:
    limit = box.peak
    assumes: tuple[str, ...] = ()
    if limit is None and box.continuous is not None:
        limit = box.continuous
        assumes = (
            "no peak rating is given: four times the continuous one stands for it; crest factor 2, IEC 60268-5,"
            " from memory",
        )
    if limit is None or limit.value <= 0:
        return None
    allowed_w = limit.value * (1.0 if box.peak else PEAK_OVER_CONTINUOUS)
    watt = box.peak_w
    what = "at the feed's peak level"
    if watt is None and box.rated_w is not None:
        watt, what = 2 * box.rated_w, "with the amplifier at its rated output"
        assumes += ("no peak level of a feed is known here: the amplifier's rated output stands for it",)
    if watt is None or watt <= allowed_w * 1.0001:
        return None
    return watt / allowed_w, _over(box, "box-over-peak", watt, allowed_w, limit, what, assumes)


def _over(
    box: BoxFigures, rule: str, watt: float, allowed_w: float, limit: Measure, what: str, assumes: tuple[str, ...]
) -> Finding:
    computed, allowed = show_pair(watt, allowed_w, "power")
    from rigspec.solve.decibel import power_ratio_to_gain

    over_db = show(power_ratio_to_gain(watt / allowed_w), "gain")
    return Finding(
        rule,
        box.box.arrival.sink.span,
        f"{box.key} gets {computed} {what}, more than the {allowed} it stands",
        label=f"{computed} here",
        related=(Label(limit.span, f"this sets the limit: {limit.text}"),),
        computed=f"{computed} ({box.channel})",
        allowed=f"at most {allowed}",
        assumes=assumes,
        help=f"turn {box.channel} down by {over_db} (attenuator, pad or feed level), or limit it in the processor",
        subject=box.key,
    )


def lead_loss_high(figures: Figures) -> Iterable[Finding]:
    """The leads to a loudspeaker cost more level than they may; one finding for each longest way."""
    own = figures.rig.limit("lead-loss", "gain")
    limit_db = abs(own.value) if own else LEAD_LOSS_DB
    for channel in _suited(figures):
        run = figures.trace.runs[channel.key]
        worst: dict[Piece, tuple[BoxFigures, list[Piece], int]] = {}
        for box in channel.boxes:
            leads = run.leads_to(box.box.arrival.sink.joint)
            if box.loss_db <= limit_db * 1.0001 or not leads:
                continue
            known = worst.get(leads[0])
            count = known[2] + 1 if known else 1
            if known is None or box.loss_db > known[0].loss_db:
                worst[leads[0]] = (box, leads, count)
            else:
                worst[leads[0]] = (known[0], known[1], count)
        for box, leads, count in worst.values():
            yield _lossy(channel, box, leads, count, limit_db, own)


def _lossy(
    channel: ChannelFigures, box: BoxFigures, leads: list[Piece], count: int, limit_db: float, own: Measure | None
) -> Finding:
    computed, allowed = show_pair(box.loss_db, limit_db, "gain")
    costly = max(leads, key=lambda piece: 2 * lead_conductor(piece.spec, LONGEST)[0] if piece.spec else 0.0)
    lost = 1 - gain_to_ratio(-box.loss_db) ** 2
    also = f"; {count - 1} more on this lead lose too much" if count > 1 else ""
    ranged = any(m and m.low != m.high for p in leads if p.spec for m in (p.spec.length, p.spec.area_mm2, p.spec.awg))
    return Finding(
        "lead-loss-high",
        costly.span,
        f"the lead to {box.key} costs {computed}, {lost:.0%} of its power{also}",
        label=f"{computed} from {channel.key} to {box.key}",
        related=((Label(own.span, f"this rig's own limit: {own.text}"),) if own else ())
        + (Label(box.box.arrival.sink.span, f"{box.key} hangs here"),),
        computed=computed,
        allowed=f"at most {allowed}",
        assumes=("copper at 20 degC",) + (("the longest and thinnest that the range allows",) if ranged else ()),
        help=_thicker(box, costly, leads, limit_db),
        subject=box.key,
    )


def _thicker(box: BoxFigures, costly: Piece, leads: list[Piece], limit_db: float) -> str:
    """The next size that keeps the limit, and the longest length of this size that does (one lead, lumped load)."""
    spec = costly.spec
    if spec is None:
        return "use a thicker or a shorter lead"
    ohm = 2 * lead_conductor(spec, LONGEST)[0]
    # The loss of several leads and boxes is shared: the resistance this lead may have scales with the lead itself.
    others_db = (
        0.0
        if len(leads) == 1
        else box.loss_db * (1 - ohm / sum(2 * lead_conductor(p.spec, LONGEST)[0] for p in leads if p.spec))
    )
    own_db = box.loss_db - others_db
    if own_db <= 0 or limit_db <= others_db:
        return "use thicker or shorter leads all along the way"
    share = (gain_to_ratio(limit_db - others_db) - 1) / (gain_to_ratio(own_db) - 1)
    assert spec.length is not None
    longest = show(spec.length.high * share, "length")
    size = _next_size(costly, ohm * share)
    thicker = f"use {size}, or keep this size and stay" if size else "stay"
    return f"{thicker} under about {longest}; or move the amplifier nearer"


def _next_size(piece: Piece, allowed_ohm: float) -> str:
    from attrs import evolve

    spec = piece.spec
    assert spec is not None
    area, awg = spec.area_mm2, spec.awg
    for _ in range(12):
        size = next_size_up(area_mm2=area.low if area else None, awg=awg.high if awg and not area else None)
        if size is None:
            return ""
        if area is not None:
            area = evolve(area, value=size, low=size, high=size)
        elif awg is not None:
            awg = evolve(awg, value=size, low=size, high=size)
        if 2 * lead_conductor(evolve(spec, area_mm2=area, awg=awg), LONGEST)[0] <= allowed_ohm:
            return show(size, "area" if area else "gauge")
    return ""


def pairs_swapped(figures: Figures) -> Iterable[Finding]:
    """The low way of a loudspeaker gets the higher band, or pairs 1 and 2 of its lead go to the wrong ways."""
    for gear in figures.rig.gear.values():
        if gear.word != "speaker" or "high" not in gear.ways or gear.broken:
            continue
        low, high = figures.boxes.get(f"{gear.full}.low"), figures.boxes.get(f"{gear.full}.high")
        if low is None or high is None:
            continue
        centers = _center(low), _center(high)
        if centers[0] is not None and centers[1] is not None and centers[0] > centers[1]:
            yield _swapped(low, high, gear, f"its low way gets {_band(low)}, its high way {_band(high)}")
            continue
        if centers[0] is not None and centers[1] is not None:
            continue  # the bands are known and right, whichever pairs carry them
        pairs = [_pair_before(figures, box) for box in (low, high)]
        if pairs[0] and pairs[1] and pairs[0][0] is pairs[1][0] and (pairs[0][1], pairs[1][1]) == ("2", "1"):
            yield _swapped(
                low, high, gear, f"pair 2 of {pairs[0][0].full} goes to its low way and pair 1 to its high way"
            )


def _center(box: BoxFigures) -> float | None:
    bands = [(part.low_hz, part.high_hz) for part in box.parts]
    if not bands or all(low is None and high is None for low, high in bands):
        return None
    lowest = min(low or 20.0 for low, _ in bands)
    highest = max(high or 20_000.0 for _, high in bands)
    return float((lowest * highest) ** 0.5)


def _band(box: BoxFigures) -> str:
    lows = [part.low_hz for part in box.parts]
    highs = [part.high_hz for part in box.parts]
    low = min((hz for hz in lows if hz is not None), default=None) if None not in lows else None
    high = max((hz for hz in highs if hz is not None), default=None) if None not in highs else None
    if low is None:
        return "everything" if high is None else f"what is below {show(high, 'frequency')}"
    return (
        f"what is above {show(low, 'frequency')}"
        if high is None
        else (f"{show(low, 'frequency')} to {show(high, 'frequency')}")
    )


def _pair_before(figures: Figures, box: BoxFigures) -> tuple[Gear, str] | None:
    """The two-pair lead, and its pair, by which a way is reached."""
    leads = figures.trace.runs[box.channel].leads_to(box.box.arrival.sink.joint)
    for piece in reversed(leads):
        if piece.gear is not None and piece.gear.count("pairs", 1) == 2:
            return piece.gear, piece.name.rpartition(".")[2]
    return None


def _swapped(low: BoxFigures, high: BoxFigures, gear: Gear, what: str) -> Finding:
    ports = [box.box.arrival.sink.span for box in (low, high)]
    fix = None
    if ports[0].text.count(".low") == 1 and ports[1].text.count(".high") == 1:
        edits = (
            Edit(ports[0], ports[0].text.replace(".low", ".high")),
            Edit(ports[1], ports[1].text.replace(".high", ".low")),
        )
        fix = Fix("swap `.low` and `.high`", edits)
    return Finding(
        "pairs-swapped",
        ports[1],
        f"the low and high pairs of {gear.full} are swapped: {what}",
        label="bass would reach the high-frequency driver",
        related=(Label(ports[0], "and the other way here"),),
        help="swap the two ways, or the two crossover outputs, so that the low way gets the low band",
        fix=fix,
        subject=gear.full,
    )


def line_mismatch(figures: Figures) -> Iterable[Finding]:
    """A low-impedance box across a distributed line, or a box with a tap on an ordinary amplifier."""
    for channel in figures.channels.values():
        volt = line_volt(channel.gear)
        line = channel.gear.measure("line", "voltage")
        for box in channel.boxes:
            gear = box.box.gear
            span = box.box.arrival.sink.span
            if volt is not None and not box.box.tapped:
                assert line is not None
                ohm = box.box.impedance_ohm or 0.0
                yield Finding(
                    "line-mismatch",
                    span,
                    f"{box.key} of {show(ohm, 'resistance')} hangs across a {show(volt, 'voltage')} line",
                    label="no tap is set",
                    related=(Label(line.span, f"{channel.gear.full} drives a line"), Label(gear.span, "declared here")),
                    computed=f"{show(volt * volt / ohm, 'power')} into this box at full output",
                    allowed="a box with a line transformer, set to a tap",
                    help="use a box with taps and set one: `{ tap 12 W }`; or feed it from an ordinary channel",
                    subject=gear.full,
                )
            elif volt is None and box.box.tapped:
                assert box.box.impedance is not None
                yield Finding(
                    "line-mismatch",
                    span,
                    f"{box.key} is tapped for a line and hangs on {channel.key}, which drives none",
                    label=f"a load of {show(box.box.impedance_ohm or 0.0, 'resistance')}",
                    related=(Label(box.box.impedance.span, "its tap"), Label(channel.gear.span, "declared here")),
                    computed=f"{show(box.rated_w, 'power')} at rated output" if box.rated_w else "",
                    allowed="an amplifier with `line 100 V` or `line 70.7 V` in its data",
                    help="feed it from a line amplifier, or use a box without a transformer",
                    subject=gear.full,
                )


RULES = (
    Rule(
        "load-too-low",
        Severity.ERROR,
        "an amplifier works into a lower load than it stands",
        "it overheats, cuts out in the middle of the show, or fails",
        "the least load in its data; of each half where it is bridged; the rated power of a line",
        "the amplifier's data sheet, as the stock gives it; rated with rated; IEC 60268-3, from memory",
        "move boxes to another channel or use boxes of a higher impedance",
        "amp a is twin\nspeaker s[1..3] is sub\na.1 -> lead 4 mm2 2 m -> s[1..3] linked 4 mm2 1 m\n",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 4 mm2 2 m -> s[1..2] linked 4 mm2 1 m\n",
        load_too_low,
    ),
    Rule(
        "line-mismatch",
        Severity.ERROR,
        "a box does not suit the line it hangs on",
        "a low-impedance box across a line burns, and the amplifier with it; a tapped one elsewhere is barely heard",
        "tapped boxes on line amplifiers, others on ordinary ones",
        "common practice, no source; the load of a tap is V^2/P",
        "put the box where it belongs",
        "amp a is street\nspeaker b is box\na.1 -> lead 1.5 mm2 30 m -> b\n",
        "amp a is street\nspeaker h is horn { tap 15 W }\na.1 -> lead 1.5 mm2 30 m -> h\n",
        line_mismatch,
    ),
    Rule(
        "pairs-swapped",
        Severity.ERROR,
        "the low and high pairs of a loudspeaker are swapped",
        "the bass destroys the high-frequency driver at once",
        "the low way gets the lower band; pair 1 of a four-pole connector is the low way",
        "common practice, no source",
        "swap the two ways or the two crossover outputs",
        "feed f { level -4 dBu; peak 0 dBu }\namp a is twin\nspeaker h is two-way\nlead w is twin-pair 10 m\n"
        "f -> a.1 -> w.1 -> h.high\nf -> a.2 -> w.2 -> h.low\n",
        "feed f { level -4 dBu; peak 0 dBu }\namp a is twin\nspeaker h is two-way\nlead w is twin-pair 10 m\n"
        "f -> a.1 -> w.1 -> h.low\nf -> a.2 -> w.2 -> h.high\n",
        pairs_swapped,
    ),
    Rule(
        "box-over-continuous",
        Severity.ERROR,
        "a loudspeaker gets more mean power than it stands",
        "the voice coil burns out within minutes",
        "its continuous rating at the feed's level; twice that for the amplifier alone where no level is known",
        "the loudspeaker's data sheet, as the stock gives it; IEC 60268-5, from memory",
        "turn the channel down or limit it",
        "feed f { level -1 dBu; peak 0 dBu }\namp a is twin\nspeaker b is two-way\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b.high\nf -> a.2 -> lead 2.5 mm2 9 m -> b.low\n",
        "feed f { level -4 dBu; peak 0 dBu }\namp a is twin\nspeaker b is two-way\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b.high\nf -> a.2 -> lead 2.5 mm2 9 m -> b.low\n",
        box_over_continuous,
    ),
    Rule(
        "box-over-peak",
        Severity.ERROR,
        "a loudspeaker gets higher peaks than it stands",
        "cone or diaphragm travel too far and tear",
        "its peak rating, or four times its continuous one, at the feed's peak level",
        "the loudspeaker's data sheet; peak over continuous by crest factor 2; IEC 60268-5, from memory",
        "turn the channel down or limit its peaks",
        "feed f { level -4 dBu; peak 14 dBu }\namp a is twin\nspeaker b is two-way\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b.high\nf -> a.2 -> lead 2.5 mm2 9 m -> b.low\n",
        "feed f { level -4 dBu; peak 0 dBu }\namp a is twin\nspeaker b is two-way\n"
        "f -> a.1 -> lead 2.5 mm2 9 m -> b.high\nf -> a.2 -> lead 2.5 mm2 9 m -> b.low\n",
        box_over_peak,
    ),
    Rule(
        "lead-loss-high",
        Severity.WARNING,
        "the leads to a loudspeaker cost too much level",
        "the power paid for heats copper, and boxes on long leads fall behind the others",
        "1 dB from amplifier to loudspeaker, or the rig's own `limits { lead-loss ... }`",
        "common practice, no source; copper by IEC 60228 class 5 or ASTM B258",
        "use the next size that the finding names, or a shorter lead",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 1.5 mm2 30 m -> s[1..2] linked 2.5 mm2 2 m\n",
        "amp a is twin\nspeaker s[1..2] is sub\na.1 -> lead 4 mm2 30 m -> s[1..2] linked 2.5 mm2 2 m\n",
        lead_loss_high,
    ),
)
