"""Names and numbers inside settings: inputs, pairs, ways, feeds that a place hears, and the tree of the mains."""

from __future__ import annotations

from collections.abc import Iterable

from attrs import evolve

from rigspec.language.syntax import Thing
from rigspec.language.words import SettingWord
from rigspec.rig.doubt import Doubt
from rigspec.rig.model import Entry, Gear, Given, entries
from rigspec.rig.names import CALLED, Names
from rigspec.rig.ports import input_letters, ports_of
from rigspec.text.finding import Label


def judge_settings(names: Names) -> None:
    """Hold what settings name against what there is."""
    told: set[object] = set()  # settings that members share are judged once
    for row in names.rows.values():
        for gear in row.members.values():
            if not gear.doubt:
                _numbers(names, gear, told)
                _inputs(names, gear, told)
                _heard(names, gear, told)
                _tap(names, gear, told)
                _impedance(names, gear, told)
                _draw(names, gear, told)
                _controls(names, gear, told)


def _once(given: Given | None, told: set[object]) -> tuple[Entry, ...]:
    if given is None or given.span in told:
        return ()
    told.add(given.span)
    return given.entries


def _numbers(names: Names, gear: Gear, told: set[object]) -> None:
    """`inverted 3`, `bridge 1+2` and `joined 1+2` speak of channels, legs, lines, pairs or ways that exist."""
    known = ports_of(gear)
    ways = [str(number) for number in range(1, 3)] if gear.word == "speaker" else known
    for each in _once(gear.facts.get("inverted"), told):
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
        for each in _once(gear.facts.get(word), told) if gear.word == "amp" else ():
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
    inputs = input_letters(gear)
    for facts in gear.ports.values():
        for each in _once(facts.get("from"), told):
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
    for each in _once(gear.facts.get("hears"), told):
        for ref in each.refs:
            if ref.name not in names.listings:
                names.find(ref)


def _tap(names: Names, gear: Gear, told: set[object]) -> None:
    """`tap 15 W` is one of the taps that the loudspeaker has."""
    given = _once(gear.facts.get("tap"), told)
    tap = gear.measure("tap", "power")
    if not given or tap is None:
        return
    taps = gear.facts.get("taps")
    powers = [power for each in entries(gear.facts, "taps") if (power := each.get("power"))]
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


def _draw(names: Names, gear: Gear, told: set[object]) -> None:
    """What gear draws at 1/8 of its output comes first, as everything else is computed from that."""
    given = _once(gear.facts.get("draw"), told) if gear.word != "mains" else ()
    part = given[0].get("number") if given else None
    if part is not None and part.value != 1 / 8:
        names.faults.add(
            "setting-value",
            given[0].span,
            f"what {gear.full} draws at 1/8 is not said first",
            label=f"its draw at {part.text}",
            help="write it like this: draw 300 W, 480 W at 1/3",
            subject=gear.full,
        )


def _impedance(names: Names, gear: Gear, told: set[object]) -> None:
    """The rated impedance of a loudspeaker, or of a way, comes first: everything else is computed from that."""
    for facts in (gear.facts, *(gear.way(way) for way in gear.ways)) if gear.word == "speaker" else ():
        given = _once(facts.get("impedance"), told)
        if given and ("least" in given[0].words or given[0].get("frequency")):
            names.faults.add(
                "setting-value",
                given[0].span,
                f"the rated impedance of {gear.full} is not said first",
                label="its least impedance, or that at a frequency",
                help="write it like this: impedance 8 ohm, least 6.4 ohm, 9.5 ohm at 1 kHz",
                subject=gear.full,
            )
        stock = gear.kind.facts.get("impedance") if gear.kind else None
        if given and gear.says("tap") and facts.get("impedance") is not stock:
            names.faults.add(
                "setting-value",
                given[0].span,
                f"an impedance stands beside the tap of {gear.full}, and the line sees its tap alone",
                label="counts for nothing",
                related=(Label(gear.facts["tap"].span, "its tap"),),
                help="take the impedance out; or take the tap out, where it hangs without its transformer",
                subject=gear.full,
            )


_OF_POWERED: tuple[SettingWord, ...] = ("attenuator", "high-pass", "low-pass", "delay", "latency")


def _controls(names: Names, gear: Gear, told: set[object]) -> None:
    """Level control, filters and delay belong to a loudspeaker with its own amplifier; a passive one has none."""
    if gear.word != "speaker" or gear.says("powered"):
        return
    for word in _OF_POWERED:
        given = gear.facts.get(word)
        if given is not None and _once(given, told):
            names.faults.add(
                "setting-value",
                given.span,
                f"{gear.full} is passive and has no `{word}` of its own",
                label="nothing to set here",
                related=(Label(gear.span, "declared here"),),
                help=f"set `{word}` on the processor output or amplifier channel that feeds it"
                + (
                    f"; what its sheet asks for is written `asks {{ {given.span.text} }}`"
                    if word in ("high-pass", "low-pass")
                    else ""
                ),
                subject=gear.full,
            )


def feed(names: Names, node: Thing) -> None:
    """Give a part of the mains its parent; where that is not known, neither is what protects it, nor its phases."""
    assert node.parent is not None
    members = names.rows[node.name].members
    found = names.find(node.parent)
    if found and found[0].word != "mains":
        parent = found[0]
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
    for number, gear in members.items():
        doubt = gear.doubt if found else gear.doubt or Doubt.PARENT
        members[number] = evolve(gear, parent=found[0].full if found else "", doubt=doubt)


def judge_mains(names: Names) -> None:
    """The mains is a tree: no part of it feeds itself by way of others."""
    parts = (gear for row in names.rows.values() if row.word == "mains" for gear in row.members.values())
    for circle in _circles(parts):
        way = " from ".join(part.full for part in (*circle, circle[0]))
        names.faults.add(
            "gear-misplaced",
            circle[0].span,
            f"the mains runs in a circle: {way}",
            label="feeds itself",
            related=tuple(Label(part.span, "on the way round") for part in circle[1:]),
            help="let one of them be the beginning: give it `supply` or `generator`, and take its `from` out",
            subject=circle[0].full,
        )


def _circles(mains: Iterable[Gear]) -> list[list[Gear]]:
    """The parts of the mains that feed themselves, each circle once."""
    parts = {gear.full: gear for gear in mains}
    circles: list[list[Gear]] = []
    done: set[str] = set()
    for start in parts:
        trail: list[str] = []
        at = start
        while at and at not in done and at not in trail:
            trail.append(at)
            at = parts[at].parent if at in parts else ""
        if at in trail:
            circles.append([parts[each] for each in trail[trail.index(at) :]])
        done.update(trail)
    return circles
