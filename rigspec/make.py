"""``python -m rigspec.make``: in a checkout, write anew what is made from the code, and name the files that changed.

A step imports what it needs when those before it are written, so tables may be stale, broken or missing.
"""

from __future__ import annotations

import io
import os
import shlex
import sys
from collections.abc import Iterator
from contextlib import chdir, redirect_stdout
from functools import partial
from pathlib import Path

COMMAND = "python -m rigspec.make"
ROOT = Path(__file__).parents[1]
PATTERNS = ("pair", "sub", "wedge", "powered", "line", "bridge", "opposed", "bi-amped", "tower", "mains")
PAGES_IN_PART = ("README.md", "grammar/reference.md", "grammar/using.md")
PICTURES = {
    "samples/pictures/path.svg": "samples/opposed-bass.rig",
    "samples/pictures/plan.svg": "samples/opposed-bass.rig --view plan --show levels",
}

Made = Iterator[tuple[str, str]]
"""Files by their path in the checkout, each with its text as it should be."""


def tables() -> Made:
    from rigspec.language.build import tables_text

    yield "rigspec/language/tables.py", tables_text()


def unit_table() -> Made:
    from rigspec.text.units import table_text

    yield "rigspec/text/unit_table.py", table_text()


def schema() -> Made:
    from rigspec.show.schema import schema_text

    yield "rigspec/export.schema.json", schema_text()


def editors() -> Made:
    from rigspec.show.editor_words import COPIES, FRESH

    wanted = {path: fresh(_now(path)) for path, fresh in FRESH.items()}
    yield from (wanted | {copy: wanted.get(of) or _now(of) for copy, of in COPIES.items()}).items()


def pages() -> Made:
    """The documents. A part named ``$ rigspec ...`` is the output of that command, run in the folder of the project."""
    from rigspec.files.files import LIMIT
    from rigspec.show.pages import LANGUAGE, Maker, bounds, made_names, refreshed, rules_page

    yield "grammar/rules.md", rules_page()
    yield "grammar/patterns.md", patterns_page()
    for path in PAGES_IN_PART:
        text = _now(path)
        commands = {name: partial(output_of, name) for name in made_names(text) if name.startswith("$ ")}
        own: dict[str, Maker] = {
            "bounds": partial(bounds, LIMIT // 1024**2),
            "pair": lambda: _pattern("pair"),
            "three findings": three_findings,
        }
        yield path, refreshed(text, {**LANGUAGE, **own, **commands})


def patterns_page() -> str:
    """The rigs that `rigspec new` starts from, on one page."""
    from rigspec.plans.starting import page

    folder = ROOT / "grammar/patterns"
    return page({name: (folder / f"{name}.rig").read_text(encoding="utf-8") for name in PATTERNS})


def _pattern(name: str) -> str:
    """What `rigspec new` writes, as a block."""
    from rigspec.plans.starting import rig_of

    text = (ROOT / f"grammar/patterns/{name}.rig").read_text(encoding="utf-8")
    return f"```rig\n{rig_of(text)}```\n"


def three_findings() -> str:
    """The first findings of the wrong sample."""
    blocks = output_of("$ rigspec check samples/wrong/wrong-rig.rig").split("\n\n")
    return "\n\n".join(blocks[:3]) + "\n```\n"


def pictures() -> Made:
    """Drawings that pages show."""
    yield from ((path, _written(f"rigspec draw {words}")) for path, words in PICTURES.items())


def output_of(command: str) -> str:
    """What a command such as ``$ rigspec check hall.rig`` writes to standard output, fenced."""
    return f"```\n{command}\n{_written(command.removeprefix('$ ')).rstrip()}\n```\n"


def _written(command: str) -> str:
    """What a command writes to standard output."""
    from rigspec.cli.main import main as run_rigspec

    caught = io.StringIO()
    with chdir(ROOT), redirect_stdout(caught):
        if run_rigspec(shlex.split(command)[1:]) > 1:
            raise RuntimeError(f"{command} cannot run")
    return caught.getvalue().replace(os.linesep, "\n")


STEPS = (tables, unit_table, schema, editors, pages, pictures)


def stale() -> Made:
    """What is not as it should be; each file is to be written before the next is asked for."""
    for step in STEPS:
        yield from ((path, wanted) for path, wanted in step() if _now(path) != wanted)


def _now(path: str) -> str:
    file = ROOT / path
    return file.read_text(encoding="utf-8") if file.exists() else ""


def main() -> int:
    """Write what is stale and name it; the exit code."""
    if not (ROOT / "editors").is_dir():
        sys.stderr.write("what is made stands in a checkout of the project, and this is an installed copy\n")
        return 2
    for path, wanted in stale():
        (ROOT / path).write_text(wanted, encoding="utf-8", newline="\n")
        sys.stdout.write(f"{path}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
