"""What a plan says in words below its windows: what has no place, what found no room, and what is wrong."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rigspec.draw.letters import wrapped
from rigspec.draw.plan_things import Stand
from rigspec.draw.plan_window import Window

MOST_NAMED, MOST_FINDINGS = 12, 4


def said_below(stand: Stand, windows: Sequence[Window], size: float, most: float) -> list[str]:
    """Lines of at most so many px."""
    return [line for text in dict.fromkeys(_texts(stand, windows)) for line in wrapped(text, size, most)]


def _texts(stand: Stand, windows: Sequence[Window]) -> Iterable[str]:
    if stand.without:
        yield f"Without a place: {_few(stand.without)}."
    unlabelled = [thing for each in windows for thing in each.unlabelled]
    if unlabelled:
        spots = [f"{each.title} at {each.across_m:.4g} m, {each.along_m:.4g} m" for each in unlabelled]
        yield f"No room to write beside: {_few(spots)}."
    if any(each.brief for each in windows):
        yield "No room for all kinds, heights and tilts: the rig has them."
    unshown = [text for each in windows for text in each.unshown]
    if unshown:
        yield f"Distances without room: {_few(unshown)}."
    findings = list(dict.fromkeys(each for thing in stand.things for each in thing.findings))
    findings.sort(key=lambda each: -each.severity.weight)
    for each in findings[:MOST_FINDINGS]:
        yield f"{each.severity.value} at {each.subject}: {each.message}."
    if findings[MOST_FINDINGS:]:
        yield f"... and {len(findings) - MOST_FINDINGS} more findings here; the check has them all."


def _few(names: Sequence[str]) -> str:
    more = [f"and {len(names) - MOST_NAMED} more"] if len(names) > MOST_NAMED else []
    return "; ".join([*names[:MOST_NAMED], *more])
