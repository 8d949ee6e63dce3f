"""What can be done about a finding at the press of a key: its fix, or an exception with a reason."""

from __future__ import annotations

from collections.abc import Collection

from attrs import frozen

from rigspec.check import EXCUSABLE
from rigspec.language.syntax import Allow
from rigspec.server.snapshot import Snapshot
from rigspec.text.finding import Edit, Finding, Fix
from rigspec.text.source import Span
from rigspec.text.value import Content

_ANY_REASON = "it is meant so"  # stands in only while the exception is tried


@frozen(eq=False, repr=False)
class Action(Content):
    """A change that cures a finding once all is said.

    ``proof`` is the change with something in the place of what is left to say: what is tried before it is offered.
    ``gap`` is where that is to be said: how many characters of the only edit's text stand before it.
    """

    fix: Fix
    finding: Finding
    proof: Fix
    gap: int | None = None

    @property
    def mechanical(self) -> bool:
        """Is nothing left to say or decide?"""
        return self.fix is self.finding.fix


def actions(sight: Snapshot, start: int, end: int, named: Collection[tuple[str, int]] = ()) -> list[Action]:
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
            found.append(Action(finding.fix, finding, finding.fix))
        found += [Action(choice, finding, choice) for choice in finding.choices]
        excuse = allowed(sight, finding)
        if excuse is not None:
            found.append(excuse)
    return found


def allowed(sight: Snapshot, finding: Finding) -> Action | None:
    """An `allow` statement on a line of its own, in the rig's own file: behind the statement, or at the end.

    Its reason is empty, which no check accepts: nobody can forget to give one.
    """
    if finding.rule not in EXCUSABLE or not finding.subject:
        return None
    own = sight.report.source
    file = sight.files[own.path]
    if any(isinstance(each.node, Allow) and _asks(each.node, finding) for each in file.statements):
        return None
    at = len(own.text)
    if finding.span.path == own.path:
        for statement in file.statements:
            last = statement.end
            if statement.start <= finding.span.start <= last:
                line_end = own.text.find("\n", last)
                at = len(own.text) if line_end < 0 else line_end + 1
                break
    before = "" if at == 0 or own.text[at - 1] == "\n" else "\n"
    title = f"allow {finding.rule} on {finding.subject}, and say why"
    begin, end = f'{before}allow {finding.rule} on {finding.subject} because "', '"\n'
    written, proof = (Fix(title, (Edit(Span(own, at, at), f"{begin}{reason}{end}"),)) for reason in ("", _ANY_REASON))
    return Action(written, finding, proof, len(begin))


def _asks(node: Allow, finding: Finding) -> bool:
    """Does an exception of this finding stand there already, and only waits for its reason?"""
    return (node.rule, node.ref.span.text) == (finding.rule, finding.subject) and not node.reason.value.strip()
