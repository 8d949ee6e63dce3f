"""``rigspec check --watch``: the same check again whenever a file that it depends on changes."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable

from rigspec.cli import terminal
from rigspec.cli.output import PEOPLE
from rigspec.cli.trouble import UsageError
from rigspec.files.files import STANDARD_INPUT, Stamp, each_file, shown_path, stamp

PAUSE_S = 0.25  # between two looks at the files
SETTLE_S = 0.05  # between two looks while files are being written
MOST_SETTLING = 20  # looks, so that a file which is always written is checked now and then


Check = Callable[[tuple[str, ...], dict[str, str]], tuple[int, dict[str, Stamp]]]
"""One check of what the words mean: the exit code, and all files that it depends on as they were then."""


def watch(words: tuple[str, ...], options: dict[str, str], check_all: Check) -> int:
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
    what = f"{', '.join(changed[:3])}{' and others' if len(changed) > 3 else ''}" if changed else "watching"
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
    """Wait until a file is another one, has come or has gone; which ones and what, as a person would say it."""
    while True:
        time.sleep(PAUSE_S)
        now = _now(words, before)
        if any(before.get(path) != state for path, state in now.items()):
            now = _settled(words, now)
            return [_what(path, before.get(path), state) for path, state in now.items() if before.get(path) != state]


def _now(words: tuple[str, ...], known: dict[str, Stamp]) -> dict[str, Stamp]:
    return {**_stamps(known), **_stamps(_named(words))}


def _settled(words: tuple[str, ...], now: dict[str, Stamp]) -> dict[str, Stamp]:
    """The files once nobody writes them any more: an editor may write one in several steps, a program many."""
    for _ in range(MOST_SETTLING):
        time.sleep(SETTLE_S)
        later = _now(words, now)
        if later == now:
            break
        now = later
    return now


def _what(path: str, before: Stamp, now: Stamp) -> str:
    return f"{shown_path(path)} {'deleted' if now is None else 'new' if before is None else 'changed'}"
