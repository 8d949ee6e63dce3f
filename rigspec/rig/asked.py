"""What somebody asks for beside a rig, in the language's own words: ``load of bass.1, sub[1..2]``."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve, frozen

from rigspec.language.reader import parse
from rigspec.language.syntax import Clause, Expect, Item, Listing, Ref
from rigspec.rig.model import Gear, ListMember, Rig
from rigspec.rig.names import Names, Row
from rigspec.rig.relations import parts
from rigspec.rig.values import Faults
from rigspec.text.finding import Finding
from rigspec.text.near import near
from rigspec.text.source import Source, Span
from rigspec.text.value import Value

_BEFORE, _BEHIND = "expect ", " = normal"  # a promise says what it is about as a question does
_SHAPE = "write a figure and things: `load of bass.1`, `loss of sub[1..2], sub[4]`, `power of bass.*`"


@frozen(eq=False, repr=False)
class Asked(Value):
    """A figure's word and the things it is asked of, as they are called in the question (``said``) and each of them.

    Or what is wrong with the question, and nothing else.
    """

    word: str
    said: tuple[str, ...]
    things: tuple[ListMember, ...]
    faults: tuple[Finding, ...]


def asked(source: Source, rig: Rig, words: Iterable[str]) -> Asked:
    """Read a question. ``words`` are the figures that there are. Findings stand in ``source``, and carry no fix."""
    text = f"{_BEFORE}{source.text}{_BEHIND}"
    file = parse(Source(source.path, text))
    nodes = [statement.node for statement in file.statements]
    node = nodes[0] if len(nodes) == 1 else None
    if not isinstance(node, Expect) or file.slips or not _plain(node, len(text)):
        return Asked("", (), (), (_unread(source),))
    if any(clause.word == "in" for clause in node.clauses):
        return Asked("", (), (), (_in_band(source, node),))
    faults = Faults()
    if node.figure not in words:
        _word_unknown(node, sorted(words), faults)
        return Asked("", (), (), _moved(faults.found, source))
    names = names_of(rig, faults)
    items = [item for clause in node.clauses for item in clause.items]
    things = [part for item in items for part in _parts(item, rig, names)]
    unique = {(part.name, part.port): _moved_part(part, source, text) for part in things}
    if faults.found:
        return Asked("", (), (), _moved(faults.found, source))
    return Asked(node.figure, tuple(item.span.text for item in items), tuple(unique.values()), ())


def names_of(rig: Rig, faults: Faults) -> Names:
    """The names of a rig that is bound already, for looking things up in it."""
    names = Names(False, frozenset(), faults)
    rows: dict[str, dict[int | None, Gear]] = {}
    for gear in rig.gear.values():
        rows.setdefault(gear.name, {})[gear.number] = gear
    for name, members in rows.items():
        first = next(iter(members.values()))
        names.rows[name] = Row(first.word, name, members, first.span)
    for roster in rig.rosters:
        if roster.name:
            names.listings[roster.name] = Listing(
                roster.word, roster.name, (), None, word_span=roster.span, name_span=roster.span, span=roster.span
            )
    return names


def _plain(node: Expect, length: int) -> bool:
    """Is it nothing but a word and references, so that what was put around it is still what it was?"""
    return node.comparison == "=" and node.span.end == length and all(map(_plain_clause, node.clauses))


def _plain_clause(clause: Clause) -> bool:
    return clause.word == "in" or all(len(item.atoms) == 1 and isinstance(item.atoms[0], Ref) for item in clause.items)


def _unread(source: Source) -> Finding:
    whole = Span(source, 0, len(source.text))
    said = source.text.strip()
    message = f"`{said}` does not ask for a figure of a thing" if said else "nothing is asked for"
    return Finding("usage", whole, message, help=_SHAPE)


def _in_band(source: Source, node: Expect) -> Finding:
    (first, *_) = _moved([Finding("usage", clause.span, "") for clause in node.clauses if clause.word == "in"], source)
    message = "how a figure in a band comes about is not told"
    return evolve(first, message=message, help="ask without the band; an `expect` with a band judges the figure there")


def _word_unknown(node: Expect, words: list[str], faults: Faults) -> None:
    meant = near(node.figure, words)
    faults.add(
        "figure-unknown",
        node.figure_span,
        f"there is no figure `{node.figure}`",
        label=meant.question or "unknown figure",
        help=f"ask for one of {', '.join(words)}",
    )


def _parts(item: Item, rig: Rig, names: Names) -> list[ListMember]:
    ref = item.atoms[0]
    assert isinstance(ref, Ref)
    roster = next((each for each in rig.rosters if each.name == ref.name and ref.plain), None)
    if roster is None or ref.name in names.rows:
        return parts(ref, names)
    if roster.word in ("group", "rack", "stereo"):
        return list(roster.parts)
    return [ListMember(roster.name, "", 0.0, False, ref.span)]


def _moved_part(part: ListMember, source: Source, text: str) -> ListMember:
    """A thing at its place in the question; a member of a list stands in the rig."""
    if part.span.source.text != text:
        return part
    return evolve(part, span=Span(source, part.span.start - len(_BEFORE), part.span.end - len(_BEFORE)))


def _moved(found: Iterable[Finding], source: Source) -> tuple[Finding, ...]:
    """Findings about the text that was read, as findings about the question itself."""
    moved = []
    for finding in found:
        start, end = finding.span.start - len(_BEFORE), finding.span.end - len(_BEFORE)
        moved.append(evolve(finding, span=Span(source, start, min(end, len(source.text))), fix=None))
    return tuple(moved)
