"""The floors of the house: who may import whom, and that nothing below the command line touches the world.

Imports inside functions and for type checkers count as well.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from graphlib import TopologicalSorter
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]

# From the ground up. A room may import what stands on lower floors, and its own room; not its neighbours.
FLOORS = (
    ("rigspec.text",),
    ("rigspec.language", "rigspec.solve"),  # physics knows numbers only, see below
    ("rigspec.rig",),
    ("rigspec.figures",),
    ("rigspec.space",),
    ("rigspec.why",),
    ("rigspec.rules",),
    ("rigspec.check",),
    ("rigspec.show",),
    ("rigspec.sheets",),
    ("rigspec.draw",),
    ("rigspec.plans",),
    ("rigspec.changes",),
    ("rigspec.files",),
    ("rigspec.server",),
    ("rigspec.cli",),
    ("rigspec.make",),
    ("rigspec.__main__",),
)
FLOOR_OF = {room: number for number, rooms in enumerate(FLOORS) for room in rooms}

READING = tuple(
    f"rigspec.language.{name}" for name in ("build", "chunk", "format", "nodes", "reader", "slips", "tables", "tokens")
)
# What keeps still further from others than its floor asks.
KNOWS_NOTHING_OF = {
    "rigspec.solve": ("rigspec.text.source", "rigspec.text.finding", "rigspec.text.near"),
    "rigspec.rig.model": (*READING, "rigspec.solve"),
    "rigspec.figures": (*READING, "rigspec.rig.resolve"),
    "rigspec.rules": READING,
}
OUTSIDE = {
    "lark": {"rigspec/language/build.py"},
    "pint": {"rigspec/text/units.py"},
    "svg": {"rigspec/draw/svg.py"},
    "cairosvg": {"rigspec/cli/picture.py"},
}
WORLD = {
    "os",
    "sys",
    "io",
    "pathlib",
    "subprocess",
    "socket",
    "shutil",
    "tempfile",
    "urllib.request",
    "http",
    "importlib",
}
WORLDLY_CALLS = {"open", "print", "input", "exec", "eval", "compile", "__import__"}
# What reads the grammar; a check does not load it.
EXEMPT = {"rigspec/language/build.py"}
WORLDLY_ROOMS = ("rigspec/files/", "rigspec/server/", "rigspec/cli/", "rigspec/make.py", "rigspec/__main__.py")

FILES = sorted((ROOT / "rigspec").rglob("*.py"))


def room_of(module: str) -> str:
    """The room in which a module stands: ``rigspec.language.tokens`` is in ``rigspec.language``."""
    return ".".join(module.split(".")[:2])


def module_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


def imports(tree: ast.AST) -> Iterator[tuple[str, int]]:
    """Every module that a file imports, wherever in it, with the line; ``from rigspec.text import units`` does too."""
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from ((alias.name, node.lineno) for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"line {node.lineno}: imports are written in full"
            module = node.module or ""
            whole = [f"{module}.{alias.name}" for alias in node.names]
            yield from ((name if is_module(name) else module, node.lineno) for name in whole)


def is_module(name: str) -> bool:
    path = ROOT.joinpath(*name.split("."))
    return path.with_suffix(".py").is_file() or (path / "__init__.py").is_file()


def upward(module: str, tree: ast.AST) -> list[str]:
    """The imports of a module that its floor forbids."""
    room, wrong = room_of(module), []
    shut = [each for kept, names in KNOWS_NOTHING_OF.items() if _within(module, kept) for each in names]
    for name, line in imports(tree):
        if name.partition(".")[0] != "rigspec" or name == "rigspec":
            continue
        below = room_of(name) == room or FLOOR_OF.get(room_of(name), len(FLOORS)) < FLOOR_OF[room]
        if not below or any(_within(name, each) for each in shut):
            wrong.append(f"{module}, line {line}: may not import {name}")
    return wrong


def _within(module: str, place: str) -> bool:
    return f"{module}.".startswith(f"{place}.")


def worldly(tree: ast.Module) -> list[str]:
    """What in a file touches files, terminals or processes; its `if __name__ == "__main__"` is a tool of its own."""
    kept = [node for node in tree.body if not (isinstance(node, ast.If) and "__name__" in ast.unparse(node.test))]
    body = ast.Module(kept, [])
    found = [(name, line) for name, line in imports(body) if {name, name.partition(".")[0]} & WORLD]
    wrong = [f"line {line}: imports {name}" for name, line in found]
    names = [node for node in ast.walk(body) if isinstance(node, ast.Name)]
    return wrong + [f"line {name.lineno}: uses {name.id}" for name in names if name.id in WORLDLY_CALLS]


@pytest.mark.parametrize("path", FILES, ids=lambda path: module_of(path))
def test_imports_lead_downward(path: Path) -> None:
    module = module_of(path)
    if module != "rigspec":
        assert room_of(module) in FLOOR_OF, f"{room_of(module)} is a new room: give it a floor in {Path(__file__).name}"
    tree = ast.parse(path.read_text(encoding="utf-8"))
    assert upward(module, tree) == []
    name = path.relative_to(ROOT).as_posix()
    for outside, allowed in OUTSIDE.items():
        lines = [line for imported, line in imports(tree) if imported.partition(".")[0] == outside]
        assert not lines or name in allowed, f"{name}, line {lines[0]}: only {', '.join(allowed)} may import {outside}"


def test_no_modules_import_each_other_in_a_circle() -> None:
    graph = {
        module_of(path): {name for name, _ in imports(ast.parse(path.read_text("utf-8"))) if is_module(name)}
        for path in FILES
    }
    TopologicalSorter(graph).prepare()  # names the circle where there is one


@pytest.mark.parametrize("path", FILES, ids=lambda path: module_of(path))
def test_only_the_command_line_touches_the_world(path: Path) -> None:
    name = path.relative_to(ROOT).as_posix()
    if name in EXEMPT or name.startswith(WORLDLY_ROOMS):
        return
    assert worldly(ast.parse(path.read_text(encoding="utf-8"))) == [], name


@pytest.mark.parametrize(
    ("module", "text"),
    [
        ("rigspec.rules.loads", "from rigspec.check import check"),
        ("rigspec.language.reader", "from rigspec.rig.names import Names"),
        ("rigspec.solve.network", "from rigspec.text import source"),
        ("rigspec.text.source", "def f():\n    import rigspec.language.syntax"),
        ("rigspec.figures.signal.part", "from rigspec.rig.resolve import resolve"),
        ("rigspec.show.sarif", "from rigspec.cli.terminal import say"),
        ("rigspec.server.workspace", "from rigspec.cli.terminal import say"),
    ],
)
def test_an_import_upward_is_seen(module: str, text: str) -> None:
    (wrong,) = upward(module, ast.parse(text))
    assert "may not import rigspec." in wrong


@pytest.mark.parametrize(
    "text",
    [
        "def f():\n    print(1)",
        "import os.path",
        "def f():\n    from pathlib import Path",
        "say = print",
        "x = open('y')",
        "if True:\n    import sys",
    ],
)
def test_a_touch_of_the_world_is_seen(text: str) -> None:
    assert worldly(ast.parse(text))
