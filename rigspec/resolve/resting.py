"""What was made of a statement that speaks about things declared elsewhere, and on what that rests.

It is made once while the things that the statement names stay the same; where it has a fault, or a name is in doubt,
only while all names do.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Generic, TypeVar

from attrs import frozen

from rigspec.finding import Finding
from rigspec.resolve.names import Names
from rigspec.resolve.standing import Stated, names_in, the_same
from rigspec.rig import Kind
from rigspec.value import Value

Made = TypeVar("Made")
Spoken = tuple[Iterable[str], Iterable[str]]  # names of things, and of kinds


@frozen(eq=False, repr=False)
class Resting(Value, Generic[Made]):
    """What was made and what was wrong with it. ``world`` is None where it rests on its names alone."""

    made: Made
    things: Mapping[str, object]
    kinds: Mapping[str, Kind | None]
    world: object | None
    faults: list[Finding]
    suspected: set[str]

    def holds(self, names: Names) -> bool:
        """Does everything that it rests on still mean what it meant?"""
        if self.world is not None:
            return self.world is names.world
        return the_same(names.meant, self.things) and the_same(names.kinds, self.kinds)

    def told_again(self, names: Names) -> None:
        names.faults.found += self.faults
        names.suspected |= self.suspected


def resting(
    stated: Stated,
    names: Names,
    spoken: Callable[[], Spoken],
    make: Callable[[], Made],
    *,
    able: Callable[[Made], bool] = lambda _: True,
    lists: bool = False,
) -> Resting[Made]:
    """What a statement says, made only where it has to be. ``spoken`` are the names of things and kinds in it.

    ``able`` tells if what was made holds for another reason than its names. What a list means is not told by its
    statement, as the things in it are declared elsewhere; ``lists`` says that this does not matter.
    """
    kept: Resting[Made] | None = stated.made("said")
    if kept is not None and kept.holds(names) and able(kept.made):
        kept.told_again(names)
        return kept
    before = names.faults.count
    made, suspected = names.suspecting(make)
    faults = names.faults.found[before:]
    if faults:
        suspected |= names_in(stated.statement)
        names.suspected |= suspected
    of_things, of_kinds = map(list, spoken())
    things = names.meanings(of_things)
    clean = not faults and things is not None and names.silent.isdisjoint(of_kinds)
    clean = clean and (lists or names.listings.keys().isdisjoint(of_things))
    kinds = {name: names.kinds.get(name) for name in of_kinds}
    found = Resting(made, things or {}, kinds, None if clean else names.world, faults, suspected)
    stated.keep("said", found)
    return found


def together(found: Iterable[Resting[Any]], made: Made) -> Resting[Made]:
    """What was made of several statements, one after the other: it rests on all that each of them rests on."""
    things: dict[str, object] = {}
    kinds: dict[str, Kind | None] = {}
    world: object | None = None
    faults: list[Finding] = []
    suspected: set[str] = set()
    for each in found:
        things |= each.things
        kinds |= each.kinds
        world = world or each.world
        faults += each.faults
        suspected |= each.suspected
    return Resting(made, things, kinds, world, faults, suspected)
