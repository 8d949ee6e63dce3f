"""The real server over its streams, driven by a client, in each encoding that editors speak.

Every text has characters that take one, two, three and four bytes before the places that matter.
"""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest
from lsprotocol import types as lsp
from pygls.exceptions import JsonRpcException
from served import STOCK
from session import Session, session

pytestmark = pytest.mark.timeout(120)
ENCODINGS = ("utf-8", "utf-16", "utf-32")
HALL = """\
use "house.rig"  # 🔊 2.5 mm² and 8 Ω in 10 µs
feed send { level 4 dBu; peak 17 dBu; source 100 Ω; band 35 Hz to 95 Hz }
amp bass is twin-900 { attenuator -12 dB; label "🔊 Ω" } # 🔊
speaker sub[1..2] is reflex-18 { label "µ²🔊" }
send -> bass.1 -> lead 2.5 mm² 80 m -> sub[1..2] linked 2.5 mm² 2 m
spare bass.2
rig "🔊" { mains 230 V 50 Hz }; rigg
"""
SOUND = HALL.replace("; rigg", "").replace("80 m", "15 m")


def checked(folder: Path, text: str, name: str = "hall.rig") -> list[dict[str, Any]]:
    """What `rigspec check` says of a text."""
    command = [sys.executable, "-m", "rigspec", "check", "--as", "json", "--name", name, "-"]
    ran = subprocess.run(command, cwd=folder, input=text.encode(), capture_output=True, check=False, timeout=30)
    findings: list[dict[str, Any]] = json.loads(ran.stdout)["findings"]
    return findings


def same(here: Session, uri: str, diagnostics: list[lsp.Diagnostic], said: list[dict[str, Any]]) -> None:
    """Are these diagnostics what the command line says, each at the same characters?"""
    text = here.texts[uri]
    told = [
        (d.code, d.message, here.offset(text, d.range.start), here.offset(text, d.range.end), d.severity)
        for d in diagnostics
    ]
    weights = {"error": 1, "warning": 2, "advice": 3}
    wanted = [
        (each["rule"], each["message"], each["start"]["offset"], each["end"]["offset"], weights[each["severity"]])
        for each in said
        if each["path"] == Path(uri).name
    ]
    assert told == wanted


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_diagnostics_follow_the_text_and_are_those_of_check(folder: Path, encoding: str) -> None:
    async def body(here: Session) -> None:
        uri = here.open("hall.rig", HALL)
        found = await here.findings(uri)
        assert {d.code for d in found} >= {"lead-loss-high"}
        same(here, uri, found, checked(folder, HALL))
        loss = next(d for d in found if d.code == "lead-loss-high")
        assert loss.source == "rigspec"
        assert loss.related_information
        for each in loss.related_information:
            if each.location.uri == uri:
                here.text_of(uri, each.location.range)  # a place that exists
        # one incremental change behind characters of every size in the same line, and one across lines
        at = HALL.index("80 m")
        here.edit(uri, at, at + 2, "15")
        here.edit(uri, here.texts[uri].index("; rigg"), len(here.texts[uri]) - 1, "")
        assert here.texts[uri] == SOUND
        assert await here.findings(uri) == []
        here.edit(uri, SOUND.index("🔊"), SOUND.index("🔊") + 1, "🔊🔊 Ω")
        assert await here.findings(uri) == []
        here.edit(uri, here.texts[uri].index("bass is"), here.texts[uri].index("send ->"), "")
        same(here, uri, await here.findings(uri), checked(folder, here.texts[uri]))
        here.replace(uri, HALL)
        same(here, uri, await here.findings(uri), checked(folder, HALL))
        here.close(uri)
        assert await here.next_of(uri) == []

    session(folder, body, encoding, "utf-16")


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_names_are_followed_and_changed_over_files(folder: Path, encoding: str) -> None:
    async def body(here: Session) -> None:
        uri = here.open("hall.rig", SOUND)
        house = here.uri("house.rig")
        here.texts[house] = STOCK
        client = here.client
        kind = here.here(uri, SOUND.index("reflex-18") + 2)
        (place,) = await client.text_document_definition_async(lsp.DefinitionParams(*kind))
        assert (place.uri, here.text_of(house, place.range)) == (house, "reflex-18")
        (place,) = await client.text_document_definition_async(
            lsp.DefinitionParams(*here.here(uri, SOUND.index("sub[1..2] linked") + 1))
        )
        assert (place.uri, here.text_of(uri, place.range)) == (uri, "sub")
        (place,) = await client.text_document_definition_async(
            lsp.DefinitionParams(*here.here(uri, SOUND.index("house.rig") + 1))
        )
        assert place.uri == house
        places = await client.text_document_references_async(lsp.ReferenceParams(lsp.ReferenceContext(True), *kind))
        assert [(each.uri, here.text_of(each.uri, each.range)) for each in places] == [
            (uri, "reflex-18"),
            (house, "reflex-18"),
        ]
        allowed = await client.text_document_prepare_rename_async(lsp.PrepareRenameParams(*kind))
        assert here.text_of(uri, allowed.range) == allowed.placeholder == "reflex-18"
        change = await client.text_document_rename_async(lsp.RenameParams(*kind, "horn-18"))
        assert set(change.changes) == {uri, house}
        for each, edits in change.changes.items():
            assert here.applied(each, edits) == here.texts[each].replace("reflex-18", "horn-18")
        with pytest.raises(JsonRpcException, match="there is a kind called two-way already"):
            await client.text_document_rename_async(lsp.RenameParams(*kind, "two-way"))
        with pytest.raises(JsonRpcException, match="only the names of things"):
            await client.text_document_prepare_rename_async(
                lsp.PrepareRenameParams(*here.here(uri, SOUND.index("80") if "80" in SOUND else 1))
            )

    session(folder, body, encoding)


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_hover_hints_completion_and_help(folder: Path, encoding: str) -> None:
    async def body(here: Session) -> None:
        uri = here.open("hall.rig", SOUND)
        which = lsp.TextDocumentIdentifier(uri)
        whole = here.range(SOUND, 0, len(SOUND))
        client = here.client
        for word, piece in (("bass.1", "**bass.1**: load 4."), ("2.5 mm² 2", None), ("twin-900", "900 W at 4 ohm")):
            at = here.here(uri, SOUND.index(word) + 1)
            hover = await client.text_document_hover_async(lsp.HoverParams(*at))
            if piece is not None:
                assert piece in hover.contents.value
                assert here.text_of(uri, hover.range) in word
        hints = await client.text_document_inlay_hint_async(lsp.InlayHintParams(which, whole))
        placed = {(here.offset(SOUND, each.position), str(each.label)) for each in hints}
        assert (SOUND.index(" 15 m") + 5, "0.5 dB") in placed
        assert (SOUND.index("bass.1") + 6, "4.25 ≥ 2.7 ohm") in placed
        row = SOUND.index("sub[1..2] linked") + len("sub[1..2]")
        assert next(text for at, text in placed if at == row).endswith(" W, normal")
        line = SOUND.index('"🔊 Ω"')
        here.edit(uri, line + len('"🔊 Ω"'), line + len('"🔊 Ω"'), "; gai")
        items = await client.text_document_completion_async(
            lsp.CompletionParams(*here.here(uri, line + len('"🔊 Ω"; gai')))
        )
        (gain,) = [each for each in items.items if each.label == "gain"]
        assert here.text_of(uri, gain.text_edit.range) == "gai"
        here.edit(uri, line + len('"🔊 Ω"; gai'), line + len('"🔊 Ω"; gai'), "n ")
        help_ = await client.text_document_signature_help_async(
            lsp.SignatureHelpParams(*here.here(uri, line + len('"🔊 Ω"; gain ')))
        )
        assert help_.signatures[0].label == "gain GAIN"

    session(folder, body, encoding)


@pytest.mark.parametrize(
    ("formats", "kind"),
    [
        (["plaintext"], "plaintext"),
        (["markdown", "plaintext"], "markdown"),
        (["plaintext", "markdown"], "markdown"),  # it reads better
        (None, "markdown"),
    ],
)
def test_an_editor_without_markdown_gets_plain_text(folder: Path, formats: list[str] | None, kind: str) -> None:
    async def body(here: Session) -> None:
        uri = here.open("hall.rig", SOUND)
        at = here.here(uri, SOUND.index("-> bass.1") + 4)
        found = await here.client.text_document_hover_async(lsp.HoverParams(*at))
        assert found.contents.kind == kind
        assert ("**bass**: an amplifier" in found.contents.value) == (kind == "markdown")

    can = lsp.HoverClientCapabilities(content_format=[lsp.MarkupKind(each) for each in formats] if formats else None)
    session(folder, body, "utf-8", shows=lsp.TextDocumentClientCapabilities(hover=can))


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_fixes_exceptions_and_the_canonical_form(folder: Path, encoding: str) -> None:
    text = HALL.replace("; rigg", "").replace("twin-900 {", "twn-900   {")

    async def body(here: Session) -> None:
        uri = here.open("hall.rig", text)
        which = lsp.TextDocumentIdentifier(uri)
        found = await here.findings(uri)
        same(here, uri, found, checked(folder, text))
        context = lsp.CodeActionContext(found)
        at = here.range(text, text.index("twn"), text.index("twn"))
        asked = lsp.CodeActionParams(which, at, context)
        actions = await here.client.text_document_code_action_async(asked)
        # the lead costs too much once the amplifier is known, so no fix is offered: as `check --fix` has it
        assert not actions
        here.edit(uri, text.index("80 m"), text.index("80 m") + 2, "15")
        (action,) = await here.client.text_document_code_action_async(asked)
        assert (action.title, action.kind, action.is_preferred) == ("write `twin-900`", "quickfix", True)
        fixed = here.applied(uri, action.edit.changes[uri])
        assert checked(folder, fixed) == []
        here.replace(uri, fixed.replace("15 m", "80 m"))
        now = here.texts[uri]
        place = here.range(now, now.index("80 m"), now.index("80 m"))
        (allow,) = await here.client.text_document_code_action_async(lsp.CodeActionParams(which, place, context))
        # a cursor elsewhere in the line, of an editor that says what it counts to there
        loss = [each for each in await here.findings(uri) if each.code == "lead-loss-high"]
        apart = here.range(now, now.index("send ->"), now.index("send ->"))
        named = lsp.CodeActionParams(which, apart, lsp.CodeActionContext(loss))
        assert list(await here.client.text_document_code_action_async(named)) == [allow]
        unnamed = lsp.CodeActionParams(which, apart, lsp.CodeActionContext([]))
        assert not await here.client.text_document_code_action_async(unnamed)
        allowed = here.applied(uri, allow.edit.changes[uri])
        assert checked(folder, allowed.replace('because ""\n', 'because "one night only"\n')) == []
        here.replace(uri, allowed)
        assert allow.command is not None
        await here.client.workspace_execute_command_async(
            lsp.ExecuteCommandParams(allow.command.command, arguments=allow.command.arguments)
        )
        led = await here.led.get()  # to where the reason is missing
        assert led.uri == uri
        assert led.selection is not None
        assert here.offset(allowed, led.selection.start) == allowed.index('because ""') + len('because "')
        (empty,) = [each for each in await here.findings(uri) if each.code == "allow-unknown"]
        assert here.text_of(uri, empty.range) == '""'
        here.replace(uri, fixed)
        options = lsp.FormattingOptions(4, True)
        edits = await here.client.text_document_formatting_async(lsp.DocumentFormattingParams(which, options))
        formed = here.applied(uri, edits)
        command = [sys.executable, "-m", "rigspec", "format", "--name", "hall.rig", "-"]
        ran = subprocess.run(command, cwd=folder, input=fixed.encode(), capture_output=True, check=True, timeout=30)
        assert formed == ran.stdout.decode() != fixed
        part = here.range(fixed, 0, 5)
        some = await here.client.text_document_range_formatting_async(
            lsp.DocumentRangeFormattingParams(which, part, options)
        )
        assert here.applied(uri, some).split("\n")[3:] == fixed.split("\n")[3:]
        here.replace(uri, HALL)
        assert not await here.client.text_document_formatting_async(lsp.DocumentFormattingParams(which, options))

    session(folder, body, encoding)


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_outline_folding_and_colours(folder: Path, encoding: str) -> None:
    text = SOUND + "# ---- 🔊 Ω ----\nbass {\n  muted\n}\n"

    async def body(here: Session) -> None:
        uri = here.open("hall.rig", text)
        which = lsp.TextDocumentIdentifier(uri)
        symbols = await here.client.text_document_document_symbol_async(lsp.DocumentSymbolParams(which))
        names = {each.name: here.text_of(uri, each.selection_range) for each in symbols}
        assert names["sub[1..2]"] == "sub"
        assert names["🔊 Ω"] == "# ---- 🔊 Ω ----"
        folds = await here.client.text_document_folding_range_async(lsp.FoldingRangeParams(which))
        first = text.split("\n").index("bass {")
        assert (first, first + 2) in [(each.start_line, each.end_line) for each in folds]
        answer = await here.client.text_document_semantic_tokens_full_async(lsp.SemanticTokensParams(which))
        words, line, column = [], 0, 0
        for delta, shift, length, kind, _ in zip(*[iter(answer.data)] * 5, strict=True):
            line, column = line + delta, shift if delta else column + shift
            span = lsp.Range(lsp.Position(line, column), lsp.Position(line, column + length))
            words.append((here.text_of(uri, span), kind))
        said = [word for word, _ in words]
        assert '"🔊 Ω"' in said
        assert "# 🔊" in said
        assert "2.5 mm²" in said
        assert "reflex-18" in said

    session(folder, body, encoding)


def test_the_first_encoding_of_the_client_wins_and_utf_16_is_the_default(folder: Path) -> None:
    async def body(here: Session) -> None:
        assert here.encoding in ENCODINGS

    session(folder, body, "utf-32", "utf-8", "utf-16")
    session(folder, body)


def test_a_stock_file_that_is_changed_changes_what_is_found_in_its_open_users(folder: Path) -> None:
    async def body(here: Session) -> None:
        hall = here.open("hall.rig", SOUND)
        assert await here.findings(hall) == []
        house = here.open("house.rig", STOCK)
        assert await here.findings(house) == []
        at = STOCK.index("least-load 2.7")
        here.edit(house, at, at + len("least-load 2.7"), "least-load 4.5")
        found = await here.next_of(hall)
        while not found:
            found = await here.next_of(hall)
        assert [each.code for each in found] == ["load-too-low"]
        related = found[0].related_information or []
        assert any(each.location.uri == house for each in related)
        here.edit(house, 0, 0, "amp amp\n")  # a slip in the stock is found in the stock, once
        found = await here.next_of(house)
        while not found:
            found = await here.next_of(house)
        assert [each.code for each in found] == ["syntax"] or found
        here.close(house)  # what is on disk counts again
        found = await here.next_of(hall)
        while found:
            found = await here.next_of(hall)

    session(folder, body, "utf-8")


def test_a_file_that_comes_goes_or_changes_on_disk(folder: Path) -> None:
    stock = (folder / "house.rig").read_bytes()
    (folder / "house.rig").unlink()

    async def body(here: Session) -> None:
        hall = here.open("hall.rig", SOUND)
        assert [each.code for each in await here.findings(hall)] == ["use-missing"]
        (folder / "house.rig").write_bytes(stock)

        def changed(what: lsp.FileChangeType) -> None:
            event = lsp.FileEvent(here.uri("house.rig"), what)
            here.client.workspace_did_change_watched_files(lsp.DidChangeWatchedFilesParams([event]))

        changed(lsp.FileChangeType.Created)
        assert await here.next_of(hall) == []
        (folder / "house.rig").write_bytes(b"stock amp twin-900 {\n" + stock)
        changed(lsp.FileChangeType.Changed)
        assert [each.code for each in await here.next_of(here.uri("house.rig"))] == ["syntax"]
        (folder / "house.rig").unlink()
        changed(lsp.FileChangeType.Deleted)
        assert await here.next_of(here.uri("house.rig")) == []  # what is gone has no findings

    session(folder, body, "utf-16")


@pytest.mark.parametrize(
    ("options", "kinds"),
    [({"hints": {"loss": False, "power": False}}, {"load", "margin", "polarity"}), ({"hints": False}, set())],
)
def test_kinds_of_hints_can_be_turned_off_at_the_start_and_later(
    folder: Path, options: object, kinds: set[str]
) -> None:
    marks = {"load": "4.25 ", "margin": "2.7 ohm", "polarity": "normal", "loss": "0.5 dB", "power": " W"}

    async def body(here: Session) -> None:
        uri = here.open("hall.rig", SOUND)
        asked = lsp.InlayHintParams(lsp.TextDocumentIdentifier(uri), here.range(SOUND, 0, len(SOUND)))

        async def shown() -> set[str]:
            labels = [str(each.label) for each in await here.client.text_document_inlay_hint_async(asked)]
            return {kind for kind, mark in marks.items() if any(mark in label for label in labels)}

        assert await shown() == kinds
        settings = {"rigspec": {"hints": {"load": False}}}
        here.client.workspace_did_change_configuration(lsp.DidChangeConfigurationParams(settings))
        assert await shown() == set(marks) - {"load"}

    session(folder, body, "utf-16", options=options)


def test_a_text_without_a_file_is_checked_too(folder: Path) -> None:
    async def body(here: Session) -> None:
        uri = "untitled:Untitled-1"
        here.texts[uri], here.versions[uri] = "amp\n", 1
        item = lsp.TextDocumentItem(uri, "rigspec", 1, "amp\n")
        here.client.text_document_did_open(lsp.DidOpenTextDocumentParams(item))
        assert [each.code for each in await here.findings(uri)] == ["syntax"]

    session(folder, body, "utf-16")
