"""``rigspec export``: a whole rig as data for other programs."""

from __future__ import annotations

from importlib import import_module

from rigspec import __version__
from rigspec.cli import terminal
from rigspec.cli.caution import FIGURES, told_of_errors
from rigspec.cli.checking import check_one, refuse_stray_name
from rigspec.cli.output import about_file, report_trouble
from rigspec.cli.trouble import CannotRunError, UsageError
from rigspec.files.files import Unreadable
from rigspec.files.library import Library

JSON = "json"


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Write one rig, or the schema of all; the exit code."""
    refuse_stray_name(words, options)
    if "--schema" in options:
        return _schema(words)
    if not words:
        raise UsageError(None, "export needs a FILE", "for example `rigspec export hall.rig`")
    library = Library()
    source = library.open(words[0], options["--name"])
    if isinstance(source, Unreadable):
        report_trouble([about_file(source)], JSON, options["--colour"])
        return 2
    checked = check_one(library, source)
    written = import_module("rigspec.show.export").export_json(checked.report, checked.files, __version__)
    terminal.hand_over(written)
    return 1 if told_of_errors(checked.report, FIGURES) else 0


def _schema(words: tuple[str, ...]) -> int:
    if words:
        raise UsageError(words[0], "--schema is the same for every rig, and takes no FILE", f"leave {words[0]} out")
    text = stored_schema()
    if not text:
        raise CannotRunError("the schema is missing from this copy of rigspec")
    terminal.hand_over(text)
    return 0


def stored_schema() -> str:
    """The schema that is shipped with this program; nothing where it is missing."""
    from importlib.resources import files  # slow to load

    file = files("rigspec") / "export.schema.json"
    return file.read_text(encoding="utf-8") if file.is_file() else ""
