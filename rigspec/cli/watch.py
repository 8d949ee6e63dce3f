"""``rigspec check --watch``: the same check again whenever a file that it depends on changes."""

from __future__ import annotations

import sys
import time
from collections.abc import Iterable

from rigspec.cli import terminal
from rigspec.cli.check_command import check_all
from rigspec.cli.output import PEOPLE
from rigspec.cli.trouble import UsageError
from rigspec.texts.files import STANDARD_INPUT, Stamp, each_file, shown_path, stamp

PAUSE_S = 0.25  # between two looks at the files
SETTLE_S = 0.05  # an editor may write a file in several steps


def watch(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Check, wait for a change, check again, until the engineer ends it with Ctrl-C: then 0."""
    if STANDARD_INPUT in words:
        raise UsageError("--watch", "--watch cannot watch standard input", "save the text in a file and name that file")
    if "--fix" in options:
        raise UsageError("--watch", "--watch changes nothing, so it does not go with --fix", "leave one of the two out")
    if options["--as"] not in (PEOPLE, "line"):
        raise UsageError("--watch", "--watch writes for people or as lines only", "leave --as out, or take --as line")
    changed: list[str] = []
    try:
        while True:
            _begin(changed, options["--as"])
            named = _stamps(_named(words))  # taken before, so that what changes during the check is seen after it
            _, asked = check_all(words, options)
            before = {**asked, **named}
            changed = _wait(words, before)
    except KeyboardInterrupt:
        terminal.tell("\n")
        return 0


def _begin(changed: list[str], form: str) -> None:
    """Set a round apart from the one before; where programs read standard output, on standard error."""
    what = f"{', '.join(changed[:3])}{' and others' if len(changed) > 3 else ''} changed" if changed else "watching"
    line = f"---- {time.strftime('%H:%M:%S')}, {what} ----\n"
    if form == PEOPLE:
        terminal.say(f"\n{line}" if changed else line)
    else:
        terminal.tell(line)
    sys.stdout.flush()


def _named(words: tuple[str, ...]) -> list[str]:
    return [found if isinstance(found, str) else found.path for found in each_file(words)]


def _stamps(paths: Iterable[str]) -> dict[str, Stamp]:
    return {path: stamp(path) for path in paths}


def _wait(words: tuple[str, ...], before: dict[str, Stamp]) -> list[str]:
    """Wait until a file is another one, has come or has gone; which ones, as a person would type them."""
    while True:
        time.sleep(PAUSE_S)
        now = {**_stamps(before), **_stamps(_named(words))}
        changed = [path for path, state in now.items() if before.get(path, 0) != state]
        if changed:
            time.sleep(SETTLE_S)
            return [shown_path(path) for path in changed]
