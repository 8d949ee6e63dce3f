"""What is made from the code is fresh, and one command makes all of it, whatever of it is missing or stale."""

import subprocess
import sys
from pathlib import Path
from shutil import copyfile, copytree, ignore_patterns

from rigspec.make import COMMAND, ROOT, STEPS, stale


def test_what_is_made_is_as_the_program_makes_it() -> None:
    assert [path for path, _ in stale()] == [], f"stale; run `{COMMAND}` and read what has changed"


def test_what_is_missing_broken_or_stale_is_made_and_the_rest_is_left(tmp_path: Path) -> None:
    for name in ("rigspec", "grammar", "samples", "editors"):
        copytree(ROOT / name, tmp_path / name, ignore=ignore_patterns("node_modules", "__pycache__"))
    copyfile(ROOT / "README.md", tmp_path / "README.md")
    (tmp_path / ".rigspec").touch()  # here begins the project, so the samples may use their stock
    spoilt = {
        "rigspec/language/tables.py": None,
        "rigspec/text/unit_table.py": "<<<<<<< here\n",
        "rigspec/export.schema.json": None,
        "editors/emacs/rig-mode.el": (ROOT / "editors/emacs/rig-mode.el").read_text("utf-8").replace("crossover", "x"),
        "grammar/reference.md": (ROOT / "grammar/reference.md").read_text("utf-8").replace("| `legs` |", "| `feet` |"),
    }
    for path, text in spoilt.items():
        (tmp_path / path).unlink() if text is None else (tmp_path / path).write_text(text, encoding="utf-8")
    command = [sys.executable, *COMMAND.split()[1:]]
    written = subprocess.run(command, cwd=tmp_path, env={"PYTHONPATH": "."}, capture_output=True, text=True, check=True)
    assert written.stdout.splitlines() == list(spoilt)
    for path in (path for step in STEPS for path, _ in step()):
        assert (tmp_path / path).read_bytes() == (ROOT / path).read_bytes(), path
