"""The form that what is computed is written in, said in one of the ways to say it."""

from __future__ import annotations

from rigspec.cli.output import PEOPLE
from rigspec.cli.trouble import UsageError

CSV, JSON = "csv", "json"


def form_of(options: dict[str, str]) -> str:
    """``--as FORM``, or short ``--json`` or ``--csv``; people where nothing is said."""
    short = [name for name in ("--json", "--csv") if name in options]
    wanted = {name.removeprefix("--") for name in short}
    if options["--as"] != PEOPLE:
        wanted.add(options["--as"])
    if len(wanted) > 1:
        raise UsageError(short[-1], "figures are written in one form at a time", f"leave out all but {short[-1]}")
    return wanted.pop() if wanted else PEOPLE
