"""One cause, one finding: a name that nobody knows is told where it first stands, with its other places."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from rigspec.finding import Finding, Fix, Label

OF_A_NAME = frozenset({"name-unknown", "kind-unknown"})
MOST_PLACES = 5  # of these the related places tell; what more there is, the label counts


def told_once(found: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings, where each that is about one unknown name speaks for all that say the same of it.

    Its fix writes the name at all of these places.
    """
    places: dict[tuple[str, str], list[Finding]] = {}
    for finding in found:
        if finding.rule in OF_A_NAME:
            places.setdefault((finding.message, finding.span.path), []).append(finding)
    if all(len(same) == 1 for same in places.values()):
        return tuple(found)
    others = {id(each): same for same in places.values() for each in same if len(same) > 1}
    told: list[Finding] = []
    for finding in found:
        same = others.get(id(finding))
        if same is None:
            told.append(finding)
        elif finding is same[0]:
            told.append(_for_all(sorted(dict.fromkeys(same), key=lambda each: each.span.start)))
    return tuple(told)


def _for_all(same: list[Finding]) -> Finding:
    first, *more = same
    if not more:
        return first
    likewise = tuple(Label(each.span, "named here too") for each in more[:MOST_PLACES])
    uncounted = len(more) - len(likewise)
    fixes = [each.fix for each in same if each.fix is not None]
    everywhere = Fix(fixes[0].title, tuple(edit for fix in fixes for edit in fix.edits)) if fixes else None
    return evolve(
        first,
        label=first.label + (f"; it is named in {len(same)} places" if uncounted else ""),
        related=(*first.related, *likewise),
        fix=everywhere if len(fixes) == len(same) else first.fix,
    )
