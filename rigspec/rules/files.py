"""Rules about what was asked for: files that cannot be read, commands that cannot be understood.

The command line reports these, so their examples are command lines: one that starts with ``$``.
"""

from rigspec.rules.rule import Rule
from rigspec.text.finding import Severity

RULES = (
    Rule(
        name="file-unreadable",
        severity=Severity.ERROR,
        summary="a file that was to be read cannot be read",
        reason="what is not read is not checked, and a rig that is not checked must not pass for one without findings",
        limit="a regular file *.rig of UTF-8 text within its project, at most 4 MiB large, with line ends LF or CR LF",
        authority="the rig language's reference, grammar/reference.md",
        cure="name a *.rig file that exists and that you may read, and save it as UTF-8 text",
        bad="$ rigspec check missing.rig\n",
        good="$ rigspec check hall.rig\n",
    ),
    Rule(
        name="usage",
        severity=Severity.ERROR,
        summary="the command line cannot be understood",
        reason="a guess at what was meant could change files or let a fault pass",
        limit="a command that rigspec knows, with that command's own options",
        authority="rigspec --help",
        cure="write the command as its help shows it",
        bad="$ rigspec check --fix-it hall.rig\n",
        good="$ rigspec check --fix hall.rig\n",
    ),
)
