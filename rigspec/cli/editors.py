"""``python -m rigspec.cli.editors``: write the words that editors colour anew, in a checkout."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from rigspec.show.editor_words import COPIES, FRESH

ROOT = Path(__file__).parents[2]
COMMAND = "python -m rigspec.cli.editors"


def files() -> Iterator[tuple[str, str, str]]:
    """Each made file: its path, its text as it is, and as it should be."""
    wanted = {path: fresh((ROOT / path).read_text(encoding="utf-8")) for path, fresh in FRESH.items()}
    wanted |= {copy: wanted.get(of) or (ROOT / of).read_text(encoding="utf-8") for copy, of in COPIES.items()}
    for path, text in wanted.items():
        file = ROOT / path
        yield path, file.read_text(encoding="utf-8") if file.exists() else "", text


def main() -> int:
    """Bring every file up to date and name those that changed; the exit code."""
    if not (ROOT / "editors").is_dir():
        sys.stderr.write("the editors' files stand in a checkout of the project, and this is an installed copy\n")
        return 2
    for path, text, wanted in list(files()):
        if text != wanted:
            (ROOT / path).write_text(wanted, encoding="utf-8")
            sys.stdout.write(f"{path}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
