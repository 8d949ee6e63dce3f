"""Declarations that cannot be read: what they are about to declare, so that those who use it are shown with them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from attrs import evolve, frozen

from rigspec.language.chunk import STATEMENT_WORDS
from rigspec.language.syntax import Statement
from rigspec.rig.names import CALLED, Row
from rigspec.rig.statements import Statements
from rigspec.text.finding import Finding, Label
from rigspec.text.near import near
from rigspec.text.source import Span
from rigspec.text.value import Content

OF_A_THING = frozenset({"name-unknown", "member-unknown"})
MOST_PLACES = 5
MOST_SLIPS = 20  # nobody types as many declarations at a time: a text with more of them is no rig yet


@frozen(eq=False, repr=False)
class _Unread(Content):
    """A declaration with a slip: the names that it may give, and where it stands. Without a name it may give any."""

    names: tuple[str, ...]
    path: str
    start: int
    end: int
    half: bool  # it ends within its name
    rule: str = "syntax"  # of what is found in it

    def may_give(self, name: str, rows: Mapping[str, Row]) -> bool:
        """Is this the name that was meant? What is declared elsewhere too is meant only as it stands."""
        if name in self.names or (self.half and self.names and name.startswith(self.names[0])):
            return True
        return name not in rows and bool(
            near(name, [each for each in self.names if each not in rows or rows[each].unfinished]).words
        )


def shown_with_uses(found: Sequence[Finding], statements: Statements, rows: Mapping[str, Row]) -> Sequence[Finding]:
    """The findings, where one about a declaration that cannot be read shows the places that speak of what it gives.

    One that has no name yet may give any that is unknown and like no other: as many as there are of such. Each is held
    against each, so where there are very many nothing is shown.
    """
    slips = [*_unread(statements), *_unfinished(found, rows)]
    if len(slips) > MOST_SLIPS:
        return found
    own = {_place(slip, found) for slip in slips}
    of_things = [each for each in found if each.rule in OF_A_THING and each.subject and id(each) not in own]
    if not slips or not of_things:
        return found
    taken: dict[int, list[Finding]] = {}
    for finding in of_things:
        slip = next((each for each in slips if each.may_give(finding.subject, rows)), None)
        if slip is not None:
            taken.setdefault(id(slip), []).append(finding)
    named = {id(finding) for several in taken.values() for finding in several}
    nameless = [slip for slip in slips if not slip.names]
    left = [finding for finding in of_things if id(finding) not in named and finding.fix is None]
    subjects = list(dict.fromkeys(finding.subject for finding in left))
    if len(subjects) <= len(nameless):
        for slip, subject in zip(nameless, subjects, strict=False):
            taken[id(slip)] = [finding for finding in left if finding.subject == subject]
    told = {id(finding) for several in taken.values() for finding in several}
    uses = {_place(slip, found): taken[id(slip)] for slip in slips if id(slip) in taken}
    if None in uses:
        return found
    return [
        _with_uses(finding, uses[id(finding)]) if id(finding) in uses else finding
        for finding in found
        if id(finding) not in told
    ]


def _place(slip: _Unread, found: Sequence[Finding]) -> int | None:
    """The finding about a declaration, by identity."""
    for finding in found:
        if finding.rule == slip.rule and finding.span.path == slip.path and slip.start <= finding.span.start < slip.end:
            return id(finding)
    return None


def _with_uses(finding: Finding, uses: Sequence[Finding]) -> Finding:
    places = sorted({use.span for use in uses}, key=lambda span: (span.path, span.start))
    labels = [Label(span, "what it may be about to declare is named here") for span in places[:MOST_PLACES]]
    return evolve(finding, related=(*finding.related, *labels))


def _unread(statements: Statements) -> Iterator[_Unread]:
    for path, statement in statements.slipped:
        names = _names(statement)
        if names is not None:
            half = len(statement.tokens) <= 2
            yield _Unread(tuple(dict.fromkeys(names)), path, statement.start, statement.end, half)


def _unfinished(found: Sequence[Finding], rows: Mapping[str, Row]) -> Iterator[_Unread]:
    """Declarations that are read with a fault and may mean another name: `speaker sid`, `feed righ t`, `feedleft {`."""
    for finding in found:
        row, span = rows.get(finding.subject), finding.span
        if row is not None and finding.label == "did you mean `is`?":  # `processor xoi s cross` may begin with xo
            yield _Unread((row.name[:-1],), span.path, span.start, span.end, False, finding.rule)
            continue
        if row is not None and (
            (finding.rule == "kind-unknown" and row.unfinished)
            or (finding.rule == "setting-value" and row.word != "lead" and _next_to(row.span, span))
        ):
            yield _Unread((row.name,), span.path, span.start, span.end, True, finding.rule)
        elif row is None and finding.rule == "name-unknown":
            glued = [finding.subject[len(word) :] for word in CALLED if finding.subject.startswith(word)]
            if glued and glued[0][:1].isalpha():
                yield _Unread((glued[0],), span.path, span.start, span.end, False, finding.rule)


def _next_to(name: Span, what: Span) -> bool:
    """Does something stand behind a name, with nothing between?"""
    return name.path == what.path and name.end <= what.start and not name.source.text[name.end : what.start].strip()


def _names(statement: Statement) -> list[str] | None:
    """The names that a statement may be about to give; None where it declares nothing."""
    tokens = [token for token in statement.tokens if token.text]
    if not tokens or tokens[0].kind != "NAME" or any(token.kind == "ARROW" for token in tokens):
        return None
    first = tokens[0].text
    second = tokens[1].text if len(tokens) > 1 and tokens[1].kind == "NAME" else ""
    glued = [text[len(word) :] for text in (first, first + second) for word in CALLED if text.startswith(word)]
    names = [second, *glued] if second != "is" else glued
    names = [name for name in names if name]
    begun = any(word.startswith(first) for word in CALLED) or bool(near(first, CALLED).words)
    if names and (first not in STATEMENT_WORDS or first in CALLED):
        return names
    return [] if begun and len(tokens) == 1 else None
