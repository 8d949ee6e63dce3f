"""How much the tests see: ``python -m tests.mutants ROOM`` breaks one thing of a room at a time and runs its tests.

A mutant has one comparison, operator, constant or choice of its code changed. It dies where one of the room's tests
fails; what survives is printed with its line, to be read: it is alike in all that counts, or the tests have a hole.
`--count 60` takes so many, `--seed 1` others. The files are changed in a copy, so that work may go on.
"""

from __future__ import annotations

import argparse
import ast
import os
import random
import shutil
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[1]
TESTS = {  # of each room, those that hold it where no answer changes, the quick ones first
    "solve": ("tests/outside", "tests/laws/test_network_laws.py", "tests/laws/test_physical_range.py"),
    "figures": ("tests/outside", "tests/laws/test_figure_laws.py", "tests/show/test_show_figures.py", "tests/show"),
    "rules": ("tests/rules",),
    "sheets": ("tests/sheets/test_sheets_content.py", "tests/sheets/test_sheets_forms.py", "tests/sheets"),
}
ANSWERS = "from tests.answers.answering import first_change; raise SystemExit(first_change() or None)"
SWAPPED: dict[type[ast.AST], type[ast.AST]] = {
    ast.Lt: ast.LtE, ast.LtE: ast.Lt, ast.Gt: ast.GtE, ast.GtE: ast.Gt, ast.Eq: ast.NotEq, ast.NotEq: ast.Eq,
    ast.Is: ast.IsNot, ast.IsNot: ast.Is, ast.In: ast.NotIn, ast.NotIn: ast.In, ast.And: ast.Or, ast.Or: ast.And,
    ast.Add: ast.Sub, ast.Sub: ast.Add, ast.Mult: ast.Div, ast.Div: ast.Mult, ast.Pow: ast.Mult,
}  # fmt: skip
CALLED = {"min": "max", "max": "min", "any": "all", "all": "any", "sorted": "list"}


def mutants(path: Path) -> Iterator[tuple[int, str, str]]:
    """Every mutant of a file: its line, what it was and became, and the whole text."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    for node in list(ast.walk(tree)):
        for field, value in ast.iter_fields(node):
            for at, each in enumerate(value) if field == "ops" else ((None, value),):
                new = _changed(node, field, each)
                if new is None:
                    continue
                was = ast.unparse(node)
                setattr(node, field, new if at is None else [*value[:at], new, *value[at + 1 :]])
                yield getattr(node, "lineno", 0), f"{was}  ->  {ast.unparse(node)}", ast.unparse(tree)
                setattr(node, field, value)


def _changed(node: ast.AST, field: str, value: object) -> object:
    """What a mutant has in the place of a value; None where it is left alone."""
    if isinstance(value, ast.AST) and type(value) in SWAPPED:
        left = getattr(node, "left", None)
        text = isinstance(left, ast.JoinedStr) or (isinstance(left, ast.Constant) and isinstance(left.value, str))
        return None if text else SWAPPED[type(value)]()
    if isinstance(node, ast.Constant) and field == "value":
        if isinstance(value, bool):
            return not value
        if isinstance(value, int | float):
            return value + 1 if isinstance(value, int) else value * 1.1 + (value == 0)
    if isinstance(node, ast.Name) and field == "id" and isinstance(value, str):
        return CALLED.get(value)
    if isinstance(node, ast.UnaryOp) and field == "op" and isinstance(value, ast.USub):
        return ast.UAdd()
    if isinstance(node, ast.IfExp) and field == "test" and isinstance(value, ast.expr):
        return ast.UnaryOp(ast.Not(), value)
    return None


def survives(copy: Path, tests: tuple[str, ...]) -> bool:
    environment = {**os.environ, "PYTHONPATH": str(copy)}
    pytest = ["-m", "pytest", "-x", "-q", "-p", "no:cacheprovider", "--timeout", "120"]
    for command in (["-c", ANSWERS], *([*pytest, each] for each in tests)):
        try:
            subprocess.run(
                [sys.executable, *command], cwd=copy, env=environment, capture_output=True, check=True, timeout=900
            )
        except (subprocess.CalledProcessError, subprocess.TimeoutExpired):  # some run for ever
            return False
    return True


def main() -> None:
    wanted = argparse.ArgumentParser()
    wanted.add_argument("room", choices=TESTS)
    wanted.add_argument("--count", type=int, default=60)
    wanted.add_argument("--seed", type=int, default=0)
    given = wanted.parse_args()
    files = sorted((ROOT / "rigspec" / given.room).rglob("*.py"))
    found = [(path.relative_to(ROOT), *mutant) for path in files for mutant in mutants(path)]
    taken = random.Random(given.seed).sample(found, min(given.count, len(found)))
    with tempfile.TemporaryDirectory() as name:
        copy = Path(name) / "copy"
        shutil.copytree(ROOT, copy, ignore=shutil.ignore_patterns(".git", ".venv", "node_modules", "__pycache__"))
        assert survives(copy, TESTS[given.room]), "the tests fail as it is"
        alive = 0
        for path, line, what, text in taken:
            clean = (copy / path).read_text(encoding="utf-8")
            (copy / path).write_text(text, encoding="utf-8")
            if survives(copy, TESTS[given.room]):
                alive += 1
                print(f"{path}:{line}: {what}", flush=True)
            (copy / path).write_text(clean, encoding="utf-8")
        print(f"{alive} of {len(taken)} survive, of {len(found)} that can be made")


if __name__ == "__main__":
    main()
