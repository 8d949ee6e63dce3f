"""Findings one on a line, for editors, ``grep`` and build logs."""

from collections.abc import Iterable

from rigspec.show.cells import prose, visible
from rigspec.text.finding import Finding


def lines(findings: Iterable[Finding]) -> str:
    """``path:line:column: severity: message [rule-name]`` for each finding, each with its line end."""
    return "".join(f"{_line(finding)}\n" for finding in findings)


def _line(finding: Finding) -> str:
    place = f"{visible(finding.span.path)}:{finding.span.line}:{finding.span.column}"
    return f"{place}: {finding.severity.value}: {prose(finding.message)} [{prose(finding.rule)}]"
