"""What the rules about levels have in common: which feeds, which places, what rests on what, one finding a cause."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from math import ceil

from rigspec.figures import Figures
from rigspec.figures.signal import Level, amplifier_gain
from rigspec.figures.stages import TOLD_DB, Chain, Stage
from rigspec.rules.certainty import Dominant, dominant
from rigspec.rules.places import switch_of
from rigspec.text.finding import Label, few
from rigspec.text.value import gathered

# What may or may not add up by voltage: several feeds, or ways of one feed with different delays.
ALIKE = (
    "both sides of a stereo pair are taken as alike, as a voice in the middle is",
    "ways of one feed with different delays are taken as in step, as at some tones they are",
)
DECIDES = (
    "whether both sides of the stereo pair carry the same decides",
    "whether a tone comes that is in step by both ways decides",
)

Told = tuple[Chain, Stage, float]  # by how many dB the stage is exceeded, or falls short, at the bad end


def also(found: list[Told]) -> str:
    """The other stages of which the same is true, behind a message about the first."""
    others = list(dict.fromkeys(stage.key for _, stage, _ in found if stage.key != found[0][1].key))
    return f"; likewise {few(others)}" if others else ""


def assumed(stage: Stage, level: Level | None = None) -> tuple[str, ...]:
    """What a level and its clip point rest on; ``level`` is the one of which it is open how it adds up."""
    notes = [text for part in stage.point.parts for text in part.assumes]
    if level is not None and _doubled_db(level):
        notes.insert(0, ALIKE[one_feed(stage)])
    return tuple(dict.fromkeys((*notes, *stage.assumes)))


def _doubled_db(level: Level) -> float:
    """How much louder a level is where all of it is alike that may be."""
    return level.worst_dbu - level.dbu if level.worst_dbu > level.dbu + 1e-9 else 0.0


def deciding(stage: Stage, level: Level) -> Dominant:
    """What decides most about a finding that is only possible: how the level adds up, or the tolerance of a feed."""
    moved = max((db for _, db in level.moved), default=0.0)
    return dominant(level.moved) if moved > _doubled_db(level) else Dominant(DECIDES[one_feed(stage)])


def first_over(chain: Chain) -> tuple[Stage, float] | None:
    """The first stage that clips at the feed's peaks, and by how much with these at the high ends of their tolerances.

    Where the first to clip does not clip then, another one may that hears other feeds with wider tolerances.
    """
    if chain.first is None or chain.reference != "peak":
        return None
    inexact = [each for each in chain.stages if not each.held and each.point.peak and each.point.peak.ends]
    for stage in (chain.first, *sorted(inexact, key=lambda each: -(each.most_over_db or 0.0))):
        over_db = stage.most_over_db
        if over_db is not None and over_db > TOLD_DB:
            return stage, over_db
    return None


def one_feed(stage: Stage) -> bool:
    """Is it one feed that comes by several ways, or are there several feeds?"""
    return len({part.feed for part in stage.point.parts}) == 1


def feeds_of(stage: Stage) -> str:
    """The feeds that a stage carries, in words."""
    return " and ".join(list(dict.fromkeys(part.feed for part in stage.point.parts))[:3])


def said_at(figures: Figures, found: list[Told]) -> Iterator[Label]:
    """Where the feeds' peaks, the limit and the controls on the way are said, and what else is driven so."""
    chain, stage, _ = found[0]
    for feed in list(dict.fromkeys(part.feed for part in stage.point.parts))[:3]:
        peak = figures.signals.said(feed, "peak")
        if peak is not None:
            said = peak.text if peak.low == peak.high else " ".join(peak.span.text.split())  # with its tolerance
            yield Label(peak.span, f"{feed}: {said}")
    if stage.said is not None:
        yield Label(stage.said, f"this sets the limit of {stage.key}")
    if chain.gear.word == "amp":
        port = chain.key.removeprefix(f"{chain.gear.full}.").partition("+")[0]
        control = amplifier_gain(chain.gear, port).control
        switch = switch_of(chain.gear, port)
        if control is not None:
            yield Label(control.span, f"the attenuator of {chain.gear.full}: {control.text}")
        if switch is not None:
            yield switch[1]
    for _, other, _ in found[1:4]:
        if other.point.span != stage.point.span:
            yield Label(other.point.span, f"{other.key} likewise")


def each_once(told: Iterable[Told]) -> Iterator[list[Told]]:
    """Findings about one stage, however many ways lead over it."""
    stages = gathered(told, lambda each: id(each[1]))
    for found in stages.values():
        yield sorted(found, key=lambda each: each[0].key)


def each_row(told: Iterable[Told]) -> Iterator[list[Told]]:
    """Findings about one row of gear, the worst first: a control that was forgotten was forgotten on all."""
    rows = gathered(told, lambda each: each[1].point.gear.name)
    for found in rows.values():
        yield sorted(found, key=lambda each: (-round(each[2], 6), each[1].key, each[0].key))


def tenths(db: float) -> float:
    """So many tenths of a dB as are needed."""
    return ceil(db * 10 - 1e-6) / 10


def shown_cut(db: float) -> str:
    """The least cut that clears so many dB, as a control is set."""
    return f"{tenths(db):.4g} dB"


def clips_already(chain: Chain) -> bool:
    """Does a stage on this way clip at the feed's peaks, so that this is told already?"""
    return first_over(chain) is not None
