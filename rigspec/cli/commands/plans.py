"""Which plan: several rigs side by side."""

from __future__ import annotations

from rigspec.cli.command import Command, Option
from rigspec.cli.commands.options import COLOUR, NAME

COMPARE = Command(
    name="compare",
    summary="put several plans side by side: loads, powers, levels, mains, copper, and which works",
    words="FILE FILE ...",
    about="""\
Shows rigs side by side on one screen: the load nearest to what its channel stands, watts into
each kind of loudspeaker, what opposed drive gives, what clips first, limiters, losses, levels
at places, mains, copper, weight, gear and findings. What is the same in all stands in one
sentence. Then each plan in a line: whether it works, how much louder than the first it is and
what a listener makes of that, and what decides it.

Exit code: 0 done, 1 one of them has errors, 2 one could not be read.""",
    examples=("rigspec compare dual.rig opposed.rig bridged.rig", "rigspec compare last-year.rig hall.rig --json"),
    options=(
        Option(("--as",), "people to read at a terminal, json for programs", "FORM", ("people", "json"), "people"),
        Option(("--json",), "short for --as json"),
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.compare_command",
    least=2,
)
