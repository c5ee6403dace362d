"""The signalman's sheet of a session as Markdown."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.reporting.road_markdown import order_list
from trappoint.reporting.session_words import tell_beginning, tell_end, tell_movement, tell_title
from trappoint.reporting.table_markdown import escape

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.operation.session_sheet import SessionSheet


def render(sheets: list[SessionSheet], title: str, look: RenderOptions) -> str:
    """Return the sheets as a page."""
    parts: list[str] = []
    for sheet in sheets:
        parts += [f"# {escape(tell_title(sheet, title))}", escape(tell_beginning(sheet))]
        for entry in sheet.entries:
            parts.append(f"## {escape(tell_movement(entry, sheet.called))}")
            if entry.note:
                parts.append(escape(entry.note))
            parts.append("\n".join(order_list(entry.order, sheet.called, 1)))
        parts += map(escape, tell_end(sheet))
    return "\n\n".join([*parts, f"*{CAUTION}*"]) + "\n"
