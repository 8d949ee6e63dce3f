"""Mutants of a file: one comparison, operator, constant or choice changed."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path
from types import CodeType

from attrs import frozen

EXCHANGED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.And: ast.Or, ast.Or: ast.And,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
CALLED = {"min": "max", "max": "min", "any": "all", "all": "any", "sorted": "list"}

TINY = 1e-6
"""What is smaller keeps rounding out of comparisons."""
Function = tuple[str, int]
"""A function by its file and first line."""


@frozen
class Mutant:
    path: str
    number: int
    """Among the mutants of its file."""
    line: int
    what: str
    whole: CodeType
    """The code of the whole file."""
    function: Function | None
    """The outermost function that it changes; None where it changes what is done while the file is imported."""

    @property
    def code(self) -> CodeType:
        """The code of its function."""
        return next(code for code in _codes(self.whole) if (code.co_filename, code.co_firstlineno) == self.function)


def mutants(path: Path) -> Iterator[Mutant]:
    """Every mutant of a file, in the order of its lines."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    name, number = str(path), 0
    for node, function in list(_nodes(tree, name, None)):
        for field, value in ast.iter_fields(node):
            for at, each in enumerate(value) if field == "ops" else ((None, value),):
                new = _changed(node, field, each)
                if new is None:
                    continue
                was = ast.unparse(node)
                setattr(node, field, new if at is None else [*value[:at], new, *value[at + 1 :]])
                whole = compile(ast.fix_missing_locations(tree), name, "exec")
                yield Mutant(
                    name, number, getattr(node, "lineno", 0), f"{was}  ->  {ast.unparse(node)}", whole, function
                )
                number += 1
                setattr(node, field, value)


def _nodes(node: ast.AST, name: str, function: Function | None) -> Iterator[tuple[ast.AST, Function | None]]:
    """Every node that may be changed, with the outermost function whose body it stands in."""
    for field, value in ast.iter_fields(node):
        if field in ("annotation", "returns", "decorator_list"):  # types, and how values are compared
            continue
        within = function
        if isinstance(node, ast.FunctionDef) and field == "body" and function is None:
            within = name, min([node.lineno, *(each.lineno for each in node.decorator_list)])
        for each in value if isinstance(value, list) else [value]:
            if isinstance(each, ast.AST):
                yield each, within
                yield from _nodes(each, name, within)


def _codes(code: CodeType) -> Iterator[CodeType]:
    for each in code.co_consts:
        if isinstance(each, CodeType):
            yield each
            yield from _codes(each)


def _changed(node: ast.AST, field: str, value: object) -> object:
    """What a mutant has in the place of a value; None where it is left alone."""
    if isinstance(value, ast.AST) and type(value) in EXCHANGED:
        left = getattr(node, "left", None)
        text = isinstance(left, ast.JoinedStr) or (isinstance(left, ast.Constant) and isinstance(left.value, str))
        return None if text else EXCHANGED[type(value)]()
    if isinstance(node, ast.Constant) and field == "value":
        if isinstance(value, bool):
            return not value
        if isinstance(value, int | float) and (not value or abs(value) > TINY):
            return value + 1 if isinstance(value, int) else value * 1.1 + (value == 0)
    if isinstance(node, ast.Name) and field == "id" and isinstance(value, str):
        return CALLED.get(value)
    if isinstance(node, ast.UnaryOp) and field == "op" and isinstance(value, ast.USub):
        return ast.UAdd()
    if isinstance(node, ast.IfExp) and field == "test" and isinstance(value, ast.expr):
        return ast.UnaryOp(ast.Not(), value)
    return None
