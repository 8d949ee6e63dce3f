"""``rigspec draw``: the signal path or the plan of a rig as a drawing."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from rigspec.check import Report
from rigspec.cli import terminal
from rigspec.cli.checking import check_first, told_of_errors
from rigspec.cli.command import nearest
from rigspec.cli.forms import tone_of
from rigspec.cli.picture import svg
from rigspec.cli.seal import sealed
from rigspec.cli.trouble import CannotRunError, UsageError
from rigspec.cli.writing import put
from rigspec.files.files import STANDARD_INPUT
from rigspec.show.cells import visible

if TYPE_CHECKING:
    from rigspec.draw.marks import Drawing

PATH, PLAN = "path", "plan"
ENDINGS = (".svg", ".png", ".pdf")
# What each view can show besides.
SHOWN = {PATH: ("loads", "powers"), PLAN: ("distances", "levels")}


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Draw one rig; the exit code."""
    view, out = options["--view"], options["--output"]
    show = _wanted(view, options["--show"])
    tone_hz = tone_of(options) if options["--tone"] else None
    if tone_hz is not None and "levels" not in show:
        raise UsageError(
            "--tone", "--tone goes with the levels of a plan", "write --view plan --show levels --tone '55 Hz'"
        )
    if "--overwrite" in options and not out:
        raise UsageError("--overwrite", "--overwrite goes with -o", "say the file: -o FILE")
    ending = _ending(out)
    checked = check_first(words, options)
    if checked is None:
        return 2
    report = checked.report
    data = sealed(_data(svg(_drawing(report, view, show, tone_hz)), ending or ".svg"), ending or ".svg")
    if out:
        refusal = put(out, data, ending, overwrite="--overwrite" in options)
        if refusal:
            raise CannotRunError(f"{visible(out)} cannot be written: {refusal}")
        terminal.say(f"wrote {visible(out)}\n")
    else:
        terminal.hand_over(data.decode("utf-8"))
    return 1 if told_of_errors(report, "so do not build from its drawing") else 0


def _wanted(view: str, said: str) -> tuple[str, ...]:
    found = tuple(word.strip() for word in said.split(",") if word.strip())
    for word in found:
        if word not in SHOWN[view]:
            other = next((each for each, known in SHOWN.items() if word in known), "")
            help = f"it goes with --view {other}" if other else f"{nearest(word, list(SHOWN[view]))}"
            help = help or f"a {view} can show {', '.join(SHOWN[view])}"
            raise UsageError(said, f"a drawing of the {view} cannot show {word}", help)
    return found


def _ending(out: str) -> str:
    if out == STANDARD_INPUT:
        raise UsageError(out, "-o takes a file", "leave it out: then the drawing goes to standard output")
    ending = next((each for each in ENDINGS if out.lower().endswith(each)), "")
    if out and not ending:
        stem = out.rpartition(".")[0] or out
        raise UsageError(out, f"a drawing is written as {', '.join(ENDINGS)}", f"for example -o {stem}.svg")
    return ending


def _drawing(report: Report, view: str, show: tuple[str, ...], tone_hz: float | None) -> Drawing:
    more = {} if tone_hz is None else {"tone_hz": tone_hz}
    made: Drawing | None = getattr(import_module(f"rigspec.draw.{view}"), view)(report, show, **more)
    if made is None:
        raise CannotRunError(
            f"nothing in {visible(report.source.path)} says where it stands, so there is no plan to draw: write for"
            " example `at -3 m, 0 m` into a loudspeaker's settings"
        )
    return made


def _data(text: str, ending: str) -> bytes:
    if ending == ".svg":
        return text.encode("utf-8")
    data: bytes = getattr(import_module("rigspec.cli.picture"), ending[1:])(text)
    return data
