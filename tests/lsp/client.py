"""A client of the protocol (pygls'), with the real `trappoint lsp` at the other end."""

from __future__ import annotations

import asyncio
import sys
from collections.abc import AsyncIterator, Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from contextlib import asynccontextmanager
from itertools import pairwise
from pathlib import Path
from typing import Any

from lsprotocol import types as lsp
from pygls.lsp.client import LanguageClient

ROOT = Path(__file__).parents[2]

SECONDS = 60
"""Seconds: more than any test needs on the slowest machine."""


class Editor:
    """An editor with some texts open."""

    def __init__(self, client: LanguageClient) -> None:
        self.client = client
        self.texts: dict[str, str] = {}
        self.versions: dict[str, int] = {}
        self.told: dict[str, lsp.PublishDiagnosticsParams] = {}
        self.news = asyncio.Condition()
        self.messages: list[str] = []

    async def take(self, params: lsp.PublishDiagnosticsParams) -> None:
        async with self.news:
            self.told[params.uri] = params
            self.news.notify_all()

    def open(self, uri: str, text: str) -> None:
        self.texts[uri], self.versions[uri] = text, 1
        document = lsp.TextDocumentItem(uri, "json", 1, text)
        self.client.text_document_did_open(lsp.DidOpenTextDocumentParams(document))

    def type(self, uri: str, text: str) -> None:
        """Replace the whole text, as an editor does with full synchronization."""
        self.texts[uri] = text
        self.versions[uri] += 1
        self.client.text_document_did_change(
            lsp.DidChangeTextDocumentParams(
                lsp.VersionedTextDocumentIdentifier(uri=uri, version=self.versions[uri]),
                [lsp.TextDocumentContentChangeWholeDocument(text)],
            )
        )

    async def findings(
        self, uri: str, wanted: Callable[[list[lsp.Diagnostic]], bool] | None = None
    ) -> list[lsp.Diagnostic]:
        """Wait for the findings of the present version of a text."""

        def there() -> bool:
            told = self.told.get(uri)
            if told is None or (uri in self.versions and told.version != self.versions[uri]):
                return False
            return wanted is None or wanted(list(told.diagnostics))

        async with self.news:
            await asyncio.wait_for(self.news.wait_for(there), SECONDS)
            return list(self.told[uri].diagnostics)

    def at(self, uri: str, before: str, after: str = "") -> dict[str, Any]:
        """Return the document and the position between two adjacent texts."""
        offset = self.texts[uri].index(before + after) + len(before)
        return {
            "text_document": lsp.TextDocumentIdentifier(uri),
            "position": position_of(self.texts[uri], offset),
        }


def position_of(text: str, offset: int) -> lsp.Position:
    """Count code units of UTF-16, as the protocol does, with the standard library's codec."""
    before = text[:offset]
    line = before.count("\n")
    tail = before[before.rfind("\n") + 1 :]
    return lsp.Position(line, len(tail.encode("utf-16-le")) // 2)


def offset_of(text: str, position: lsp.Position) -> int:
    """Return the offset of a position."""
    start = 0
    for _ in range(position.line):
        start = text.index("\n", start) + 1
    rest = text[start:].split("\n", maxsplit=1)[0].encode("utf-16-le")[: 2 * position.character]
    return start + len(rest.decode("utf-16-le"))


def edited(text: str, edits: list[lsp.TextEdit]) -> str:
    """Return a text after changes, which must not overlap."""
    spans = sorted(
        (offset_of(text, e.range.start), offset_of(text, e.range.end), e.new_text) for e in edits
    )
    assert all(one[1] <= two[0] for one, two in pairwise(spans))
    for start, end, new in reversed(spans):
        text = text[:start] + new + text[end:]
    return text


def marked(text: str, where: lsp.Range) -> str:
    """Return the part of a text that a range covers."""
    return text[offset_of(text, where.start) : offset_of(text, where.end)]


@asynccontextmanager
async def editor(
    *,
    encodings: list[lsp.PositionEncodingKind] | None = None,
    folders: list[Path] | None = None,
    root: Path | None = None,
) -> AsyncIterator[Editor]:
    """Start the server and the session; shut it down at the end and check that it has ended."""
    client = LanguageClient("test", "1")
    host = Editor(client)

    @client.feature(lsp.TEXT_DOCUMENT_PUBLISH_DIAGNOSTICS)
    async def found(params: lsp.PublishDiagnosticsParams) -> None:
        await host.take(params)

    @client.feature(lsp.WINDOW_SHOW_MESSAGE)
    def said(params: lsp.ShowMessageParams) -> None:
        host.messages.append(params.message)

    await client.start_io(sys.executable, "-m", "trappoint", "lsp")
    general = lsp.GeneralClientCapabilities(position_encodings=encodings) if encodings else None
    await asyncio.wait_for(
        client.initialize_async(
            lsp.InitializeParams(
                lsp.ClientCapabilities(general=general),
                process_id=None,
                root_uri=root.as_uri() if root else None,
                workspace_folders=[
                    lsp.WorkspaceFolder(folder.as_uri(), folder.name) for folder in folders or ()
                ],
            )
        ),
        SECONDS,
    )
    client.initialized(lsp.InitializedParams())
    try:
        yield host
        await asyncio.wait_for(client.shutdown_async(None), SECONDS)
    finally:
        client.exit(None)
        await asyncio.wait_for(client.stop(), SECONDS)
    assert host.messages == []


def run(test: Callable[[], Coroutine[Any, Any, None]]) -> None:
    """Run an asynchronous test in a thread: a browser's loop may run in this one."""
    with ThreadPoolExecutor(1) as thread:
        thread.submit(lambda: asyncio.run(test())).result()


def uri_of(path: Path) -> str:
    return path.as_uri()
