"""The signalman's sheet of a session as text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.core.terminal import width_of
from trappoint.reporting.road_text import order_lines
from trappoint.reporting.session_words import tell_beginning, tell_end, tell_movement, tell_title

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.operation.session_sheet import SessionSheet


def render(sheets: list[SessionSheet], title: str, look: RenderOptions) -> str:
    """Return the sheets as text."""
    lines: list[str] = []
    for sheet in sheets:
        heading = look.wrap(tell_title(sheet, title))
        lines += [*heading, "=" * max(map(width_of, heading)), ""]
        lines += look.wrap(tell_beginning(sheet))
        for entry in sheet.entries:
            lines += ["", *look.wrap(tell_movement(entry, sheet.called))]
            if entry.note:
                lines += look.wrap(entry.note, "     ")
            for _, own in order_lines(entry.order, sheet.called, look, 1):
                lines += own
        lines.append("")
        for paragraph in tell_end(sheet):
            lines += look.wrap(paragraph)
        lines.append("")
    lines += look.wrap(CAUTION)
    return "\n".join(lines) + "\n"
