"""The base of all values: how they show themselves, how they compare, what is asked of one twice, what goes together.

attrs could write these methods for each class, but it compiles them anew at every start, and a check starts often:
methods shared by all save a fifth of the whole run. So every class is ``@frozen(eq=False, repr=False)``.
"""

from __future__ import annotations

from collections.abc import Callable, Hashable, Iterable
from functools import wraps
from typing import TypeVar
from weakref import WeakKeyDictionary


class Value:
    """A value that shows its fields, but for those that its class hides with ``field(repr=False)``.

    It is the same as another only where it is that very one.
    """

    __slots__ = ()

    def __repr__(self) -> str:
        fields = getattr(type(self), "__attrs_attrs__", ())
        shown = ", ".join(f"{each.name}={getattr(self, each.name)!r}" for each in fields if each.repr)
        return f"{type(self).__name__}({shown})"


class Content(Value):
    """A value that is the same as all others that hold the same, but for fields with ``field(eq=False)``."""

    __slots__ = ()

    def __eq__(self, other: object) -> bool:
        if type(other) is not type(self):
            return NotImplemented
        return all(getattr(self, name) == getattr(other, name) for name in _compared(type(self)))

    def __hash__(self) -> int:
        return hash((type(self), *(getattr(self, name) for name in _compared(type(self)))))


_names: dict[type, tuple[str, ...]] = {}  # of the fields that are compared, by class


def _compared(kind: type) -> tuple[str, ...]:
    names = _names.get(kind)
    if names is None:
        names = _names[kind] = tuple(each.name for each in getattr(kind, "__attrs_attrs__", ()) if each.eq)
    return names


Of = TypeVar("Of")
Made = TypeVar("Made")
Key = TypeVar("Key", bound=Hashable)


def once(function: Callable[[Of], Made]) -> Callable[[Of], Made]:
    """A pure function of one frozen value that is compared by identity: worked out once for each, as several ask."""
    made: WeakKeyDictionary[Of, Made] = WeakKeyDictionary()

    @wraps(function)
    def ask(of: Of) -> Made:
        found = made.get(of)
        if found is None:
            found = made[of] = function(of)
        return found

    return ask


def gathered(things: Iterable[Of], key: Callable[[Of], Key]) -> dict[Key, list[Of]]:
    """Things by what they have in common, in the order in which they come."""
    found: dict[Key, list[Of]] = {}
    for thing in things:
        found.setdefault(key(thing), []).append(thing)
    return found
