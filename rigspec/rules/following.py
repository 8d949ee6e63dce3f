"""What follows from something that is told already is told with it, at the cause, and not alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from attrs import evolve

from rigspec.text.finding import Finding, Label, Told


def apart(found: Iterable[Finding]) -> Iterator[Finding]:
    """The findings and all that they bring, each for itself."""
    for finding in found:
        yield finding
        yield from apart(finding.brings)


def told_at_cause(found: Sequence[Finding]) -> list[Finding]:
    """The findings, where each that follows from others is told by the first of these, which then weighs as much.

    What nothing else tells stands for itself: so does a broken promise whose cause somebody allows.
    """
    if not any(finding.follows for finding in found):
        return list(found)
    tellers: dict[Told, Finding] = {}
    for finding in found:
        for thing in (finding.subject, *finding.also):
            tellers.setdefault((finding.rule, thing), finding)
    brings: dict[int, list[Finding]] = {}
    for finding in found:
        cause = _cause(finding, tellers)
        if cause is not finding:
            brings.setdefault(id(cause), []).append(finding)
    brought = {id(each) for several in brings.values() for each in several}
    return [_with(each, brings.get(id(each), [])) for each in found if id(each) not in brought]


def _cause(finding: Finding, tellers: Mapping[Told, Finding]) -> Finding:
    """Who tells of a finding: the first of its causes, or that of this one; itself where not all of them are told."""
    causes = [next((tellers[each] for each in either if each in tellers), None) for either in finding.follows]
    first = causes[0] if causes else None
    return finding if first is None or None in causes else _cause(first, tellers)


def _with(cause: Finding, brings: Sequence[Finding]) -> Finding:
    if not brings:
        return cause
    return evolve(
        cause,
        severity=max((cause.severity, *(each.severity for each in brings)), key=lambda each: each.weight),
        related=(*cause.related, *(Label(each.span, f"and so {each.message}") for each in brings)),
        assumes=tuple(dict.fromkeys(text for each in (cause, *brings) for text in each.assumes)),
        brings=tuple(brings),
    )
