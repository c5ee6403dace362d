"""Tidying: one layout for the text of every plan, whoever wrote it, and the same data in it.

Keys stand in the order of the schema, ids in the author's. Numbers keep their digits, and one
empty line that the author left between two things stays.
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

    Idempotent, and the data stay the same. A text that cannot be read, or is of another format,
    comes back as Unreadable with its findings; nothing is raised.
    """
    sheet = read_plan(content, name)
    return sheet if isinstance(sheet, Unreadable) else tidy_sheet(sheet)


def read_plan(content: str | bytes, name: str) -> SourceTree | Unreadable:
    """Read a plan to be written again. What is of another format is refused."""
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
    """Return the text of what was read, in the one layout, with its line ends."""
    return write_tree(sheet.tree, sheet.gaps, crlf=sheet.crlf)


def write_tree(tree: Tree, gaps: Gaps, *, crlf: bool = False) -> str:
    """Return the text of a plan in the one layout, ending its lines in LF or in CR LF."""
    text = lay_out(tree, gaps)
    return text.replace("\n", "\r\n") if crlf else text
