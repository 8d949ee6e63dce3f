"""What a rig comes to: figures, levels at places, supplies."""

from __future__ import annotations

from rigspec.cli.command import Command, Option
from rigspec.cli.commands.options import COLOUR, NAME, OVERWRITE

FIGURES = Command(
    name="figures",
    summary="show what is computed: loads, powers, levels, losses, mains, and how each figure came about",
    words="FILE [QUESTION ...]",
    about="""\
Shows one rig on one screen: each channel and powered box, each circuit, what was assumed, and
how many findings there are. ! stands before what breaks a limit, > before what is near one. A
QUESTION such as channels, powers or leads asks for the table of that, --all for every table.
Programs and spreadsheets get every table, or those that are asked for. With errors the figures
are shown as far as they can be computed.

With --why it shows how figures came about instead: each with its formula, the numbers in it
and its source, down to the lines of the rig and its stock. What is asked for is written as
in a promise: a figure, and the thing or things it is a figure of.

Exit code: 0 done, 1 the rig has errors, 2 it could not be read or there is no such figure.""",
    examples=(
        "rigspec figures hall.rig",
        "rigspec figures hall.rig powers leads",
        "rigspec figures hall.rig leads --csv > leads.csv",
        "rigspec figures hall.rig --json > figures.json",
        'rigspec figures hall.rig --why "load of bass.1"',
        'rigspec figures hall.rig --why "loss of sub[1..2], sub[4]"',
    ),
    options=(
        Option(
            ("--as",),
            "people to read at a terminal, json for programs, csv for spreadsheets: one table as it is, several or "
            "all with a line for each figure",
            "FORM",
            ("people", "json", "csv"),
            "people",
        ),
        Option(("--json",), "short for --as json"),
        Option(("--csv",), "short for --as csv"),
        Option(("--all",), "every table, instead of one screen"),
        Option(
            ("--why",),
            'show how figures came about; several things may stand there: "loss of sub[*], fill"',
            '"FIGURE of THING"',
        ),
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.figures_command",
    least=1,
)

REACH = Command(
    name="reach",
    summary="show where a rig is heard: how loud at its places, how even over its areas, and when",
    words="FILE",
    about="""\
Shows each place and area on one screen: the level at the nominal level of the feeds, at their
peaks, and at the most the rig can give; who arrives first there, and how much later the others.
For groups that say what array they are: what each member needs, what is set, and the pattern.
It needs where boxes and places stand (`at`) and the sensitivity of each box, or the peak level
and the drive of a powered one. Boxes are points in the open: walls, reflections, obstacles and
people are left out, and the screen says how far off it may be.

Exit code: 0 done, 1 the rig has errors, 2 it could not be read.""",
    examples=("rigspec reach hall.rig", "rigspec reach hall.rig --csv > reach.csv"),
    options=(
        Option(
            ("--as",),
            "people to read at a terminal, json for programs, csv for spreadsheets: a line for each thing at a place, "
            "svg for the patterns of arrays",
            "FORM",
            ("people", "json", "csv", "svg"),
            "people",
        ),
        Option(("--json",), "short for --as json"),
        Option(("--csv",), "short for --as csv"),
        Option(("--why",), "show how what is heard at a place comes about, loudspeaker by loudspeaker", "PLACE"),
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.reach_command",
    least=1,
    most=1,
)

WALK = Command(
    name="walk",
    summary="plan the walk test: what a crossed bass box sounds like in front of this rig",
    words="FILE",
    about="""\
Shows the level of a tone every half metre along a line in front of the bass boxes: as planned,
with each side crossed, with each single box crossed; where a fault is told from the plan and
where not, and how to tell what the walk cannot. It needs where the boxes stand (`at`) and their
sensitivity. The plot as SVG needs an extra: pip install 'rigspec[draw]'.

Exit code: 0 done, 1 the rig has errors, 2 it could not be read.""",
    examples=("rigspec walk hall.rig", "rigspec walk hall.rig --tone '50 Hz' --at '3 m' --as svg > walk.svg"),
    options=(
        Option(("--tone",), "the tone, 20 to 100 Hz", "HZ", default="55 Hz"),
        Option(("--at",), "how far in front of the foremost box", "METRES", default="4 m"),
        Option(
            ("--as",),
            "people to read at a terminal, json for programs, csv for spreadsheets, svg for the plot",
            "FORM",
            ("people", "json", "csv", "svg"),
            "people",
        ),
        Option(("--json",), "short for --as json"),
        Option(("--csv",), "short for --as csv"),
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.walk_command",
    least=1,
    most=1,
)

SUPPLY = Command(
    name="supply",
    summary="show what opposed drive is worth to channels that share a supply",
    words="FILE [AMP ...]",
    about="""\
For each amplifier whose stock says what its supply is like: power per channel in phase and
opposed, from the lower edge of the band in thirds of an octave to its upper edge or 120 Hz and
at the walk-test tone, with the gain, its range and what it is to a listener; beside it what a
kick drum and a burst gain; and for half-bridge stages how far the resting rail climbs. An AMP
asks for that amplifier alone. The curves show power and gain by tone, and gain by reservoir.
`rigspec figures FILE --why "opposed-gain of AMP.1"` shows how the gain came about.
With --curve a file that rigspec did not make, or that was changed since, is left alone.
The curves need an extra: pip install 'rigspec[draw]'.
`rigspec explain opposed-drive-gains` says what it is about.

Exit code: 0 done, 1 the rig has errors, 2 it could not be read or there is no such amplifier.""",
    examples=(
        "rigspec supply hall.rig",
        "rigspec supply hall.rig bass --curve bass.svg",
        "rigspec supply hall.rig --as csv > supply.csv",
    ),
    options=(
        Option(
            ("--as",),
            "people to read at a terminal, json for programs, csv for spreadsheets, svg for the curves alone",
            "FORM",
            ("people", "json", "csv", "svg"),
            "people",
        ),
        Option(("--curve",), "write the curves to this file too, as SVG", "FILE.svg"),
        OVERWRITE,
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.supply_command",
    least=1,
)
