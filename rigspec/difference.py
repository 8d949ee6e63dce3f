"""Where two sequences differ: what they have in common at both ends is found by halving, so that it costs little.

An edit leaves almost everything of a text, of its statements and of the wiring as it was.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

Item = TypeVar("Item")


def same_head(old: Sequence[object], new: Sequence[object]) -> int:
    """How many items two sequences have in common at their beginning."""
    low, high = 0, min(len(old), len(new))
    while low < high:
        middle = (low + high + 1) // 2
        if old[low:middle] == new[low:middle]:
            low = middle
        else:
            high = middle - 1
    return low


def same_tail(old: Sequence[object], new: Sequence[object]) -> int:
    """How many items two sequences have in common at their end."""
    low, high = 0, min(len(old), len(new))
    while low < high:
        middle = (low + high + 1) // 2
        if old[len(old) - middle : len(old) - low] == new[len(new) - middle : len(new) - low]:
            low = middle
        else:
            high = middle - 1
    return low


def differing(old: Sequence[Item], new: Sequence[Item]) -> tuple[Sequence[Item], Sequence[Item]]:
    """The items that are in one of two sequences alone; more of them where others have changed places.

    Two items are the same where they are one object.
    """
    head = same_head(old, new)
    tail = min(same_tail(old, new), min(len(old), len(new)) - head)
    old, new = old[head : len(old) - tail], new[head : len(new) - tail]
    in_old, in_new = set(map(id, old)), set(map(id, new))
    if [id(each) for each in old if id(each) in in_new] != [id(each) for each in new if id(each) in in_old]:
        return old, new
    return [each for each in old if id(each) not in in_new], [each for each in new if id(each) not in in_old]
