"""What statements say about the things of a rig, bound to them: paths, lists, promises, meters and exceptions."""

from __future__ import annotations

from collections.abc import Sequence

from rigspec.language.syntax import Allow, Expect, Listing, Measured, Path, RigFacts, Statement
from rigspec.rig.model import Excuse, Expectation, Facts, Reading, Roster, one
from rigspec.rig.names import Names
from rigspec.rig.relations import excuse, expectation, readings, roster
from rigspec.rig.statements import names_in
from rigspec.rig.values import facts
from rigspec.rig.wiring import Wirer
from rigspec.text.finding import Label
from rigspec.text.source import Span

LANGUAGE = 1  # the edition that this program reads; a rig may say which one it is written in


class Binder:
    """Binds statement by statement; each sort of what they say is kept in its order."""

    def __init__(self, names: Names, rules: Sequence[str]) -> None:
        self.names = names
        self.rules = rules
        self.title = ""
        self.facts: Facts = {}
        self.rosters: list[Roster] = []
        self.expectations: list[Expectation] = []
        self.readings: list[Reading] = []
        self.excuses: list[Excuse] = []
        self.wirer = Wirer(names, names.faults)
        self._rig: Span | None = None  # the statement that the rig's facts are from

    def bind(self, statement: Statement) -> None:
        before = self.names.faults.count
        match statement.node:
            case Path() as node:
                self.wirer.path(node)
            case Listing() as node:
                self.rosters.append(roster(node, self.names))
            case Expect() as node:
                self.expectations += filter(None, [expectation(node, self.names)])
            case Measured() as node:
                self.readings += readings(node, self.names)
            case Allow() as node:
                self.excuses += filter(None, [excuse(node, self.names, self.rules)])
            case RigFacts() as node:
                self._rig_facts(node)
        if self.names.faults.count > before:
            self.names.meant |= names_in(statement)

    def _rig_facts(self, node: RigFacts) -> None:
        faults = self.names.faults
        if self._rig is not None:
            faults.add(
                "name-twice",
                node.span,
                "a second `rig` statement; a rig has its facts in one place",
                related=(Label(self._rig, "the first one"),),
                help="keep one of the two, or merge their settings",
            )
            return
        self._rig = node.span
        self.title, self.facts = node.title.value, facts(node.block, "rig", "the rig", faults)
        edition = one(self.facts, "language", "number")
        if edition is not None and edition.value > LANGUAGE:
            faults.add(
                "language-newer",
                edition.span,
                f"this rig is written in language {edition.text}, and this program knows language {LANGUAGE}",
                label="newer than this program",
                help="take a newer rigspec; what else is said of this rig may be wrong",
            )
