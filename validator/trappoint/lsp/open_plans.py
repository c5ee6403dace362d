"""The open plans of one editor, and when to check them again."""

from __future__ import annotations

import asyncio
import os
from typing import TYPE_CHECKING

from lsprotocol import types as lsp
from pygls.uris import from_fs_path, to_fs_path

from trappoint.config.settings_file import SettingsError, find_settings
from trappoint.lsp import lsp_convert
from trappoint.lsp.check_queue import CheckQueue
from trappoint.lsp.diagnostics import DiagnosticsStore, PlacedFinding
from trappoint.lsp.document_state import CheckedText, OpenFiles, Page, check_text, full_path
from trappoint.lsp.names import LiveText
from trappoint.lsp.workspace import Shelf
from trappoint.model.settings import DEFAULTS
from trappoint.source.text_positions import TextPlaces

if TYPE_CHECKING:
    from collections.abc import Callable, Iterator, Mapping, Sequence

    from trappoint import Finding
    from trappoint.model.settings import Settings
    from trappoint.source.text_positions import Encoding

QUIET = 0.15
"""Seconds without a change before a text is checked: a quick typist's pause between two keys."""

_FAULT = "Internal error: the plan was not checked ({}: {}). Please report it."

MAX_RELATED = 8
"""Most related places of one finding."""


class Companion:
    """The open texts; each is checked a moment after its last change."""

    def __init__(
        self,
        publish: Callable[[lsp.PublishDiagnosticsParams], None],
        warn: Callable[[str], None],
    ) -> None:
        self.pages: dict[str, Page] = {}
        self.encoding: Encoding = "utf-16"
        self._publish = publish
        self._warn = warn
        self._told = DiagnosticsStore()
        self._bench = CheckQueue()
        self._timers: dict[str, asyncio.TimerHandle] = {}
        self._warned: set[str] = set()
        self.folders: Callable[[], Sequence[str]] = tuple
        """Returns the editor's workspace folders."""
        self._kept: dict[str, LiveText] = {}

    def shelf(self) -> Shelf:
        """Return the plans around the open ones in their present state."""
        return Shelf(self.open_texts(), self.folders(), self._kept)

    def places(self, page: Page) -> TextPlaces:
        """Return the positions of a text."""
        return TextPlaces(page.text, self.encoding)

    # --- texts: open, change, close

    def open(self, uri: str, text: str, version: int | None) -> None:
        """Store an opened text and check it."""
        self.pages[uri] = Page(uri, to_fs_path(uri) or uri, text, version, LiveText(text))
        self._check_soon(uri, 0)
        self._check_wholes_of(uri)

    def change(self, uri: str, text: str, version: int | None) -> None:
        """Store a changed text and check it later."""
        page = self.pages.get(uri)
        if page is None:
            self.open(uri, text, version)
            return
        page.change(text, version)
        self._check_soon(uri, QUIET)
        self._check_wholes_of(uri)

    def close(self, uri: str) -> None:
        """Forget a closed text. Plans put together from it use the file from now on."""
        self._check_wholes_of(uri)
        timer = self._timers.pop(uri, None)
        if timer is not None:
            timer.cancel()
        self._bench.drop(uri)
        self.pages.pop(uri, None)
        for target in self._told.drop(uri):
            self._tell(target)

    def files_changed(self) -> None:
        """Check all open plans again: settings or boards have changed."""
        for uri in self.pages:
            self._check_soon(uri, QUIET)

    def _check_wholes_of(self, uri: str) -> None:
        """Check the open plans that are put together from this one again."""
        path = to_fs_path(uri)
        full = full_path(path) if path else ""
        for other, page in self.pages.items():
            if full in page.checked.boards:
                self._check_soon(other, QUIET)

    # --- checks

    def _check_soon(self, uri: str, seconds: float) -> None:
        timer = self._timers.pop(uri, None)
        if timer is not None:
            timer.cancel()
        loop = asyncio.get_running_loop()
        self._timers[uri] = loop.call_later(seconds, self._check, uri, loop)

    def _check(self, uri: str, loop: asyncio.AbstractEventLoop) -> None:
        self._timers.pop(uri, None)
        page = self.pages.get(uri)
        if page is None:
            return
        sketch, text, before = page.sketch, page.text, page.checked
        name = page.name
        files = OpenFiles(os.path.dirname(name), self.open_texts()) if to_fs_path(uri) else None  # noqa: PTH120

        def job() -> None:
            try:
                settings, complaint = _settings_beside(name)
                checked = check_text(text, name, settings, before, files)
            except Exception as error:  # any error must reach the editor
                checked, complaint = before, _FAULT.format(type(error).__name__, error)
            loop.call_soon_threadsafe(self._take, uri, sketch, checked, complaint)

        self._bench.ask(uri, job)

    def open_texts(self) -> Mapping[str, str]:
        """Return the open texts, by their full paths."""
        return {
            full_path(path): page.text
            for uri, page in self.pages.items()
            if (path := to_fs_path(uri)) is not None
        }

    def _take(self, uri: str, sketch: LiveText, checked: CheckedText, complaint: str) -> None:
        """Store and publish the findings of a check, unless the text has changed since."""
        page = self.pages.get(uri)
        if complaint and complaint not in self._warned:
            self._warned.add(complaint)
            self._warn(complaint)
        if page is None or page.sketch is not sketch or checked.report is None:
            return
        page.take(checked, sketch)
        found: dict[str, list[PlacedFinding]] = {uri: []}
        for finding in checked.report.findings:
            target = self._uri_of(finding) or uri
            found.setdefault(target, []).append(
                PlacedFinding(finding, checked.report.text_of(finding))
            )
        for target in sorted(self._told.put(uri, found)):
            self._tell(target)

    def _uri_of(self, finding: Finding) -> str | None:
        """Return the URI of the file that a finding is in."""
        if not finding.file:
            return None
        return self.uri_of(full_path(finding.file))

    def uri_of(self, full: str) -> str:
        """Return the editor's URI of a file, by its full path."""
        for uri in self.pages:
            path = to_fs_path(uri)
            if path and full_path(path) == full:
                return uri
        return from_fs_path(full) or full

    # --- findings

    def _tell(self, uri: str) -> None:
        page = self.pages.get(uri)
        shown = [self._diagnostic(uri, page, found) for found in self._told.of(uri)]
        version = page.version if page else None
        self._publish(lsp.PublishDiagnosticsParams(uri, shown, version))

    def _diagnostic(self, uri: str, page: Page | None, found: PlacedFinding) -> lsp.Diagnostic:
        current = page is not None and page.text == found.text
        sketch = page.sketch if page is not None and current else LiveText(found.text)
        places = TextPlaces(found.text, self.encoding)
        related = self._related(uri, sketch, places, found.finding)
        return lsp_convert.diagnostic(sketch, places, found.finding, related)

    def _related(
        self, uri: str, sketch: LiveText, places: TextPlaces, finding: Finding
    ) -> Iterator[lsp.DiagnosticRelatedInformation]:
        """Return the places in this file of the things that belong to a finding."""
        for name in finding.path[:MAX_RELATED]:
            for kind in ("tracks", "points", "crossings", "turntables", "signals", "arms"):
                places_of = sketch.defined.get((kind, name))
                if places_of:
                    where = lsp_convert.span(places, places_of[0].start, places_of[0].end)
                    yield lsp.DiagnosticRelatedInformation(lsp.Location(uri, where), name)
                    break

    def findings_at(self, page: Page, start: int, end: int) -> list[Finding]:
        """Return the findings in a part of a text; empty if it has changed since the check."""
        from trappoint.fixing.finding_ranges import mark_of

        places = self.places(page)
        found = []
        for each in self._told.of(page.uri):
            if each.text == page.text:
                mark = mark_of(page.sketch.root, places, each.finding)
                if mark.start <= end and start <= mark.end:
                    found.append(each.finding)
        return found


def _settings_beside(name: str) -> tuple[Settings, str]:
    """Return the club's settings, and the mistake in them if they are unusable."""
    folder = os.path.dirname(name)  # noqa: PTH120
    if not os.path.isdir(folder or "."):  # noqa: PTH112
        return DEFAULTS, ""
    try:
        return find_settings(folder or "."), ""
    except SettingsError as error:
        return DEFAULTS, str(error)
