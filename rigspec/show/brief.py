"""Findings for people in few lines: where, what, the line itself, the figures, what to change.

Alike things speak once: the first for all, with the others named. The rest of what there is to say of a finding is in
`people`, and in `rigspec explain`.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import takewhile

from attrs import frozen

from rigspec.rig.model import runs
from rigspec.rules.following import apart
from rigspec.show.cells import cell_width, prose, visible, wrap
from rigspec.show.excerpt import Mark, marks_of, rows
from rigspec.show.people import BLUE, BOLD, COLOURS, paint
from rigspec.text.finding import Finding, few
from rigspec.text.value import Value

MOST_LINES = 6
PAGE = 57  # lines; with a blank one and the summary behind them fewer than 60
INDENT = "  "
CUT = " ..."
NAMED = 60  # cells for the names of those that are alike

_NUMBER = re.compile(r"\d+(?:\.\d+)?")
_ASIDE = re.compile(r" \([^()]{30,}\)")
_MEMBER = re.compile(r"[\w-]+\[\d+\](?:\.[\w+]+)?")


@frozen(eq=False, repr=False)
class Detail(Value):
    """How much is told of each finding: in how many lines what it says, its own line with its mark, what to change; and
    whether its figures and a blank line."""

    said: int = 9
    excerpt: int = 2
    change: int = 2
    figures: bool = True
    apart: bool = True


DETAILS = (
    Detail(),
    Detail(change=1),
    Detail(change=1, apart=False),
    Detail(change=1, apart=False, excerpt=1),
    Detail(change=1, apart=False, excerpt=0),
    Detail(change=1, apart=False, excerpt=0, figures=False, said=3),
)
MANY, OF_MANY = 10, DETAILS[:4]  # more findings than this do not go on a page, and are told no shorter than this


def brief(findings: Iterable[Finding], *, colour: bool, width: int = 100) -> str:
    """Every finding in lines up to ``width`` cells wide: of each as much as lets all of them go on a page."""
    folded: dict[object, list[Finding]] = {}
    for finding in findings:
        folded.setdefault(_likeness(finding), []).append(finding)
    text = ""
    for detail in DETAILS if len(folded) <= MANY else OF_MANY:
        blocks = ["".join(f"{line}\n" for line in _block(same, detail, colour, width)) for same in folded.values()]
        text = ("\n" if detail.apart else "").join(blocks)
        if text.count("\n") <= PAGE:
            break
    return text


def _likeness(finding: Finding) -> object:
    """What findings have in common that say the same of other things: all but the names."""
    if not finding.subject:
        return finding
    words = (finding.message, finding.computed, finding.allowed, finding.help, finding.fix and finding.fix.title)
    return (
        finding.rule,
        finding.severity,
        finding.span.path,
        len(finding.brings),
        *(_nameless(each or "", finding.subject) for each in words),
    )


def _nameless(text: str, subject: str) -> str:
    name = subject.partition("[")[0].partition(".")[0]
    return re.sub(rf"(?<![\w-]){re.escape(name)}(?![\w-])", "", _MEMBER.sub("", text.replace(subject, "")))


def _block(same: Sequence[Finding], detail: Detail, colour: bool, width: int) -> Iterator[str]:
    finding, *others = same
    where = f"{visible(finding.span.path)}:{finding.span.line}:{finding.span.column}"
    name = f"{finding.severity.value} {prose(finding.rule)}"
    more = (f", and {len(others)} alike: {_named(others)}" if others else "") + _brought(same)
    head = f"{paint(where, BOLD, colour)} {paint(name, COLOURS[finding.severity], colour)}{more}"
    if finding.aside:
        yield f"{head}: {prose(finding.message)}"
        return
    yield head
    room = max(20, width - len(INDENT))
    said = _within(finding.message, room, detail.said)
    yield from (INDENT + paint(line, BOLD, colour) for line in said)
    excerpt = list(_excerpt(finding, room, colour))[: detail.excerpt]
    yield from excerpt
    figures = _within(_figures(finding), room, 1) if detail.figures else []
    yield from (INDENT + line for line in figures)
    left = MOST_LINES - 1 - len(said) - len(excerpt) - len(figures)
    change = max(left, detail.change) if detail.change > 1 else 1
    yield from (INDENT + line for line in _change(finding, room, change))


def _brought(same: Sequence[Finding]) -> str:
    """The rules of what follows from a finding, and the lines where that stands."""
    lines: dict[str, dict[int, None]] = {}
    for each in apart([brought for finding in same for brought in finding.brings]):
        lines.setdefault(prose(each.rule), {})[each.span.line] = None
    told = [f"{rule} ({few([f'line {line}' for line in found], 2)})" for rule, found in lines.items()]
    return f", with {', '.join(told)}" if told else ""


def _named(others: Sequence[Finding]) -> str:
    """The things that are alike, as many as there is room for, and their lines."""
    rows: dict[tuple[str, str], list[int]] = {}
    for each in others:
        name, _, behind = each.subject.partition("[")
        number, _, port = behind.partition("]")
        rows.setdefault((name, port), []).extend([int(number)] if number.isdigit() else [])
    names = [visible(f"{name}[{runs(sorted(set(row)))}]{port}" if row else name) for (name, port), row in rows.items()]
    shown = names[:1]
    shown += takewhile(lambda _: cell_width(", ".join(shown)) < NAMED, names[1:])
    lines = [each.span.line for each in others]
    where = f"line {lines[0]}" if min(lines) == max(lines) else f"lines {min(lines)} to {max(lines)}"
    return f"{', '.join(shown)}{' ...' if len(shown) < len(names) else ''} ({where})"


def _excerpt(finding: Finding, room: int, colour: bool) -> Iterator[str]:
    """The line of the finding with its mark, and those of what belongs to it on that line; nothing in words."""
    source = finding.span.source
    if not source.text:
        return
    own = marks_of(finding.span, "", "^")[:1]
    beside = [mark for each in finding.related if each.span.source == source for mark in marks_of(each.span, "", "~")]
    marks = [*own, *(each for each in beside if each.line == own[0].line and not _meet(each, own[0]))]
    gutter = len(str(own[0].line))
    under = ""
    first = True
    for row in rows(source, marks, room - gutter - 3):
        if first:
            yield f"{INDENT}{row.gutter} | {row.body}".rstrip()
            first = False
        elif row.gutter:
            break  # what does not fit beside the mark is left out
        else:
            under = _laid_over(under, row.body)
    shade = COLOURS[finding.severity]
    under = under.rstrip()
    label = "" if finding.computed else prose(finding.label)  # figures stand in a line of their own
    if label and under.endswith("^") and cell_width(under) + 1 + cell_width(label) <= room - gutter - 3:
        under += f" {label}"
    yield f"{INDENT}{'':{gutter}} | {paint(under, shade if '^' in under else BLUE, colour)}"


def _meet(one: Mark, other: Mark) -> bool:
    return one.start < max(other.end, other.start + 1) and other.start < max(one.end, one.start + 1)


def _laid_over(under: str, over: str) -> str:
    """Two rows of marks as one; what is marked first stays."""
    length = max(len(under), len(over))
    pairs = zip(under.ljust(length), over.ljust(length), strict=True)
    return "".join(a if a != " " else b for a, b in pairs)


def _figures(finding: Finding) -> str:
    """What was computed against what is allowed, where the sentence does not say it already."""
    said = [each for each in (finding.computed, finding.allowed) if each]
    firsts = [found[0] for each in said if (found := _NUMBER.search(each))]
    if len(said) < 2 or (firsts and all(each in _NUMBER.findall(finding.message) for each in firsts)):
        return ""
    return "; ".join(said)


def _change(finding: Finding, room: int, most: int) -> list[str]:
    """What to change, in so many lines at the most: whole clauses only, and those with figures before others."""
    if finding.fix:
        said = f"change: {finding.fix.title}"
        whole = wrap(f"{said} (rigspec check --fix)", room)
        return whole if len(whole) <= most else _within(said, room, most)
    clauses = _ASIDE.sub("", finding.help).split("; ") if finding.help else []
    while len(clauses) > 1 and len(wrap(f"change: {'; '.join(clauses)}", room)) > most:
        plain = [number for number, each in enumerate(clauses) if not any(map(str.isdigit, each))]
        del clauses[plain[-1] if plain else -1]
    if not clauses:
        return []
    said = f"change: {'; '.join(clauses)}"
    return _within(said if len(wrap(said, room)) <= most else _first_way(said, room, most), room, most)


def _first_way(said: str, room: int, most: int) -> str:
    """Of several ways in one clause as many as there is room for; all of it where even the first is too long."""
    ways = [said[: found.start()] for found in re.finditer(r", (?![^(]*\))", said)]
    return next((way for way in reversed(ways) if len(wrap(way, room)) <= most), said)


def _within(text: str, room: int, most: int) -> list[str]:
    """Text in lines, in so many at the most."""
    lines = wrap(text, room)
    if len(lines) <= most:
        return lines
    return [*(narrow := wrap(text, room - len(CUT)))[: most - 1], narrow[most - 1] + CUT]
