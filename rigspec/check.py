"""The one way from a text to its findings; command line, editors and tests all come through here."""

from __future__ import annotations

import re
from collections.abc import Iterable

from attrs import evolve, frozen

from rigspec.figures import Figures, figures
from rigspec.language.reader import Read, parse
from rigspec.rig.model import Excuse
from rigspec.rig.resolve import resolve
from rigspec.rules import RULES
from rigspec.text.finding import Finding, Label
from rigspec.text.source import Load, Refused, Source
from rigspec.text.value import Content

__all__ = ["Load", "Refused", "Report", "check", "in_order", "same_findings", "stamp"]

_FIGURE = re.compile(r"\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
# What can be excused is what is judged; what cannot be read or bound has to be written right.
EXCUSABLE = frozenset(rule.name for rule in RULES.values() if rule.check is not None and rule.name != "expect-unjudged")


@frozen(eq=False, repr=False)
class Report(Content):
    """What a check has to say. ``excused`` are findings that an ``allow`` statement accepts, with reasons."""

    source: Source
    findings: tuple[Finding, ...]
    excused: tuple[Finding, ...]
    files: tuple[str, ...]
    figures: Figures


def stamp(finding: Finding) -> Finding:
    """The finding with the severity, reason and authority of its rule; one step milder where it is only possible."""
    rule = RULES[finding.rule]
    severity = min(rule.severity, finding.at_most or rule.severity, key=lambda each: each.weight)
    severity = severity.milder if finding.possible else severity
    return evolve(finding, severity=severity, reason=rule.reason, authority=finding.authority or rule.authority)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """By file, then place, then weight; the same finding twice is said once."""
    unique = dict.fromkeys(findings)
    return tuple(sorted(unique, key=lambda f: (f.span.path, f.span.start, -f.severity.weight, f.rule, f.message)))


def check(source: Source, load: Load, read: Read = parse) -> Report:
    """Everything there is to say about a text and the files it uses. Never raises for bad text.

    ``read`` parses each of them.
    """
    rig = resolve(source, load, list(RULES), read)
    worked = figures(rig)
    found = [*rig.findings, *(each for rule in RULES.values() if rule.check is not None for each in rule.check(worked))]
    kept, excused, used = [], [], set()
    for finding in found:
        excuse = _excuse_for(finding, rig.excuses)
        if excuse is None:
            kept.append(finding)
        else:
            used.add(id(excuse))
            excused.append(finding)
    doubtful = bool(rig.findings)  # with faults in the text a finding may be missing, and an exception still be right
    kept += [_unused(excuse) for excuse in rig.excuses if id(excuse) not in used and not doubtful]
    return Report(
        source,
        in_order(map(stamp, kept)),
        in_order(map(stamp, excused)),
        tuple(file.path for file in rig.files),
        worked,
    )


def _excuse_for(finding: Finding, excuses: Iterable[Excuse]) -> Excuse | None:
    if finding.rule not in EXCUSABLE:
        return None
    names = {finding.subject, finding.subject.partition(".")[0], finding.subject.partition("[")[0]}
    for excuse in excuses:
        if excuse.statement.rule == finding.rule and names & excuse.names:
            return excuse
    return None


def _unused(excuse: Excuse) -> Finding:
    statement = excuse.statement
    return Finding(
        "allow-unused",
        statement.span,
        f"nothing breaks {statement.rule} on {statement.ref.span.text}, so this exception excuses nothing",
        label="without effect",
        related=(Label(statement.reason.span, "its reason"),),
        help="take it out, or correct the rule or the thing it names",
        subject=statement.ref.span.text,
    )


def same_findings(before: Source, after: Source, load: Load) -> bool:
    """Do two texts give the same figures and findings, wherever these stand? The formatter asks before it writes."""
    return _essence(check(before, load)) == _essence(check(after, load))


def _essence(report: Report) -> object:
    worked = report.figures
    return (
        [_meaning(finding) for finding in report.findings],
        {key: (c.load_ohm, c.rated_volt, c.nominal_volt, c.peak_volt) for key, c in worked.channels.items()},
        {key: (b.share_volt, b.loss_db, len(b.own_turns), len(b.parts)) for key, b in worked.boxes.items()},
    )


def _meaning(finding: Finding) -> object:
    """What a finding says, but for how the text is spaced that it quotes: its rule, its subject and all its figures."""
    said = (finding.message, finding.computed, finding.allowed)
    figures = [_FIGURE.findall(text) for text in said]
    return finding.rule, finding.severity, finding.possible, "".join(finding.subject.split()), figures
