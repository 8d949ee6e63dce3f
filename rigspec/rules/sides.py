"""Rules about left and right: each side plays its own feed, the middle both, and neither is turned down."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from rigspec.figures import BoxFigures, Figures
from rigspec.figures.powered import players
from rigspec.rig.model import Roster
from rigspec.rules.alike import NEAR_M, Twins, at, feeds, outputs, twins
from rigspec.rules.groups import group_uneven
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show
from rigspec.text.value import gathered

UNEVEN_DB = 1.0  # just heard (common practice, no source)


def sides_unlike(figures: Figures) -> Iterable[Finding]:
    """A loudspeaker plays another side than its place, while its twin plays its own; or its ways play unlike sides."""
    said: set[frozenset[str]] = set()
    for roster in figures.rig.rosters_of("stereo"):
        if len(roster.parts) != 2:
            continue
        left, right = (part.name for part in roster.parts)
        for pair in twins(figures):
            ours, theirs = feeds(pair.one) & {left, right}, feeds(pair.other) & {left, right}
            apart = len(ours) == len(theirs) == 1 and ours != theirs  # exchanged ones are told by a rule of their own
            fine = apart or (ours == theirs and len(ours) != 1)
            names = frozenset(each.box.gear.full for each in (pair.one, pair.other))
            if pair.mirrored and not fine and ours and theirs and names not in said:
                said.add(names)
                yield _one_sided(figures, pair, roster, (ours, theirs), (left, right))
        yield from _ways_apart(figures, frozenset((left, right)))


def _one_sided(
    figures: Figures, pair: Twins, roster: Roster, played: tuple[frozenset[str], frozenset[str]], sides: tuple[str, str]
) -> Finding:
    # The one that does not play its own side alone; where both play one side, the one on the other side.
    wrong = 1 if played[0] == {sides[0]} else 0
    box, twin = (pair.one, pair.other)[wrong], (pair.one, pair.other)[1 - wrong]
    names = [" and ".join(sorted(each)) for each in (played[wrong], played[1 - wrong])]
    return Finding(
        "sides-unlike",
        _where_taken(figures, box, sides[1 - wrong] if sides[1 - wrong] in played[wrong] else sides[wrong]),
        f"{box.key} at house {('left', 'right')[wrong]} plays {names[0]}, and its twin {twin.key} plays {names[1]}",
        label=f"{box.key} gets {names[0]}",
        related=(
            Label(roster.span, f"{sides[0]} and {sides[1]} are left and right"),
            Label(twin.box.arrival.sink.span, f"{twin.key} hangs here"),
        ),
        help=f"feed {box.key} from {sides[wrong]}, or both of them from both sides",
        subject=box.key.partition(".")[0],
        also=(twin.key.partition(".")[0],),
    )


def _where_taken(figures: Figures, box: BoxFigures, feed: str) -> Span:
    """Where a loudspeaker's way takes a feed: `from` of a processor's output, else the first input on the way."""
    for output in outputs(figures, box):
        given = output.gear.ports.get(output.port, {}).get("from")
        if given is not None and any(part.feed == feed for part in figures.signals.at_output(output)):
            return given.span
    last = box.box.arrival.sink.span
    for output in outputs(figures, box):
        for key, _ in figures.signals.inputs(output):
            arrival = figures.trace.arrivals.get(key)
            if arrival is not None:
                last = arrival.sink.span
                if arrival.output.gear.word in ("feed", "split"):
                    return last
    return last


def _ways_apart(figures: Figures, sides: frozenset[str]) -> Iterator[Finding]:
    """Ways of one loudspeaker that play unlike sides of a pair."""
    for ways in gathered((box for box in players(figures) if box.box.way), lambda box: box.box.gear.full).values():
        first, *rest = [box for box in ways if feeds(box) & sides] or ways
        for each in rest:
            one, other = feeds(each) & sides, feeds(first) & sides
            if one != other:
                yield Finding(
                    "sides-unlike",
                    each.box.arrival.sink.span,
                    f"{each.key} plays {' and '.join(sorted(one))}, and {first.key} of the same loudspeaker"
                    f" {' and '.join(sorted(other))}",
                    label=f"{each.key} hangs here",
                    related=(Label(first.box.arrival.sink.span, f"{first.key} hangs here"),),
                    help="feed all ways of one loudspeaker from the same side",
                    subject=each.box.gear.full,
                )


def centre_one_sided(figures: Figures) -> Iterable[Finding]:
    """A fill in the middle plays one side of a stereo pair alone."""
    middle = [box for box in players(figures) if (here := at(box)) is not None and abs(here[0]) <= NEAR_M]
    for roster in figures.rig.rosters_of("stereo"):
        sides = {part.name for part in roster.parts}
        heard: set[str] = set().union(*(feeds(box) & sides for box in middle))
        if len(heard) != 1 or len(sides) != 2:
            continue
        for box in middle:
            if feeds(box) & sides:
                (side,) = heard
                (lacking,) = sides - heard
                yield Finding(
                    "centre-one-sided",
                    _where_taken(figures, box, side),
                    f"{box.key} stands in the middle and plays {side} alone",
                    label=f"{lacking} does not come here",
                    related=(Label(roster.span, f"{side} and {lacking} are a stereo pair"),),
                    help=f"take both sides, each 6 dB down: `from a -6 dB, b -6 dB` or a mix of {side} and {lacking}",
                    subject=box.key.partition(".")[0],
                )
                break


def sides_uneven(figures: Figures) -> Iterable[Finding]:
    """One of two mirrored loudspeakers is turned down against the other."""
    told = {each.subject for each in group_uneven(figures)}
    for pair in twins(figures):
        levels = _gain_db(pair.one), _gain_db(pair.other)
        if (
            not pair.mirrored
            or levels[0] is None
            or levels[1] is None
            or pair.one.key in told
            or pair.other.key in told
        ):
            continue
        apart_db = levels[0] - levels[1]
        if abs(apart_db) <= UNEVEN_DB:
            continue
        soft, loud = (pair.other, pair.one) if apart_db > 0 else (pair.one, pair.other)
        from rigspec.rules.controls import unlike_control  # late: few rigs need it

        control = soft.box.gear.facts.get("attenuator")
        found = None
        if soft.channel in figures.channels:
            found = unlike_control(figures, soft.channel, loud.channel)
        place = control.span if control is not None else found[0] if found else soft.box.arrival.sink.span
        yield Finding(
            "sides-uneven",
            place,
            f"{soft.key} is {show(abs(apart_db), 'gain')} softer than its twin {loud.key}",
            label="here it is turned down" if control is not None or found else f"{soft.key} hangs here",
            related=(Label(loud.box.arrival.sink.span, f"{loud.key} hangs here"),),
            computed=f"{show(abs(apart_db), 'gain')} by what is set on the two ways",
            allowed=f"{show(UNEVEN_DB, 'gain')} is just heard",
            help=f"make `{' '.join(place.text.split())}` as it is on the way to {loud.key}; where the room asks for it,"
            " `allow` it with the reason",
            subject=soft.key.partition(".")[0],
            follows=(tuple(("stereo-unlike", each.key) for each in (soft, loud)),),
            also=(loud.key.partition(".")[0],),
        )


def _gain_db(box: BoxFigures) -> float | None:
    """The gain to a loudspeaker that is set, without its leads; None where it is not known or unlike for its feeds."""
    gains = {None if part.gain_db is None else round(part.gain_db, 2) for part in box.parts}
    if len(gains) != 1:
        return None
    gain = gains.pop()
    own = box.box.gear.measure("attenuator", "gain") if "powered" in box.box.gear.facts else None
    return None if gain is None else gain + (own.value if own is not None else 0.0)


RULES = (
    Rule(
        name="sides-unlike",
        severity=Severity.WARNING,
        summary="of two twins one does not play its own side, or ways of one box play unlike sides",
        reason="half of the audience misses what the other side plays",
        limit="of two that mirror each other each plays its own side of a stereo pair, or both play both",
        authority="common practice, no source",
        cure="feed it from its own side",
        bad="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\n"
        "speaker b[1] is box { at -3 m, 0 m }\nspeaker b[2] is box { at 3 m, 0 m }\nspare r\n"
        "l -> a.1 -> b[1]\nl -> a.2 -> b[2]\n",
        good="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\n"
        "speaker b[1] is box { at -3 m, 0 m }\nspeaker b[2] is box { at 3 m, 0 m }\n"
        "l -> a.1 -> b[1]\nr -> a.2 -> b[2]\n",
        check=sides_unlike,
    ),
    Rule(
        name="centre-one-sided",
        severity=Severity.ADVICE,
        summary="a loudspeaker in the middle plays one side of a stereo pair alone",
        reason="those in front of it miss what the other side plays",
        limit=f"within {show(NEAR_M, 'length')} of the middle both sides are heard, or neither",
        authority="common practice, no source",
        cure="take both sides, each 6 dB down",
        bad="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\n"
        "speaker fill is box { at 0 m, 0 m }\nl -> a.1 -> fill\nspare r\n",
        good="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\nmix m: l -6 dB, r -6 dB\n"
        "amp a is twin\n"
        "speaker fill is box { at 0 m, 0 m }\nm -> a.1 -> fill\n",
        check=centre_one_sided,
    ),
    Rule(
        name="sides-uneven",
        severity=Severity.ADVICE,
        summary="one of two loudspeakers that mirror each other is turned down",
        reason="what is meant for the middle moves to the louder side",
        limit=f"at most {show(UNEVEN_DB, 'gain')} by what is set; what leads and loads add is for `group-uneven`",
        authority="common practice, no source",
        cure="set both alike; where the room asks for it, allow it with the reason",
        bad="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\n"
        "speaker b[1] is box { at -3 m, 0 m }\nspeaker b[2] is box { at 3 m, 0 m }\n"
        "l -> a.1 -> b[1]\nr -> pad 6 dB -> a.2 -> b[2]\n",
        good="feed l { level 0 dBu }\nfeed r { level 0 dBu }\nstereo main: l, r\namp a is twin\n"
        "speaker b[1] is box { at -3 m, 0 m }\nspeaker b[2] is box { at 3 m, 0 m }\n"
        "l -> pad 6 dB -> a.1 -> b[1]\nr -> pad 6 dB -> a.2 -> b[2]\n",
        check=sides_uneven,
    ),
)
