"""When findings are told to the editor, and when they are not told again."""

from __future__ import annotations

import asyncio
from pathlib import Path

import pytest
from lsprotocol import types as lsp
from session import Session, session
from test_session import SOUND, checked, same

from rigspec.server.protocol import Server

pytestmark = pytest.mark.timeout(120)


def test_many_changes_at_once_end_in_the_findings_of_the_last(folder: Path) -> None:
    async def body(here: Session) -> None:
        uri = here.open("hall.rig", SOUND)
        for number in range(40):
            here.edit(uri, 0, 0, f"# {number} Ω\n")
        here.edit(uri, here.texts[uri].index("twin"), here.texts[uri].index("twin") + 4, "twn")
        same(here, uri, await here.findings(uri), checked(folder, here.texts[uri]))

    session(folder, body, "utf-8")


def test_what_is_told_is_not_told_again_of_the_same_text(folder: Path) -> None:
    async def body(here: Session) -> None:
        hall, street = (here.open(name, SOUND.replace("15 m", "80 m")) for name in ("hall.rig", "street.rig"))
        for uri in (hall, street):
            assert [each.code for each in await here.findings(uri)] == ["lead-loss-high"]
        here.client.text_document_did_save(lsp.DidSaveTextDocumentParams(lsp.TextDocumentIdentifier(hall)))
        here.edit(hall, 0, 0, "# ")
        assert (await here.next()).uri == hall
        here.close(street)
        here.open("street.rig", here.texts[street])  # at once; an editor has forgotten what was told of it
        while not await here.next_of(street):
            pass

    session(folder, body, "utf-8", seconds=30)


def test_of_changes_that_follow_each_other_the_last_is_checked() -> None:
    async def body() -> None:
        server = Server()
        handles = []
        for _ in range(3):
            server.later()
            handles.append(server._waiting)
        assert [each is not None and each.cancelled() for each in handles] == [True, True, False]

    asyncio.run(body())
