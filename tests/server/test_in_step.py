"""The server's text stays that of the editor, whatever the editor's lines hold and wherever its changes end."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest
from lsprotocol import types as lsp
from session import Session, session
from test_session import ENCODINGS, SOUND, checked, same

# Each ends a line for some programs, and for no editor.
MARKS = ("", "\x0b", "\x0c", "\x85", "\u2028")
AWRY = SOUND.replace("amp bass is", "amp   bass  is")


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_the_text_stays_in_step(folder: Path, encoding: str) -> None:
    async def body(here: Session) -> None:
        for number, mark in enumerate(MARKS if encoding == "utf-16" else MARKS[-2:]):  # ASCII counts alike in all
            await _edited(here, f"hall{number}.rig", f"# 🔊 {20 * mark} Ω\n{AWRY}# end {mark} Ω")

    session(folder, body, encoding)


async def _edited(here: Session, name: str, text: str) -> None:
    uri = here.open(name, text)
    assert await here.findings(uri) == []
    at = here.texts[uri].index("15 m")
    here.edit(uri, at, at + 2, "80")  # on a line behind the mark
    here.edit(uri, text.index(" Ω"), text.index(" Ω") + 2, " Ω 🔊 Ω")  # behind it on its line
    for line, column in ((0, 99), (2, 0)):  # past the end of the last line, and on a line behind it
        now = here.texts[uri]
        last = here.position(now, len(now))
        past = lsp.Position(last.line + line, last.character + column)
        for new in ("\nspare", " nobody.1"):
            here.change(uri, lsp.Range(past, past), new, here.texts[uri] + new)
            end = here.position(here.texts[uri], len(here.texts[uri]))
            past = lsp.Position(end.line + line, end.character + column)
    now = here.texts[uri]
    near = here.position(now, now.index("spare nobody"))
    beyond = lsp.Position(near.line + 9, 3)  # a change that ends there
    here.change(uri, lsp.Range(near, beyond), "spare", now[: now.index("spare nobody")] + "spare")
    found = await here.findings(uri)
    assert {each.code for each in found} == {"lead-loss-high", "syntax"}
    same(here, uri, found, checked(here.folder, here.texts[uri], name))
    end = len(here.texts[uri])
    here.edit(uri, end - len("\nspare"), end, "")
    found = await here.findings(uri)
    assert [each.code for each in found] == ["lead-loss-high"]
    same(here, uri, found, checked(here.folder, here.texts[uri], name))
    await _formatted(here, uri)


async def _formatted(here: Session, uri: str) -> None:
    """Format Document makes what `rigspec format` makes."""
    which = lsp.TextDocumentIdentifier(uri)
    asked = lsp.DocumentFormattingParams(which, lsp.FormattingOptions(4, True))
    edits = await here.client.text_document_formatting_async(asked)
    command = [sys.executable, "-m", "rigspec", "format", "--name", Path(uri).name, "-"]
    text = here.texts[uri]
    ran = subprocess.run(command, cwd=here.folder, input=text.encode(), capture_output=True, check=True, timeout=30)
    assert here.applied(uri, list(edits or [])) == ran.stdout.decode() != text
