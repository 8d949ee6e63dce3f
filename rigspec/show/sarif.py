"""Findings as SARIF 2.1.0, the form that code-scanning sites take.

Source: OASIS Static Analysis Results Interchange Format (SARIF) Version 2.1.0.
"""

from collections.abc import Iterable, Mapping
from typing import Protocol

from rigspec.show.ascii_json import dump
from rigspec.show.facts import facts
from rigspec.text.finding import Finding, Fix, Severity
from rigspec.text.source import Span
from rigspec.text.value import gathered

SCHEMA = "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json"
ROOT = "%SRCROOT%"
LEVELS = {Severity.ERROR: "error", Severity.WARNING: "warning", Severity.ADVICE: "note"}


class RuleFacts(Protocol):
    """What a reader of reports wants to know about a rule."""

    @property
    def name(self) -> str: ...
    @property
    def summary(self) -> str: ...
    @property
    def reason(self) -> str: ...
    @property
    def authority(self) -> str: ...
    @property
    def severity(self) -> Severity: ...


def to_sarif(findings: Iterable[Finding], *, rules: Mapping[str, RuleFacts], tool_version: str) -> str:
    """One SARIF run with the given rules (by name) and a result for every finding.

    Relative paths hang below ``%SRCROOT%``, which the reader sets; columns count code points. A finding of a rule that
    is not among ``rules`` keeps its rule's name and has no index.
    """
    index = {name: number for number, name in enumerate(rules)}
    driver = {"name": "rigspec", "version": tool_version, "rules": [_rule(rule) for rule in rules.values()]}
    run = {
        "tool": {"driver": driver},
        "columnKind": "unicodeCodePoints",
        "originalUriBaseIds": {ROOT: {"description": {"text": "the folder that the paths start from"}}},
        "results": [_result(finding, index) for finding in findings],
    }
    return dump({"$schema": SCHEMA, "version": "2.1.0", "runs": [run]})


def _rule(rule: RuleFacts) -> dict[str, object]:
    return {
        "id": rule.name,
        "shortDescription": {"text": rule.summary},
        "fullDescription": {"text": rule.reason},
        "help": {"text": f"{rule.summary}\n\nWhy: {rule.reason}\n\nSource: {rule.authority}"},
        "defaultConfiguration": {"level": LEVELS[rule.severity]},
    }


def _result(finding: Finding, index: Mapping[str, int]) -> dict[str, object]:
    told = [f"{word}: {text}" for word, text in facts(finding) if word != "fix"]
    result: dict[str, object] = {
        "ruleId": finding.rule,
        "level": LEVELS[finding.severity],
        "message": {"text": "\n".join([finding.message, *told])},
        "locations": [_location(finding.span, finding.label)],
    }
    if finding.rule in index:
        result["ruleIndex"] = index[finding.rule]
    if finding.related:
        related = enumerate(finding.related, start=1)
        result["relatedLocations"] = [{"id": number, **_location(label.span, label.text)} for number, label in related]
    if finding.fix and finding.fix.edits:
        result["fixes"] = [_fix(finding.fix)]
    return result


def _location(span: Span, text: str) -> dict[str, object]:
    location: dict[str, object] = {
        "physicalLocation": {"artifactLocation": _artifact(span.path), "region": _region(span)}
    }
    return {**location, "message": {"text": text}} if text else location


def _region(span: Span) -> dict[str, int]:
    line, column = span.source.position(span.start)
    end_line, end_column = span.source.position(span.end)
    return {"startLine": line, "startColumn": column, "endLine": end_line, "endColumn": end_column}


def _artifact(path: str) -> dict[str, str]:
    """Where a file is, as a URI; both slashes are taken, and the bytes of a name that is not UTF-8 are kept."""
    from urllib.parse import quote

    path = path.replace("\\", "/").removeprefix("./")
    try:
        raw = path.encode("utf-8", "surrogateescape")
    except UnicodeEncodeError:
        raw = path.encode("utf-8", "replace")
    if path.startswith("/"):
        return {"uri": "file://" + quote(raw)}
    if path[1:3] == ":/":
        return {"uri": "file:///" + quote(raw, safe="/:")}
    return {"uri": quote(raw), "uriBaseId": ROOT}


def _fix(fix: Fix) -> dict[str, object]:
    """A fix with its edits gathered by file, as the standard wants them."""
    by_path = gathered(fix.edits, lambda edit: edit.span.path)
    changes = [
        {
            "artifactLocation": _artifact(path),
            "replacements": [
                {"deletedRegion": _region(edit.span), "insertedContent": {"text": edit.text}} for edit in edits
            ],
        }
        for path, edits in by_path.items()
    ]
    return {"description": {"text": fix.title}, "artifactChanges": changes}
