"""What statements say about the things of a rig, bound to them: paths, lists, promises, meters and exceptions."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from attrs import define, field

from rigspec.finding import Label
from rigspec.memory import Memory, current
from rigspec.resolve.growing import Added
from rigspec.resolve.names import Names
from rigspec.resolve.relations import excuse, expectation, reading, roster
from rigspec.resolve.resting import Resting, together
from rigspec.resolve.standing import Block, Stated, names_in
from rigspec.resolve.values import facts
from rigspec.resolve.wiring import Wirer
from rigspec.rig import Excuse, Expectation, Facts, Reading, Roster, Wiring
from rigspec.source import Span
from rigspec.syntax import Allow, Expect, Listing, Measured, Path, RigFacts
from rigspec.value import Value


@define(eq=False, repr=False)
class _Said(Value):
    """What statements say, each sort in its order; ``added`` is what their paths add to the wiring."""

    rosters: list[Roster] = field(factory=list)
    expectations: list[Expectation] = field(factory=list)
    readings: list[Reading] = field(factory=list)
    excuses: list[Excuse] = field(factory=list)
    added: Added = field(factory=Added)

    def take(self, said: object) -> None:
        """Take in what a statement says; nothing where it has a fault."""
        match said:
            case Roster():
                self.rosters.append(said)
            case Expectation():
                self.expectations.append(said)
            case Reading():
                self.readings.append(said)
            case Excuse():
                self.excuses.append(said)
            case Added():
                self.added.then(said)


class Binder:
    """Binds block by block. What a block as a whole says is taken over while it means the same and meets the same."""

    def __init__(self, names: Names, rules: Sequence[str]) -> None:
        self.names = names
        self.rules = rules
        self.title = ""
        self.facts: Facts = {}
        self.said = _Said()  # but for what is added to the wiring: that is with the wirer
        self._rig: Span | None = None  # the statement that the rig's facts are from
        self._wirer = Wirer(names, names.faults, current() or Memory())

    @property
    def wiring(self) -> Wiring:
        return self._wirer.wiring()

    def block(self, block: Block) -> None:
        kept: Resting[_Said] | None = block.kept.get("said")
        if kept is not None and kept.holds(self.names) and self._wirer.add_again(kept.made.added):
            kept.told_again(self.names)
            said = kept.made
        else:
            said = self._singly(block)
        self.said.rosters += said.rosters
        self.said.expectations += said.expectations
        self.said.readings += said.readings
        self.said.excuses += said.excuses

    def _singly(self, block: Block) -> _Said:
        said = _Said()
        found = [self._bound(stated) for stated in block.said]
        for each in found:
            if each is not None:
                said.take(each.made)
        if None not in found:  # whether a rig's facts are the first ones is no matter of their block
            block.kept["said"] = together(filter(None, found), said)
        return said

    def _bound(self, stated: Stated) -> Resting[Any] | None:
        names = self.names
        match stated.node:
            case Path() as node:
                return self._wirer.path(stated, node)
            case Listing() as node:
                return roster(stated, node, names)
            case Expect() as node:
                return expectation(stated, node, names)
            case Measured() as node:
                return reading(stated, node, names)
            case Allow() as node:
                return excuse(stated, node, names, self.rules)
            case RigFacts() as node:
                self._rig_facts(stated, node)
        return None

    def _rig_facts(self, stated: Stated, node: RigFacts) -> None:
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
        before = faults.count
        self._rig = node.span
        self.title, self.facts = node.title.value, facts(node.block, "rig", "the rig", faults)
        if faults.count > before:
            self.names.suspected |= names_in(stated.statement)
