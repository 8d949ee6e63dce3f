"""The answer to a question such as ``load of bass.1, bass.2``: how each figure came about, or why it is not there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from attrs import frozen

from rigspec.rig.asked import asked
from rigspec.rig.names import CALLED
from rigspec.text.finding import Finding, Label, few
from rigspec.text.source import Source
from rigspec.text.value import Value
from rigspec.why import DERIVED, derive, everything
from rigspec.why.groups import difference_step
from rigspec.why.lacking import of_its_sort, why_lacking
from rigspec.why.working import Step

if TYPE_CHECKING:
    from rigspec.check import Report
    from rigspec.figures import Figures
    from rigspec.rig.model import ListMember

MOST_NAMED = 6


@frozen(eq=False, repr=False)
class Answer(Value):
    """``known`` are the figures with their working by word and thing; ``lacking`` says of each other thing why not."""

    known: tuple[tuple[str, str, Step], ...]
    lacking: tuple[Finding, ...]


def answer(report: Report, question: Source) -> Answer:
    """How the figures came about that a question asks for. Findings stand in the question."""
    figures = report.figures
    found = asked(question, figures.rig, DERIVED)
    known, lacking = [], list(found.faults)
    keys = {part.key: part for part in found.things}
    if found.word == "difference" and keys:  # one figure of all of them together
        of = " and ".join(found.said)
        step = difference_step(figures, keys, of)
        if step is not None:
            return Answer(((found.word, of, step),), ())
    for key, part in keys.items():
        step = derive(figures, found.word, key)
        if step is None:
            lacking.append(_not_there(figures, found.word, key, part))
        else:
            known.append((found.word, key, step))
    return Answer(tuple(known), tuple(lacking))


def _not_there(figures: Figures, word: str, key: str, part: ListMember) -> Finding:
    """Why a thing has no such figure: the rig does not let it be known, or it is a figure of other things."""
    gear = figures.rig.gear.get(part.name)
    related = (Label(gear.span, f"{gear.full} is {CALLED[gear.word]}"),) if gear is not None else ()
    had = [each for each, _ in everything(figures, key)]
    sorts = {derived.of for each in had for derived in DERIVED[each] if derived.make(figures, key) is not None}
    of_word = list(dict.fromkeys(derived.of for derived in DERIVED[word]))
    in_doubt = gear is not None and of_its_sort(word, key, gear)
    if in_doubt or sorts & set(of_word) or key in figures.unknown:
        why = why_lacking(figures, word, key, part.name)
        message, help = f"the {word} of {key} is not known: {why}", "say in the rig or its stock what is missing"
    else:
        message = f"{key} has no {word}: that is a figure of {' or '.join(of_word)}"
        others = list(_others(figures, word, key, part.name))
        help = f"ask for the {word} of {_one_of(others)}" if others else ""
    if had:
        own = f"of {key} there is its {_one_of(had, len(had))}"
        help = f"{help}; {own}" if help else own
    help = help or "`rigspec figures` shows what there is"
    return Finding("figure-unknown", part.span, message, related=related, help=help, subject=key)


def _others(figures: Figures, word: str, key: str, name: str) -> Iterator[str]:
    """What has the figure in place of a thing: its channels, ways or pairs; what it hangs on, or what hangs on it."""
    wiring = figures.rig.wiring
    box, channel = figures.boxes.get(key), figures.channels.get(key)
    keys = [
        each for each in (*wiring.outputs, *wiring.sinks, *wiring.throughs) if each.startswith((f"{name}.", f"{name}["))
    ]
    keys += [box.channel] if box is not None else []
    keys += [each.key for each in channel.boxes] if channel is not None else []
    return (each for each in dict.fromkeys(keys) if derive(figures, word, each) is not None)


def _one_of(words: list[str], most: int = MOST_NAMED) -> str:
    if len(words) > most:
        return few(words, most)
    return f"{', '.join(words[:-1])} or {words[-1]}" if len(words) > 1 else words[0]
