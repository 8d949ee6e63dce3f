"""``python -m rigspec.cli.pages``: write the made parts of the documents anew, in a checkout.

Beside what the language and the rules determine, a part named ``$ rigspec ...`` is the output of that command, run in
the folder of the project.
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

from rigspec.cli.main import main as run_rigspec
from rigspec.files.files import LIMIT
from rigspec.show.pages import LANGUAGE, Maker, bounds, made_names, refreshed, rules_page

ROOT = Path(__file__).parents[2]
MADE_WHOLE: dict[str, Maker] = {"grammar/rules.md": rules_page}
MADE_IN_PART = ("README.md", "grammar/reference.md")
COMMAND = "python -m rigspec.cli.pages"


def output_of(command: str) -> str:
    """What a command such as ``$ rigspec check hall.rig`` writes to standard output, fenced."""
    words = shlex.split(command.removeprefix("$ "))
    caught = io.StringIO()
    with chdir(ROOT), redirect_stdout(caught):
        run_rigspec(words[1:])
    text = caught.getvalue().replace(os.linesep, "\n").rstrip()
    return f"```\n{command}\n{text}\n```\n"


def pages() -> Iterator[tuple[str, str, str]]:
    """Each page: its path, its text as it is, and as it should be."""
    for path, maker in MADE_WHOLE.items():
        file = ROOT / path
        yield path, file.read_text(encoding="utf-8") if file.exists() else "", maker()
    for path in MADE_IN_PART:
        text = (ROOT / path).read_text(encoding="utf-8")
        commands = {name: partial(output_of, name) for name in made_names(text) if name.startswith("$ ")}
        own: dict[str, Maker] = {"bounds": partial(bounds, LIMIT // 1024**2)}
        yield path, text, refreshed(text, {**LANGUAGE, **own, **commands})


def main() -> int:
    """Bring every page up to date and name those that changed; the exit code."""
    if not (ROOT / "grammar" / "reference.md").is_file():
        sys.stderr.write("the pages stand in a checkout of the project, and this is an installed copy\n")
        return 2
    for path, text, wanted in list(pages()):
        if text != wanted:
            (ROOT / path).write_text(wanted, encoding="utf-8")
            sys.stdout.write(f"{path}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
