"""Rules about what leads are used for: each carries what it is made for, and reaches from box to box."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import dist

from rigspec.figures import Figures
from rigspec.figures.trace import Run
from rigspec.rig.model import Facts, Gear, Piece, choice
from rigspec.rules.alike import place
from rigspec.rules.rule import Rule
from rigspec.text.finding import Finding, Label, Severity
from rigspec.text.units import show

MADE_FOR = {"signal": "signal", "power": "loudspeaker", "mains": "mains"}
SAID = {"signal": "a signal", "power": "an amplifier's output", "mains": "the mains"}
SLACK_M = 1.0  # boxes are no points, and a lead goes in at their backs (common practice, no source)


def lead_misused(figures: Figures) -> Iterable[Finding]:
    """A lead carries what its kind is not made for."""
    for run in figures.trace.runs.values():
        carries = run.output.carries
        for piece in _leads(run):
            facts = _kind_facts(piece)
            made = choice(facts, "carries")
            if not made or made == MADE_FOR[carries]:
                continue
            kills = "mains" in (carries, made) or carries == "power"
            kind = piece.gear.kind if piece.gear is not None else piece.spec.kind if piece.spec is not None else None
            name = kind.name if kind is not None else "this lead"
            yield Finding(
                "lead-misused",
                piece.span,
                f"{name} carries {SAID[carries]}, and it is made for {_made(made)}",
                label=f"{SAID[carries]} on a {made} lead",
                related=(Label(facts["carries"].span, f"made for {_made(made)}"),),
                help=f"use a lead that is made for {_made(MADE_FOR[carries])}",
                subject=run.arrivals[0].sink.gear.full if run.arrivals else run.output.gear.full,
                at_most=None if kills else Severity.WARNING,
            )


def _made(word: str) -> str:
    return {"signal": "signals", "loudspeaker": "loudspeakers", "mains": "the mains"}[word]


def _kind_facts(piece: Piece) -> Facts:
    nothing: Facts = {}
    if piece.gear is not None:
        return piece.gear.facts
    return piece.spec.kind.facts if piece.spec is not None and piece.spec.kind is not None else nothing


def _leads(run: Run) -> Iterator[Piece]:
    seen = set()
    for piece in run.pieces:
        if piece.what == "lead" and piece.span not in seen:
            seen.add(piece.span)
            yield piece


def lead_too_short(figures: Figures) -> Iterable[Finding]:
    """A lead from loudspeaker to loudspeaker is shorter than they stand apart."""
    boxes = {
        sink.joint: sink.gear
        for sink in figures.rig.wiring.sinks.values()
        if sink.gear.word == "speaker" and sink.takes != "mains"
    }
    said = set()
    for run in figures.trace.runs.values():
        for piece in run.pieces:
            length = piece.spec.length if piece.what == "lead" and piece.spec is not None else None
            near, far = _behind(run, piece, boxes), _before(run, piece, boxes)
            if length is None or near is None or far is None or near is far or piece.span in said:
                continue
            places = place(near), place(far)
            if places[0] is None or places[1] is None:
                continue
            apart_m = dist(places[0], places[1])
            if length.high + SLACK_M < apart_m:
                said.add(piece.span)
                yield _short(piece, near, far, length.text, apart_m)


def _short(piece: Piece, near: Gear, far: Gear, text: str, apart_m: float) -> Finding:
    apart = show(apart_m, "length")
    at = far.facts.get("at")
    return Finding(
        "lead-too-short",
        piece.span,
        f"{text} of lead between {near.full} and {far.full}, which stand {apart} apart",
        label=f"{apart} from box to box",
        related=(Label(at.span, f"{far.full} stands here"),) if at is not None else (),
        computed=text,
        allowed=f"at least {apart}, and more for the way down and up",
        help="use a longer one, or correct where the boxes stand",
        subject=far.full,
    )


def _behind(run: Run, piece: Piece, boxes: dict[int, Gear]) -> Gear | None:
    """The loudspeaker at the near end of a lead."""
    joint = piece.a
    while joint not in boxes and joint in run.parent and run.parent[joint].what != "lead":
        joint = run.parent[joint].a
    return boxes.get(joint)


def _before(run: Run, piece: Piece, boxes: dict[int, Gear]) -> Gear | None:
    """The loudspeaker at its far end."""
    joint, seen = piece.b, {piece.b}
    while joint not in boxes:
        onward = [each for each in run.pieces if each.a == joint and each.what != "lead" and each.b not in seen]
        if len(onward) != 1:
            return None
        joint = onward[0].b
        seen.add(joint)
    return boxes[joint]


RULES = (
    Rule(
        name="lead-misused",
        severity=Severity.ERROR,
        summary="a lead carries what its kind is not made for",
        reason="a signal lead burns under an amplifier and kills on the mains; a lead without a screen brings hum into"
        " a signal",
        limit="what `carries` says of its kind; a loudspeaker lead that carries a signal is a warning",
        authority="common practice, no source; IEC 60364 for the mains, from memory",
        cure="use a lead that is made for it",
        bad="stock lead mic { size 2.5 mm2; carries signal }\namp a is twin\nspeaker s is box\n"
        "a.1 -> lead mic 2 m -> s\n",
        good="stock lead pole { size 2.5 mm2; carries loudspeaker }\namp a is twin\nspeaker s is box\n"
        "a.1 -> lead pole 2 m -> s\n",
        check=lead_misused,
    ),
    Rule(
        name="lead-too-short",
        severity=Severity.WARNING,
        summary="a lead between two loudspeakers is shorter than they stand apart",
        reason="it does not reach, and the crew finds out when everything else is up",
        limit=f"the way between both places, less {show(SLACK_M, 'length')}",
        authority="geometry",
        cure="use a longer lead, or correct the places",
        bad="amp a is twin\nspeaker s[1] is box { at -5 m, 0 m }\nspeaker s[2] is box { at 5 m, 0 m }\n"
        "a.1 -> s[1..2] linked 2.5 mm2 3 m\n",
        good="amp a is twin\nspeaker s[1] is box { at -5 m, 0 m }\nspeaker s[2] is box { at 5 m, 0 m }\n"
        "a.1 -> s[1..2] linked 2.5 mm2 12 m\n",
        check=lead_too_short,
    ),
)
