"""Every command with its options; the help is made from this table."""

from __future__ import annotations

from rigspec.cli.command import Command, Option

NAME = Option(("--name",), "the file that the text from standard input stands for; its `use` paths start there", "PATH")
COLOUR = Option(
    ("--colour", "--color"),
    "auto: only on a terminal, unless NO_COLOR is set",
    "WHEN",
    ("auto", "always", "never"),
    "auto",
)

OVERWRITE = Option(("--overwrite",), "replace what is there, whoever made it")

CHECK = Command(
    name="check",
    summary="find what is wrong in rigs before they are built",
    words="[PATH ...]",
    about="""\
Reads each rig with the stock it uses, works out its figures and reports what is wrong.
PATH is a file, a folder (every *.rig below it; hidden ones are left out) or - for standard
input. Without a PATH the current folder is checked. A `use` may not leave the project's
folder: the nearest one at or above the rig that holds .rigspec or .git, else the rig's own.

Exit code: 0 nothing to report, 1 findings (see --fail-on), 2 something could not be read or run.""",
    examples=(
        "rigspec check hall.rig",
        "rigspec check --fail-on warning --as sarif rigs/ > rigspec.sarif",
        "rigspec check --name rigs/hall.rig - < draft.txt",
    ),
    options=(
        Option(
            ("--as",),
            "how findings are written: people to read at a terminal, line for editors (path:line:column: severity: "
            "text), json, sarif (2.1.0) or junit for programs",
            "FORM",
            ("people", "line", "json", "sarif", "junit"),
            "people",
        ),
        Option(
            ("--fail-on",),
            "the least severity that gives exit code 1",
            "SEVERITY",
            ("error", "warning", "advice", "never"),
            "error",
        ),
        Option(
            ("--fix",),
            "apply the fixes that findings offer, each only when a new check shows the finding gone and nothing new, "
            "and none where there are several cures; only files named here, or below folders named here, are changed",
        ),
        Option(
            ("--watch",),
            "check again whenever a rig or a file that it uses changes, until Ctrl-C; for people and as lines",
        ),
        Option(("--full",), "all that there is to say of each finding: every place, assumptions, reasons, authority"),
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.check_command",
)

FORMAT = Command(
    name="format",
    summary="write rigs in their one canonical form",
    words="[PATH ...]",
    about="""\
Rewrites each rig in its canonical form: same meaning, same figures as you spelt them, every
comment in its place. It proves that before it writes. A file with slips is never touched.
PATH is a file, a folder (every *.rig below it) or -, which reads standard input and writes
standard output. Without a PATH the current folder is formatted.

Exit code: 0 done, 1 --check or --diff found something to change, 2 a file was left untouched.""",
    examples=(
        "rigspec format hall.rig",
        "rigspec format --check --diff rigs/",
        "rigspec format - < draft.txt",
    ),
    options=(
        Option(("--check",), "write nothing; list the files that would change"),
        Option(("--diff",), "write nothing; show what would change as a unified diff"),
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.format_command",
)

EXPLAIN = Command(
    name="explain",
    summary="say what a rule is about, with a wrong and a right example, or what a figure says",
    words="[RULE]",
    about="""\
Without a RULE: the list of all rules. With one: why it matters, where its limit comes from,
what to change, and an example of both kinds. A rule's name stands in every finding.
The word of a figure, such as load, may stand for a RULE: of what things it can be promised
and asked for, and what it says. The word figures lists them all.""",
    examples=("rigspec explain syntax", "rigspec explain", "rigspec explain figures"),
    options=(COLOUR,),
    runs="rigspec.cli.explain_command",
    most=1,
)

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

SERVE = Command(
    name="serve",
    summary="serve an editor: findings, figures, completion and fixes while you type",
    words="",
    about="""\
Speaks the language server protocol over standard input and output; an editor starts it. It
checks what is open in the editor, saved or not, as `rigspec check` would, and answers what
the editor asks: hover, hints, completion, definitions, references, renaming, fixes, the
canonical form. It needs an extra: pip install 'rigspec[serve]'.

Kinds of hints are turned off by the editor's settings (also as initialization options):
{"hints": {"load": false, "power": false, "polarity": false, "loss": false, "margin": false,
"reach": false}}.""",
    examples=("rigspec serve",),
    options=(Option(("--stdio",), "the one transport, taken anyway; some editors add this word by themselves"),),
    runs="rigspec.cli.serve_command",
    most=0,
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

NETLIST = Command(
    name="netlist",
    summary="write the loudspeaker side as a netlist, for a circuit simulator to prove the figures",
    words="FILE [CHANNEL ...]",
    about="""\
Writes every amplifier output with its leads and loudspeakers as a SPICE netlist: a source at
the rated output, each conductor as a resistance, each loudspeaker as its rated impedance, and
once more as the circuit of its driver where the stock gives that of all on the output. Run it
with `ngspice -b`: it prints loads, voltages, powers, currents and losses, and in the netlist
stands beside each what rigspec computes. A CHANNEL, or an amplifier, asks for that alone.

Exit code: 0 done, 1 the rig has errors, 2 it could not be read or has no such channel.""",
    examples=(
        "rigspec netlist hall.rig > hall.cir",
        "rigspec netlist hall.rig bass.1 bass.2",
    ),
    options=(NAME, COLOUR),
    runs="rigspec.cli.netlist_command",
    least=1,
)

SHEETS = Command(
    name="sheets",
    summary="write what the crew needs: patch list, leads to pull, settings, meter readings, checks",
    words="FILE [SHEET ...]",
    about="""\
Writes the sheets to build and prove a rig with: patch, leads, pack, places, channels, polarity,
mains, meter, checks, walk, promises.
With -o they go into a folder, as Markdown, as CSV (a file for each table) and all on one
page of HTML that prints on A4 and Letter. Without it the sheets that are asked for, or all,
go to standard output. A file that was not written by this command, or was changed since, is
left alone and nothing is written. Sheets that this rig no longer has are taken away.

Exit code: 0 done, 1 the rig has errors (the sheets say so), 2 it could not be read or written.""",
    examples=(
        "rigspec sheets hall.rig -o paper",
        "rigspec sheets hall.rig patch",
        "rigspec sheets hall.rig leads --as csv > leads.csv",
    ),
    options=(
        Option(("--output", "-o"), "the folder to write into; it is made where there is none", "DIR"),
        Option(
            ("--as",),
            "one form only; without -o it is markdown where none is said",
            "FORM",
            ("markdown", "csv", "html"),
        ),
        OVERWRITE,
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.sheets_command",
    least=1,
)

DRAW = Command(
    name="draw",
    summary="draw the signal path, or the plan of boxes and places to scale",
    words="FILE",
    about="""\
Draws the signal path of one rig: feeds, splits, processors, amplifiers, panels and boxes in
columns, racks and places as groups, each lead with its size and length, every turn of
polarity, and a numbered mark for each finding with its words below. Alike members of a row
that hang alike are one box, with ×4 and the like. With --view plan it draws boxes and places
from above, to scale, with aim. Without -o the drawing goes to standard output as SVG.
A file that rigspec did not make, or that was changed since, is left alone.
It needs an extra: pip install 'rigspec[draw]'; for PNG and PDF 'rigspec[picture]'.

Exit code: 0 done, 1 the rig has errors (the drawing says so), 2 it could not be read or drawn.""",
    examples=(
        "rigspec draw hall.rig -o hall.svg",
        "rigspec draw hall.rig --show loads,powers -o hall.pdf",
        "rigspec draw hall.rig --view plan --show levels -o plan.svg",
    ),
    options=(
        Option(("--output", "-o"), "the file to write; its ending says the form: .svg, .png or .pdf", "FILE"),
        OVERWRITE,
        Option(("--view",), "what is drawn", "VIEW", ("path", "plan"), "path"),
        Option(
            ("--show",),
            "what is shown besides: loads and powers on a path, distances and levels on a plan",
            "WORD[,WORD]",
        ),
        Option(("--tone",), "the levels of a plan are those of this tone, 20 to 100 Hz, not of noise", "HZ"),
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.draw_command",
    least=1,
    most=1,
)

EXPORT = Command(
    name="export",
    summary="write a whole rig as data for other programs",
    words="FILE",
    about="""\
Writes everything about one rig as one JSON document: its gear with kinds and settings (each
figure with value, unit, low and high end, as written and where), its wiring with every lead,
turn and arrival, the tables of `rigspec figures`, and its findings. The document carries a
version; its JSON Schema (draft 2020-12) comes with rigspec: `rigspec export --schema`.

Exit code: 0 done, 1 the rig has errors, 2 it could not be read.""",
    examples=(
        "rigspec export hall.rig > hall.json",
        "rigspec export --schema > export.schema.json",
    ),
    options=(
        Option(("--as",), "the form; there is one", "FORM", ("json",), "json"),
        Option(("--json",), "short for --as json"),
        Option(("--schema",), "write the schema of all exports instead, and read no rig"),
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.export_command",
    most=1,
)

COMMANDS = {
    command.name: command
    for command in (CHECK, FORMAT, FIGURES, REACH, WALK, SUPPLY, SHEETS, DRAW, NETLIST, EXPORT, EXPLAIN, SERVE)
}
