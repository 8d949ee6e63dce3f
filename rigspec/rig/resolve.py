"""Syntax to rig: names are bound, stock is applied, paths become wiring."""

from __future__ import annotations

from collections.abc import Sequence

from rigspec.language.reader import Read, parse
from rigspec.rig.binding import Binder
from rigspec.rig.declare import declare
from rigspec.rig.doubt import Doubt
from rigspec.rig.files import gather
from rigspec.rig.incomplete import shown_with_uses
from rigspec.rig.model import Rig
from rigspec.rig.one_per_cause import one_per_cause
from rigspec.rig.relations import judge_lists
from rigspec.rig.statements import sorted_out
from rigspec.rig.values import Faults
from rigspec.text.source import Load, Source


def resolve(source: Source, load: Load, rule_names: Sequence[str], read: Read = parse) -> Rig:
    """The rig that a text and the files it uses describe, with a finding for everything that cannot be bound.

    ``rule_names`` are the rules that an ``allow`` statement may name. ``read`` parses a text.
    Never raises for bad text.
    """
    faults = Faults()
    texts = gather(source, load, faults, read)
    statements = sorted_out(texts.files)
    names = declare(statements, texts.missing, faults)
    judge_lists(names)
    binder = Binder(names, rule_names)
    for statement in statements.said:
        binder.bind(statement)
    wiring = binder.wirer.wiring()
    return Rig(
        source,
        binder.title,
        binder.facts,
        names.kinds,
        {gear.full: gear for row in names.rows.values() for gear in row.members.values()},
        tuple(binder.rosters),
        wiring,
        tuple(binder.expectations),
        tuple(binder.readings),
        tuple(binder.excuses),
        one_per_cause(shown_with_uses(faults.found, statements, names.rows), names.rows, wiring),
        tuple(file.source for file in texts.files),
        {**dict.fromkeys(names.meant, Doubt.MEANT), **dict.fromkeys(names.unread, Doubt.UNREAD)},
        Doubt.MISSING if texts.missing else None,
    )
