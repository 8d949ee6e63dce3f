"""Two rigs apart: what the crew does, what is set, what is packed, which figures and findings differ, and how bad."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from enum import IntEnum

from attrs import frozen

from rigspec.changes.crew import GEAR, Act, acts, lead_text
from rigspec.changes.dialled import Dialled, Names, dialled
from rigspec.changes.matching import by_name, by_standing, kinds_of
from rigspec.check import Report
from rigspec.plans.plan import Fact, plan
from rigspec.sheets.basis import Basis, basis
from rigspec.text.finding import Finding, Severity
from rigspec.text.value import Value


class Category(IntEnum):
    """How much a change matters, from nothing to what will not work."""

    COSMETIC = 0
    BETTER = 1
    ALIKE = 2
    WORSE = 3
    BREAKING = 4

    @property
    def word(self) -> str:
        return self.name.lower()


@frozen(eq=False, repr=False)
class Shift(Value):
    """A figure that moved past its threshold."""

    row: str
    was: Fact
    now: Fact
    better: bool | None


@frozen(eq=False, repr=False)
class Changes(Value):
    """All differences of two rigs. ``pack`` counts what has to be taken along, below 0 what stays at home."""

    old: str
    new: str
    acts: tuple[Act, ...]
    dialled: tuple[Dialled, ...]
    pack: Mapping[str, int]
    shifts: tuple[Shift, ...]
    gone: tuple[Finding, ...]
    come: tuple[Finding, ...]

    @property
    def category(self) -> Category:
        """The worst that is true of it."""
        if any(each.severity is Severity.ERROR for each in self.come):
            return Category.BREAKING
        if self.come or any(shift.better is False for shift in self.shifts):
            return Category.WORSE
        physical = [act for act in self.acts if act.verb != "label"]
        set_otherwise = [each for each in self.dialled if each.sort != "label"]
        if self.gone or any(shift.better for shift in self.shifts):
            return Category.BETTER
        return Category.ALIKE if physical or set_otherwise else Category.COSMETIC


# How far a figure has to move to be told, as a share of itself or in its own unit, and whether more of it is better.
THRESHOLDS: tuple[tuple[str, float, float, bool | None], ...] = (
    ("least load", 0.05, 0.0, True),
    ("into ", 0.05, 0.0, True),
    ("clips at", 0.0, 0.5, True),
    ("headroom", 0.0, 0.5, True),
    ("lead loss", 0.0, 0.1, False),
    ("at most,", 0.0, 0.5, True),
    ("mains at", 0.05, 0.0, False),
    ("fullest breaker", 0.05, 0.0, False),
    ("inrush", 0.05, 0.0, False),
    ("opposed drive", 0.0, 0.1, True),
)
THRESHOLD_WORDS = "5 % of a load, a power or a current, 0.5 dB of a level, 0.1 dB of a lead's loss"


def changes(old: Report, new: Report) -> Changes:
    """What is different. Things are one and the same by that reading which leaves the crew the least to do."""
    ours, theirs = basis(old.figures), basis(new.figures)
    readings = [(acts(ours, theirs, names), names) for names in (by_name(ours, theirs), by_standing(ours, theirs))]
    done, names = min(readings, key=lambda each: sum(act.verb != "label" for act in each[0]))
    gone, come = _findings(old, new, names)
    return Changes(
        old.source.path,
        new.source.path,
        tuple(done),
        tuple(dialled(ours, theirs, names)),
        _pack(ours, theirs),
        tuple(_shifts(old, new)),
        gone,
        come,
    )


def _pack(old: Basis, new: Basis) -> dict[str, int]:
    before, after = _packed(old, kinds_of(old, new)), _packed(new, {})
    return {what: after[what] - before[what] for what in (*after, *before) if after[what] != before[what]}


def _packed(basis: Basis, kinds: Names) -> Counter[str]:
    found: Counter[str] = Counter()
    for gear in basis.figures.rig.gear.values():
        if gear.word in GEAR and gear.kind is not None:
            found[kinds.get(gear.kind.name, gear.kind.name)] += 1
    for lead in basis.pulled.leads:
        kind = kinds.get(lead.kind_name, lead.kind_name)
        said = "" if lead.spec is None else lead_text(lead.spec)
        found[f"{kind or 'lead'} {said}".strip()] += 1
    return found


def _shifts(old: Report, new: Report) -> Iterator[Shift]:
    before, after = plan(old).facts, plan(new).facts
    for row, now in after.items():
        was = before.get(row)
        if was is None or was.value is None or now.value is None:
            continue
        for name, share, size_, more_is_better in THRESHOLDS:
            if row.startswith(name) and abs(now.value - was.value) > max(share * abs(was.value), size_):
                better = None if more_is_better is None else (now.value > was.value) == more_is_better
                yield Shift(row, was, now, better)


def _findings(old: Report, new: Report, names: Names) -> tuple[tuple[Finding, ...], tuple[Finding, ...]]:
    """Findings that are gone, and new ones: of one rule about one thing, whatever their figures."""
    before = {(each.rule, names.get(each.subject, each.subject)): each for each in old.findings}
    after = {(each.rule, each.subject): each for each in new.findings}
    gone = tuple(each for key, each in before.items() if key not in after)
    return gone, tuple(each for key, each in after.items() if key not in before)
