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
            "apply the fixes that findings offer, each only when a new check shows the finding gone and nothing new; "
            "only files named here, or below folders named here, are changed",
        ),
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
    summary="say what a rule is about, with a wrong and a right example",
    words="[RULE]",
    about="""\
Without a RULE: the list of all rules. With one: why it matters, where its limit comes from,
what to change, and an example of both kinds. A rule's name stands in every finding.""",
    examples=("rigspec explain syntax", "rigspec explain"),
    options=(COLOUR,),
    runs="rigspec.cli.explain_command",
    most=1,
)

FIGURES = Command(
    name="figures",
    summary="show what is computed: loads, voltages, power, polarity, losses",
    words="FILE",
    about="""\
Shows each amplifier channel's load, voltage and power, each loudspeaker's power and polarity
and each lead's loss. Findings are for `rigspec check`; with errors the figures are shown
as far as they can be computed.

Exit code: 0 done, 1 the rig has errors, 2 it could not be read.""",
    examples=("rigspec figures hall.rig", "rigspec figures --as json hall.rig"),
    options=(
        Option(("--as",), "people to read at a terminal, json for programs", "FORM", ("people", "json"), "people"),
        NAME,
        COLOUR,
    ),
    runs="rigspec.cli.figures_command",
    least=1,
    most=1,
)

COMMANDS = {command.name: command for command in (CHECK, FORMAT, FIGURES, EXPLAIN)}
