"""Which plan: several rigs side by side; how to start one, and what its stock still lacks."""

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

NEW = Command(
    name="new",
    summary="start a rig with its own stock beside it, or an entry of a stock to fill in",
    words="[NAME [KIND]]",
    about="""\
Without a NAME it lists what there is to start from. `rigspec new pair` writes pair.rig and
stock.rig: a rig that checks clean, and the gear that it uses. Nothing that is there is written
over. `rigspec new amp my-amp` writes an entry to standard output, to be put into a stock: all
that can be said of an amplifier, each line with what it means and what is lacking without it.

Exit code: 0 done, 2 it could not be written.""",
    examples=("rigspec new pair", "rigspec new sub -o shows", "rigspec new amp my-amp >> stock.rig"),
    options=(Option(("--output", "-o"), "the folder to write in, made if need be", "DIR"), COLOUR),
    runs="rigspec.cli.new_command",
    most=2,
)

GAPS = Command(
    name="gaps",
    summary="say which facts the gear of a stock lacks, and what therefore falls silent or is assumed",
    words="FILE",
    about="""\
For every kind of gear in a stock, or that a rig uses: the settings of which none is said, and
which judgement therefore rests on an assumption or falls silent. Alike gaps stand in one line.

Exit code: 0 done, 2 it could not be read.""",
    examples=("rigspec gaps stock.rig",),
    options=(NAME, COLOUR),
    runs="rigspec.cli.gaps_command",
    least=1,
    most=1,
)

CHANGES = Command(
    name="changes",
    summary="say what changed between two rigs: what to plug, set and pack, and what it does",
    words="OLD NEW",
    about="""\
Tells a crew what to unplug, take away, put, replace, plug and cross, in this order and by lead
number where leads have one; then settings from what to what; the pack list plus and minus;
figures that moved by more than 5 % of a load, a power or a current, 0.5 dB of a level or 0.1 dB
of a lead's loss; findings new and gone. Moved text, comments and spelling are no change; new
names are labels to print anew, since things are known by what they are connected to. The last
line says how much it matters: cosmetic (names, labels), better, alike (work, and the same
figures), worse (a figure, a new warning) or breaking (a new error).

Exit code: 0, or 1 where it is as bad as --fail-on says; 2 a file could not be read.""",
    examples=("rigspec changes last-year.rig hall.rig", "rigspec changes hall.rig --git HEAD --as markdown"),
    options=(
        Option(("--git",), "compare FILE with itself at this revision of its repository, stock included", "REV"),
        Option(
            ("--as",),
            "people to read at a terminal, markdown for a review, json for programs",
            "FORM",
            ("people", "markdown", "json"),
            "people",
        ),
        Option(("--json",), "short for --as json"),
        Option(
            ("--fail-on",),
            "exit with 1 where the change is so or worse",
            "CATEGORY",
            ("never", "better", "alike", "worse", "breaking"),
            "never",
        ),
        COLOUR,
    ),
    runs="rigspec.cli.changes_command",
    least=1,
    most=2,
)
