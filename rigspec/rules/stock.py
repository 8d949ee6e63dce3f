"""Rules that hold a plan against the place and the store: which side boxes stand on, and how much gear there is."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.figures import BoxFigures, Figures
from rigspec.figures.powered import players
from rigspec.figures.trace import Arrival
from rigspec.rig.model import Gear, Kind, Roster, members
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show


def sides_exchanged(figures: Figures) -> Iterable[Finding]:
    """Of one kind the boxes that play the left feed of a pair alone stand to house right of the other's."""
    pairs_of_feeds = [roster for roster in figures.rig.rosters_of("stereo") if len(roster.parts) == 2]
    playing: dict[str, list[tuple[BoxFigures, float]]] = {}
    for box in players(figures) if pairs_of_feeds else ():
        across = _across(box.box.gear)
        for feed in {part.feed for part in box.parts} if across is not None else ():
            playing.setdefault(feed, []).append((box, across or 0.0))
    for roster in pairs_of_feeds:
        left, right = (playing.get(part.name, []) for part in roster.parts)
        sides = _by_kind(_alone(left, right)), _by_kind(_alone(right, left))
        pairs = [(own, sides[1][kind]) for kind, own in sides[0].items() if kind in sides[1]]
        turned = next((pair for pair in pairs if _middle(pair[0]) > _middle(pair[1])), None)
        if turned is not None:
            yield _exchanged(figures, roster, *turned)


def _across(gear: Gear) -> float | None:
    first = gear.measure("at", "length")
    return None if first is None else first.value


def _alone(
    these: list[tuple[BoxFigures, float]], others: list[tuple[BoxFigures, float]]
) -> list[tuple[BoxFigures, float]]:
    """The boxes that play one feed and not the other."""
    both = {box.key for box, _ in others}
    return [(box, across) for box, across in these if box.key not in both]


def _by_kind(boxes: list[tuple[BoxFigures, float]]) -> dict[tuple[int, str], list[tuple[BoxFigures, float]]]:
    """Boxes by kind and way: one that stands alone somewhere, as a fill does, has none to be held against."""
    found: dict[tuple[int, str], list[tuple[BoxFigures, float]]] = {}
    for box, across in boxes:
        found.setdefault((id(box.box.gear.kind), box.box.way), []).append((box, across))
    return found


def _middle(boxes: list[tuple[BoxFigures, float]]) -> float:
    return sum(across for _, across in boxes) / len(boxes)


def _goes(figures: Figures, feed: str) -> tuple[Arrival, ...]:
    """The first inputs that a feed goes to."""
    run = figures.trace.runs.get(feed)
    return run.arrivals[:2] if run else ()


def _exchanged(
    figures: Figures,
    roster: Roster,
    left: list[tuple[BoxFigures, float]],
    right: list[tuple[BoxFigures, float]],
) -> Finding:
    middles = [_middle(side) for side in (left, right)]
    names = [part.name for part in roster.parts]
    apart = show(middles[0] - middles[1], "length")
    at = left[0][0].box.gear.facts.get("at")
    return Finding(
        "sides-exchanged",
        at.span if at else left[0][0].box.gear.span,
        f"the boxes of {names[0]} stand to house right of those of {names[1]}, by {apart} on the whole",
        label=f"{left[0][0].key} plays {names[0]}",
        related=(
            Label(roster.span, f"{names[0]} is the left of {roster.name}"),
            *(
                Label(box.box.gear.span, f"{box.key} plays {name} and stands at {show(across, 'length')} across")
                for side, name in ((left, names[0]), (right, names[1]))
                for box, across in side[:2]
            ),
            *(
                Label(box.box.arrival.sink.span, f"{box.key} hangs here and plays {name}")
                for side, name in ((left, names[0]), (right, names[1]))
                for box, _ in side[:1]
            ),
            *(Label(arrival.sink.span, f"{name} goes in here") for name in names for arrival in _goes(figures, name)),
        ),
        computed=f"{names[0]} at {show(middles[0], 'length')} across, {names[1]} at {show(middles[1], 'length')}",
        allowed="the first feed of a pair at house left, where `at` has the smaller figure across",
        help="exchange the two feeds on their way, or the two names in the pair, or correct where the boxes stand",
        subject=roster.name,
    )


def more_than_owned(figures: Figures) -> Iterable[Finding]:
    """More of a kind of gear is used than the company owns."""
    used: dict[int, tuple[Kind, list[Gear]]] = {}
    for gear in figures.rig.gear.values():
        if gear.kind is not None and "owned" in gear.kind.facts:
            used.setdefault(id(gear.kind), (gear.kind, []))[1].append(gear)
    for kind, found in used.values():
        gears = sorted(found, key=lambda gear: (gear.name, gear.number or 0))
        owned = kind.facts["owned"].entries[0].get("number")
        if owned is None or len(gears) <= owned.value:
            continue
        rows = {gear.span: [each for each in gears if each.span == gear.span] for gear in gears}
        *_, last = rows
        lacking = len(gears) - int(owned.value)
        yield Finding(
            "more-than-owned",
            last,
            f"{len(gears)} of {kind.name} are used, and {owned.text} {'is' if owned.value == 1 else 'are'} owned",
            label=f"{lacking} too many",
            related=(
                Label(owned.span, f"{owned.text} owned"),
                *(Label(span, members(row)) for span, row in list(rows.items())[:-1][:4]),
            ),
            computed=str(len(gears)),
            allowed=f"at most {owned.text}",
            help=f"hire {lacking}, use another kind, or correct `owned` in the stock",
            subject=gears[-1].full,
        )


RULES = (
    Rule(
        name="sides-exchanged",
        severity=Severity.WARNING,
        summary="left and right of a stereo pair are exchanged",
        reason="what the audience sees at house left it hears at house right",
        limit="the boxes of a pair's first feed stand at house left of those of its second (smaller across)",
        authority="common practice, no source",
        cure="exchange the feeds, or correct where the boxes stand",
        bad="feed l\nfeed r\nstereo main: l, r\namp a is twin\nspeaker b[1] is box { at 4 m, 0 m }\n"
        "speaker b[2] is box { at -4 m, 0 m }\nl -> a.1 -> lead 2.5 mm2 9 m -> b[1]\n"
        "r -> a.2 -> lead 2.5 mm2 9 m -> b[2]\n",
        good="feed l\nfeed r\nstereo main: l, r\namp a is twin\nspeaker b[1] is box { at -4 m, 0 m }\n"
        "speaker b[2] is box { at 4 m, 0 m }\nl -> a.1 -> lead 2.5 mm2 9 m -> b[1]\n"
        "r -> a.2 -> lead 2.5 mm2 9 m -> b[2]\n",
        check=sides_exchanged,
    ),
    Rule(
        name="more-than-owned",
        severity=Severity.WARNING,
        summary="more gear of a kind is used than the company owns",
        reason="it is missed on the day, when nothing can be hired any more",
        limit="the `owned` of its kind, in one rig",
        authority="the stock's own `owned`",
        cure="hire some, or use another kind",
        bad="stock speaker few { impedance 8 ohm; rated 900 W continuous; owned 1 }\namp a is twin\n"
        "speaker b[1..2] is few\na.1 -> lead 2.5 mm2 9 m -> b[1..2] linked 2.5 mm2 2 m\n",
        good="stock speaker few { impedance 8 ohm; rated 900 W continuous; owned 2 }\namp a is twin\n"
        "speaker b[1..2] is few\na.1 -> lead 2.5 mm2 9 m -> b[1..2] linked 2.5 mm2 2 m\n",
        check=more_than_owned,
    ),
)
