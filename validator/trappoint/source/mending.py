"""Mend the slips in a JSON text (comments, commas, quotes), so that the check can go on.

Mending never moves a line. The mended text is used only to find further mistakes: the plan stays
unreadable until its author corrects it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.source.json_diagnosis import diagnose
from trappoint.source.positions import Lines
from trappoint.source.reading import Unreadable, read_document

if TYPE_CHECKING:
    from collections.abc import Iterable

    from trappoint.core.findings import Finding
    from trappoint.source.files import Files
    from trappoint.source.json_diagnosis import Edit


class MendedText:
    """A text with its slips mended; it converts columns back to those of the original text."""

    def __init__(self, written: str, edits: tuple[Edit, ...]) -> None:
        self.written = written
        pieces: list[str] = []
        at = 0
        self._growth: dict[int, list[tuple[int, int]]] = {}
        lines = Lines(written)
        for edit in edits:
            if edit.start < at:
                continue  # another edit removes this comma
            pieces += written[at : edit.start], edit.text
            at = edit.end
            line, column = lines.place(edit.start)
            more = len(edit.text) - (edit.end - edit.start)
            self._growth.setdefault(line, []).append((column, more))
        self.text = "".join((*pieces, written[at:]))

    def as_written(self, findings: Iterable[Finding]) -> list[Finding]:
        """Return findings of the mended text, with columns of the original text."""
        return [f._replace(column=self._column(f.line, f.column)) for f in findings]

    def _column(self, line: int, column: int) -> int:
        shift = 0
        for start, more in self._growth.get(line, ()):
            if column <= start + shift:
                break
            shift += more
        return column - shift


def mend(text: str) -> MendedText | None:
    """Return the text with its slips mended; None if it has no slips or no clear meaning."""
    edits = diagnose(text).edits
    return MendedText(text, edits) if edits else None


def mend_unreadable(document: Unreadable) -> MendedText | None:
    """Return the mended text of an unreadable document; None if it is unreadable all the same."""
    mended = None if document.text is None else mend(document.text)
    if mended is None or isinstance(read_document(mended.text, ""), Unreadable):
        return None
    return mended


class MendedFiles:
    """Files in which the slips are mended; ``mended`` has those that needed it, by their paths."""

    def __init__(self, files: Files) -> None:
        self._files = files
        self.mended: dict[str, MendedText] = {}

    def read(self, path: str) -> bytes:
        """Return the bytes of a file, mended if possible. Raises what the files raise."""
        content = self._files.read(path)
        document = read_document(content, path)
        mended = mend_unreadable(document) if isinstance(document, Unreadable) else None
        if mended is None:
            return content
        self.mended[path] = mended
        return mended.text.encode("utf-8", "surrogatepass")
