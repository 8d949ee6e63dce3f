"""``rigspec export``: a whole rig as data for other programs."""

from __future__ import annotations

from importlib import import_module

from rigspec import __version__
from rigspec.cli import terminal
from rigspec.cli.checking import check_first, refuse_stray_name, told_of_errors
from rigspec.cli.trouble import CannotRunError, UsageError

JSON = "json"


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Write one rig, or the schema of all; the exit code."""
    if "--schema" in options:
        refuse_stray_name(words, options)
        return _schema(words)
    if not words:
        raise UsageError(None, "export needs a FILE", "for example `rigspec export hall.rig`")
    checked = check_first(words, options, JSON)
    if checked is None:
        return 2
    written = import_module("rigspec.show.export").export_json(checked.report, checked.files, __version__)
    terminal.hand_over(written)
    return 1 if told_of_errors(checked.report) else 0


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
