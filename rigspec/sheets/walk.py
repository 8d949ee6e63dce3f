"""The walk test: each stack alone, then a walk in front, then one side inverted; with what it sounds like here."""

from __future__ import annotations

from collections.abc import Iterable

from rigspec.sheets.basis import Basis
from rigspec.sheets.sheet import BLANK, TICK, Row, Sheet, Table, filled
from rigspec.show.walk import before, lessons, level_text
from rigspec.space.scene import scene
from rigspec.space.walk import Walk, walk

MOST_STATES = 6
BY_STEP = 2  # every metre: paper has no room for every half


def sheet(basis: Basis) -> Sheet:
    """The walk of a rig whose bass boxes say where they are."""
    found = walk(scene(basis.figures))
    title = "Walk test"
    if found is None:
        intro = "Not for this rig: no bass box says where it stands and how loud it is."
        return Sheet("walk", title, intro, ())
    stacks = Table(
        "stacks", "Before the walk", ("stand", "boxes, one by one", "each more adds", "done"), _stacks(found)
    )
    shown = [case for case in found.cases if not case.silent][:MOST_STATES]
    heads = ("metres across", *(f"{case.name} (dB)" for case in shown), "heard")
    rows: tuple[Row, ...] = tuple(
        (f"{x:g}", *(level_text(case.levels_db[at]) for case in shown), BLANK)
        for at, x in enumerate(found.across_m)
        if at % BY_STEP == 0
    )
    line = Table("line", f"The walk, {found.at_m:g} m in front", heads, rows)
    intro = before(found)[0]
    notes = (*before(found)[1:], *lessons(found))
    caution = "Keep the tone low: bass at this level harms hearing before it seems loud, and hands off the leads."
    return Sheet("walk", title, intro, filled((stacks, line)), notes, (caution,))


def _stacks(found: Walk) -> tuple[Row, ...]:
    return tuple(_stand(found))


def _stand(found: Walk) -> Iterable[Row]:
    at = {voice.key: voice.at for voice in found.boxes}
    for spot in found.spots:
        x, y, _ = at[spot[0]]
        adds = ["6 dB", "3.5 dB", "2.5 dB", "1.9 dB"][: len(spot) - 1]
        yield f"{x:g} m across, {y:g} m along", ", ".join(spot), " then ".join(adds) or "one box", TICK
