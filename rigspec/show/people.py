"""Findings for people at a terminal: where, what, the line itself, the figures, what to change."""

from collections.abc import Iterable, Iterator

from rigspec.show.cells import prose, visible, wrap
from rigspec.show.excerpt import Mark, marks_of, rows
from rigspec.show.facts import facts
from rigspec.text.finding import Finding, Severity
from rigspec.text.source import Source

GUTTER = 10  # cells before the bar of an excerpt and the colon of a fact, which stand in one column

# Vermillion and blue of the Okabe-Ito palette (Color Universal Design, 2008) in their nearest colours of 256: told
# apart by every kind of colour vision, legible on black and on white. The words say the same without colour.
BOLD = "1"
BLUE = "38;5;32"
VERMILLION = "38;5;166"
COLOURS = {Severity.ERROR: f"{BOLD};{VERMILLION}", Severity.WARNING: VERMILLION, Severity.ADVICE: BLUE}


def people(findings: Iterable[Finding], *, colour: bool, width: int = 100) -> str:
    """Every finding as a block of lines up to ``width`` cells wide, a blank line between blocks.

    The first line of a block is never wrapped, so that ``path:line:column`` can be followed by a click. Control
    characters and other unseen characters of paths and sources come out as escapes such as ``\\x1b``.
    """
    return "\n".join("".join(f"{line}\n" for line in _block(finding, colour, width)) for finding in findings)


def summary(findings: Iterable[Finding], file_count: int) -> str:
    """How many of each severity in how many files, on one line without its end: ``1 error, 2 advice in 4 files``."""
    counts = dict.fromkeys(Severity, 0)
    for finding in findings:
        counts[finding.severity] += 1
    found = ", ".join(_count(number, severity.value) for severity, number in counts.items() if number)
    return f"{found or 'no findings'} in {_count(file_count, 'file')}"


def _count(number: int, word: str) -> str:
    return f"{number} {word}" + ("" if number == 1 or word == "advice" else "s")


def paint(text: str, code: str, colour: bool) -> str:
    return f"\x1b[{code}m{text}\x1b[0m" if colour and text else text


def _block(finding: Finding, colour: bool, width: int) -> Iterator[str]:
    """The lines of one finding."""
    shade = COLOURS[finding.severity]
    where = paint(f"{visible(finding.span.path)}:{finding.span.line}:{finding.span.column}", BOLD, colour)
    name = paint(f"{finding.severity.value} {prose(finding.rule)}", shade, colour)
    yield f"{where}: {name}: {paint(prose(finding.message), BOLD, colour)}"

    room = max(20, width - GUTTER - 2)
    for (source, elsewhere), marks in _places(finding).items():
        if elsewhere:
            place = f"{visible(source.path)}:{min(mark.line for mark in marks)}"
            yield f"{'see':>{GUTTER}}: {paint(place, BOLD, colour)}"
        for row in rows(source, marks, room):
            body = paint(row.body.rstrip(), shade if row.sign == "^" else BLUE, colour and bool(row.sign))
            yield f"{row.gutter:>{GUTTER - 1}} | {body}".rstrip()

    for word, text in facts(finding):
        lead = f"{word:>{GUTTER}}: "
        for line in wrap(text, room):
            yield lead + line
            lead = " " * len(lead)


def _places(finding: Finding) -> dict[tuple[Source, bool], list[Mark]]:
    """Marks by source, those on the lines of the finding itself (``False``) apart from those elsewhere (``True``)."""
    home = finding.span.source
    own = marks_of(finding.span, finding.label, "^")
    lines = {mark.line for mark in own}
    places: dict[tuple[Source, bool], list[Mark]] = {(home, False): [*own]}
    for label in finding.related:
        marks = marks_of(label.span, label.text, "~")
        elsewhere = label.span.source != home or not lines.issuperset(mark.line for mark in marks)
        places.setdefault((label.span.source, elsewhere), []).extend(marks)
    return places
