"""Mechanical fixes, as pure functions: what a fix makes of texts, and whether two checks show that it may stay."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from typing import TypeAlias

from rigspec.check import stamp
from rigspec.rules.following import apart
from rigspec.show.cells import prose
from rigspec.text.finding import Edit, Finding, Fix
from rigspec.text.source import Source
from rigspec.text.value import gathered

Key: TypeAlias = tuple[str, str, str, str, str]


def key(finding: Finding) -> Key:
    """What makes two findings the same although lines have moved, or a figure in the message has changed.

    It weighs as much as it does alone, whatever it brings.
    """
    said = "" if finding.subject else finding.message
    return finding.rule, stamp(finding).severity.value, finding.subject, said, finding.span.path


def texts_with(fix: Fix) -> dict[Source, str]:
    """Every text that a fix changes, as it would be; nothing where its edits overlap or change nothing in one."""
    edits = gathered(fix.edits, lambda edit: edit.span.source)
    texts = {source: applied(source, own) for source, own in edits.items()}
    if any(text is None or text == source.text for source, text in texts.items()):
        return {}
    return {source: text for source, text in texts.items() if text is not None}


def applied(source: Source, edits: Iterable[Edit]) -> str | None:
    """The text with its edits made, or None where they overlap; line ends as that text has them."""
    crlf = "\r\n" in source.text
    parts: list[str] = []
    end = 0
    for edit in sorted(edits, key=lambda edit: (edit.span.start, edit.span.end)):
        if edit.span.start < end:
            return None
        inserted = edit.text.replace("\r\n", "\n")
        parts += [source.text[end : edit.span.start], inserted.replace("\n", "\r\n") if crlf else inserted]
        end = edit.span.end
    return "".join([*parts, source.text[end:]])


def harm(finding: Finding, before: Mapping[str, Iterable[Finding]], after: Mapping[str, Iterable[Finding]]) -> str:
    """Why a fix may not stay: its finding is still there, or another is new; nothing where all is well.

    ``before`` and ``after`` are the findings of every rig that the fix touches, by the rig's path.
    """
    own = key(finding)
    for path, findings in before.items():
        had = Counter(map(key, apart(findings)))
        has = Counter(map(key, apart(after[path])))
        if own in had and has[own] >= had[own]:
            return "the finding would stay"
        new = next(iter(has - had), None)
        if new is not None:
            told = next(each for each in apart(after[path]) if key(each) == new)
            return f"it would bring a new finding: {prose(told.message)} [{told.rule}]"
    return ""
