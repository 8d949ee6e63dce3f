"""``rigspec changes``: what is different between two rigs, or a rig now and at a revision of its repository."""

from __future__ import annotations

import os
import subprocess
from importlib import import_module
from typing import TYPE_CHECKING

from rigspec.check import check
from rigspec.cli import terminal
from rigspec.cli.checking import check_one
from rigspec.cli.forms import JSON
from rigspec.cli.output import PEOPLE, about_file, report_trouble
from rigspec.cli.trouble import CannotRunError, UsageError
from rigspec.files.files import STANDARD_INPUT, Unreadable, decode
from rigspec.files.library import Library
from rigspec.show.cells import visible
from rigspec.text.source import Refused, Source

if TYPE_CHECKING:
    from rigspec.check import Report

NEVER = "never"
SECONDS = 30


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Show the changes; the exit code."""
    form = JSON if "--json" in options else options["--as"]
    revision = options["--git"]
    if STANDARD_INPUT in words:
        raise UsageError(STANDARD_INPUT, "changes compares files", "name them")
    if revision and len(words) > 1:
        raise UsageError(words[1], "with --git there is one file, now and then", f"leave {words[1]} out")
    if not revision and len(words) < 2:
        raise UsageError(None, "changes compares two files", "name the old one and the new one, or say --git REV")
    library = Library()
    sources = [library.open(word) for word in words]
    unread = [about_file(each) for each in sources if isinstance(each, Unreadable)]
    if unread:
        report_trouble(unread, JSON if form == JSON else PEOPLE, options["--colour"])
        return 2
    reports = [check_one(library, each).report for each in sources if isinstance(each, Source)]
    old = _at(words[0], revision) if revision else reports[0]
    found = import_module("rigspec.changes.changes").changes(old, reports[-1])
    told = import_module("rigspec.changes.told")
    if form == PEOPLE:
        terminal.say(told.changes_text(found))
    else:
        terminal.hand_over(getattr(told, f"changes_{form}")(found))
    limit = options["--fail-on"]
    return int(limit != NEVER and found.category >= type(found.category)[limit.upper()])


def _at(path: str, revision: str) -> Report:
    """A rig as it was, with the stock as it was."""
    folder = os.path.dirname(path) or "."
    root = _git(folder, "rev-parse", "--show-toplevel").decode("utf-8", "surrogateescape").rstrip("\n")
    asked = ("--verify", "--quiet", "--end-of-options", f"{revision}^{{commit}}")
    commit = _git(folder, "rev-parse", *asked, wrong=revision)
    name = commit.decode("ascii").strip()

    def read(full: str, shown: str) -> Source | Refused:
        inside = os.path.relpath(os.path.realpath(full), os.path.realpath(root))
        if inside.startswith(os.pardir):
            return Refused(shown, "it lies outside the repository")
        try:
            found = decode(_git(root, "show", f"{name}:{inside.replace(os.sep, '/')}"), shown)
        except CannotRunError:
            return Refused(shown, f"it is not there at {revision}")
        return found if isinstance(found, Source) else Refused(shown, found.reason)

    source = read(path, path)
    if isinstance(source, Refused):
        raise CannotRunError(f"{visible(path)} cannot be read at {visible(revision)}: {source.reason}")

    def load(user: str, used: str) -> Source | Refused:
        full = os.path.normpath(os.path.join(os.path.dirname(user), used))
        return read(full, full)

    return check(source, load)


def _git(folder: str, *words: str, wrong: str = "") -> bytes:
    try:
        ran = subprocess.run(["git", "-C", folder, *words], capture_output=True, timeout=SECONDS, check=False)
    except FileNotFoundError:
        raise CannotRunError("git is not there: --git needs it") from None
    except (OSError, subprocess.TimeoutExpired) as error:
        raise CannotRunError(f"git does not answer: {error}") from None
    if ran.returncode:
        said = ran.stderr.decode("utf-8", "replace").strip().splitlines()
        why = f"there is no revision {visible(wrong)}" if wrong else visible(said[0]) if said else "it says nothing"
        raise CannotRunError(f"git: {why}")
    return ran.stdout
