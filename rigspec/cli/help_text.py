"""Help as text, made from the table of commands."""

from __future__ import annotations

from rigspec.cli.command import HELP, Command, Option
from rigspec.cli.commands import COMMANDS
from rigspec.show.cells import wrap

INDENT = "  "
WIDTH = 88


def overview() -> str:
    """What rigspec is for and which commands it has."""
    longest = max(map(len, COMMANDS))
    commands = "".join(f"{INDENT}{command.name:<{longest}}  {command.summary}\n" for command in COMMANDS.values())
    examples = "".join(f"{INDENT}{command.examples[0]}\n" for command in COMMANDS.values())
    return f"""\
rigspec checks the plan of a loudspeaker rig, written as plain text in a *.rig file.

Commands:
{commands}
Examples:
{examples}
`rigspec COMMAND --help` tells more about one, `rigspec --version` which version this is.
"""


def of_command(command: Command) -> str:
    """One command: what it does, examples, options."""
    examples = "".join(f"{INDENT}{line}\n" for line in command.examples)
    options = "".join(map(_option, (*command.options, HELP)))
    return f"""\
rigspec {command.name} [OPTION ...]{f" {command.words}" if command.words else ""}
{INDENT}{command.summary}

{command.about}

Examples:
{examples}
Options:
{options}"""


def _option(option: Option) -> str:
    value = f" {option.value}" if option.value else ""
    head = f"{INDENT}{option.names[0]}{value}"
    help = option.help
    if option.choices:
        listed = ", ".join(option.choices)
        help += f" [{listed}; default {option.default}]"
    lines = wrap(help, WIDTH - 22)
    first = f"{head:<20}  {lines[0]}\n" if len(head) <= 20 else f"{head}\n{'':22}{lines[0]}\n"
    return first + "".join(f"{'':22}{line}\n" for line in lines[1:])
