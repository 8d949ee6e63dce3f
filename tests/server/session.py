"""A real editor's side of a session: a client that starts `rigspec serve` and talks to it over its streams."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import Awaitable, Callable
from pathlib import Path
from typing import Union

import cattrs
from lsprotocol import types as lsp
from pygls.lsp.client import BaseLanguageClient
from pygls.protocol import default_converter

TIMEOUT_S = 90
ROOT = Path(__file__).parents[2]
Body = Callable[["Session"], Awaitable[None]]


class Session:
    """``encoding`` is what was agreed with the server; positions go both ways in its units."""

    def __init__(self, client: BaseLanguageClient, encoding: str, folder: Path) -> None:
        self.client = client
        self.encoding = encoding
        self.folder = folder
        self.texts: dict[str, str] = {}
        self.versions: dict[str, int] = {}
        self.published: asyncio.Queue[lsp.PublishDiagnosticsParams] = asyncio.Queue()
        self.latest: dict[str, lsp.PublishDiagnosticsParams] = {}
        self.led: asyncio.Queue[lsp.ShowDocumentParams] = asyncio.Queue()  # where the server wanted the cursor to be

    def uri(self, name: str) -> str:
        return (self.folder / name).as_uri()

    def open(self, name: str, text: str) -> str:
        uri = self.uri(name)
        self.texts[uri], self.versions[uri] = text, 1
        item = lsp.TextDocumentItem(uri, "rigspec", 1, text)
        self.client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))
        return uri

    def edit(self, uri: str, start: int, end: int, new: str) -> None:
        """Replace the characters between two offsets, as one incremental change."""
        text = self.texts[uri]
        self.change(uri, self.range(text, start, end), new, text[:start] + new + text[end:])

    def change(self, uri: str, range_: lsp.Range, new: str, after: str) -> None:
        """Replace what lies in a range, whether there is such a place or not; ``after`` is what that makes."""
        self.texts[uri] = after
        self._send(uri, lsp.TextDocumentContentChangePartial(range=range_, text=new))

    def replace(self, uri: str, text: str) -> None:
        self.texts[uri] = text
        self._send(uri, lsp.TextDocumentContentChangeWholeDocument(text))

    def _send(
        self, uri: str, change: lsp.TextDocumentContentChangePartial | lsp.TextDocumentContentChangeWholeDocument
    ) -> None:
        self.versions[uri] += 1
        which = lsp.VersionedTextDocumentIdentifier(self.versions[uri], uri)
        self.client.text_document_did_change(lsp.DidChangeTextDocumentParams(which, [change]))

    def close(self, uri: str) -> None:
        self.client.text_document_did_close(lsp.DidCloseTextDocumentParams(lsp.TextDocumentIdentifier(uri)))

    async def findings(self, uri: str) -> list[lsp.Diagnostic]:
        """What is published for the text as it is now."""
        while True:
            latest = self.latest.get(uri)
            if latest is not None and latest.version in (None, self.versions.get(uri)):
                return list(latest.diagnostics)
            await self.next()

    async def next(self) -> lsp.PublishDiagnosticsParams:
        """The next thing that is published."""
        got = await self.published.get()
        self.latest[got.uri] = got
        return got

    async def next_of(self, uri: str) -> list[lsp.Diagnostic]:
        """The next thing that is published for a file."""
        while True:
            got = await self.next()
            if got.uri == uri:
                return list(got.diagnostics)

    # ---- places, reckoned independently of the server

    def units(self, text: str) -> int:
        sizes = {"utf-8": 1, "utf-16": 2, "utf-32": 4}
        name = {"utf-8": "utf-8", "utf-16": "utf-16-le", "utf-32": "utf-32-le"}[self.encoding]
        return len(text.encode(name)) // sizes[self.encoding]

    def position(self, text: str, offset: int) -> lsp.Position:
        before = text[:offset].split("\n")
        return lsp.Position(len(before) - 1, self.units(before[-1]))

    def offset(self, text: str, position: lsp.Position) -> int:
        lines = text.split("\n")
        start = sum(len(line) + 1 for line in lines[: position.line])
        line = lines[position.line]
        for end in range(len(line) + 1):
            if self.units(line[:end]) == position.character:
                return start + end
        raise AssertionError(f"no character of line {position.line} begins at {position.character}")

    def range(self, text: str, start: int, end: int) -> lsp.Range:
        return lsp.Range(self.position(text, start), self.position(text, end))

    def text_of(self, uri: str, range_: lsp.Range) -> str:
        text = self.texts[uri]
        return text[self.offset(text, range_.start) : self.offset(text, range_.end)]

    def applied(self, uri: str, edits: list[lsp.TextEdit]) -> str:
        """A text with edits made, the last first as they refer to the text before."""
        text = self.texts[uri]
        places = [(self.offset(text, e.range.start), self.offset(text, e.range.end), e.new_text) for e in edits]
        for start, end, new in sorted(places, reverse=True):
            text = text[:start] + new + text[end:]
        return text

    def here(self, uri: str, offset: int) -> tuple[lsp.TextDocumentIdentifier, lsp.Position]:
        return lsp.TextDocumentIdentifier(uri), self.position(self.texts[uri], offset)


def _converter() -> cattrs.Converter:
    """The usual one, but a change with a command is a change: lsprotocol's own takes it for the command alone."""
    converter = default_converter()
    converter.register_structure_hook(
        Union[lsp.Command, lsp.CodeAction],  # noqa: UP007  as it is written there
        lambda found, _: converter.structure(found, lsp.CodeAction),
    )
    return converter


def session(
    folder: Path,
    body: Body,
    *encodings: str,
    options: object = None,
    shows: lsp.TextDocumentClientCapabilities | None = None,
    seconds: float = TIMEOUT_S,
) -> None:
    """Run a session against a server process; fails where it takes too long, or the server complains.

    ``shows`` is what the editor can show of a text.
    """
    asyncio.run(asyncio.wait_for(session_async(folder, body, encodings, options, shows), seconds))


async def session_async(
    folder: Path,
    body: Body,
    encodings: tuple[str, ...],
    options: object,
    shows: lsp.TextDocumentClientCapabilities | None = None,
) -> None:
    client = BaseLanguageClient("tests", "1", converter_factory=_converter)
    published: asyncio.Queue[lsp.PublishDiagnosticsParams] = asyncio.Queue()
    led: asyncio.Queue[lsp.ShowDocumentParams] = asyncio.Queue()
    logged: list[str] = []

    @client.feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    def on_published(params: lsp.PublishDiagnosticsParams) -> None:
        published.put_nowait(params)

    @client.feature(lsp.WINDOW_LOG_MESSAGE)
    def on_log(params: lsp.LogMessageParams) -> None:
        logged.append(params.message)

    @client.feature(lsp.WINDOW_SHOW_DOCUMENT)
    def on_show(params: lsp.ShowDocumentParams) -> lsp.ShowDocumentResult:
        led.put_nowait(params)
        return lsp.ShowDocumentResult(True)

    @client.feature(lsp.WORKSPACE_INLAY_HINT_REFRESH)
    def on_refresh(_: None) -> None:
        return None

    await client.start_io(sys.executable, "-m", "rigspec", "serve", cwd=folder)
    general = lsp.GeneralClientCapabilities(position_encodings=[lsp.PositionEncodingKind(each) for each in encodings])
    workspace = lsp.WorkspaceClientCapabilities(inlay_hint=lsp.InlayHintWorkspaceClientCapabilities(True))
    window = lsp.WindowClientCapabilities(show_document=lsp.ShowDocumentClientCapabilities(True))
    capabilities = lsp.ClientCapabilities(workspace, shows, None, window, general if encodings else None)
    answer = await client.initialize_async(
        lsp.InitializeParams(capabilities, root_uri=folder.as_uri(), initialization_options=options)
    )
    client.initialized(lsp.InitializedParams())
    agreed = str(getattr(answer.capabilities.position_encoding, "value", answer.capabilities.position_encoding))
    assert agreed == (encodings[0] if encodings else "utf-16")
    here = Session(client, agreed, folder)
    here.published, here.led = published, led
    try:
        await body(here)
        await client.shutdown_async(None)
        client.exit(None)
    except BaseException:
        if client._server is not None:  # it would be waited for, and nobody has told it to go
            client._server.kill()
        raise
    finally:
        await client.stop()
    assert logged == []
