"""Syntax to rig: names are bound, stock is applied, paths become wiring."""

from __future__ import annotations

from collections.abc import Sequence

from rigspec.memory import Memory, current
from rigspec.parse.reader import Read, parse
from rigspec.resolve.causes import told_once
from rigspec.resolve.declare import declare, second_rig
from rigspec.resolve.files import gather
from rigspec.resolve.names import gear_by_name
from rigspec.resolve.relations import excuse, expectation, reading, roster
from rigspec.resolve.values import Faults, facts
from rigspec.resolve.wiring import Wirer
from rigspec.rig import Excuse, Expectation, Facts, Reading, Rig, Roster
from rigspec.source import Load, Source
from rigspec.syntax import Allow, Expect, Listing, Measured, Path, RigFacts


def resolve(source: Source, load: Load, rule_names: Sequence[str], read: Read = parse) -> Rig:
    """The rig that a text and the files it uses describe, with a finding for everything that cannot be bound.

    ``rule_names`` are the rules that an ``allow`` statement may name. ``read`` parses a text.
    Never raises for bad text.
    """
    faults = Faults()
    texts = gather(source, load, faults, read)
    names = declare(texts.files, texts.missing, faults)
    wirer = Wirer(names, faults, current() or Memory())
    title, rig_facts = "", None
    first_rig = None
    rosters: list[Roster] = []
    expectations: list[Expectation] = []
    readings: list[Reading] = []
    excuses: list[Excuse] = []
    for file in texts.files:
        for statement in file.statements:
            before = faults.count
            match statement.node:
                case RigFacts() as node:
                    if first_rig is not None:
                        second_rig(faults, node.span, first_rig)
                        continue
                    first_rig = node.span
                    title, rig_facts = node.title.value, facts(node.block, "rig", "the rig", faults)
                case Path() as node:
                    wirer.path(node)
                case Listing() as node:
                    rosters.append(roster(node, names))
                case Expect() as node:
                    expectations += filter(None, [expectation(node, names)])
                case Measured() as node:
                    readings += filter(None, [reading(node, names)])
                case Allow() as node:
                    excuses += filter(None, [excuse(node, names, rule_names)])
            if faults.count > before:
                names.suspected.update(token.text for token in statement.tokens if token.kind == "NAME")
    known: Facts = rig_facts or {}
    return Rig(
        source,
        title,
        known,
        names.kinds,
        gear_by_name(names.rows),
        tuple(rosters),
        wirer.wiring(),
        tuple(expectations),
        tuple(readings),
        tuple(excuses),
        told_once(faults.found),
        tuple(file.source for file in texts.files),
        names.silent | names.suspected | ({"*"} if texts.missing else set()),
    )
