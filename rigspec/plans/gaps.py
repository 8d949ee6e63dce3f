"""Which facts the kinds of a stock lack, and what therefore falls silent or rests on an assumption."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from attrs import frozen

from rigspec.rig.model import Kind, Rig, one
from rigspec.show.cells import prose, wrap
from rigspec.show.names import named
from rigspec.text.value import Value, gathered

WIDTH = 100
NAMES = 60  # cells for names
BASS_HZ = 250.0

# For each sort of gear: of which settings one at least has to be said, and what happens where none is.
LACKS: dict[str, tuple[tuple[tuple[str, ...], str], ...]] = {
    "amp": (
        (("rated",), "no power, clip or limiter is known"),
        (("least-load",), "no load is too low for it"),
        (("gain", "sensitivity"), "no level behind its input is known: nothing clips, no headroom, no limiter in dBu"),
        (("input",), "it loads nothing that drives it"),
        (("input-peak",), "its input never clips"),
        (("damping",), "no damping factor is known"),
        (("stage", "efficiency"), "what it draws from the mains is taken as usual for its sort"),
        (("power-factor",), "its power factor is taken as usual"),
        (("inrush",), "its inrush is taken as usual"),
        (("supply",), "nothing is said of opposed drive"),
        (("weight",), "weights leave it out"),
    ),
    "speaker": (
        (("impedance", "taps", "powered", "low", "mid", "high"), "no load and no power is known"),
        (("rated", "taps", "powered", "low", "mid", "high"), "no power is too much for it, and no limiter is known"),
        (("sensitivity", "peak-level", "low", "mid", "high"), "its level at places is not known"),
        (("band", "low", "mid", "high"), "its crossovers are not judged, nor what comes below its band"),
        (("coverage", "taps"), "it is taken as equal in all directions above the bass"),
        (("weight",), "weights leave it out"),
    ),
    "processor": (
        (("input",), "it loads nothing that drives it"),
        (("source",), "its outputs lose nothing to what they drive"),
        (("peak",), "its outputs never clip"),
        (("latency",), "it takes no time"),
        (("draw",), "it draws nothing from the mains"),
        (("weight",), "weights leave it out"),
    ),
    "lead": (
        (("size",), "its loss is a range over usual sizes"),
        (("connectors",), "the pack list does not say what is on its ends"),
    ),
}
POWERED: tuple[tuple[tuple[str, ...], str], ...] = (
    (("input",), "it loads nothing that drives it"),
    (("drive",), "nothing is too loud or too soft for its input"),
    (("draw",), "it draws nothing from the mains"),
    (("inrush",), "its inrush is taken as usual"),
)


@frozen(eq=False, repr=False)
class Gap(Value):
    """Settings of which a kind says none, and what follows."""

    kind: Kind
    words: tuple[str, ...]
    so: str


def gaps(rig: Rig) -> Iterator[Gap]:
    """What the kinds of a rig or a stock lack, in their order."""
    for kind in rig.kinds.values():
        wanted = LACKS.get(kind.sort, ())
        for words, so in (*wanted, *(POWERED if "powered" in kind.facts else ())):
            if not any(word in kind.facts for word in words) and not (words[0] == "coverage" and _bass(kind)):
                yield Gap(kind, words[:2] if words[0] in ("gain", "stage") else words[:1], so)


def _bass(kind: Kind) -> bool:
    """Is it made for bass alone, which spreads nearly equally anyway?"""
    band = one(kind.facts, "band", "frequency")
    return band is not None and band.high <= BASS_HZ


def gaps_text(rig: Rig) -> str:
    """A line for each thing that is lacking, with the kinds that lack it."""
    if not rig.kinds:
        return "There is no `stock` entry in this file or in those that it uses.\n"
    found = gathered(gaps(rig), lambda gap: (gap.kind.sort, gap.words, gap.so))
    lines = [_count(len(rig.kinds))]
    for (sort, words, so), same in found.items():
        names = named([gap.kind.name for gap in same], NAMES)
        of = f"every {sort}" if len(same) == _of(sort, rig.kinds.values()) > 1 else names
        lines.append(f"{' or '.join(words)}: {so} ({of})")
    if not found:
        lines.append("Nothing is lacking.")
    return "".join(f"{line}\n" for text in lines for line in wrap(prose(text), WIDTH))


def _of(sort: str, kinds: Iterable[Kind]) -> int:
    return sum(kind.sort == sort for kind in kinds)


def _count(kinds: int) -> str:
    return f"{kinds} kind{'' if kinds == 1 else 's'} of gear. What is not said of them, and what follows:"
