"""The level control on the way to a place: where a rig sets just one, that is the place to edit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from rigspec.figures import Figures
from rigspec.rig.model import Facts
from rigspec.rules.level_words import Told
from rigspec.text.source import Span
from rigspec.text.value import once
from rigspec.why.working import Step

_TURNED = ("pad", "attenuator")


def sole_control(
    figures: Figures, places: Iterable[tuple[str, str]], ends: Iterable[str], up_db: float = 0.0
) -> Span | None:
    """The one control that the rig sets on the way to some inputs or outputs, which none but these ways' ends hear.

    None where there are several or none, where it cannot be opened by ``up_db``, and where it is the gain of an output
    further up: that one is set for what it drives, and not for the level at one of its ends.
    """
    where = list(dict.fromkeys(places))
    found = {span: step for key, end in where for span, step in _controls(figures, key, end).items()}
    if len(found) != 1:
        return None
    ((span, step),) = found.items()
    if step.name not in (*_TURNED, *(f"gain of {key}" for key, _ in where)):
        return None
    heard = {key for key, spans in _heard(figures).items() if span in spans}
    return span if heard <= set(ends) and (not up_db or -float(step.value) >= up_db) else None


def unlike_control(figures: Figures, one: str, other: str) -> tuple[Span, float] | None:
    """The one control that stands on the way to one of two outputs only, and its gain."""
    ways = [_controls(figures, key, "output") for key in (one, other)]
    unlike = [(span, step) for way, than in (ways, ways[::-1]) for span, step in way.items() if span not in than]
    return (unlike[0][0], float(unlike[0][1].value)) if len(unlike) == 1 else None


def turned_at(figures: Figures, found: list[Told], up_db: float = 0.0) -> Span | None:
    """The same for stages of which the same is found."""
    places = ((stage.key, stage.point.end) for _, stage, _ in found)
    return sole_control(figures, places, (chain.key for chain, _, _ in found), up_db)


@once
def _heard(figures: Figures) -> Mapping[str, Mapping[Span, Step]]:
    """The controls on the way to each amplifier's output and powered loudspeaker."""
    chains = figures.levels.chains.items()
    return {
        key: _controls(figures, key, "input" if chain.gear.word == "speaker" else "output") for key, chain in chains
    }


def _controls(figures: Figures, key: str, end: str) -> Mapping[Span, Step]:
    """What the rig, and not its stock, sets on the way to an input or output, by where it is set."""
    step, stock = _step(figures, key, end), in_stock(figures)
    gains = [each for each in step.walk() if each.kind == "gain" and _set(each)] if step else []
    return {each.span: each for each in gains if each.span is not None and each.span not in stock}


def _set(step: Step) -> bool:
    """Is it a control, and not the gain of an amplifier, of a mix or of the leg of a split?"""
    gain = step.name.startswith(("gain of ", "gain from ")) and " in " not in step.name and step.symbol != "G_amp"
    return gain or step.name in _TURNED


def _step(figures: Figures, key: str, end: str) -> Step | None:
    from rigspec.why.signal_way import SignalStep, SignalWay  # late: most rigs have no such finding

    for word in ("peak", "level"):
        way = SignalWay(figures, SignalStep(word, limited=False))
        step = way.input(key) if end == "input" else way.output(key)
        if step is not None:
            return step
    return None


@once
def in_stock(figures: Figures) -> frozenset[Span]:
    """Where stock gives figures of its kinds."""

    def spans(facts: Facts) -> Iterator[Span]:
        for given in facts.values():
            yield from (measure.span for entry in given.entries for measure in entry.measures)
            yield from spans(given.inner or {})

    return frozenset(span for kind in figures.rig.kinds.values() for span in spans(kind.facts))
