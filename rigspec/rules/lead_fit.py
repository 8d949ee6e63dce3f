"""Rules about whether a lead is the right one: what it is made for, how far it reaches, and what hangs in series."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from math import ceil, dist

from attrs import frozen

from rigspec.figures import BoxFigures, Figures
from rigspec.figures.trace import Run
from rigspec.rig.model import Gear, Piece, choice, entries
from rigspec.rules.places import declared
from rigspec.rules.rule import Rule
from rigspec.rules.wiring import origin
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.source import Span
from rigspec.text.units import show, show_pair
from rigspec.text.value import Value

Point = tuple[float, ...]

MADE_FOR = {"signal": "signals", "loudspeaker": "loudspeakers", "mains": "the mains"}
RUNS = {"signal": "a signal", "power": "an amplifier's output", "mains": "the mains"}
RIGHT = {"signal": "signal", "power": "loudspeaker", "mains": "mains"}
LONG_M = 10.0  # an unscreened pair at line level picks up hum over a way like this (common practice, no source)
BOX_M = 1.0  # boxes are points here: so far may the sockets of two stand nearer than their middles are
MOST_BOXES = 60  # of one amplifier are held against each other
UNLIKE = 1.25  # unlike impedances in series share a voltage so unevenly (2 dB; common practice, no source)


# ---- what a lead is made for ----------------------------------------------------------------------------------------


def lead_unsuited(figures: Figures) -> Iterable[Finding]:
    """A lead carries what its kind is not made for."""
    told = set()
    for run in figures.trace.runs.values():
        carries = run.output.carries
        for piece in run.pieces:
            made = _made_for(piece)
            if made is None or made[0] == RIGHT[carries] or piece.span in told:
                continue
            told.add(piece.span)
            yield _unsuited(run, piece, *made)


def _made_for(piece: Piece) -> tuple[str, Label] | None:
    """What a lead is made for, where its kind says so, and the place that says it."""
    gear = piece.gear if piece.gear is not None and piece.gear.word == "lead" else None
    kind = gear.kind if gear else piece.spec.kind if piece.spec else None
    facts = gear.facts if gear else kind.facts if kind else {}
    said = choice(facts, "carries")
    if piece.what != "lead" or not said or kind is None:
        return None
    return said, Label(facts["carries"].span, f"{kind.name} is made for {MADE_FOR[said]}")


def _unsuited(run: Run, piece: Piece, made: str, said: Label) -> Finding:
    carries = run.output.carries
    return Finding(
        "lead-unsuited",
        piece.span,
        f"this lead is made for {MADE_FOR[made]}, and {RUNS[carries]} runs in it ({run.output.key})",
        label=f"made for {MADE_FOR[made]}",
        related=(said, origin(run.output)),
        help=f"use a lead that is made for {MADE_FOR[RIGHT[carries]]}",
        subject=run.output.key,
        at_most=_most(made, carries, piece),
    )


def _most(made: str, carries: str, piece: Piece) -> Severity:
    if carries == "mains":
        return Severity.ERROR
    length = piece.spec.length if piece.spec else None
    short = length is not None and length.high < LONG_M
    return Severity.ADVICE if (made, carries) == ("loudspeaker", "signal") and short else Severity.WARNING


# ---- how far a lead reaches -----------------------------------------------------------------------------------------


@frozen(eq=False, repr=False)
class _End(Value):
    """A thing with a position, and the leads between it and the output that feeds it, which stands first."""

    gear: Gear
    sink: Span
    at: Point
    leads: tuple[Piece, ...]


def lead_too_short(figures: Figures) -> Iterable[Finding]:
    """The leads between two things that say where they stand are shorter than the straight way between them.

    Of what hangs on one amplifier any two are joined by their leads, wherever the amplifier stands.
    """
    lots: dict[tuple[str, str], list[_End]] = {}
    for run in figures.trace.runs.values():
        gear = run.output.gear
        if run.doubt or gear.doubt:
            continue
        ends = lots.setdefault((gear.full, run.output.carries), [])
        if not ends and (own := _place(gear)):
            ends.append(_End(gear, run.output.span, own, ()))
        ends += islice(_ends(run), max(MOST_BOXES - len(ends), 0))  # so that work stays linear in the rig
    told: set[Span] = set()
    for ends in lots.values():
        for one, other, short_m, way_m in _apart(ends):
            between = _between(one, other)
            worst = min((piece for piece in between if piece.spec), key=_length_m)
            if worst.span not in told:
                told.add(worst.span)
                yield _short(one, other, worst, short_m, way_m)


def _place(gear: Gear) -> Point | None:
    """Where a thing stands; nothing is said of heights where it gives none."""
    said = [found.value for each in entries(gear.facts, "at") if (found := each.get("length")) is not None]
    return tuple(said) if len(said) in (2, 3) else None


def _ends(run: Run) -> Iterator[_End]:
    for arrival in run.arrivals:
        gear = arrival.sink.gear
        at = None if gear.doubt else _place(gear)
        if at is None:
            continue
        leads = tuple(run.leads_to(arrival.sink.joint))
        if not leads or not all(each.spec and each.spec.length for each in leads):
            continue
        if not any(_unsaid(piece) for piece in _way(run, arrival.sink.joint)):
            yield _End(gear, arrival.sink.span, at, leads)


def _way(run: Run, joint: int) -> Iterator[Piece]:
    while joint in run.parent:
        yield run.parent[joint]
        joint = run.parent[joint].a


def _unsaid(piece: Piece) -> bool:
    """Is this a part of the way whose length nobody says, as that behind a panel is?"""
    return piece.gear is not None and piece.what != "lead"


def _between(one: _End, other: _End) -> list[Piece]:
    """The leads from one thing to another: what both have in common they do not pass."""
    common = {id(piece) for piece in one.leads} & {id(piece) for piece in other.leads}
    return [piece for piece in (*one.leads, *other.leads) if id(piece) not in common]


def _length_m(piece: Piece) -> float:
    length = piece.spec.length if piece.spec else None
    return length.high if length else 0.0


def _apart(ends: list[_End]) -> Iterator[tuple[_End, _End, float, float]]:
    """Pairs that their leads do not join, those with the fewest leads between them first."""
    found = []
    for number, one in enumerate(ends):
        for other in ends[number + 1 :]:
            between = _between(one, other)
            size = min(len(one.at), len(other.at))
            way_m = dist(one.at[:size], other.at[:size])
            reach_m = sum(map(_length_m, between))
            if between and one.gear.full != other.gear.full and reach_m < way_m - BOX_M:
                found.append((len(between), reach_m, way_m, one, other))
    found.sort(key=lambda each: each[:2])
    for _, reach_m, way_m, one, other in found:
        yield one, other, reach_m, way_m


def _short(one: _End, other: _End, lead: Piece, reach_m: float, way_m: float) -> Finding:
    length = lead.spec.length if lead.spec else None
    assert length is not None  # it was measured by it
    has, needs = show_pair(reach_m, way_m, "length")
    lacks_m = ceil(way_m - reach_m + _length_m(lead))
    return Finding(
        "lead-too-short",
        lead.span,
        f"{one.gear.full} and {other.gear.full} stand {needs} apart, and the leads between them are {has} long",
        label=f"{length.text} here",
        related=tuple(Label(end.gear.span, f"{end.gear.full} is declared here") for end in (one, other)),
        computed=f"{has} of lead",
        allowed=f"at least {needs}, and what goes up and round corners",
        help=f"take {lacks_m} m or more here, or correct where they stand",
        subject=lead.name or one.gear.full,
    )


# ---- what hangs in series -------------------------------------------------------------------------------------------


def series_unlike(figures: Figures) -> Iterable[Finding]:
    """Loudspeakers of unlike impedance hang one after the other: the higher one takes most of the voltage."""
    for key, channel in figures.channels.items():
        run = figures.trace.runs[key]
        for split in run.splits if len(run.splits) <= MOST_BOXES else ():
            ohms = [_branch_ohm(run, channel.boxes, start) for start in split.branches]
            known = [ohm for ohm in ohms if ohm is not None]
            if len(known) < len(ohms) or max(known) < min(known) * UNLIKE:
                continue
            low, high = show(min(known), "resistance"), show(max(known), "resistance")
            part = max(known) / sum(known)
            yield Finding(
                "series-unlike",
                split.span,
                f"{low} and {high} hang in series on {key}: the {high} take {part:.0%} of the power",
                label="unlike in series",
                related=tuple(declared(channel.boxes)),
                computed=f"{part:.0%} of the voltage across {high}",
                allowed=f"like parts of it, within {UNLIKE - 1:.0%}",
                help="hang boxes of one impedance in series, or these in parallel where the amplifier stands that",
                subject=key,
            )


def _branch_ohm(run: Run, boxes: Sequence[BoxFigures], start: int) -> float | None:
    """The impedance of what hangs in one branch, side by side; None where it holds a series of its own."""
    siemens = 0.0
    for box in boxes:
        joint, passed = box.box.arrival.sink.joint, []
        while joint in run.parent and joint != start:
            joint = run.parent[joint].a
            passed.append(joint)
        if joint != start:
            continue
        if any(split.joint in passed for split in run.splits) or not box.box.impedance_ohm:
            return None
        siemens += 1 / box.box.impedance_ohm
    return 1 / siemens if siemens else None


RULES = (
    Rule(
        name="lead-unsuited",
        severity=Severity.ERROR,
        summary="a lead carries what it is not made for",
        reason="a signal pair burns behind an amplifier, an unscreened one picks up hum, and neither is insulated for"
        " the mains, where that is dangerous to life",
        limit="what its kind says that it carries",
        authority="common practice, no source",
        cure="use a lead that is made for it",
        bad="stock lead mic { pairs 1; size 0.22 mm2; carries signal }\nmains house { supply 230 V; residual 30 mA }\n"
        "feed send { level 4 dBu }\nspeaker mon is active\nsend -> mon\nhouse -> lead mic 5 m -> mon\n",
        good="stock lead flex { size 2.5 mm2; carries mains }\nmains house { supply 230 V; residual 30 mA }\n"
        "feed send { level 4 dBu }\nspeaker mon is active\nsend -> mon\nhouse -> lead flex 5 m -> mon\n",
        check=lead_unsuited,
    ),
    Rule(
        name="lead-too-short",
        severity=Severity.WARNING,
        summary="leads are shorter than the way between the things that they join",
        reason="it does not reach, and that is found out on a ladder",
        limit="the straight way between the positions said, less 1 m for the size of the boxes",
        authority="geometry; the metre is common practice, no source",
        cure="take a longer lead, or correct the positions",
        bad="feed send { level 4 dBu }\namp a is twin\nspeaker s[1..2] is box\ns[1] { at -10 m, 0 m }\n"
        "s[2] { at 10 m, 0 m }\nsend -> a.1 -> lead 4 mm2 5 m -> s[1..2] linked 4 mm2 10 m\n",
        good="feed send { level 4 dBu }\namp a is twin\nspeaker s[1..2] is box\ns[1] { at -5 m, 0 m }\n"
        "s[2] { at 5 m, 0 m }\nsend -> a.1 -> lead 4 mm2 5 m -> s[1..2] linked 4 mm2 10 m\n",
        check=lead_too_short,
    ),
    Rule(
        name="series-unlike",
        severity=Severity.WARNING,
        summary="loudspeakers of unlike impedance hang in series",
        reason="one current runs through both, so power goes as the impedance: one is too loud and reaches its limit"
        " first",
        limit=f"impedances within {UNLIKE - 1:.0%} of each other",
        authority="circuit theory; the limit is common practice, no source",
        cure="hang like ones in series",
        bad="stock speaker small { impedance 4 ohm; rated 500 W continuous, 2000 W peak; band 60 Hz to 18 kHz }\n"
        "feed send { level 4 dBu }\namp a is twin\nspeaker s is box\nspeaker t is small\n"
        "send -> a.1 -> series(lead 2.5 mm2 9 m -> s, t)\n",
        good="feed send { level 4 dBu }\namp a is twin\nspeaker s is box\nspeaker t is box\n"
        "send -> a.1 -> series(lead 2.5 mm2 9 m -> s, t)\n",
        check=series_unlike,
    ),
)
