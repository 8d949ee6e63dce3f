"""Every command with its options; the help is made from these."""

from __future__ import annotations

from rigspec.cli.commands.figures import FIGURES, REACH, SUPPLY, WALK
from rigspec.cli.commands.papers import DRAW, EXPORT, NETLIST, SHEETS
from rigspec.cli.commands.plans import CHANGES, COMPARE, GAPS, NEW
from rigspec.cli.commands.texts import CHECK, EXPLAIN, FORMAT, SERVE

COMMANDS = {
    command.name: command
    for command in (
        *(NEW, CHECK, FORMAT, FIGURES, REACH, WALK, SUPPLY, COMPARE, CHANGES, GAPS),
        *(SHEETS, DRAW, NETLIST, EXPORT, EXPLAIN, SERVE),
    )
}
