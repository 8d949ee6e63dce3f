"""Options that several commands take."""

from __future__ import annotations

from rigspec.cli.command import Option

NAME = Option(("--name",), "the file that the text from standard input stands for; its `use` paths start there", "PATH")
COLOUR = Option(
    ("--colour", "--color"),
    "auto: only on a terminal, unless NO_COLOR is set",
    "WHEN",
    ("auto", "always", "never"),
    "auto",
)

OVERWRITE = Option(("--overwrite",), "replace what is there, whoever made it")
