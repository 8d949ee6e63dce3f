"""``rigspec supply``: what opposed drive is worth to channels that share a supply, and how far rails climb."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from rigspec.check import Report
from rigspec.cli import terminal
from rigspec.cli.checking import check_first, told_of_errors
from rigspec.cli.command import nearest
from rigspec.cli.output import PEOPLE
from rigspec.cli.picture import svg
from rigspec.cli.seal import sealed
from rigspec.cli.trouble import CannotRunError, UsageError
from rigspec.cli.writing import put
from rigspec.show.cells import visible

if TYPE_CHECKING:
    from rigspec.figures.supplies import AmpSupply

CSV, JSON, SVG = "csv", "json", "svg"


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Show the supplies of one rig; the exit code."""
    form = options["--as"]
    if "--overwrite" in options and not options["--curve"]:
        raise UsageError("--overwrite", "--overwrite goes with --curve", "say the file: --curve FILE.svg")
    checked = check_first(words, options, JSON if form == JSON else PEOPLE)
    if checked is None:
        return 2
    report = checked.report
    amps = _chosen(report, words[1:])
    if options["--curve"]:
        _draw(report, amps, options["--curve"], "--overwrite" in options)
    _write(report, amps, form)
    return 1 if told_of_errors(report) else 0


def _chosen(report: Report, names: tuple[str, ...]) -> list[AmpSupply]:
    show = import_module("rigspec.show.supply")
    try:
        found: list[AmpSupply] = show.chosen(report, names)
    except KeyError as unknown:
        name = str(unknown.args[0])
        known = [amp.gear.full for amp in show.chosen(report, ())]
        help = f"{nearest(name, known)}{'it is said of ' + ', '.join(known) if known else 'none says it in its stock'}"
        raise UsageError(name, f"no amplifier {name} drives something and says what its supply is like", help) from None
    return found


def _write(report: Report, amps: list[AmpSupply], form: str) -> None:
    show = import_module("rigspec.show.supply")
    if form == PEOPLE:
        terminal.say(show.supply_text(report, amps))
    elif form == JSON:
        terminal.hand_over(show.supply_json(report, amps))
    elif form == CSV:
        terminal.hand_over(show.supply_csv(amps))
    else:
        terminal.hand_over(_svg(report, amps))


def _svg(report: Report, amps: list[AmpSupply]) -> str:
    drawing = import_module("rigspec.draw.curves").curves(report.figures.rig.title or report.source.path, amps)
    return sealed(svg(drawing).encode("utf-8"), ".svg").decode("utf-8")


def _draw(report: Report, amps: list[AmpSupply], path: str, overwrite: bool) -> None:
    """Write the curves to a file; a rig or a stock is never overwritten."""
    if not path.lower().endswith(".svg"):
        raise UsageError(
            path, "the curves are written as SVG", f"for example --curve {path.rpartition('.')[0] or path}.svg"
        )
    refusal = put(path, _svg(report, amps).encode("utf-8"), ".svg", overwrite=overwrite)
    if refusal:
        raise CannotRunError(f"{visible(path)} cannot be written: {refusal}")
