"""The one way from a text to its findings; command line, editors and tests all come through here."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve, frozen

from rigspec.finding import Finding
from rigspec.parse.reader import parse
from rigspec.rules import RULES
from rigspec.source import Load, Refused, Source

__all__ = ["Load", "Refused", "Report", "check", "in_order", "stamp"]


@frozen
class Report:
    """What a check has to say. ``excused`` are findings that an ``allow`` statement accepts, with reasons."""

    source: Source
    findings: tuple[Finding, ...]
    excused: tuple[Finding, ...] = ()
    files: tuple[str, ...] = ()


def stamp(finding: Finding) -> Finding:
    """The finding with the severity, reason and authority of its rule."""
    rule = RULES[finding.rule]
    return evolve(finding, severity=rule.severity, reason=rule.reason, authority=finding.authority or rule.authority)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """By file, then place, then weight; the same finding twice is said once."""
    unique = dict.fromkeys(findings)
    return tuple(
        sorted(unique, key=lambda f: (f.span.path, f.span.start, -f.severity.weight, f.rule, f.message))
    )


def check(source: Source, load: Load) -> Report:
    """Everything there is to say about a text and the files it uses."""
    file = parse(source)
    return Report(source, in_order(map(stamp, file.slips)), files=(source.path,))
