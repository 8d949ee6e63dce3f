"""``rigspec netlist``: the loudspeaker side as a netlist for a circuit simulator."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from rigspec import __version__
from rigspec.check import Report
from rigspec.cli import terminal
from rigspec.cli.checking import check_first, told_of_errors
from rigspec.cli.command import nearest
from rigspec.cli.trouble import CannotRunError, UsageError
from rigspec.show.cells import visible

if TYPE_CHECKING:
    from rigspec.figures import ChannelFigures


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Write the netlist of one rig; the exit code."""
    checked = check_first(words, options)
    if checked is None:
        return 2
    report = checked.report
    channels = _chosen(report, words[1:])
    terminal.hand_over(import_module("rigspec.show.netlist").netlist(report, channels, __version__))
    return 1 if told_of_errors(report) else 0


def _chosen(report: Report, words: tuple[str, ...]) -> list[ChannelFigures]:
    figures = report.figures
    try:
        found: list[ChannelFigures] = import_module("rigspec.show.netlist").chosen(figures, words)
    except KeyError as unknown:
        word = str(unknown.args[0])
        if word in figures.unknown:
            raise UsageError(word, f"{word} has no known load: {figures.unknown[word]}") from None
        known = list(figures.channels)
        help = f"{nearest(word, known)}{'there are ' + ', '.join(known) if known else 'no channel has a known load'}"
        raise UsageError(word, f"no amplifier channel {word} drives loudspeakers", help) from None
    if not found:
        told = "; ".join(f"{key}: {why}" for key, why in figures.unknown.items())
        raise CannotRunError(
            f"no amplifier channel of {visible(report.source.path)} drives loudspeakers whose load is known"
            f"{f' ({visible(told)})' if told else ''}, so there is no network to write"
        )
    return found
