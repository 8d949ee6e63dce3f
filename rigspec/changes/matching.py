"""Which thing of the old rig is which of the new one: by what they are connected to where names do not say it.

Things are nodes, connections are edges. A node's sort is what it is and its kind; again and again the sorts of its
neighbours are added to it (colour refinement, Weisfeiler and Leman 1968), until things that stand differently differ.
"""

from __future__ import annotations

import re
from collections.abc import Iterable

from rigspec.changes.dialled import Names, meaning_of, own
from rigspec.rig.model import Gear
from rigspec.sheets.basis import Basis
from rigspec.sheets.links import End
from rigspec.text.value import gathered

ROUNDS = 4
PHYSICAL = ("amp", "speaker", "processor", "split", "panel", "lead", "mains", "feed", "mix")


def by_name(old: Basis, new: Basis) -> Names:
    """Things that keep their names, then those that stand alike."""
    ours, theirs = _things(old), _things(new)
    same = {name: name for name, gear in ours.items() if name in theirs and theirs[name].word == gear.word}
    return _alike(old, new, same)


def by_standing(old: Basis, new: Basis) -> Names:
    """Things that stand alike, whatever they are called; names decide only between such as stand alike."""
    return _alike(old, new, {})


def _alike(old: Basis, new: Basis, known: Names) -> Names:
    """Things that stand alike: first such of which the same is said too, then all.

    Where several stand alike, one pair is taken and all is looked at again, so that what hangs on the one goes with it.
    """
    names = dict(known)
    for said in (True, False):
        while _match(old, new, names, said):
            pass
    return names


def _match(old: Basis, new: Basis, names: dict[str, str], said: bool) -> bool:
    """Match what can be matched now; whether that was anything."""
    ours = _rounds(old, names, kinds_of(old, new), said)
    theirs = _rounds(new, {each: each for each in names.values()}, {}, said)
    taken = set(names.values())
    unsure: tuple[str, str] | None = None
    for mine, yours in zip(reversed(ours), reversed(theirs), strict=True):
        left = gathered((name for name in mine if name not in names), mine.__getitem__)
        free = gathered((name for name in yours if name not in taken), yours.__getitem__)
        found = [(these, free[sort]) for sort, these in left.items() if sort in free]
        pairs = [(name, name) for these, those in found for name in these if name in those]
        pairs += [(these[0], those[0]) for these, those in found if len(these) == len(those) == 1]
        if pairs:
            names.update(pairs)
            return True
        if found and unsure is None:
            unsure = found[0][0][0], found[0][1][0]
    if unsure is not None:
        names[unsure[0]] = unsure[1]
    return unsure is not None


def _things(basis: Basis) -> dict[str, Gear]:
    return {name: gear for name, gear in basis.figures.rig.gear.items() if gear.word in PHYSICAL}


def _rounds(basis: Basis, anchored: Names, kinds: Names, said: bool) -> list[dict[str, int]]:
    """The sort of every thing after each round, from what it is alone to what stands around it."""
    things = _things(basis)
    sorts = {name: hash(_alone(gear, anchored, kinds, said)) for name, gear in things.items()}
    found = [sorts]
    edges = [edge for edge in _edges(basis) if edge[0] in things and edge[2] in things]
    for _ in range(ROUNDS):
        around: dict[str, list[int]] = {name: [] for name in things}
        for near, near_port, far, far_port in edges:
            around[near].append(hash((near_port, far_port, sorts[far])))
            around[far].append(hash((far_port, near_port, sorts[near], "back")))
        sorts = {name: hash((sorts[name], *sorted(around[name]))) for name in things}
        found.append(sorts)
    return found


def _alone(gear: Gear, anchored: Names, kinds: Names, said: bool) -> tuple[object, ...]:
    kind = gear.kind.name if gear.kind is not None else ""
    settings = meaning_of(own(gear), anchored) if said else ()
    return gear.word, kinds.get(kind, kind), anchored.get(gear.full, ""), settings


def kinds_of(old: Basis, new: Basis) -> Names:
    """Kinds that are called otherwise in the new stock, and of which all is said as before."""
    ours, theirs = old.figures.rig.kinds, new.figures.rig.kinds
    come = {(kind.sort, meaning_of(kind.facts, {})): name for name, kind in theirs.items() if name not in ours}
    found = {
        name: come.get((kind.sort, meaning_of(kind.facts, {}))) for name, kind in ours.items() if name not in theirs
    }
    return {name: now for name, now in found.items() if now is not None}


def _edges(basis: Basis) -> Iterable[tuple[str, str, str, str]]:
    for link in basis.pulled.plugging.links:
        near, far = link.source, link.target
        if near.gear is not None and far.gear is not None:
            yield near.gear.full, called(near, ""), far.gear.full, called(far, "")


def called(end: End, name: str) -> str:
    """What a socket is called where its gear has this name."""
    if end.gear is None:
        return end.text
    return re.sub(rf"(?<![\w-]){re.escape(end.gear.full)}(?![\w-])", name, end.text, count=1)
