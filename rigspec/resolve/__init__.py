"""Syntax to rig: names are bound, stock is applied, paths become wiring."""

from __future__ import annotations

from collections.abc import Sequence

from rigspec.memory import Memory, current
from rigspec.parse.reader import Read, parse
from rigspec.resolve.binding import Binder
from rigspec.resolve.causes import told_once
from rigspec.resolve.declare import declare
from rigspec.resolve.files import gather
from rigspec.resolve.half_typed import shown_with_uses
from rigspec.resolve.names import gear_by_name
from rigspec.resolve.relations import judge_lists
from rigspec.resolve.standing import standing
from rigspec.resolve.values import Faults
from rigspec.rig import Rig
from rigspec.source import Load, Source


def resolve(source: Source, load: Load, rule_names: Sequence[str], read: Read = parse) -> Rig:
    """The rig that a text and the files it uses describe, with a finding for everything that cannot be bound.

    ``rule_names`` are the rules that an ``allow`` statement may name. ``read`` parses a text.
    Never raises for bad text.
    """
    faults = Faults()
    texts = gather(source, load, faults, read)
    stands = standing(texts.files, current() or Memory())
    names = declare(stands, texts.missing, faults)
    judge_lists(names)
    binder = Binder(names, rule_names)
    for block in stands.in_order:
        binder.block(block)
    said = binder.said
    wiring = binder.wiring
    return Rig(
        source,
        binder.title,
        binder.facts,
        names.kinds,
        gear_by_name(names.rows, stands),
        tuple(said.rosters),
        wiring,
        tuple(said.expectations),
        tuple(said.readings),
        tuple(said.excuses),
        told_once(shown_with_uses(faults.found, stands, names.rows), names.rows, wiring),
        tuple(file.source for file in texts.files),
        names.silent | names.suspected | ({"*"} if texts.missing else set()),
    )
