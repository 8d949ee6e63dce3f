"""How a figure came about, as a tree: each step with its formula and authority, down to the lines it rests on.

The steps are made when somebody asks; the figures themselves are computed without them and are the only authority on
the values. A formula is written in the symbols of the steps below it, so that it can be worked out again from them.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Literal

from attrs import field, frozen

from rigspec.rig.model import Measure
from rigspec.text.source import Span
from rigspec.text.units import FigureKind
from rigspec.text.value import Value


@frozen(eq=False, repr=False)
class Step(Value):
    """One figure, and how it came about.

    ``value`` is in the base unit of ``kind`` (as `units.BASE_UNIT` has it), or a word. ``symbol`` is what the formula
    of the step above calls it. ``formula`` is an expression in the symbols of ``rests_on``, with ``^`` for powers and
    sqrt, log10, min, max, abs and sum; ``method`` says in words what no formula in one line can. ``authority`` is a
    standard, a law or "common practice, no source". ``span`` is the place where the figure stands in a text.
    ``assumed`` says what stood in for a figure that nobody gave.
    """

    name: str
    value: float | str
    kind: FigureKind | Literal[""]
    symbol: str = ""
    formula: str = ""
    method: str = ""
    authority: str = ""
    span: Span | None = None
    assumed: str = ""
    rests_on: tuple[Step, ...] = field(default=())

    def called(self, symbol: str) -> Step:
        """The same step under the symbol by which a formula refers to it."""
        if symbol == self.symbol:
            return self
        rest = (self.formula, self.method, self.authority, self.span, self.assumed, self.rests_on)
        return Step(self.name, self.value, self.kind, symbol, *rest)

    def walk(self) -> Iterator[Step]:
        """This step and all below it, each once, however deep."""
        seen, todo = {id(self)}, [self]
        while todo:
            step = todo.pop()
            yield step
            below = [each for each in reversed(step.rests_on) if id(each) not in seen]
            seen.update(map(id, below))
            todo += below


def given(name: str, measure: Measure, symbol: str = "") -> Step:
    """A figure that the rig or its stock gives."""
    return Step(name, measure.value, measure.kind, symbol, span=measure.span)


def taken(name: str, value: float, kind: FigureKind, why: str, symbol: str = "", authority: str = "") -> Step:
    """A figure that nobody gave and that was assumed: ``why`` says in whose place it stands."""
    return Step(name, value, kind, symbol, assumed=why, authority=authority)


def assumptions(step: Step) -> tuple[str, ...]:
    """Everything that was assumed in a tree, once each, in order."""
    return tuple(dict.fromkeys(each.assumed for each in step.walk() if each.assumed))


def numbered(steps: Sequence[Step], letter: str) -> tuple[Step, ...]:
    """Steps under the symbols Z1, Z2, Z3 ... for a sum or a parallel load."""
    return tuple(step.called(f"{letter}{number}") for number, step in enumerate(steps, 1))
