"""Opposed drive of which only one inversion is there: for the rule about it and for the one about shared signals."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from rigspec.figures import Figures
from rigspec.figures.supply import SharedSupply, SupplyMember


def half_opposed(
    figures: Figures, told: Collection[str]
) -> Iterable[tuple[SharedSupply, list[SupplyMember], SupplyMember]]:
    """Channels for bass alone on one supply, alike but for one crossing: those that have it, and the first other.

    Left out are boxes of which a group or a stereo pair says already how they push: ``told``, and those in a group.
    """
    grouped = {part.name for roster in figures.rig.rosters_of("group") for part in roster.parts}
    for together in figures.together:
        if together.supply.sharing != "shared" or together.differs or not together.bass_only:
            continue
        boxes = [box for member in together.members for box in member.channel.boxes]
        if any(box.key in told or box.box.gear.full in grouped for box in boxes):
            continue
        ways = [member.inverted for member in together.members]
        if None in ways or len({box.box.gear.kind for box in boxes}) > 1 or len(set(ways)) < 2:
            continue
        crossed = [member for member in together.members if member.inverted]
        straight = next(member for member in together.members if not member.inverted)
        yield together, crossed, straight
