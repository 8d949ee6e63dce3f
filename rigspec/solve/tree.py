"""Series and parallel reduction of one output's network, at many frequencies.

Whatever hangs on one output by pairs of conductors is a tree of two-terminal networks: at each joint lie loads, further
joints behind leads, and loops of several joints in series. Such a tree is solved from the leaves to the root and back,
in time linear in its size, where `network.solve` takes apart any network at all. Loads may be complex.
"""

from __future__ import annotations

from collections.abc import Sequence

from attrs import frozen

from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class Joint(Value):
    """A pair of conductors: what it hangs on, and how.

    ``parent`` is the number of an earlier joint (-1: the output's own). ``loop_ohm`` is the lead between both, there
    and back. ``series`` numbers the loop in which this joint lies in series with others of the same parent; -1 for
    none. ``loads`` are the numbers of the loads across it.
    """

    parent: int
    loop_ohm: float
    series: int
    loads: tuple[int, ...]


@frozen(eq=False, repr=False)
class TreeState(Value):
    """A tree at one volt and several frequencies: each figure is a list, one entry for each frequency.

    ``siemens`` is what the output sees, ``volt`` what lies across each joint, ``ampere`` what goes into it. Where
    nothing closes a circuit nothing flows; in a loop that is open somewhere no joint has volts.
    """

    siemens: list[complex]
    volt: list[list[complex]]
    ampere: list[list[complex]]


def solve_tree(joints: Sequence[Joint], loads_ohm: Sequence[Sequence[complex]]) -> TreeState:
    """Solve a tree in which each joint comes after its parent.

    ``loads_ohm`` has each load at each frequency; none of them is 0.
    """
    count = len(loads_ohm[0]) if loads_ohm else 0
    loops = _loops(joints)
    siemens: list[list[complex]] = [[0.0] * count for _ in joints]
    looped: dict[int, list[complex]] = {}  # what each loop in series is as a whole, in siemens
    for number in range(len(joints) - 1, -1, -1):
        joint = joints[number]
        own = siemens[number]
        for load in joint.loads:
            own = [y + 1 / z for y, z in zip(own, loads_ohm[load], strict=True)]
        siemens[number] = own
        if joint.parent < 0:
            continue
        added = own
        if joint.loop_ohm:
            loop_ohm = joint.loop_ohm
            added = [y / (1 + loop_ohm * y) for y in own]
        if joint.series >= 0:
            looped[joint.series] = _in_series(looped.get(joint.series), added)
            if loops[joint.series] != number:
                continue
            added = looped[joint.series]
        siemens[joint.parent] = [y + more for y, more in zip(siemens[joint.parent], added, strict=True)]
    volt = _volts(joints, siemens, looped, count)
    ampere = [[u * y for u, y in zip(*each, strict=True)] for each in zip(volt, siemens, strict=True)]
    return TreeState(siemens[0], volt, ampere)


def _loops(joints: Sequence[Joint]) -> dict[int, int]:
    """The first joint of each loop in series."""
    loops: dict[int, int] = {}
    for number, joint in enumerate(joints):
        if joint.series >= 0:
            loops.setdefault(joint.series, number)
    return loops


def _in_series(before: list[complex] | None, added: list[complex]) -> list[complex]:
    """Admittances one behind the other; one that is open leaves nothing."""
    if before is None:
        return added
    return [x * y / (x + y) if x and y else 0.0 for x, y in zip(before, added, strict=True)]


def _volts(
    joints: Sequence[Joint], siemens: list[list[complex]], looped: dict[int, list[complex]], count: int
) -> list[list[complex]]:
    """The volts across each joint, from the output outwards."""
    volt: list[list[complex]] = [[1.0] * count for _ in joints]
    for number, joint in enumerate(joints):
        if joint.parent < 0:
            continue
        before, own, loop_ohm = volt[joint.parent], siemens[number], joint.loop_ohm
        if joint.series >= 0:
            whole = looped[joint.series]
            volt[number] = [u * all_ / y if y else 0.0 for u, all_, y in zip(before, whole, own, strict=True)]
        elif loop_ohm:
            volt[number] = [u / (1 + loop_ohm * y) for u, y in zip(before, own, strict=True)]
        else:
            volt[number] = before
    return volt
