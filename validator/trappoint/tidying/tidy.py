"""Tidying: put the text of a plan into the one layout without changing its data.

Keys follow the order of the schema, ids the author's order. Numbers keep their digits. One empty
line that the author left between two things stays.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.source.reading import Unreadable
from trappoint.tidying.lines import lay_out
from trappoint.tidying.tree import SourceTree, read_sheet

if TYPE_CHECKING:
    from trappoint.tidying.tree import Gaps, Tree

__all__ = ["tidy_content", "tidy_sheet", "write_tree"]


def tidy_content(content: str | bytes, name: str = "<text>") -> str | Unreadable:
    """Return the text of a plan in the one layout.

    Tidying is idempotent and keeps the data. Returns Unreadable, with its findings, if the text
    cannot be read or has another format. Raises nothing.
    """
    sheet = read_plan(content, name)
    return sheet if isinstance(sheet, Unreadable) else tidy_sheet(sheet)


def read_plan(content: str | bytes, name: str) -> SourceTree | Unreadable:
    """Return the source tree of a plan; Unreadable if it cannot be read or has another format."""
    sheet = read_sheet(content, name)
    if isinstance(sheet, SourceTree):
        from trappoint.schema.published import FORMAT

        given = sheet.tree.get("format", FORMAT)
        if given != FORMAT and isinstance(given, str):
            from trappoint.schema.layout_words import LAYOUT
            from trappoint.schema.messages import unknown_format
            from trappoint.source.positions import place_findings

            finding = unknown_format(given, LAYOUT)
            return Unreadable(name, sheet.text, place_findings(sheet.text, (finding,)))
    return sheet


def tidy_sheet(sheet: SourceTree) -> str:
    """Return the text of a source tree in the one layout, with its own line ends."""
    return write_tree(sheet.tree, sheet.gaps, crlf=sheet.crlf)


def write_tree(tree: Tree, gaps: Gaps, *, crlf: bool = False) -> str:
    """Return the text of a plan in the one layout, with lines that end in LF or CR LF."""
    text = lay_out(tree, gaps)
    return text.replace("\n", "\r\n") if crlf else text
