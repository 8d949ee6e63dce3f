"""Pure functions that are asked again: what they gave for the very same values is given once more.

Everything in the house is frozen, so a function that reads nothing but its arguments gives the same for the same ones.
A server that checks a text after every key press keeps a `Memory`: where statements have stayed the same objects, so
has all gear that is made of them, and so have paths, channels and what is concluded from these alone. Nobody lists what
depends on what: what a function may depend on is what it is given.

A place moves with its statement, so what is kept may hold a `Span`, but never a line, a column or an offset of one.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from functools import wraps
from operator import call
from typing import Any, ParamSpec, TypeVar

P = ParamSpec("P")
Made = TypeVar("Made")

FORGET_EVERY = 8  # rounds: to look through all that is kept costs more than to keep a little of what is old

_BY_VALUE = frozenset({"str", "int", "float", "bool", "None"})


class Memory:
    """What was made in the last rounds, each with the round that last asked for it; older things are forgotten.

    ``joints`` counts the numbers that have been given to joints of the wiring: no two get the same.
    """

    def __init__(self) -> None:
        self.kept: dict[object, list[Any]] = {}  # what was made, the round, the values that its key speaks of
        self.round = 0
        self.joints = 0
        self.last: Any = None  # what the last check concluded

    def turn(self) -> None:
        """Begin a round; now and then, forget what the last two did not ask for."""
        self.round += 1
        if self.round % FORGET_EVERY == 0:
            since = self.round - 2
            self.kept = {key: found for key, found in self.kept.items() if found[1] >= since}

    def known(self, key: object) -> Any:
        """What is kept under a key, else None."""
        found = self.kept.get(key)
        if found is None:
            return None
        found[1] = self.round
        return found[0]

    def keep(self, key: object, held: object, made: Made) -> Made:
        """Keep what was made. ``held`` are the values in whose place their ``id`` stands in the key."""
        self.kept[key] = [made, self.round, held]
        return made


_current: Memory | None = None


def current() -> Memory | None:
    """The memory of the check at hand."""
    return _current


@contextmanager
def remembering(memory: Memory) -> Iterator[None]:
    """One round of a memory: within it, remembered functions keep what they make."""
    global _current
    outer, _current = _current, memory
    memory.turn()
    try:
        yield
    finally:
        _current = outer


def remembered(function: Callable[P, Made]) -> Callable[P, Made]:
    """A pure function of frozen values. Numbers and texts count by value, tuples by their items, all else by identity.

    Outside a check nothing is kept. It is called with positions only, and its parameters say what they are.
    """
    ways: tuple[Callable[[Any], object], ...] = ()

    @wraps(function)
    def again(*args: P.args, **named: P.kwargs) -> Made:
        nonlocal ways
        memory = _current
        if memory is None:
            return function(*args, **named)
        if not ways:
            ways = _ways(function)
        key = (function, *map(call, ways, args))
        found = memory.kept.get(key)
        if found is None:
            return memory.keep(key, args, function(*args, **named))
        found[1] = memory.round
        made: Made = found[0]
        return made

    return again


def _ways(function: Callable[..., object]) -> tuple[Callable[[Any], object], ...]:
    """What makes a part of the key from each argument, by what the parameters are said to be.

    It is found out once, because a check asks some thousand times: looking at each value takes three times as long.
    """
    found: list[Callable[[Any], object]] = []
    for name, kind in function.__annotations__.items():
        item = kind[len("tuple[") :].partition(",")[0] if kind.startswith("tuple[") else ""
        if name == "return":
            continue
        if set(kind.split(" | ")) <= _BY_VALUE:
            found.append(_itself)
        elif not item:
            found.append(id)
        else:
            plain = kind == f"tuple[{item}, ...]" and item not in _BY_VALUE
            found.append(_items if plain else same)
    return tuple(found)


def _itself(value: object) -> object:
    return value


def _items(values: tuple[object, ...]) -> object:
    return tuple(map(id, values))


def same(value: Any) -> object:
    """What stands for a value in a key. The value has to be held as long as the key is."""
    kind = type(value)
    if kind is tuple:
        return tuple(map(same, value))
    return value if kind.__name__ in _BY_VALUE or value is None else id(value)
