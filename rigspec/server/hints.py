"""Figures that an editor shows between the words: each with the kind that can be turned off."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import chain
from operator import itemgetter

from attrs import frozen

from rigspec.figures import BoxFigures, ChannelFigures, judged, line_volt, rated_points
from rigspec.language.syntax import Hop, Join, Path, Point
from rigspec.rig.model import Expectation, Measure
from rigspec.rules.following import apart
from rigspec.rules.found import Found
from rigspec.rules.leads import LEAD_LOSS_DB
from rigspec.rules.promises import all_computed
from rigspec.rules.space_words import listening
from rigspec.server.snapshot import Snapshot
from rigspec.text.source import Span
from rigspec.text.units import FigureKind, show, show_pair
from rigspec.text.value import Content
from rigspec.why import derive

LOAD, POWER, POLARITY, LOSS, MARGIN, REACH = KINDS = ("load", "power", "polarity", "loss", "margin", "reach")
_BROKEN = ("<", ">")


@frozen(eq=False, repr=False)
class Hint(Content):
    """A figure behind the character at ``offset``; ``tip`` says more of it."""

    kind: str
    offset: int
    text: str
    tip: str


def hints(sight: Snapshot, start: int, end: int, wanted: Iterable[str] = KINDS) -> list[Hint]:
    """The hints of the wanted kinds between two offsets, in the order of the text.

    Load and margin of a channel are one hint where both are wanted, ``4.25 \u2265 2.7 ohm``; margin alone is a share.
    """
    on = frozenset(wanted)
    behind = _behind(sight, start, end)
    found = chain(
        _channels(sight, start, end, on),
        _boxes(sight, start, end, behind),
        _leads(sight, start, end),
        _ways(sight, start, end, behind),
        _promises(sight, start, end),
        _reach(sight, start, end) if REACH in on and listening(sight.report.figures) else (),
    )
    kept = [hint for hint in found if hint.kind in on]
    return sorted(kept, key=lambda hint: (hint.offset, KINDS.index(hint.kind)))


def _here(sight: Snapshot, span: Span, start: int, end: int) -> bool:
    return span.path == sight.source.path and span.start <= end and span.end >= start


def _behind(sight: Snapshot, start: int, end: int) -> dict[Span, int]:
    """Where the name of each station of the paths ends: figures of a row's boxes stand before its `linked`."""
    found: dict[Span, int] = {}
    for statement in sight.file.statements:
        if isinstance(statement.node, Path) and statement.start <= end and statement.end >= start:
            found.update((hop.span, hop.ref.span.end) for hop in _points(statement.node.hops))
    return found


def _points(hops: Sequence[Hop]) -> Iterator[Point]:
    for hop in hops:
        if isinstance(hop, Point):
            yield hop
        elif isinstance(hop, Join):
            for branch in hop.branches:
                yield from _points(branch)


# ---- loads -----------------------------------------------------------------------------------------------------------


def _channels(sight: Snapshot, start: int, end: int, on: frozenset[str]) -> Iterator[Hint]:
    at: dict[Span, list[ChannelFigures]] = {}
    for channel in sight.report.figures.channels.values():
        if _here(sight, channel.output.span, start, end):
            at.setdefault(channel.output.span, []).append(channel)
    for span, channels in at.items():
        tip = "\n".join(_load_tip(channel) for channel in channels)
        text = _nearest_limit(channels, LOAD in on) if MARGIN in on else ""
        if text:
            yield Hint(MARGIN, span.end, text, tip)
        else:
            loads = [ohm for channel in channels for ohm in (channel.least_seen_ohm, channel.most_seen_ohm)]
            yield Hint(LOAD, span.end, _range(loads, "resistance"), tip)


def _load_tip(channel: ChannelFigures) -> str:
    seen = _range([channel.least_seen_ohm, channel.most_seen_ohm], "resistance")
    said = f"load of {channel.key}: {seen}"
    room = _room(channel)
    if room is None:
        return said
    ohm, limit, half = room
    what = f"each half sees {show(ohm, 'resistance')}, " if half else ""
    return f"{said}; {what}{_share(ohm, limit.value, 'resistance', 'the ')} that it stands"


def _room(channel: ChannelFigures) -> tuple[float, Measure, bool] | None:
    """The least that is seen of the limit that is nearest, that limit, and whether it is that of a half of a bridge."""
    rooms: list[tuple[float, Measure, bool]] = []
    if line_volt(channel.gear) is not None:
        return None
    if channel.limit is not None and channel.halves:
        rooms.append((min(ohm for _, ohm in channel.least_halves), channel.limit, True))
    elif channel.limit is not None:
        rooms.append((channel.least_seen_ohm, channel.limit, False))
    if channel.bridge_limit is not None:
        rooms.append((channel.least_seen_ohm, channel.bridge_limit, False))
    return min((room for room in rooms if room[1].value), key=lambda room: room[0] / room[1].value, default=None)


def _nearest_limit(channels: Sequence[ChannelFigures], load: bool) -> str:
    """How far the figure of these channels that is nearest to its limit is from it; nothing where none has a limit."""
    rooms = [room for channel in channels if (room := _room(channel)) is not None]
    if rooms:
        ohm, limit, half = min(rooms, key=lambda room: room[0] / room[1].value)
        sign = "\u2265" if ohm >= limit.value else "\u2248" if ohm >= judged(limit, 1) else "<"
        beside = _beside(ohm, sign, limit.value, "resistance") if load else _share(ohm, limit.value, "resistance")
        return f"{'half ' if half else ''}{beside}"
    drawn = [(power, most) for channel in channels for power, most in _on_line(channel)]
    if not drawn:
        return ""
    power, most = max(drawn, key=lambda each: each[0] / each[1])
    sign = "\u2264" if power <= most * 1.0001 else ">"
    return _beside(power, sign, most, "power") if load else _share(power, most, "power")


def _on_line(channel: ChannelFigures) -> Iterator[tuple[float, float]]:
    """What the taps on a distributed line take together, and what its amplifier gives."""
    volt = line_volt(channel.gear)
    points = rated_points(channel.gear, "all") if volt is not None else []
    if volt is not None and points:
        drawn = sum(volt**2 / ohm for box in channel.boxes if (ohm := box.box.impedance_ohm))
        yield drawn, max(point.power_w for point in points)


# ---- boxes and leads -------------------------------------------------------------------------------------------------


def _boxes(sight: Snapshot, start: int, end: int, behind: dict[Span, int]) -> Iterator[Hint]:
    at: dict[Span, list[BoxFigures]] = {}
    for box in sight.report.figures.boxes.values():
        if _here(sight, box.box.arrival.sink.span, start, end):
            at.setdefault(box.box.arrival.sink.span, []).append(box)
    for span, boxes in at.items():
        place = behind.get(span, span.end)
        powers = [box.rated_w for box in boxes if box.rated_w is not None]
        if powers:
            tip = "\n".join(f"{box.key}: {show(box.rated_w, 'power')} at rated output" for box in boxes if box.rated_w)
            yield Hint(POWER, place, _range(powers, "power"), tip)
        turns = {box.key: _polarity(sight, box.key) for box in boxes}
        known = [turn for turn in turns.values() if turn]
        if known:
            text = known[0] if len(set(known)) == 1 else "mixed polarity"
            yield Hint(POLARITY, place, text, "\n".join(f"{key}: {turn}" for key, turn in turns.items() if turn))


def _polarity(sight: Snapshot, key: str) -> str:
    step = derive(sight.report.figures, "polarity", key)
    return step.value if step is not None and isinstance(step.value, str) else ""


def _leads(sight: Snapshot, start: int, end: int) -> Iterator[Hint]:
    at: dict[Span, list[tuple[str, float]]] = {}
    for channel in sight.report.figures.channels.values():
        for lead in channel.leads:
            if _here(sight, lead.piece.span, start, end):
                at.setdefault(lead.piece.span, []).append((channel.key, lead.loss_db))
    for span, found in at.items():
        tip = "\n".join(f"loss of a lead of {key}: {show(loss, 'gain')}" for key, loss in found)
        yield Hint(LOSS, span.end, _range([loss for _, loss in found], "gain"), tip)


def _ways(sight: Snapshot, start: int, end: int, behind: dict[Span, int]) -> Iterator[Hint]:
    """Where the leads to a box lose more than they may, all together: so much of how much."""
    own = sight.report.figures.rig.limit("lead-loss", "gain")
    limit_db = abs(own.value) if own is not None else LEAD_LOSS_DB
    worst: dict[Span, BoxFigures] = {}
    for box in sight.report.figures.boxes.values():
        span = box.box.arrival.sink.span
        if _here(sight, span, start, end) and box.loss_high_db > limit_db * 1.0001:
            earlier = worst.get(span)
            worst[span] = box if earlier is None or box.loss_high_db > earlier.loss_high_db else earlier
    for span, box in worst.items():
        most, allowed = show_pair(box.loss_high_db, limit_db, "gain")
        tip = f"the leads to {box.key} lose up to {most}, the limit is {allowed}"
        yield Hint(MARGIN, behind.get(span, span.end), f"lost {_beside(box.loss_high_db, '>', limit_db, 'gain')}", tip)


# ---- promises --------------------------------------------------------------------------------------------------------


def _promises(sight: Snapshot, start: int, end: int) -> Iterator[Hint]:
    """What was computed for each promise, and how far that is from what was promised."""
    told = apart((*sight.report.findings, *sight.report.excused))
    unmet = {finding.span for finding in told if finding.rule == "expect-unmet"}
    for each in sight.report.figures.rig.expectations:
        if _here(sight, each.statement.span, start, end) and isinstance(each.value, Measure):
            yield from _promise(sight, each, each.value, each.statement.span in unmet)


def _promise(sight: Snapshot, each: Expectation, wanted: Measure, missed: bool) -> Iterator[Hint]:
    node = each.statement
    answers = all_computed(sight.report.figures, each)
    known = [(key, found) for key, found in answers if isinstance(found, Found) and not isinstance(found.value, str)]
    if not known:
        return
    least = node.comparison[0] in ">\u2265"
    ends = [(found.low if least else found.high, key, found.where) for key, found in known]
    nearest = min if least else max
    worst, key, where = nearest(ends, key=itemgetter(0))
    shown, promised = show_pair(worst, wanted.value, wanted.kind)
    room_kind = "gain" if wanted.kind in ("level", "sound level") else wanted.kind
    room = show(abs(worst - wanted.value), room_kind)
    if node.comparison == "=":
        text = _range([float(found.value) for _, found in known], wanted.kind) + (where if len(known) == 1 else "")
    elif missed:
        text = f"{shown}{where}, {room} {'short' if least else 'over'}"
    elif len(known) == len(answers):
        text = f"{shown}{where}, {room} to spare"
    else:  # what is not known may be nearer
        text = f"{shown}{where}"
    tip = f"{node.figure} of {key}: {shown}{where} computed, {node.comparison} {promised} promised"
    yield Hint(MARGIN, node.span.end, text, tip)


# ---- where it is heard -----------------------------------------------------------------------------------------------


def _reach(sight: Snapshot, start: int, end: int) -> Iterator[Hint]:
    """Levels and arrivals at places, and delays that are not what they should be."""
    from rigspec.server.reach_hints import delays, heard

    for span, text, tip in (*heard(sight, start, end), *delays(sight, start, end)):
        yield Hint(REACH, span.end, text, tip)


# ---- words -----------------------------------------------------------------------------------------------------------


def _range(values: Sequence[float], kind: FigureKind) -> str:
    """The least and the greatest of some figures: ``4.1 ohm``, ``0.01 to 0.03 dB``."""
    low, high = (show(value, kind) for value in sorted((min(values), max(values)), key=abs))
    return low if low == high else _short(low, " to ", high)


def _beside(value: float, sign: str, limit: float, kind: FigureKind) -> str:
    """A figure and its limit: ``4.25 \u2265 2.7 ohm``."""
    first, second = show(value, kind), show(limit, kind)
    if sign in _BROKEN:  # those may not look the same
        first, second = show_pair(value, limit, kind)
    return _short(first, f" {sign} ", second)


def _share(value: float, limit: float, kind: FigureKind, article: str = "") -> str:
    """How far a figure is from its limit: ``57 % above 2.7 ohm``."""
    share = value / limit - 1
    return f"{abs(share) * 100:.0f} % {'above' if share >= 0 else 'below'} {article}{show(limit, kind)}"


def _short(first: str, between: str, second: str) -> str:
    """Two figures with their unit once, where it is the same."""
    number, blank, unit = first.partition(" ")
    same = blank and second.endswith(f" {unit}")
    return f"{number if same else first}{between}{second}"
