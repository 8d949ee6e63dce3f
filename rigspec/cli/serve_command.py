"""``rigspec serve``: findings and figures in the editor, by the language server protocol."""

from __future__ import annotations

import sys

from rigspec.cli import terminal
from rigspec.cli.trouble import CannotRunError


def run(words: tuple[str, ...], options: dict[str, str]) -> int:
    """Serve an editor over standard input and output until it ends the session; the exit code."""
    if terminal.is_terminal(sys.stdin):  # it would wait for ever
        raise CannotRunError(
            "serve talks to an editor, which starts it by itself, and this is a terminal: editors/README.md says how"
        )
    try:
        from rigspec.server.protocol import serve
    except ModuleNotFoundError as missing:
        if missing.name is None or missing.name.partition(".")[0] not in ("pygls", "lsprotocol", "cattrs"):
            raise
        raise CannotRunError(
            "the language server needs pygls, which is not installed: pip install 'rigspec[serve]'"
        ) from None
    stdin, stdout = sys.stdin.buffer, sys.stdout.buffer
    sys.stdout = sys.stderr  # whatever is printed by mistake must not get among the messages
    serve(stdin, stdout)
    return 0
