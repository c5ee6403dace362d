"""The language server: passes each request of the editor to its function."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from lsprotocol import types as lsp
from pygls.lsp.server import LanguageServer
from pygls.uris import to_fs_path

from trappoint.core.version import __version__
from trappoint.fixing.text_fixes import fix_of
from trappoint.lsp import lsp_convert
from trappoint.lsp.completion import offers
from trappoint.lsp.cross_file_names import (
    NamedPlace,
    place_of,
    renamable_thing,
    rename_everywhere,
    thing_on_board,
    uses_everywhere,
)
from trappoint.lsp.document_state import full_path
from trappoint.lsp.formatting import tidy_edits
from trappoint.lsp.hover import tell, tell_thing
from trappoint.lsp.open_plans import Companion
from trappoint.lsp.outline import outline
from trappoint.lsp.reachable_names import Around
from trappoint.lsp.renaming import RefusedError
from trappoint.source.text_positions import TextPlaces

if TYPE_CHECKING:
    from collections.abc import Callable

    from trappoint.lsp.cross_file_names import PlanChange
    from trappoint.lsp.document_state import Page
    from trappoint.lsp.names import LiveText, Name

TRIGGERS = ['"', ".", ":", "/"]
"""Characters after which the editor asks for completions."""

_SERIOUS = lsp.MessageType.Warning


def serve() -> None:
    """Serve an editor over standard input and output, until it exits.

    Standard output carries the protocol only; all other output goes to standard error.
    """
    output = os.fdopen(os.dup(sys.stdout.fileno()), "wb")
    kept, sys.stdout = sys.stdout, sys.stderr
    try:
        build_server().start_io(sys.stdin.buffer, output)
    finally:
        sys.stdout = kept


def build_server() -> LanguageServer:
    """Return the server, ready to start."""
    server = LanguageServer(
        "trappoint", __version__, text_document_sync_kind=lsp.TextDocumentSyncKind.Full
    )

    def warn(text: str) -> None:
        server.window_show_message(lsp.ShowMessageParams(_SERIOUS, text))

    companion = Companion(server.text_document_publish_diagnostics, warn)
    _begin_and_end(server, companion)
    _follow_texts(server, companion)
    _answer(server, _Answers(companion))
    return server


def _begin_and_end(server: LanguageServer, companion: Companion) -> None:
    """Handle the start and the end of a session."""

    @server.feature(lsp.INITIALIZED)
    def initialized(_: lsp.InitializedParams) -> None:
        known = server.workspace.position_encoding
        for encoding in ("utf-8", "utf-16", "utf-32"):
            if known == encoding:
                companion.encoding = encoding
        companion.folders = lambda: _folders(server)

    asked_to_end: list[bool] = []

    @server.feature(lsp.SHUTDOWN)
    def shutdown(_: None) -> None:
        asked_to_end.append(True)

    @server.feature(lsp.EXIT)
    def leave(_: None) -> None:
        # At once, also during a check: the reading thread would wait for more input.
        os._exit(0 if asked_to_end else 1)


def _follow_texts(server: LanguageServer, companion: Companion) -> None:
    """Handle the notices of opened, changed, saved and closed texts."""

    @server.feature(lsp.TEXT_DOCUMENT_DID_OPEN)
    def opened(params: lsp.DidOpenTextDocumentParams) -> None:
        document = params.text_document
        companion.open(document.uri, document.text, document.version)

    @server.feature(lsp.TEXT_DOCUMENT_DID_CHANGE)
    def changed(params: lsp.DidChangeTextDocumentParams) -> None:
        document = params.text_document
        text = server.workspace.get_text_document(document.uri).source
        companion.change(document.uri, text, document.version)

    @server.feature(lsp.TEXT_DOCUMENT_DID_SAVE)
    def saved(_: lsp.DidSaveTextDocumentParams) -> None:
        companion.files_changed()

    @server.feature(lsp.WORKSPACE_DID_CHANGE_WATCHED_FILES)
    def watched(_: lsp.DidChangeWatchedFilesParams) -> None:
        companion.files_changed()

    @server.feature(lsp.TEXT_DOCUMENT_DID_CLOSE)
    def closed(params: lsp.DidCloseTextDocumentParams) -> None:
        companion.close(params.text_document.uri)


def _folders(server: LanguageServer) -> list[str]:
    """Return the editor's workspace folders; older editors have one root."""
    named = list(server.workspace.folders) or [server.workspace.root_uri or ""]
    return [path for uri in named if (path := to_fs_path(uri))]


def _answer(server: LanguageServer, answers: _Answers) -> None:
    """Register the function for each request."""
    completion = lsp.CompletionOptions(trigger_characters=TRIGGERS, resolve_provider=True)
    renames = lsp.RenameOptions(prepare_provider=True)
    actions = lsp.CodeActionOptions(code_action_kinds=[lsp.CodeActionKind.QuickFix])
    requests: tuple[tuple[str, Callable[[Any], Any], Any], ...] = (
        (lsp.TEXT_DOCUMENT_HOVER, answers.hover, None),
        (lsp.TEXT_DOCUMENT_COMPLETION, answers.complete, completion),
        (lsp.COMPLETION_ITEM_RESOLVE, answers.tell_more, None),
        (lsp.TEXT_DOCUMENT_DEFINITION, answers.definition, None),
        (lsp.TEXT_DOCUMENT_REFERENCES, answers.references, None),
        (lsp.TEXT_DOCUMENT_DOCUMENT_HIGHLIGHT, answers.highlight, None),
        (lsp.TEXT_DOCUMENT_PREPARE_RENAME, answers.prepare_rename, None),
        (lsp.TEXT_DOCUMENT_RENAME, answers.rename, renames),
        (lsp.TEXT_DOCUMENT_CODE_ACTION, answers.quick_fixes, actions),
        (lsp.TEXT_DOCUMENT_DOCUMENT_SYMBOL, answers.symbols, None),
        (lsp.TEXT_DOCUMENT_FORMATTING, answers.tidy, None),
    )
    for name, function, options in requests:
        server.feature(name, options)(_plain(function))


def _plain(function: Callable[[Any], Any]) -> Callable[[Any], Any]:
    """Return a method as a plain function, as the server needs it."""

    def handler(params: Any) -> Any:
        return function(params)

    return handler


class _Answers:
    """One method for each request. Files that are not open get no answer."""

    def __init__(self, companion: Companion) -> None:
        self._companion = companion

    def _page(self, uri: str) -> tuple[Page, LiveText, TextPlaces] | None:
        page = self._companion.pages.get(uri)
        return (page, page.sketch, self._companion.places(page)) if page else None

    def _name(
        self, params: lsp.DefinitionParams | lsp.ReferenceParams | lsp.DocumentHighlightParams
    ) -> tuple[Page, LiveText, TextPlaces, Name] | None:
        known = self._page(params.text_document.uri)
        if known is None:
            return None
        page, sketch, places = known
        name = sketch.at(_offset(places, params.position))
        return (page, sketch, places, name) if name else None

    def hover(self, params: lsp.HoverParams) -> lsp.Hover | None:
        known = self._page(params.text_document.uri)
        if known is None:
            return None
        page, sketch, places = known
        told = tell(sketch, _offset(places, params.position), page.checked)
        if told is None:
            return None
        markup = lsp.MarkupContent(lsp.MarkupKind.Markdown, told.text)
        return lsp.Hover(markup, lsp_convert.span(places, told.start, told.end))

    def complete(self, params: lsp.CompletionParams) -> lsp.CompletionList:
        known = self._page(params.text_document.uri)
        if known is None:
            return lsp.CompletionList(is_incomplete=False, items=[])
        page, sketch, places = known
        offset = _offset(places, params.position)
        around = None
        if to_fs_path(page.uri):
            sketches = [sketch, page.whole] if page.whole else [sketch]
            around = Around(self._companion.shelf(), page.name, sketches)
        found = offers(sketch, offset, page.checked, page.whole, around)
        items = [
            lsp_convert.completion(places, page.uri, number, offer)
            for number, offer in enumerate(found)
        ]
        return lsp.CompletionList(is_incomplete=False, items=items)

    def tell_more(self, item: lsp.CompletionItem) -> lsp.CompletionItem:
        data = item.data if isinstance(item.data, dict) else {}
        known = self._page(str(data.get("uri", "")))
        thing = data.get("thing")
        if known is not None and isinstance(thing, list) and len(thing) == 2:
            page, sketch, _ = known
            said = tell_thing(sketch, (str(thing[0]), str(thing[1])), page.checked)
            if said:
                item.documentation = lsp.MarkupContent(lsp.MarkupKind.Markdown, said)
        return item

    def definition(self, params: lsp.DefinitionParams) -> list[lsp.Location]:
        found = self._name(params)
        if found is None:
            return []
        page, sketch, places, name = found
        board = sketch.on_board_at(_offset(places, params.position)) or sketch.beyond(name)
        if board is not None:
            try:
                thing = thing_on_board(self._companion.shelf(), page.name, board)
            except RefusedError:
                return []
            return self._locations(thing.path, thing.sketch, place_of(thing))
        key = sketch.key_of(name)
        names = sketch.defined.get(key)
        if names is None and key[0] == "legs":
            element = sketch.at(name.start - 2)
            names = sketch.defined.get(sketch.key_of(element)) if element else None
        if names is None and key[0] in ("joints", "edges"):
            others = [other for other in sketch.used[key] if other != name]
            names = others or [name]
        return [
            lsp.Location(page.uri, lsp_convert.span(places, each.start, each.end))
            for each in names or ()
        ]

    def references(self, params: lsp.ReferenceParams) -> list[lsp.Location]:
        found = self._name(params)
        if found is None:
            return []
        page, sketch, places, name = found
        shelf = self._companion.shelf()
        board = sketch.on_board_at(_offset(places, params.position))
        thing = NamedPlace(page.name, sketch, name)
        if board is not None:
            with suppress(RefusedError):
                thing = thing_on_board(shelf, page.name, board)
        own = params.context.include_declaration
        return [
            location
            for uses in uses_everywhere(shelf, thing)
            for location in self._locations(
                uses.path, uses.sketch, [each for each in uses.names if own or not each.defines]
            )
        ]

    def _locations(self, path: str, sketch: LiveText, names: list[Name]) -> list[lsp.Location]:
        uri = self._uri(path)
        places = TextPlaces(sketch.text, self._companion.encoding)
        return [lsp.Location(uri, lsp_convert.span(places, each.start, each.end)) for each in names]

    def highlight(self, params: lsp.DocumentHighlightParams) -> list[lsp.DocumentHighlight]:
        found = self._name(params)
        if found is None:
            return []
        _, sketch, places, name = found
        board = sketch.on_board_at(_offset(places, params.position))
        same = sketch.used[sketch.key_of(name)]
        if board is not None:
            ids = board.boards, board.name
            same = [each for each in sketch.on_boards if (each.boards, each.name) == ids]
        return [
            lsp.DocumentHighlight(
                lsp_convert.span(places, each.start, each.end),
                lsp.DocumentHighlightKind.Write if each.defines else lsp.DocumentHighlightKind.Read,
            )
            for each in same
        ]

    def prepare_rename(
        self, params: lsp.PrepareRenameParams
    ) -> lsp.PrepareRenamePlaceholder | None:
        known = self._page(params.text_document.uri)
        if known is None:
            return None
        page, sketch, places = known
        offset = _offset(places, params.position)
        try:
            thing = renamable_thing(self._companion.shelf(), page.name, sketch, offset)
        except RefusedError as refused:
            raise _refusal(refused) from None
        name = sketch.on_board_at(offset) or thing.name
        shown = name.name.partition(".")[2] if "legs" in name.kinds else name.name
        return lsp.PrepareRenamePlaceholder(lsp_convert.span(places, name.start, name.end), shown)

    def rename(self, params: lsp.RenameParams) -> lsp.WorkspaceEdit | None:
        known = self._page(params.text_document.uri)
        if known is None:
            return None
        page, sketch, places = known
        shelf = self._companion.shelf()
        try:
            thing = renamable_thing(shelf, page.name, sketch, _offset(places, params.position))
            changes = rename_everywhere(shelf, thing, params.new_name)
        except RefusedError as refused:
            raise _refusal(refused) from None
        return lsp.WorkspaceEdit(
            {self._uri(change.path): self._edits(change) for change in changes}
        )

    def _edits(self, change: PlanChange) -> list[lsp.TextEdit]:
        places = TextPlaces(change.sketch.text, self._companion.encoding)
        return [lsp_convert.text_edit(places, edit) for edit in change.edits]

    def _uri(self, path: str) -> str:
        """Return the editor's URI of a file, or of a text that was never saved."""
        if path in self._companion.pages:
            return path
        return self._companion.uri_of(full_path(path))

    def quick_fixes(self, params: lsp.CodeActionParams) -> list[lsp.CodeAction]:
        known = self._page(params.text_document.uri)
        only = params.context.only
        if known is None or (only and not any(_covers(kind) for kind in only)):
            return []
        page, sketch, places = known
        start, end = _offset(places, params.range.start), _offset(places, params.range.end)
        actions = []
        for finding in self._companion.findings_at(page, start, end):
            fix = fix_of(sketch.root, places, finding)
            if fix is None:
                continue
            edits = [lsp_convert.text_edit(places, edit) for edit in fix.edits]
            actions.append(
                lsp.CodeAction(
                    title=fix.title,
                    kind=lsp.CodeActionKind.QuickFix,
                    diagnostics=[lsp_convert.diagnostic(sketch, places, finding)],
                    is_preferred=True,
                    edit=lsp.WorkspaceEdit({page.uri: edits}),
                )
            )
        return actions

    def symbols(self, params: lsp.DocumentSymbolParams) -> list[lsp.DocumentSymbol]:
        known = self._page(params.text_document.uri)
        if known is None:
            return []
        _, sketch, places = known
        return [lsp_convert.symbol(places, entry) for entry in outline(sketch)]

    def tidy(self, params: lsp.DocumentFormattingParams) -> list[lsp.TextEdit]:
        known = self._page(params.text_document.uri)
        if known is None:
            return []
        page, _, places = known
        return [lsp_convert.text_edit(places, edit) for edit in tidy_edits(page.text)]


def _offset(places: TextPlaces, position: lsp.Position) -> int:
    return places.offset(position.line, position.character)


def _covers(kind: str) -> bool:
    return kind in (lsp.CodeActionKind.QuickFix, "")


def _refusal(refused: RefusedError) -> Exception:
    from pygls.exceptions import JsonRpcException

    # A valid request that cannot be fulfilled (LSP 3.17, RequestFailed).
    return JsonRpcException(str(refused), lsp.LSPErrorCodes.RequestFailed.value)
