"""Conversion of results to the types of the protocol."""

from __future__ import annotations

from typing import TYPE_CHECKING

from lsprotocol import types as lsp

from trappoint.core.findings import CAUTION_SHORT
from trappoint.fixing.finding_ranges import mark_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint import Finding
    from trappoint.fixing.text_fixes import Edit
    from trappoint.lsp.completion import CompletionOffer
    from trappoint.lsp.names import LiveText
    from trappoint.lsp.outline import OutlineEntry
    from trappoint.source.text_positions import TextPlaces

SOURCE = "trappoint"

SEVERITY = {
    "error": lsp.DiagnosticSeverity.Error,
    "warning": lsp.DiagnosticSeverity.Warning,
    "note": lsp.DiagnosticSeverity.Information,
}

CHOICE_KINDS = {
    "key": lsp.CompletionItemKind.Property,
    "word": lsp.CompletionItemKind.EnumMember,
    "id": lsp.CompletionItemKind.Reference,
    "end": lsp.CompletionItemKind.Reference,
    "rule": lsp.CompletionItemKind.Constant,
    "file": lsp.CompletionItemKind.File,
}

SYMBOL_KINDS = {
    "section": lsp.SymbolKind.Namespace,
    "tracks": lsp.SymbolKind.Struct,
    "points": lsp.SymbolKind.Operator,
    "crossings": lsp.SymbolKind.Operator,
    "turntables": lsp.SymbolKind.Operator,
    "signals": lsp.SymbolKind.Object,
    "arms": lsp.SymbolKind.Field,
    "levers": lsp.SymbolKind.Number,
    "scenes": lsp.SymbolKind.Event,
    "boards": lsp.SymbolKind.Module,
}


def position(places: TextPlaces, offset: int) -> lsp.Position:
    """Return an offset as a position in the editor."""
    place = places.place(offset)
    return lsp.Position(place.line, place.character)


def span(places: TextPlaces, start: int, end: int) -> lsp.Range:
    """Return two offsets as a range in the editor."""
    return lsp.Range(position(places, start), position(places, end))


def text_edit(places: TextPlaces, edit: Edit) -> lsp.TextEdit:
    """Return a change as a text edit of the editor."""
    return lsp.TextEdit(span(places, edit.start, edit.end), edit.text)


def diagnostic(
    sketch: LiveText,
    places: TextPlaces,
    finding: Finding,
    related: Iterable[lsp.DiagnosticRelatedInformation] = (),
) -> lsp.Diagnostic:
    """Return a finding as a diagnostic; one with a verdict has the caution."""
    mark = mark_of(sketch.root, places, finding)
    fix = f"What to do: {finding.fix}" if finding.fix else ""
    verdict = CAUTION_SHORT if finding.movement is not None else ""
    parts = [finding.message, finding.why, fix, verdict]
    return lsp.Diagnostic(
        range=span(places, mark.start, mark.end),
        message="\n".join(part for part in parts if part),
        severity=SEVERITY[finding.level],
        code=finding.rule,
        source=SOURCE,
        related_information=list(related) or None,
    )


def completion(
    places: TextPlaces, uri: str, number: int, offer: CompletionOffer
) -> lsp.CompletionItem:
    """Return a completion item; the editor may ask for its documentation later."""
    choice = offer.choice
    return lsp.CompletionItem(
        label=choice.text,
        kind=CHOICE_KINDS[choice.kind],
        detail=choice.detail if choice.kind in ("id", "end") else None,
        documentation=choice.detail if choice.kind not in ("id", "end") and choice.detail else None,
        sort_text=f"{number:05}",
        filter_text=offer.typed or choice.text,
        text_edit=lsp.TextEdit(span(places, offer.start, offer.end), offer.written),
        data={"uri": uri, "thing": list(choice.thing)} if choice.thing else None,
    )


def symbol(places: TextPlaces, entry: OutlineEntry) -> lsp.DocumentSymbol:
    """Return an entry of the outline as a symbol."""
    return lsp.DocumentSymbol(
        name=entry.name,
        kind=SYMBOL_KINDS.get(entry.kind, lsp.SymbolKind.Object),
        range=span(places, entry.start, entry.end),
        selection_range=span(places, *entry.key),
        detail=entry.detail or None,
        children=[symbol(places, each) for each in entry.below],
    )
