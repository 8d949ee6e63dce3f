"""What works on the text of a rig: its findings, its form, its words, its editor."""

from __future__ import annotations

from rigspec.cli.command import Command, Option
from rigspec.cli.commands.options import COLOUR, NAME

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
