"""The entry of the command line."""

from __future__ import annotations

import gc
import os
import sys
from collections.abc import Sequence
from contextlib import suppress

from rigspec.cli.trouble import CannotRunError, UsageError

CLEAN, FAILED, INTERRUPTED = 0, 2, 130

# What `check` is given where no option is: the everyday command does without the table of commands, which takes 3 ms.
PLAIN_CHECK = {"--as": "people", "--fail-on": "error", "--name": "", "--colour": "auto"}


def main(argv: Sequence[str] | None = None) -> int:
    """Run rigspec with the words behind its name; the exit code. Nothing is raised."""
    collecting = gc.isenabled()
    gc.disable()  # a run is short and makes few circles; looking for them takes a third of the time of a long rig
    try:
        return _run(list(sys.argv[1:] if argv is None else argv))
    except KeyboardInterrupt:
        return INTERRUPTED
    except BrokenPipeError:
        return FAILED
    except CannotRunError as trouble:
        return _last_words(f"rigspec: {trouble}\n")
    except Exception as error:
        return _last_words(_fault(error))
    finally:
        if argv is None:
            gc.freeze()  # the process ends here: nothing is worth collecting on the way out, which would take 8 ms
        elif collecting:
            gc.enable()


def _run(arguments: list[str]) -> int:
    try:
        return _dispatch(arguments)
    except UsageError as usage:
        from rigspec.cli.output import about_usage, report_trouble

        report_trouble([about_usage(arguments, usage)], _wanted_form(arguments))
        return FAILED


def _dispatch(arguments: list[str]) -> int:
    if arguments[:1] == ["check"] and not any(argument.startswith("-") for argument in arguments):
        from rigspec.cli.check_command import run

        return run(tuple(arguments[1:]), dict(PLAIN_CHECK))
    from rigspec.cli.command import read_words
    from rigspec.cli.commands import COMMANDS

    name = arguments[0] if arguments else ""
    if name in COMMANDS:
        command = COMMANDS[name]
        words, options = read_words(command, arguments)
        if "--help" not in options:
            from importlib import import_module

            code: int = import_module(command.runs).run(words, options)
            return code
        arguments = ["help", name]
    return _front_desk(arguments)


def _front_desk(arguments: list[str]) -> int:
    """What is not a command that works on rigs: help, the version, or something that needs help."""
    from rigspec.cli import help_text, terminal
    from rigspec.cli.command import nearest
    from rigspec.cli.commands import COMMANDS

    name, *rest = arguments or [""]
    if name in ("--version", "-V"):
        from rigspec import __version__

        terminal.say(f"rigspec {__version__}\n")
    elif name in ("--help", "-h", "help"):
        unknown = next((at for at, word in enumerate(rest, 1) if word not in COMMANDS), None)
        if unknown is not None:
            near = nearest(arguments[unknown], list(COMMANDS))
            raise UsageError(unknown, f"there is no command {arguments[unknown]}", f"{near}`rigspec --help` lists them")
        pages = [help_text.of_command(COMMANDS[word]) for word in rest]
        terminal.say("\n".join(pages) or help_text.overview())
    elif not name:
        terminal.tell(help_text.overview())
        return FAILED
    elif name.endswith(".rig") or os.path.exists(name):
        raise UsageError(0, f"there is no command {name}", f"to check that file: `rigspec check {name}`")
    else:
        what = "option" if name.startswith("-") else "command"
        near = nearest(name, [*COMMANDS, "--help", "--version"])
        raise UsageError(0, f"there is no {what} {name}", f"{near}`rigspec --help` lists the commands")
    return CLEAN


def _wanted_form(arguments: Sequence[str]) -> str:
    """The form that is asked for, also on a command line that cannot be understood as a whole."""
    if arguments[:1] in (["figures"], ["export"], ["reach"], ["walk"]) and "--json" in arguments:
        return "json"
    forms = ("people", "line", "json", "sarif", "junit")
    for at, argument in enumerate(arguments):
        name, equals, value = argument.partition("=")
        if name == "--as":
            value = value if equals else "".join(arguments[at + 1 : at + 2])
            if value in forms:
                return value
    return "people"


def _fault(error: Exception) -> str:
    """An error of rigspec's own on one line; with RIGSPEC_DEBUG set the whole of it."""
    if os.environ.get("RIGSPEC_DEBUG"):
        import traceback

        return "".join(traceback.format_exception(error))
    place, trace = "", error.__traceback__
    while trace is not None:
        place = f"{os.path.basename(trace.tb_frame.f_code.co_filename)}:{trace.tb_lineno}"
        trace = trace.tb_next
    doing = "".join(f" {note}" for note in getattr(error, "__notes__", ()))
    what = " ".join(f"{type(error).__name__} {error}".split())[:200]
    return (
        f"rigspec: internal error{doing}: {what} ({place}); this is a fault of rigspec, not of the rig: please report "
        "it with the file and this line (RIGSPEC_DEBUG=1 shows more)\n"
    )


def _last_words(text: str) -> int:
    from rigspec.cli import terminal

    with suppress(OSError, CannotRunError):  # standard error may be gone too
        terminal.tell(text)
    return FAILED
