"""What the symbols of a plan mean, as far as it uses them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigspec.draw.letters import width
from rigspec.draw.marks import Mark, Words
from rigspec.draw.plan_symbols import box, place
from rigspec.draw.plan_things import PlanThing
from rigspec.text.finding import Severity

SIZE = 9.0


def key(x: float, y: float, things: Sequence[PlanThing]) -> Iterable[Mark]:
    """One row of symbols with what they mean, from x on, around y."""
    boxes = [each for each in things if not each.is_place]
    entries: list[tuple[tuple[Mark, ...], str]] = []

    def middle() -> tuple[float, float]:
        return x + 10 + sum(34 + width(text, SIZE) for _, text in entries), y - 3

    if any(each.aim_deg is not None for each in boxes):
        entries.append(
            (box(middle(), [0.0], False, None), "loudspeaker and its aim: 0° to the audience, 90° to house right")
        )
    if any(each.aim_deg is None for each in boxes):
        entries.append((box(middle(), [None], False, None), "loudspeaker, aim not said"))
    if any(each.inverted for each in boxes):
        entries.append((box(middle(), [None], True, None), "inverted: plus moves it inward"))
    if len(boxes) < len(things):
        entries.append((place(middle()), "place"))
    for level, text in ((Severity.ERROR, "error here"), (Severity.WARNING, "warning here")):
        if any(each.level is level for each in things):
            entries.append((box(middle(), [None], False, level), text))
    at = x
    for marks, text in entries:
        yield from marks
        yield Words(at + 26, y, text, SIZE)
        at += 34 + width(text, SIZE)
