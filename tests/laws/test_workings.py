"""The working of a figure leads to that figure: every formula is worked out again from what stands below it."""

from __future__ import annotations

import ast
import operator
from collections.abc import Callable, Iterator
from math import isfinite, log10, sqrt
from pathlib import Path

import pytest
from checking import checked, laws
from hypothesis import given
from rigs import rigs

from rigspec.check import Refused, Report, check
from rigspec.figures import Figures
from rigspec.text.source import Source
from rigspec.text.units import BASE_UNIT
from rigspec.why import DERIVED, derive, figure_of
from rigspec.why.working import Step

SAMPLES = Path(__file__).parents[2] / "samples"

OPERATORS: dict[type, Callable[..., float]] = {
    ast.Add: operator.add,
    ast.Sub: operator.sub,
    ast.Mult: operator.mul,
    ast.Div: operator.truediv,
    ast.Pow: operator.pow,
    ast.USub: operator.neg,
}
FUNCTIONS: dict[str, Callable[..., float]] = {
    "sqrt": sqrt,
    "log10": log10,
    "min": min,
    "max": max,
    "abs": abs,
    "sum": lambda *each: sum(each),
}


def worked_out(formula: str, symbols: dict[str, float]) -> float:
    """The value of a formula; KeyError for a symbol that nothing below it bears."""

    def value(node: ast.expr) -> float:
        match node:
            case ast.Constant(int() | float() as number):
                return number
            case ast.Name(name):
                return symbols[name]
            case ast.UnaryOp(sign, inner):
                return OPERATORS[type(sign)](value(inner))
            case ast.BinOp(left, sign, right):
                return OPERATORS[type(sign)](value(left), value(right))
            case ast.Call(ast.Name(name), arguments):
                return FUNCTIONS[name](*map(value, arguments))
        raise AssertionError(f"cannot read {ast.dump(node)} in {formula}")

    return value(ast.parse(formula.replace("^", "**"), mode="eval").body)


def assert_sound(root: Step) -> None:
    for step in root.walk():
        assert step.kind in BASE_UNIT or isinstance(step.value, str), step.name
        assert step.name
        if isinstance(step.value, str):
            continue
        assert isfinite(step.value), step.name
        if step.formula:
            symbols = {each.symbol: each.value for each in step.rests_on if isinstance(each.value, float | int)}
            named = [each.symbol for each in step.rests_on if each.symbol]
            assert len(set(named)) == len(named), f"{step.name}: a symbol stands for two things in {named}"
            found = worked_out(step.formula, symbols)
            assert step.value == pytest.approx(found, rel=1e-9, abs=1e-12), f"{step.name} = {step.formula}"
            assert step.authority, f"{step.name}: by what authority?"
        elif step.rests_on:
            assert step.method, f"{step.name}: how?"
        else:
            assert step.span or step.authority or step.assumed, f"{step.name}: from where?"


def keys(figures: Figures) -> Iterator[str]:
    """Everything a figure may be asked of."""
    wiring = figures.rig.wiring
    groups = [roster.name for roster in figures.rig.rosters_of("group")]
    named = (*wiring.outputs, *wiring.sinks, *wiring.throughs, *figures.boxes, *figures.rig.gear, *groups)
    yield from dict.fromkeys(named)


def every_step(figures: Figures) -> Iterator[tuple[str, Step]]:
    for word in DERIVED:
        for key in keys(figures):
            step = derive(figures, word, key)
            assert figure_of(figures, word, key) == (None if step is None else step.value), f"{word} of {key}"
            if step is not None:
                yield word, step


def load_sample(using: str, used: str) -> Source | Refused:
    path = Path(using).parent / used
    return Source(str(path), path.read_text(encoding="utf-8"))


def sample(path: Path) -> Report:
    return check(Source(str(path), path.read_text(encoding="utf-8")), load_sample)


@pytest.mark.parametrize("path", sorted(SAMPLES.glob("*.rig")), ids=lambda path: path.stem)
def test_every_figure_of_a_sample_follows_from_its_working(path: Path) -> None:
    found = list(every_step(sample(path).figures))
    for _, step in found:
        assert_sound(step)
    assert found


def test_every_word_is_worked_in_some_sample() -> None:
    words = {word for path in SAMPLES.glob("*.rig") for word, _ in every_step(sample(path).figures)}
    assert words == set(DERIVED)


@given(rigs())
@laws(25)
def test_every_figure_of_a_made_up_rig_follows_from_its_working(rig: object) -> None:
    for _, step in every_step(checked(rig.text).figures):  # type: ignore[attr-defined]
        assert_sound(step)
