"""Plain values to the protocol's, with every place in the units that were agreed."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from itertools import groupby
from operator import attrgetter

from lsprotocol import types as lsp

from rigspec.server import completing, outline
from rigspec.server.actions import Action
from rigspec.server.hints import Hint
from rigspec.server.hover import Hover
from rigspec.server.lines import Lines
from rigspec.server.paint import MODIFIERS, TYPES, Paint
from rigspec.server.signature import Signature
from rigspec.show.facts import facts
from rigspec.text.finding import Edit, Finding, Severity
from rigspec.text.source import Source, Span

NAME = "rigspec"
SAY_WHY = "rigspec.sayWhy"  # the command that leads an editor to the empty reason of an exception
SEVERITIES = {
    Severity.ERROR: lsp.DiagnosticSeverity.Error,
    Severity.WARNING: lsp.DiagnosticSeverity.Warning,
    Severity.ADVICE: lsp.DiagnosticSeverity.Information,
}
_TOLD = ("allowed", "certain", "assumes", "change")  # of the facts of a finding; the message has what was computed
_COMPLETION_KINDS = {
    completing.THING: lsp.CompletionItemKind.Variable,
    completing.KIND: lsp.CompletionItemKind.Class,
    completing.WORD: lsp.CompletionItemKind.Keyword,
    completing.SETTING: lsp.CompletionItemKind.Property,
    completing.UNIT: lsp.CompletionItemKind.Unit,
    completing.FIGURE: lsp.CompletionItemKind.Function,
    completing.RULE: lsp.CompletionItemKind.Event,
    completing.FILE: lsp.CompletionItemKind.File,
    completing.PORT: lsp.CompletionItemKind.Field,
    completing.CHOICE: lsp.CompletionItemKind.EnumMember,
}
_SYMBOL_KINDS = {
    "section": lsp.SymbolKind.Namespace,
    "rig": lsp.SymbolKind.Module,
    "use": lsp.SymbolKind.File,
    "stock": lsp.SymbolKind.Class,
    "path": lsp.SymbolKind.Interface,
    "member": lsp.SymbolKind.Property,
    "expect": lsp.SymbolKind.Boolean,
    "measured": lsp.SymbolKind.Number,
    "allow": lsp.SymbolKind.Event,
    "stereo": lsp.SymbolKind.Array,
    "mix": lsp.SymbolKind.Array,
    "rack": lsp.SymbolKind.Array,
    "group": lsp.SymbolKind.Array,
    "spare": lsp.SymbolKind.Array,
}


class Wire:
    """Turns places of texts into the editor's; ``uri`` tells how the editor calls a text's file."""

    def __init__(self, encoding: str, uri: Callable[[str], str]) -> None:
        self.encoding = encoding
        self.uri = uri
        self._lines: dict[str, tuple[Source, Lines]] = {}

    def lines(self, source: Source) -> Lines:
        """The lines of a text, split once for each of its versions."""
        kept = self._lines.get(source.path)
        if kept is None or kept[0].text is not source.text:
            kept = self._lines[source.path] = (source, Lines(source.text, self.encoding))
        return kept[1]

    def offset(self, source: Source, position: lsp.Position) -> int:
        return self.lines(source).offset(position.line, position.character)

    def position(self, source: Source, offset: int) -> lsp.Position:
        return lsp.Position(*self.lines(source).position(offset))

    def range(self, span: Span) -> lsp.Range:
        return lsp.Range(self.position(span.source, span.start), self.position(span.source, span.end))

    def location(self, span: Span) -> lsp.Location:
        return lsp.Location(self.uri(span.path), self.range(span))

    # ---- findings and changes

    def diagnostic(self, finding: Finding) -> lsp.Diagnostic:
        """A finding; what the protocol has no place for is told as related to its span, and is in ``data``."""
        told = [(finding.label, finding.span)] if finding.label else []
        told += [(label.text, label.span) for label in finding.related]
        told += [(f"{word}: {text}", finding.span) for word, text in facts(finding) if word in _TOLD]
        return lsp.Diagnostic(
            range=self.range(finding.span),
            message=finding.message,
            severity=SEVERITIES[finding.severity],
            code=finding.rule,
            source=NAME,
            related_information=[lsp.DiagnosticRelatedInformation(self.location(span), text) for text, span in told],
            data={
                "subject": finding.subject,
                "computed": finding.computed,
                "allowed": finding.allowed,
                "help": finding.help,
                "reason": finding.reason,
                "authority": finding.authority,
                "possible": finding.possible,
                "decides": finding.decides,
                "assumes": list(finding.assumes),
            },
        )

    def edit(self, edit: Edit) -> lsp.TextEdit:
        return lsp.TextEdit(self.range(edit.span), edit.text)

    def change(self, edits: Mapping[str, Iterable[Edit]]) -> lsp.WorkspaceEdit:
        return lsp.WorkspaceEdit(changes={uri: [self.edit(each) for each in own] for uri, own in edits.items()})

    def action(self, action: Action, edits: Mapping[str, Iterable[Edit]], *, leads: bool) -> lsp.CodeAction:
        """``leads``: can the editor be led to where something is left to say?"""
        say_why = lsp.Command("say why", SAY_WHY, arguments=list(self._gap(action))) if leads and action.gap else None
        return lsp.CodeAction(
            title=action.fix.title,
            kind=lsp.CodeActionKind.QuickFix,
            diagnostics=[self.diagnostic(action.finding)],
            is_preferred=action.mechanical or None,
            edit=self.change(edits),
            command=say_why,
        )

    def _gap(self, action: Action) -> tuple[str, int, int]:
        """Where something is left to say once an action is done: the file, the line and the column there."""
        (edit,) = action.fix.edits
        line, column = self.lines(edit.span.source).position(edit.span.start)
        before, end, last = edit.text[: action.gap].rpartition("\n")
        own = Lines(last, self.encoding).position(len(last))[1]
        return self.uri(edit.span.path), line + (before + end).count("\n"), own if end else column + own

    # ---- answers

    def hover(self, hover: Hover, *, markdown: bool = True) -> lsp.Hover:
        kind = lsp.MarkupKind.Markdown if markdown else lsp.MarkupKind.PlainText
        content = lsp.MarkupContent(kind, hover.text if markdown else hover.plain)
        return lsp.Hover(contents=content, range=self.range(hover.span))

    def hints(self, source: Source, hints: Iterable[Hint]) -> list[lsp.InlayHint]:
        """Hints in the order of the text; those of one place are one, as editors put them together without a gap."""
        return [self._hint(source, place, list(own)) for place, own in groupby(hints, attrgetter("offset"))]

    def _hint(self, source: Source, offset: int, hints: Sequence[Hint]) -> lsp.InlayHint:
        label, tip = ", ".join(hint.text for hint in hints), "\n".join(hint.tip for hint in hints)
        return lsp.InlayHint(position=self.position(source, offset), label=label, tooltip=tip, padding_left=True)

    def completion(self, source: Source, offset: int, number: int, each: completing.Completion) -> lsp.CompletionItem:
        place = lsp.Range(self.position(source, each.start), self.position(source, offset))
        return lsp.CompletionItem(
            label=each.label,
            kind=_COMPLETION_KINDS[each.sort],
            detail=each.detail or None,
            documentation=each.about or None,
            sort_text=f"{number:04}",
            text_edit=lsp.TextEdit(place, each.label),
        )

    def symbol(self, symbol: outline.Symbol) -> lsp.DocumentSymbol:
        return lsp.DocumentSymbol(
            name=symbol.name,
            detail=symbol.detail or None,
            kind=_SYMBOL_KINDS.get(symbol.sort, lsp.SymbolKind.Variable),
            range=self.range(symbol.span),
            selection_range=self.range(symbol.name_span),
            children=[self.symbol(child) for child in symbol.children],
        )

    def fold(self, source: Source, fold: outline.Fold) -> lsp.FoldingRange | None:
        kinds = {"comment": lsp.FoldingRangeKind.Comment, "section": lsp.FoldingRangeKind.Region}
        start, end = self.lines(source).position(fold.start)[0], self.lines(source).position(fold.end)[0]
        return lsp.FoldingRange(start, end, kind=kinds.get(fold.what)) if end > start else None

    def tokens(self, source: Source, paints: Sequence[Paint]) -> lsp.SemanticTokens:
        data: list[int] = []
        line_before = column_before = 0
        lines = self.lines(source)
        for each in paints:
            line, column = lines.position(each.start)
            end_line, end = lines.position(each.end)
            if end_line != line or end == column:
                continue
            shift = column - column_before if line == line_before else column
            modifiers = 1 << MODIFIERS.index("declaration") if each.declares else 0
            data += [line - line_before, shift, end - column, TYPES.index(each.type), modifiers]
            line_before, column_before = line, column
        return lsp.SemanticTokens(data)

    def signature(self, found: Signature) -> lsp.SignatureHelp:
        parameters = [lsp.ParameterInformation(part) for part in found.parts]
        active = found.active if found.active >= 0 else None
        one = lsp.SignatureInformation(found.label, found.about, parameters, active)
        return lsp.SignatureHelp([one], 0, active)
