"""What others read of a rig: paper, drawings, data."""

from __future__ import annotations

from rigspec.cli.command import Command, Option
from rigspec.cli.commands.options import COLOUR, NAME, OVERWRITE

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
