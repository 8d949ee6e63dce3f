"""The language server itself: the protocol's requests and notifications, each handed on to a plain function."""

from __future__ import annotations

import asyncio
import gc
from collections.abc import Callable, Mapping
from typing import Any, Protocol, TypeVar

from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException
from pygls.lsp.server import LanguageServer

from rigspec import __version__
from rigspec.server.actions import actions
from rigspec.server.completing import completions
from rigspec.server.formatting import format_edits
from rigspec.server.hints import KINDS, hints
from rigspec.server.hover import hover
from rigspec.server.lines import UTF16, Lines, changed
from rigspec.server.navigate import Refusal, definition, file_at, references, renamable, rename, subject
from rigspec.server.outline import folds, symbols
from rigspec.server.paint import MODIFIERS, TYPES, paints
from rigspec.server.signature import signature
from rigspec.server.snapshot import Snapshot
from rigspec.server.wire import NAME, SAY_WHY, Wire
from rigspec.server.workspace import COLLECT_EVERY, Workspace
from rigspec.text.source import Refused, Source

WAIT_S = 0.15  # after the last key, so that nobody is told of words half written
IDLE_S = 0.5  # after so long nobody waits for the collector, which is off otherwise: it takes a third of a check
REQUEST_FAILED = -32803
# The library keeps texts of its own beside ours. It ends their lines where no editor does, at a form feed for one, and
# moves the places of a change that do not suit it before anybody else sees them.
_DOCUMENTS = (lsp.TEXT_DOCUMENT_DID_OPEN, lsp.TEXT_DOCUMENT_DID_CHANGE, lsp.TEXT_DOCUMENT_DID_CLOSE)
Answer = TypeVar("Answer")


class AtPlace(Protocol):
    """A request about a place in a text."""

    @property
    def text_document(self) -> lsp.TextDocumentIdentifier: ...

    @property
    def position(self) -> lsp.Position: ...


class Server:
    """One editor's session."""

    def __init__(self) -> None:
        self.desk = Workspace()
        self.ls = LanguageServer(NAME, __version__, text_document_sync_kind=lsp.TextDocumentSyncKind.Incremental)
        self.hints_on: frozenset[str] = frozenset(KINDS)
        self._wire: Wire | None = None
        self.told: dict[str, tuple[int | None, list[lsp.Diagnostic]] | None] = {}  # by file, and of which version
        self._waiting: asyncio.TimerHandle | None = None
        for word in _DOCUMENTS:
            self.ls.protocol.fm.builtin_features.pop(word, None)
        _life(self)
        _texts(self)
        _looking(self)
        _moving(self)
        _changing(self)

    @property
    def wire(self) -> Wire:
        """Places in the encoding that was agreed: the first of the client's that the server knows."""
        if self._wire is None:
            encoding = self.ls.server_capabilities.position_encoding or UTF16
            self._wire = Wire(str(getattr(encoding, "value", encoding)), self.desk.uri)
        return self._wire

    # ---- what is told

    def later(self) -> None:
        """Check soon, unless something else changes before that."""
        if self._waiting is not None:
            self._waiting.cancel()
        self._waiting = asyncio.get_running_loop().call_later(WAIT_S, self._now)

    def _now(self) -> None:
        self._waiting = None
        try:
            self.tell()
        except Exception as error:
            self.ls.window_log_message(lsp.LogMessageParams(lsp.MessageType.Error, f"rigspec: {error!r}"))
            raise

    def tell(self) -> None:
        """Publish what is found, for every file that has findings or had some."""
        found = self.desk.findings()
        for uri in sorted(self.told.keys() - found.keys()):
            self._publish(uri, [])
            del self.told[uri]
        for uri, findings in found.items():
            self._publish(uri, [self.wire.diagnostic(finding) for finding in findings])
        self._refresh()
        if self.desk.checks >= COLLECT_EVERY:
            self.desk.checks = 0
            asyncio.get_running_loop().call_later(IDLE_S, gc.collect)

    def _publish(self, uri: str, diagnostics: list[lsp.Diagnostic]) -> None:
        """Tell what is found in a file, unless the same has been told of the same text."""
        document = self.desk.documents.get(uri)
        told = (document.version if document is not None else None, diagnostics)
        if self.told.get(uri) != told:
            self.told[uri] = told
            self.ls.text_document_publish_diagnostics(lsp.PublishDiagnosticsParams(uri, diagnostics, told[0]))

    def _refresh(self) -> None:
        """Have the editor ask again for hints that another file has changed."""
        workspace = self.ls.client_capabilities.workspace
        takes = workspace is not None and workspace.inlay_hint is not None and workspace.inlay_hint.refresh_support
        if takes and self.desk.others_changed:
            self.desk.others_changed = False
            self.ls.workspace_inlay_hint_refresh(None)

    # ---- what is asked

    def about(self, uri: str, ask: Callable[[Snapshot], Answer]) -> Answer | None:
        """The answer to a question about an open text; None where it is not open."""
        sight = self.desk.sight(uri)
        return ask(sight) if sight is not None else None

    def at(self, params: AtPlace, ask: Callable[[Snapshot, int], Answer]) -> Answer | None:
        """The answer to a question about a place in an open text."""
        return self.about(
            params.text_document.uri, lambda sight: ask(sight, self.wire.offset(sight.source, params.position))
        )

    def between(self, source: Source, range_: lsp.Range) -> tuple[int, int]:
        return self.wire.offset(source, range_.start), self.wire.offset(source, range_.end)

    def configure(self, settings: object) -> None:
        """Take which kinds of hints are wanted: ``{"hints": {"loss": false}}``, or ``{"hints": false}`` for none."""
        if isinstance(settings, Mapping) and isinstance(settings.get(NAME), Mapping):
            settings = settings[NAME]
        wanted = settings.get("hints") if isinstance(settings, Mapping) else None
        if isinstance(wanted, bool):
            self.hints_on = frozenset(KINDS) if wanted else frozenset()
        elif isinstance(wanted, Mapping):
            self.hints_on = frozenset(kind for kind in KINDS if wanted.get(kind, True) is not False)


def _life(server: Server) -> None:
    ls = server.ls

    @ls.feature(lsp.INITIALIZE)
    def initialize(params: lsp.InitializeParams) -> None:
        server.configure(params.initialization_options)

    @ls.feature(lsp.INITIALIZED)
    def initialized(params: lsp.InitializedParams) -> None:
        workspace = ls.client_capabilities.workspace
        watched = workspace.did_change_watched_files if workspace else None
        if watched and watched.dynamic_registration:
            options = lsp.DidChangeWatchedFilesRegistrationOptions([lsp.FileSystemWatcher("**/*.rig")])
            registration = lsp.Registration("rigs", lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES, options)
            ls.client_register_capability(lsp.RegistrationParams([registration]))

    @ls.feature(lsp.WORKSPACE_DID_CHANGE_CONFIGURATION)
    def configuration(params: lsp.DidChangeConfigurationParams) -> None:
        server.configure(params.settings)
        workspace = ls.client_capabilities.workspace
        if workspace and workspace.inlay_hint and workspace.inlay_hint.refresh_support:
            ls.workspace_inlay_hint_refresh(None)


def _texts(server: Server) -> None:
    ls, desk = server.ls, server.desk

    @ls.feature(lsp.TEXT_DOCUMENT_DID_OPEN)
    def did_open(params: lsp.DidOpenTextDocumentParams) -> None:
        document = params.text_document
        desk.open(document.uri, document.text, document.version)
        server.told[document.uri] = None  # an editor keeps nothing of a text that it closed
        server.later()

    @ls.feature(lsp.TEXT_DOCUMENT_DID_CHANGE)
    def did_change(params: lsp.DidChangeTextDocumentParams) -> None:
        uri = params.text_document.uri
        if uri not in desk.documents:
            return
        lines = server.wire.lines(desk.documents[uri].source)  # they are known already where findings were told
        for change in params.content_changes:
            text = change.text
            if not isinstance(change, lsp.TextDocumentContentChangeWholeDocument):
                start, end = change.range.start, change.range.end
                text = changed(lines, (start.line, start.character), (end.line, end.character), text)
            lines = Lines(text, server.wire.encoding)
        desk.change(uri, lines.text, params.text_document.version)
        server.later()

    @ls.feature(lsp.TEXT_DOCUMENT_DID_CLOSE)
    def did_close(params: lsp.DidCloseTextDocumentParams) -> None:
        desk.close(params.text_document.uri)
        server.later()

    @ls.feature(lsp.TEXT_DOCUMENT_DID_SAVE)
    def did_save(params: lsp.DidSaveTextDocumentParams) -> None:
        server.later()

    @ls.feature(lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    def did_change_files(params: lsp.DidChangeWatchedFilesParams) -> None:
        server.later()


def _looking(server: Server) -> None:
    ls = server.ls

    @ls.feature(lsp.TEXT_DOCUMENT_HOVER)
    def show_hover(params: lsp.HoverParams) -> lsp.Hover | None:
        found = server.at(params, hover)
        texts = ls.client_capabilities.text_document
        formats = texts.hover.content_format if texts and texts.hover else None
        markdown = not formats or lsp.MarkupKind.Markdown in formats
        return server.wire.hover(found, markdown=markdown) if found is not None else None

    @ls.feature(lsp.TEXT_DOCUMENT_INLAY_HINT)
    def inlay(params: lsp.InlayHintParams) -> list[lsp.InlayHint]:
        def ask(sight: Snapshot) -> list[lsp.InlayHint]:
            found = hints(sight, *server.between(sight.source, params.range), server.hints_on)
            return server.wire.hints(sight.source, found)

        return server.about(params.text_document.uri, ask) or []

    @ls.feature(lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL)
    def outline(params: lsp.DocumentSymbolParams) -> list[lsp.DocumentSymbol]:
        found = server.about(params.text_document.uri, lambda sight: symbols(sight.file)) or []
        return [server.wire.symbol(symbol) for symbol in found]

    @ls.feature(lsp.TEXT_DOCUMENT_FOLDING_RANGE)
    def fold(params: lsp.FoldingRangeParams) -> list[lsp.FoldingRange]:
        def ask(sight: Snapshot) -> list[lsp.FoldingRange]:
            made = (server.wire.fold(sight.source, each) for each in folds(sight.file))
            return [each for each in made if each is not None]

        return server.about(params.text_document.uri, ask) or []

    legend = lsp.SemanticTokensLegend(list(TYPES), list(MODIFIERS))

    def colours(sight: Snapshot, start: int, end: int) -> lsp.SemanticTokens:
        return server.wire.tokens(sight.source, paints(sight, start, end))

    @ls.feature(lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_FULL, legend)
    def colour_all(params: lsp.SemanticTokensParams) -> lsp.SemanticTokens | None:
        return server.about(params.text_document.uri, lambda sight: colours(sight, 0, len(sight.source.text)))

    @ls.feature(lsp.TEXT_DOCUMENT_SEMANTIC_TOKENS_RANGE, legend)
    def colour_some(params: lsp.SemanticTokensRangeParams) -> lsp.SemanticTokens | None:
        uri = params.text_document.uri
        return server.about(uri, lambda sight: colours(sight, *server.between(sight.source, params.range)))


def _moving(server: Server) -> None:
    ls, desk = server.ls, server.desk

    @ls.feature(lsp.TEXT_DOCUMENT_DEFINITION)
    def define(params: lsp.DefinitionParams) -> list[lsp.Location]:
        def ask(sight: Snapshot, offset: int) -> list[lsp.Location]:
            used = file_at(sight, offset)
            if used:
                got = desk.texts.reader(sight.source)(sight.source.path, used)
                if isinstance(got, Refused):
                    return []
                start = lsp.Position(0, 0)
                return [lsp.Location(desk.uri(got.path), lsp.Range(start, start))]
            return [server.wire.location(span) for span in definition(sight, offset)]

        return server.at(params, ask) or []

    @ls.feature(lsp.TEXT_DOCUMENT_REFERENCES)
    def refer(params: lsp.ReferenceParams) -> list[lsp.Location]:
        def ask(sight: Snapshot, offset: int) -> list[lsp.Location]:
            mention = sight.mention(offset)
            if mention is None:
                return []
            what, name = subject(mention)
            wanted = params.context.include_declaration
            spans = references(desk.family(sight, what, name), what, name, declaration=wanted)
            return [server.wire.location(span) for span in spans]

        return server.at(params, ask) or []

    @ls.feature(lsp.TEXT_DOCUMENT_PREPARE_RENAME)
    def prepare(params: lsp.PrepareRenameParams) -> lsp.PrepareRenamePlaceholder | None:
        def ask(sight: Snapshot, offset: int) -> lsp.PrepareRenamePlaceholder:
            mention = renamable(sight, offset)
            return lsp.PrepareRenamePlaceholder(server.wire.range(mention.span), mention.name)

        return _or_refused(lambda: server.at(params, ask))

    @ls.feature(lsp.TEXT_DOCUMENT_RENAME, lsp.RenameOptions(prepare_provider=True))
    def change_name(params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
        def ask(sight: Snapshot, offset: int) -> lsp.WorkspaceEdit:
            mention = renamable(sight, offset)
            files = desk.family(sight, mention.what, mention.name)
            edits = rename(files, mention.what, mention.name, params.new_name)
            return server.wire.change(desk.edits_by_uri(edits))

        return _or_refused(lambda: server.at(params, ask))


def _or_refused(ask: Callable[[], Answer]) -> Answer:
    """The answer, or why there is none as the protocol says it."""
    try:
        return ask()
    except Refusal as refusal:
        raise JsonRpcException(message=str(refusal), code=REQUEST_FAILED) from refusal


def _changing(server: Server) -> None:
    ls, desk = server.ls, server.desk

    @ls.feature(
        lsp.TEXT_DOCUMENT_COMPLETION, lsp.CompletionOptions(trigger_characters=[".", "[", '"', " ", ">", "{", ";"])
    )
    def complete(params: lsp.CompletionParams) -> lsp.CompletionList:
        def ask(sight: Snapshot, offset: int) -> list[lsp.CompletionItem]:
            line = sight.source.text[sight.source.text.rfind("\n", 0, offset) + 1 : offset]
            files = desk.usable(sight.source) if line.lstrip().startswith("use") else []
            found = completions(sight, offset, files)
            return [server.wire.completion(sight.source, offset, at, each) for at, each in enumerate(found)]

        return lsp.CompletionList(is_incomplete=False, items=server.at(params, ask) or [])

    @ls.feature(lsp.TEXT_DOCUMENT_SIGNATURE_HELP, lsp.SignatureHelpOptions(trigger_characters=[" ", ",", "{", ";"]))
    def help_signature(params: lsp.SignatureHelpParams) -> lsp.SignatureHelp | None:
        found = server.at(params, signature)
        return server.wire.signature(found) if found is not None else None

    @ls.feature(lsp.TEXT_DOCUMENT_CODE_ACTION, lsp.CodeActionOptions([lsp.CodeActionKind.QuickFix]))
    def act(params: lsp.CodeActionParams) -> list[lsp.CodeAction]:
        only = params.context.only
        if only and not any(lsp.CodeActionKind.QuickFix.startswith(str(kind)) for kind in only):
            return []

        def ask(sight: Snapshot) -> list[lsp.CodeAction]:
            said = params.context.diagnostics
            named = {(str(each.code), server.wire.offset(sight.source, each.range.start)) for each in said}
            found = actions(sight, *server.between(sight.source, params.range), named)
            sound = [each for each in found if not desk.refusal(each.finding, each.proof)]
            window = ls.client_capabilities.window
            leads = bool(window and window.show_document and window.show_document.support)
            return [server.wire.action(each, desk.edits_by_uri(each.fix.edits), leads=leads) for each in sound]

        return server.about(params.text_document.uri, ask) or []

    @ls.command(SAY_WHY)
    def say_why(uri: str, line: int, character: int) -> None:
        place = lsp.Position(line, character)
        ls.window_show_document(lsp.ShowDocumentParams(uri, take_focus=True, selection=lsp.Range(place, place)))

    def formatted(uri: str, range_: lsp.Range | None) -> list[lsp.TextEdit] | None:
        def ask(sight: Snapshot) -> list[lsp.TextEdit]:
            part = server.between(sight.source, range_) if range_ is not None else (0, len(sight.source.text))
            edits = format_edits(sight.source, desk.texts.reader(sight.source), *part)
            return [server.wire.edit(edit) for edit in edits]

        return server.about(uri, ask)

    @ls.feature(lsp.TEXT_DOCUMENT_FORMATTING)
    def format_all(params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit] | None:
        return formatted(params.text_document.uri, None)

    @ls.feature(lsp.TEXT_DOCUMENT_RANGE_FORMATTING)
    def format_some(params: lsp.DocumentRangeFormattingParams) -> list[lsp.TextEdit] | None:
        return formatted(params.text_document.uri, params.range)


def serve(stdin: Any, stdout: Any) -> None:
    """Serve an editor over these binary streams until it says goodbye."""
    gc.freeze()
    Server().ls.start_io(stdin, stdout)
