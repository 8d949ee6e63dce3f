"""One cause, one finding: a name or a member that is not there is told where it first stands, with its other places."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from attrs import evolve

from rigspec.rig.model import Wiring
from rigspec.rig.names import Row
from rigspec.text.finding import Finding, Fix, Label
from rigspec.text.source import Span

OF_A_NAME = frozenset({"name-unknown", "kind-unknown"})
MOST_PLACES = 5  # of these the related places tell; what more there is, the label counts


def one_per_cause(found: Sequence[Finding], rows: Mapping[str, Row], wiring: Wiring) -> tuple[Finding, ...]:
    """The findings, where each that is about one cause speaks for all that have it.

    Its fix mends all of these places.
    """
    found = _without_reserved(found)
    places: dict[tuple[str, ...], list[Finding]] = {}
    wired: set[str] | None = None
    for finding in found:
        if finding.rule == "member-unknown" and wired is None:
            wired = _wired(wiring)
        cause = _cause(finding, rows, wired or set())
        if cause:
            places.setdefault((finding.span.path, *cause), []).append(finding)
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


def _without_reserved(found: Sequence[Finding]) -> Sequence[Finding]:
    """A thing that is called by a word of the language is told once: what begins with it is read otherwise."""
    reserved = {finding.subject for finding in found if finding.rule == "name-reserved"}
    if not reserved:
        return found
    return [each for each in found if each.rule != "syntax" or _first_word(each.span) not in reserved]


def _first_word(span: Span) -> str:
    """The first word of the line that a place stands in."""
    text = span.source.text
    line = text[text.rfind("\n", 0, span.start) + 1 : span.end]
    return line.split(maxsplit=1)[0].partition(".")[0] if line.strip() else ""


def _cause(finding: Finding, rows: Mapping[str, Row], wired: set[str]) -> tuple[str, ...]:
    """What findings of the same cause have in common; nothing where each has its own."""
    if finding.rule in OF_A_NAME:
        return (finding.message,)
    name = finding.subject.partition("[")[0]
    if finding.rule == "member-unknown" and name:
        if name not in wired:  # all that is said of it is of members that it has not: it is declared otherwise
            return ("members", name)
        return (finding.message,) if finding.span.text.startswith("[") else ()
    if finding.rule in ("port-unknown", "lead-incomplete") and name in rows and rows[name].bare:
        return ("bare", name)  # what is declared says nothing yet, neither a kind nor how many ports there are
    if finding.rule == "lead-incomplete" and name:
        return (finding.message, f"{finding.span.start}")  # of all members of a row
    return ()


def _wired(wiring: Wiring) -> set[str]:
    """The names of all things that paths have found."""
    found = {output.gear.name for output in wiring.outputs.values()}
    found |= {sink.gear.name for sink in wiring.sinks.values()}
    return found | {through.gear.name for through in wiring.throughs.values()}


def _for_all(same: list[Finding]) -> Finding:
    first, *others = same
    more = [each for each in others if each.span != first.span]
    if not more:
        return first
    likewise = tuple(Label(each.span, "named here too") for each in more[:MOST_PLACES])
    uncounted = len(more) - len(likewise)
    fixes = [each.fix for each in same if each.fix is not None]
    everywhere = Fix(fixes[0].title, tuple(edit for fix in fixes for edit in fix.edits)) if fixes else None
    return evolve(
        first,
        label=first.label + (f"; it is named in {len(more) + 1} places" if uncounted else ""),
        related=(*first.related, *likewise),
        fix=everywhere if len(fixes) == len(same) else first.fix,
    )
