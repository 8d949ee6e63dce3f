"""What array a group is said to be."""

from __future__ import annotations

from attrs import frozen

from rigspec.rig.model import Roster, first, one
from rigspec.text.source import Span
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class Intent(Value):
    """`array curved 60 deg; toward 0 deg`: which array, the angle of a curved one, and which way its front looks."""

    word: str
    angle_deg: float
    toward_deg: float
    span: Span


def intent_of(roster: Roster) -> Intent | None:
    """What a group says; None where it says nothing of an array."""
    given, entry = roster.facts.get("array"), first(roster.facts, "array")
    if given is None or entry is None or not entry.words:
        return None
    angle, toward = entry.get("angle"), one(roster.facts, "toward", "angle")
    return Intent(
        entry.words[0], 0.0 if angle is None else abs(angle.value), toward.value if toward else 0.0, given.span
    )
