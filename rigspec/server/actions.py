"""What can be done about a finding at the press of a key: its fix, or an exception with a reason."""

from __future__ import annotations

from collections.abc import Collection

from attrs import frozen

from rigspec.check import EXCUSABLE
from rigspec.finding import Edit, Finding, Fix
from rigspec.server.sight import Sight
from rigspec.source import Span
from rigspec.value import Value

REASON = "say why this is right here"


@frozen(repr=False)
class Action(Value):
    """A change that cures a finding. ``mechanical``: nothing is left to say or decide."""

    fix: Fix
    finding: Finding
    mechanical: bool


def actions(sight: Sight, start: int, end: int, named: Collection[tuple[str, int]] = ()) -> list[Action]:
    """The changes that the findings between two offsets offer, before anything is tried.

    ``named`` are findings besides, by rule and offset: those that the editor counts to where its cursor is.
    """
    found: list[Action] = []
    for finding in sight.report.findings:
        if finding.span.path != sight.source.path:
            continue
        apart = finding.span.start > end or finding.span.end < start
        if apart and (finding.rule, finding.span.start) not in named:
            continue
        if finding.fix is not None:
            found.append(Action(finding.fix, finding, True))
        excuse = allowed(sight, finding)
        if excuse is not None:
            found.append(Action(excuse, finding, False))
    return found


def allowed(sight: Sight, finding: Finding) -> Fix | None:
    """An `allow` statement on a line of its own, in the rig's own file: behind the statement, or at the end."""
    if finding.rule not in EXCUSABLE or not finding.subject:
        return None
    own = sight.report.source
    file = sight.files[own.path]
    at = len(own.text)
    if finding.span.path == own.path:
        for statement in file.statements:
            last = statement.end
            if statement.start <= finding.span.start <= last:
                line_end = own.text.find("\n", last)
                at = len(own.text) if line_end < 0 else line_end + 1
                break
    before = "" if at == 0 or own.text[at - 1] == "\n" else "\n"
    text = f'{before}allow {finding.rule} on {finding.subject} because "{REASON}"\n'
    return Fix(f"allow {finding.rule} on {finding.subject}, with a reason", (Edit(Span(own, at, at), text),))
