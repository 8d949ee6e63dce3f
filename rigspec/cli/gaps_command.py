"""``rigspec gaps``: which facts a stock lacks, and what follows."""

from __future__ import annotations

from importlib import import_module

from rigspec.cli import terminal
from rigspec.cli.checking import check_first


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Say what the kinds of a file lack; the exit code."""
    checked = check_first(words, options)
    if checked is None:
        return 2
    terminal.say(import_module("rigspec.plans.gaps").gaps_text(checked.report.figures.rig))
    return 0
