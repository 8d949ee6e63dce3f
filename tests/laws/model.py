"""A rig as a tree, its text, and its figures reckoned from the tree alone, in fractions.

Nothing here uses the project's own network, trace or signal code: loads and shares come from the series and parallel
formulas, polarities from counting turns. Copper is the greatest resistance of IEC 60228 class 5 at 20 degC.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import TypeAlias

from attrs import evolve, frozen

OHM_PER_KM = {"1.5 mm2": "13.3", "2.5 mm2": "7.98", "4 mm2": "4.95", "6 mm2": "3.30"}


@frozen
class Statement:
    """One statement: what stands before its braces, and the settings in them (None: it has no braces)."""

    head: str
    settings: tuple[str, ...] | None = None

    @property
    def text(self) -> str:
        return self.head if self.settings is None else f"{self.head} {{ {'; '.join(self.settings)} }}"


# ---- hops -----------------------------------------------------------------------------------------------------------


@frozen
class Wire:
    size: str
    metres: str
    inverted: bool = False

    @property
    def loop_ohm(self) -> Fraction:
        return 2 * Fraction(OHM_PER_KM[self.size]) / 1000 * Fraction(self.metres)

    @property
    def text(self) -> str:
        return f"{self.size} {self.metres} m" + (" inverted" if self.inverted else "")


@frozen
class Cross:
    text: str = "invert"


@frozen
class Plain:
    """A pad or a delay: nothing to a load and nothing to polarity."""

    text: str


@frozen
class Hung:
    """A lead written in the path."""

    wire: Wire

    @property
    def text(self) -> str:
        return f"lead {self.wire.text}"


@frozen
class Through:
    """A pair of a named lead (it has a wire) or a line of a panel. ``cut``: the path goes on in another statement."""

    text: str
    wire: Wire | None
    turned: bool
    cut: bool


@frozen
class Member:
    key: str
    ohm: Fraction
    turned: bool


@frozen
class Boxes:
    """Boxes in a row, from the first to the last; ``link`` is the lead between neighbours."""

    ref: str
    members: tuple[Member, ...]
    link: Wire | None
    cut: bool

    @property
    def text(self) -> str:
        return self.ref if self.link is None else f"{self.ref} linked {self.link.text}"


@frozen
class Join:
    word: str
    branches: tuple[Chain, ...]


Hop: TypeAlias = Cross | Plain | Hung | Through | Boxes | Join
Chain: TypeAlias = tuple[Hop, ...]


# ---- the rig --------------------------------------------------------------------------------------------------------


@frozen
class Run:
    """The way of a signal from its source to an input. ``shares``: the feeds at its start, and which come turned."""

    start: str
    shares: tuple[tuple[str, bool], ...]
    hops: Chain
    end: str


@frozen
class Channel:
    """An amplifier's output. ``fed``: its run enters here, not by a switch on the neighbour's input."""

    key: str
    run: Run
    fed: bool
    turned: bool
    chain: Chain
    in_one: bool  # the run and the loudspeaker side are one statement


@frozen
class Rig:
    fixed: tuple[Statement, ...]
    runs: tuple[Run, ...]
    channels: tuple[Channel, ...]

    def statements(self) -> list[Statement]:
        texts: list[str] = []
        for run in self.runs:
            texts += written([_Named(run.start), *run.hops, _Named(run.end)])
        for channel in self.channels:
            start: list[Hop | _Named] = [_Named(channel.key)]
            run = channel.run
            if channel.fed:
                inlet = [_Named(run.start), *run.hops]
                if channel.in_one:
                    start = [*inlet, *start]
                else:
                    texts += written([*inlet, *start])
            texts += written([*start, *channel.chain])
        return [*self.fixed, *map(Statement, texts)]

    @property
    def text(self) -> str:
        return "".join(f"{statement.text}\n" for statement in self.statements())

    def with_chain(self, number: int, chain: Chain) -> Rig:
        changed = [evolve(c, chain=chain) if n == number else c for n, c in enumerate(self.channels)]
        return evolve(self, channels=tuple(changed))


@frozen
class _Named:
    text: str


def written(hops: list[Hop | _Named]) -> list[str]:
    """The statements that say a chain: one, and one more for each place where it is cut."""
    later: list[str] = []
    return [_one(hops, later), *later]


def _one(hops: list[Hop | _Named], later: list[str]) -> str:
    words: list[str] = []
    for number, hop in enumerate(hops):
        if isinstance(hop, Join):
            words.append(f"{hop.word}({', '.join(_one(list(branch), later) for branch in hop.branches)})")
            continue
        words.append(hop.text)
        if isinstance(hop, Through | Boxes) and hop.cut and number and number < len(hops) - 1:
            again = hop.text if isinstance(hop, Through) else hop.members[-1].key
            later += written([_Named(again), *hops[number + 1 :]])
            break
    return " -> ".join(words)


# ---- reckoning ------------------------------------------------------------------------------------------------------

OPEN = None  # the impedance of nothing


def beside(first: Fraction | None, second: Fraction | None) -> Fraction | None:
    """Two impedances in parallel; None is an open end."""
    if first is None or second is None:
        return second if first is None else first
    return first * second / (first + second)


def ohm_of(chain: Chain) -> Fraction | None:
    """What the near end of a chain sees."""
    behind: Fraction | None = OPEN
    for hop in reversed(chain):
        match hop:
            case Hung(wire) | Through(wire=Wire() as wire):
                behind = None if behind is None else behind + wire.loop_ohm
            case Boxes():
                for number, member in reversed(list(enumerate(hop.members))):
                    behind = beside(behind, member.ohm)
                    if number and hop.link and behind is not None:
                        behind += hop.link.loop_ohm
            case Join("parallel"):
                for branch in hop.branches:
                    behind = beside(behind, ohm_of(branch))
            case Join():
                parts = [ohm_of(branch) for branch in hop.branches]
                behind = sum((part for part in parts if part is not None), Fraction())
    return behind


def shares_of(chain: Chain, volt: Fraction = Fraction(1)) -> Iterator[tuple[str, Fraction]]:
    """The voltage at every box with ``volt`` at the near end."""
    for number, hop in enumerate(chain):
        rest = chain[number + 1 :]
        match hop:
            case Hung(wire) | Through(wire=Wire() as wire):
                volt = _behind(wire, ohm_of(rest), volt)
            case Boxes():
                for at, member in enumerate(hop.members):
                    if at and hop.link:
                        left = evolve(hop, members=hop.members[at:])
                        volt = _behind(hop.link, ohm_of((left, *rest)), volt)
                    yield member.key, volt
            case Join("parallel"):
                for branch in hop.branches:
                    yield from shares_of(branch, volt)
            case Join():
                whole = ohm_of((hop,))
                for branch in hop.branches:
                    part = ohm_of(branch)
                    assert whole is not None
                    assert part is not None
                    yield from shares_of(branch, volt * part / whole)


def _behind(wire: Wire, load: Fraction | None, volt: Fraction) -> Fraction:
    return volt if load is None else volt * load / (load + wire.loop_ohm)


def turns_of(chain: Chain, turned: bool = False) -> Iterator[tuple[str, bool]]:
    """For every box: is it inverted by what stands before it in the chain and by itself?"""
    for hop in chain:
        match hop:
            case Boxes():
                for at, member in enumerate(hop.members):
                    turned ^= bool(at and hop.link and hop.link.inverted)
                    yield member.key, turned ^ member.turned
            case Join():
                for branch in hop.branches:
                    yield from turns_of(branch, turned)
            case _:
                turned ^= turns(hop)


def turns(hop: Hop) -> bool:
    """Does a hop without boxes turn the polarity?"""
    match hop:
        case Cross():
            return True
        case Hung(wire):
            return wire.inverted
        case Through():
            return hop.turned
    return False


def polarity(rig: Rig) -> dict[str, list[tuple[str, bool]]]:
    """For every box the feeds that it plays, sorted, and whether each is turned."""
    result = {}
    for channel in rig.channels:
        at_output = channel.turned ^ (sum(map(turns, channel.run.hops)) % 2 == 1)
        for key, turned in turns_of(channel.chain):
            result[key] = sorted((feed, share ^ at_output ^ turned) for feed, share in channel.run.shares)
    return result
