"""The base of all values, how they show themselves in a debugger or a failing test, and what is asked of one twice.

attrs could write a ``__repr__`` for each class, but it compiles that anew at every start, and a check starts often: one
shared by all saves a tenth of the whole run.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import wraps
from typing import TypeVar
from weakref import WeakKeyDictionary


class Value:
    """A value that shows its fields, but for those that its class hides with ``field(repr=False)``."""

    __slots__ = ()

    def __repr__(self) -> str:
        fields = getattr(type(self), "__attrs_attrs__", ())
        shown = ", ".join(f"{each.name}={getattr(self, each.name)!r}" for each in fields if each.repr)
        return f"{type(self).__name__}({shown})"


Of = TypeVar("Of")
Made = TypeVar("Made")


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
