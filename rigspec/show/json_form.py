"""Findings as JSON for programs."""

from collections import Counter
from collections.abc import Iterable, Sequence

from rigspec.show.ascii_json import dump
from rigspec.text.finding import Finding, Fix, Severity
from rigspec.text.source import Source, Span

FORMAT = "rigspec-findings"
VERSION = 1  # a field that changes its meaning or goes raises it, a new field does not


def to_json(findings: Iterable[Finding], *, files: Sequence[str], tool_version: str) -> str:
    """All findings with their places, figures and fixes, the files that were checked and counts by severity.

    Places: ``line``, ``column`` and ``utf16_column`` count from 1, ``offset`` from 0; columns and offsets count code
    points, ``utf16_column`` counts UTF-16 units. ``end`` is the first character that no longer belongs to the place.
    """
    findings = list(findings)
    counts = Counter(finding.severity for finding in findings)
    return dump(
        {
            "format": FORMAT,
            "version": VERSION,
            "tool": {"name": "rigspec", "version": tool_version},
            "files": list(files),
            "counts": {severity.value: counts[severity] for severity in Severity},
            "findings": [_finding(finding) for finding in findings],
        }
    )


def _finding(finding: Finding) -> dict[str, object]:
    return {
        "rule": finding.rule,
        "severity": finding.severity.value,
        **_place(finding.span),
        "message": finding.message,
        "label": finding.label,
        "subject": finding.subject,
        "computed": finding.computed,
        "allowed": finding.allowed,
        "certain": not finding.possible,
        "decides": finding.decides,
        "assumes": list(finding.assumes),
        "reason": finding.reason,
        "authority": finding.authority,
        "help": finding.help,
        "related": [{**_place(label.span), "text": label.text} for label in finding.related],
        "fix": _fix(finding.fix) if finding.fix else None,
    }


def _fix(fix: Fix) -> dict[str, object]:
    return {"title": fix.title, "edits": [{**_place(edit.span), "text": edit.text} for edit in fix.edits]}


def _place(span: Span) -> dict[str, object]:
    return {"path": span.path, "start": _position(span.source, span.start), "end": _position(span.source, span.end)}


def _position(source: Source, offset: int) -> dict[str, int]:
    line, column = source.position(offset)
    utf16_column = source.position_utf16(offset)[1] + 1
    return {"line": line, "column": column, "utf16_column": utf16_column, "offset": offset}
