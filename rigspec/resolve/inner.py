"""Names and numbers inside settings: inputs, pairs, ways, feeds that a place hears, and the tree of the mains."""

from __future__ import annotations

from collections.abc import Sequence

from attrs import evolve

from rigspec.finding import Label
from rigspec.memory import Memory, current, remembered
from rigspec.resolve.names import CALLED, Names
from rigspec.rig import Gear, Given
from rigspec.syntax import Thing


def bind_settings(names: Names, fed: Sequence[Thing]) -> None:
    """Hold what settings name against what there is; ``fed`` are the parts of the mains that name their parent."""
    told: set[object] = set()  # settings that members share are judged once
    memory = current() or Memory()
    for row in names.rows.values():
        for gear in row.members.values():
            if gear.broken or memory.known(key := ("bound", id(gear))):
                continue
            before = names.faults.count
            _numbers(names, gear, told)
            _inputs(names, gear, told)
            _heard(names, gear, told)
            _tap(names, gear, told)
            if names.faults.count == before and "hears" not in gear.facts:  # what it hears may be taken out
                memory.keep(key, gear, True)
    for node in fed:
        _parent(names, node)
    _circles(names)


def _once(given: Given | None, told: set[object]) -> Given | None:
    if given is None or given.span in told:
        return None
    told.add(given.span)
    return given


def _numbers(names: Names, gear: Gear, told: set[object]) -> None:
    """`inverted 3`, `bridge 1+2` and `joined 1+2` speak of channels, legs, lines, pairs or ways that exist."""
    known = names.ports(gear)
    ways = [str(number) for number in range(1, 3)] if gear.word == "speaker" else known
    given = _once(gear.facts.get("inverted"), told)
    for each in given.entries if given else ():
        for measure in each.measures:
            if f"{measure.value:g}" not in ways:
                names.faults.add(
                    "port-unknown",
                    measure.span,
                    f"`{gear.full}` has no number {measure.value:g} that could be inverted",
                    label=f"it has {', '.join(ways)}" if ways else "it has no numbered ways",
                    related=(Label(gear.span, "declared here"),),
                    help="use a number that exists, or `inverted` alone for the whole thing",
                    subject=gear.full,
                )
    for word in ("bridge", "joined"):
        given = _once(gear.facts.get(word), told) if gear.word == "amp" else None
        for each in given.entries if given else ():
            for first, second in each.pairs:
                if first == second or not {str(first), str(second)} <= set(known):
                    names.faults.add(
                        "port-unknown",
                        each.span,
                        f"`{gear.full}` has no two channels {first}+{second}",
                        label=f"it has {', '.join(known)}",
                        related=(Label(gear.span, "declared here"),),
                        help=f"name two different channels of it, for example `{word} 1+2`",
                        subject=gear.full,
                    )


def _inputs(names: Names, gear: Gear, told: set[object]) -> None:
    """`from a, b` names inputs of the processor."""
    if gear.word != "processor":
        return
    inputs = [chr(ord("a") + number) for number in range(min(gear.count("inputs", 1), 26))]
    for facts in gear.ports.values():
        given = _once(facts.get("from"), told)
        for each in given.entries if given else ():
            for ref in each.refs:
                if not ref.plain or ref.name not in inputs:
                    names.faults.add(
                        "port-unknown",
                        ref.span,
                        f"`{gear.full}` has no input `{ref.span.text}`",
                        label=f"its inputs are {', '.join(inputs)}",
                        related=(Label(gear.span, "declared here"),),
                        help=f"name one that it has: {' or '.join(inputs[:4])}",
                        subject=gear.full,
                    )


def _heard(names: Names, gear: Gear, told: set[object]) -> None:
    """`hears main, subs` names feeds, pairs, mixes or groups."""
    given = _once(gear.facts.get("hears"), told)
    for each in given.entries if given else ():
        for ref in each.refs:
            if ref.name not in names.listings:
                names.find(ref)


def _tap(names: Names, gear: Gear, told: set[object]) -> None:
    """`tap 15 W` is one of the taps that the loudspeaker has."""
    given = _once(gear.facts.get("tap"), told)
    tap = gear.measure("tap", "power")
    if given is None or tap is None:
        return
    taps = gear.facts.get("taps")
    powers = [power for each in taps.entries if (power := each.get("power"))] if taps else []
    if any(abs(power.value / tap.value - 1) < 1e-6 for power in powers):
        return
    listed = ", ".join(power.text for power in powers)
    names.faults.add(
        "setting-value",
        tap.span,
        f"{gear.full} has no tap of {tap.text}" if powers else f"{gear.full} has no line transformer, so no tap to set",
        label=f"its taps: {listed}" if powers else "nothing to set",
        related=(Label((taps.span if taps else gear.span), "its taps" if taps else "declared here"),),
        help=f"set one of {listed}" if powers else "take the tap out, or use a box with `taps`",
        subject=gear.full,
    )


def _parent(names: Names, node: Thing) -> None:
    assert node.parent is not None
    found = names.find(node.parent)
    if not found:
        return
    parent = found[0]
    if parent.word != "mains":
        names.faults.add(
            "gear-misplaced",
            node.parent.span,
            f"`{parent.full}` is no part of the mains",
            label=CALLED[parent.word],
            related=(Label(parent.span, "declared here"),),
            help="write behind `from` the part of the mains that feeds this one",
            subject=node.name,
        )
        return
    row = names.rows[node.name]
    for number, gear in row.members.items():
        row.members[number] = _fed(gear, parent.full)


@remembered
def _fed(gear: Gear, parent: str) -> Gear:
    return evolve(gear, parent=parent)


def _circles(names: Names) -> None:
    """The mains is a tree: no part of it feeds itself by way of others."""
    parts = {gear.full: gear for row in names.rows.values() for gear in row.members.values() if gear.word == "mains"}
    done: set[str] = set()
    for start in parts:
        trail: list[str] = []
        at = start
        while at and at not in done and at not in trail:
            trail.append(at)
            at = parts[at].parent if at in parts else ""
        if at in trail:
            circle = trail[trail.index(at) :]
            names.faults.add(
                "gear-misplaced",
                parts[circle[0]].span,
                f"the mains runs in a circle: {' from '.join([*circle, circle[0]])}",
                label="feeds itself",
                related=tuple(Label(parts[each].span, "on the way round") for each in circle[1:]),
                help="let one of them be the beginning: give it `supply` or `generator`, and take its `from` out",
                subject=circle[0],
            )
        done.update(trail)
