"""Figures that an editor shows between the words: each with the kind that can be turned off."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from attrs import frozen

from rigspec.figures import BoxFigures, ChannelFigures
from rigspec.rules.leads import LEAD_LOSS_DB
from rigspec.rules.promises import computed
from rigspec.server.sight import Sight
from rigspec.source import Span
from rigspec.units import show
from rigspec.value import Value
from rigspec.why import derive

LOAD, POWER, POLARITY, LOSS, MARGIN = KINDS = ("load", "power", "polarity", "loss", "margin")


@frozen(repr=False)
class Hint(Value):
    """A figure behind the character at ``offset``; ``tip`` says more of it."""

    kind: str
    offset: int
    text: str
    tip: str


def hints(sight: Sight, start: int, end: int, wanted: Iterable[str] = KINDS) -> list[Hint]:
    """The hints of the wanted kinds between two offsets, in the order of the text."""
    on = frozenset(wanted)
    found = [hint for make in (_channels, _boxes, _leads, _promises) for hint in make(sight, start, end)]
    kept = [hint for hint in found if hint.kind in on]
    return sorted(kept, key=lambda hint: (hint.offset, KINDS.index(hint.kind)))


def _here(sight: Sight, span: Span, start: int, end: int) -> bool:
    return span.path == sight.source.path and span.start <= end and span.end >= start


def _channels(sight: Sight, start: int, end: int) -> Iterator[Hint]:
    at: dict[Span, list[ChannelFigures]] = {}
    for channel in sight.report.figures.channels.values():
        if _here(sight, channel.output.span, start, end):
            at.setdefault(channel.output.span, []).append(channel)
    for span, channels in at.items():
        loads = [channel.load_ohm for channel in channels]
        tip = "\n".join(_load_tip(channel) for channel in channels)
        yield Hint(LOAD, span.end, _range(loads, "resistance"), tip)
        margins = [value for channel in channels if (value := _margin(sight, channel)) is not None]
        if margins:
            worst = min(margins)
            text = f"{_percent(worst)} {'above' if worst >= 0 else 'below'} its least load"
            yield Hint(MARGIN, span.end, text, tip)


def _load_tip(channel: ChannelFigures) -> str:
    limit = f", the least it stands is {show(channel.limit.value, 'resistance')}" if channel.limit is not None else ""
    seen = f"from {show(channel.least_seen_ohm, 'resistance')} to {show(channel.most_seen_ohm, 'resistance')}"
    certain = channel.least_seen_ohm == channel.most_seen_ohm
    return f"load of {channel.key}: {show(channel.load_ohm, 'resistance') if certain else seen}{limit}"


def _margin(sight: Sight, channel: ChannelFigures) -> float | None:
    """How far the load is above the least that the channel stands, as a share of that."""
    limit = channel.bridge_limit or channel.limit
    if limit is None or not limit.value:
        return None
    if channel.bridge_limit is None and channel.halves:
        return min(load for _, load in channel.halves) / limit.value - 1
    return channel.load_ohm / limit.value - 1


def _percent(share: float) -> str:
    return f"{abs(share) * 100:.0f} %"


def _boxes(sight: Sight, start: int, end: int) -> Iterator[Hint]:
    at: dict[Span, list[BoxFigures]] = {}
    for box in sight.report.figures.boxes.values():
        if _here(sight, box.box.arrival.sink.span, start, end):
            at.setdefault(box.box.arrival.sink.span, []).append(box)
    for span, boxes in at.items():
        powers = [box.rated_w for box in boxes if box.rated_w is not None]
        if powers:
            tip = "\n".join(f"{box.key}: {show(box.rated_w, 'power')} at rated output" for box in boxes if box.rated_w)
            yield Hint(POWER, span.end, _range(powers, "power"), tip)
        turns = {box.key: _polarity(sight, box.key) for box in boxes}
        known = [turn for turn in turns.values() if turn]
        if known:
            text = known[0] if len(set(known)) == 1 else "mixed polarity"
            yield Hint(POLARITY, span.end, text, "\n".join(f"{key}: {turn}" for key, turn in turns.items() if turn))


def _polarity(sight: Sight, key: str) -> str:
    step = derive(sight.report.figures, "polarity", key)
    return step.value if step is not None and isinstance(step.value, str) else ""


def _leads(sight: Sight, start: int, end: int) -> Iterator[Hint]:
    own = sight.report.figures.rig.limit("lead-loss", "gain")
    limit_db = abs(own.value) if own is not None else LEAD_LOSS_DB
    at: dict[Span, list[tuple[str, float]]] = {}
    for channel in sight.report.figures.channels.values():
        for lead in channel.leads:
            if _here(sight, lead.piece.span, start, end):
                at.setdefault(lead.piece.span, []).append((channel.key, lead.loss_db))
    for span, found in at.items():
        tip = "\n".join(f"lead of {key}: {show(loss, 'gain')}" for key, loss in found)
        yield Hint(LOSS, span.end, _range([-loss for _, loss in found], "gain"), tip)
    worst: dict[Span, BoxFigures] = {}
    for box in sight.report.figures.boxes.values():
        span = box.box.arrival.sink.span
        if _here(sight, span, start, end) and box.loss_high_db > limit_db:
            earlier = worst.get(span)
            worst[span] = box if earlier is None or box.loss_high_db > earlier.loss_high_db else earlier
    for span, box in worst.items():
        most, allowed = show(box.loss_high_db, "gain"), show(limit_db, "gain")
        over = show(box.loss_high_db - limit_db, "gain")
        tip = f"the leads to {box.key} lose up to {most}, the limit is {allowed}"
        yield Hint(MARGIN, span.end, f"leads {over} over the limit", tip)


def _promises(sight: Sight, start: int, end: int) -> Iterator[Hint]:
    """What was computed for each promise, and how far that is from what was promised."""
    figures = sight.report.figures
    for each in figures.rig.expectations:
        node = each.statement
        if not _here(sight, node.span, start, end) or each.band is not None or isinstance(each.value, str):
            continue
        if node.figure == "difference":
            continue
        found = [computed(figures, node.figure, part) for part in each.subjects]
        values = [one.value for one in found if one is not None and isinstance(one.value, float | int)]
        if not values:
            continue
        nearest: Callable[[Sequence[float]], float] = min if ">" in node.comparison or "≥" in node.comparison else max
        worst = nearest([float(value) for value in values])
        room = worst - each.value.value if nearest is min else each.value.value - worst
        kind = each.value.kind
        room_kind = "gain" if kind in ("level", "sound level", "gain") else kind
        room_text = show(abs(room), room_kind)
        judged = f"met, {room_text} to spare" if room >= 0 else f"missed by {room_text}"
        yield Hint(
            MARGIN,
            node.span.end,
            show(worst, kind) if node.comparison == "=" else f"{show(worst, kind)}, {judged}",
            f"{node.figure}: computed {show(worst, kind)}, promised {each.value.text}",
        )


def _range(values: Sequence[float], kind: str) -> str:
    low, high = (show(value, kind) for value in sorted((min(values), max(values)), key=abs))
    return low if low == high else f"{low} to {high}"
