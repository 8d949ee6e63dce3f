"""What is set otherwise: settings of gear and of its channels, from what to what, and where things stand."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from attrs import frozen

from rigspec.rig.model import Facts, Gear, Given
from rigspec.sheets.basis import Basis
from rigspec.text.value import Content

PLACES = ("at", "aim", "height", "on", "corner")
LABELS = ("label", "ends", "connectors")
MEANT = ("hears", "owned", "weight")  # for the plan alone; nothing is dialled in
Names = Mapping[str, str]
"""What things of the old rig are called in the new one."""
UNSET = "not set"


@frozen(eq=False, repr=False)
class Dialled(Content):
    """One setting of one thing: ``sort`` is set, move or label."""

    sort: str
    of: str
    word: str
    was: str
    now: str

    @property
    def text(self) -> str:
        return f"{self.of} {self.word} {self.was} -> {self.now}"


def dialled(old: Basis, new: Basis, names: Names) -> list[Dialled]:
    """All settings that differ, of things that both rigs have, in the order of the new one."""
    theirs = {now: was for was, now in names.items()}
    theirs |= {name: name for name in new.figures.rig.gear if name not in theirs and name in old.figures.rig.gear}
    found = []
    for name, now in new.figures.rig.gear.items():
        was = old.figures.rig.gear.get(theirs.get(name, ""))
        if was is None or was.word != now.word:
            continue
        found += list(_differing(now.full, own(was), own(now), names))
        for port in dict.fromkeys((*was.ports, *now.ports)):
            found += list(_differing(f"{now.full}.{port}", was.ports.get(port, {}), now.ports.get(port, {}), names))
    found += list(_differing("the rig", old.figures.rig.facts, new.figures.rig.facts, names))
    return found


def own(gear: Gear) -> Facts:
    """What the rig says of a thing, without what its stock says of every such thing."""
    stock: Facts = gear.kind.facts if gear.kind is not None else {}
    return {word: given for word, given in gear.facts.items() if stock.get(word) is not given}


def _differing(of: str, was: Facts, now: Facts, names: Names) -> Iterator[Dialled]:
    for word in dict.fromkeys((*was, *now)):
        if word in MEANT:
            continue
        ours, theirs = was.get(word), now.get(word)
        if _meaning(ours, names) != _meaning(theirs, {}):
            sort = "move" if word in PLACES else "label" if word in LABELS else "set"
            yield Dialled(sort, of, word, _said(ours), _said(theirs))


def _said(given: Given | None) -> str:
    if given is None:
        return UNSET
    return " ".join(given.span.text.split()).removeprefix(given.word).strip() or "on"


def _meaning(given: Given | None, names: Names) -> object:
    """What a setting means, without how its figures are spelt and where it stands."""
    if given is None:
        return None
    return (
        tuple(
            (
                tuple((each.kind, _short(each.value), _short(each.low), _short(each.high)) for each in entry.measures),
                entry.words,
                tuple(names.get(ref.span.text, ref.span.text) for ref in entry.refs),
                entry.texts,
                entry.pairs,
            )
            for entry in given.entries
        ),
        meaning_of(given.inner or {}, names),
    )


def meaning_of(facts: Facts, names: Names) -> tuple[tuple[str, object], ...]:
    """What settings mean, in whatever order they stand."""
    return tuple(sorted((word, _meaning(given, names)) for word, given in facts.items()))


def _short(value: float) -> str:
    return f"{value:.9g}"
