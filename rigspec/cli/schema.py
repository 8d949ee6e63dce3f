"""``python -m rigspec.cli.schema``: write the schema of exports anew, in a checkout."""

from __future__ import annotations

import sys
from importlib.resources import files
from pathlib import Path

from rigspec.show.schema import schema_text

NAME = "export.schema.json"
COMMAND = "python -m rigspec.cli.schema"


def stored() -> str:
    """The schema that is shipped with this program; nothing where it is missing."""
    file = files("rigspec") / NAME
    return file.read_text(encoding="utf-8") if file.is_file() else ""


def main() -> int:
    """Bring the schema up to date and name it if it changed; the exit code."""
    wanted = schema_text()
    if stored() != wanted:
        (Path(__file__).parents[1] / NAME).write_text(wanted, encoding="utf-8", newline="\n")
        sys.stdout.write(f"rigspec/{NAME}\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
