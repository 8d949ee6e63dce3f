"""The one way from a text to its findings; command line, editors and tests all come through here."""

from __future__ import annotations

import re
from collections.abc import Iterable

from attrs import evolve, frozen

from rigspec.figures import Figures, figures
from rigspec.figures.narrowed import narrowed
from rigspec.finding import Finding, Label
from rigspec.memory import Memory, remembering
from rigspec.parse.reader import Read, parse
from rigspec.resolve import resolve
from rigspec.rig import Excuse, Rig
from rigspec.rules import RULES
from rigspec.rules.rule import Rule
from rigspec.source import Load, Refused, Source
from rigspec.value import Value

__all__ = ["Load", "Refused", "Report", "check", "in_order", "same_findings", "stamp"]

_FIGURE = re.compile(r"\d+(?:\.\d+)?(?:[eE][-+]?\d+)?")
# What can be excused is what is judged; what cannot be read or bound has to be written right.
EXCUSABLE = frozenset(rule.name for rule in RULES.values() if rule.look is not None and rule.name != "expect-unjudged")


@frozen(repr=False)
class Report(Value):
    """What a check has to say. ``excused`` are findings that an ``allow`` statement accepts, with reasons."""

    source: Source
    findings: tuple[Finding, ...]
    excused: tuple[Finding, ...]
    files: tuple[str, ...]
    figures: Figures


def stamp(finding: Finding) -> Finding:
    """The finding with the severity, reason and authority of its rule; one step milder where it is only possible."""
    rule = RULES[finding.rule]
    severity = rule.severity.milder if finding.possible else rule.severity
    return evolve(finding, severity=severity, reason=rule.reason, authority=finding.authority or rule.authority)


def in_order(findings: Iterable[Finding]) -> tuple[Finding, ...]:
    """By file, then place, then weight; the same finding twice is said once."""
    unique = dict.fromkeys(findings)
    return tuple(sorted(unique, key=lambda f: (f.span.path, f.span.start, -f.severity.weight, f.rule, f.message)))


def check(source: Source, load: Load, read: Read = parse, memory: Memory | None = None) -> Report:
    """Everything there is to say about a text and the files it uses. Never raises for bad text.

    ``read`` parses each of them, ``memory`` is from earlier checks of it: an editor's server gives both, so that what
    an edit has not touched is neither read nor worked out again.
    """
    memory = memory or Memory()
    with remembering(memory):
        return _check(source, load, read, memory)


@frozen(eq=False, repr=False)
class _Judged(Value):
    """The figures of a rig, and the rules that had nothing to say of it."""

    figures: Figures
    silent: set[str]


def _check(source: Source, load: Load, read: Read, memory: Memory) -> Report:
    rig = resolve(source, load, list(RULES), read)
    # Where only comments, places or exceptions have changed, the figures stay, and rules that had nothing to say are
    # not asked again. Those that had are: their words may speak of lines.
    key = ("judged", _content(rig))
    last: _Judged | None = memory.last
    judged: _Judged | None = memory.known(key)
    if judged is None:
        judged = memory.keep(key, rig, _judge(rig, last))
    memory.last = judged
    worked = evolve(judged.figures, rig=rig)
    found: list[Finding] = list(rig.findings)
    for rule in RULES.values():
        if rule.look is None or rule.name in judged.silent:
            continue
        before = len(found)
        found += rule.look(worked)
        if len(found) == before:
            judged.silent.add(rule.name)
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


def _judge(rig: Rig, last: _Judged | None) -> _Judged:
    """The figures of a rig, and the rules of which is known already that they have nothing to say of it.

    Those are rules that had nothing to say before and have nothing to say of what has changed since.
    """
    if last is None:
        return _Judged(figures(rig), set())
    worked = figures(rig, last.figures)
    part = narrowed(worked, last.figures)
    silent = set() if part is None else {name for name in last.silent if _nothing_new(RULES[name], part)}
    return _Judged(worked, silent)


def _nothing_new(rule: Rule, part: Figures) -> bool:
    return rule.apart and rule.look is not None and not any(True for _ in rule.look(part))


def _content(rig: Rig) -> tuple[object, ...]:
    """Everything in a rig that figures and rules may look at; the same for two rigs that are made of the same."""
    wiring = rig.wiring
    arrivals = [way for ways in wiring.arrivals.values() for way in ways]
    passed = [way for each in wiring.throughs.values() for way in (*each.entered, *each.left)]
    things: tuple[Iterable[object], ...] = (
        rig.kinds.values(),
        rig.gear.values(),
        rig.rosters,
        rig.expectations,
        wiring.outputs.values(),
        wiring.sinks.values(),
        arrivals,
        passed,
        wiring.pieces,
        wiring.series,
        wiring.ends,
    )
    ids = (part for each in things for part in (*map(id, each), None))
    return id(rig.facts) if rig.facts else None, bool(rig.findings), rig.silent, wiring.broken, *ids


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
