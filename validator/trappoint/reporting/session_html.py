"""The signalman's sheet of a session: A4 pages of HTML that need no other file."""

from __future__ import annotations

from html import escape
from typing import TYPE_CHECKING

from trappoint.reporting.html_sheet import html_sheet
from trappoint.reporting.road_words import tell_order
from trappoint.reporting.session_words import tell_beginning, tell_end, tell_movement, tell_title

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.operation.journey_words import Called
    from trappoint.operation.session_sheet import SessionSheet, SheetEntry

_STYLE = """
  @page { size: A4; margin: 14mm; }
  body { font: 1rem/1.4 Georgia, serif; margin: 2rem auto; max-width: 50rem; padding: 0 1rem; }
  section.movement { border-top: 1px solid #777; break-inside: avoid; }
  section.sheet + section.sheet { break-before: page; }
  h2 { font-size: 1.1rem; margin: 0.6rem 0 0.2rem; }
  ol { margin: 0.3rem 0 0.8rem; padding-left: 2rem; }
  .kept { color: #333; font-size: 0.85rem; display: block; }
  .note { font-style: italic; margin: 0; }
  .caution { border-left: 0.3rem solid #777; padding-left: 0.7rem; }
  @media print { body { font-size: 10pt; margin: 0; max-width: none; padding: 0; } }
"""


def render(sheets: list[SessionSheet], title: str, look: RenderOptions) -> str:
    """Return the page in ASCII, so that it reads the same in every encoding."""
    body = "\n".join(_sheet(sheet, title) for sheet in sheets)
    return html_sheet(f"Working of {title}", _STYLE, body)


def _sheet(sheet: SessionSheet, title: str) -> str:
    entries = "\n".join(_movement(entry, sheet.called) for entry in sheet.entries)
    end = "\n".join(f"<p>{escape(paragraph)}</p>" for paragraph in tell_end(sheet))
    return (
        f'<section class="sheet">\n<h1>{escape(tell_title(sheet, title))}</h1>\n'
        f"<p>{escape(tell_beginning(sheet))}</p>\n{entries}\n{end}\n</section>"
    )


def _movement(entry: SheetEntry, called: Called) -> str:
    note = f'<p class="note">{escape(entry.note)}</p>\n' if entry.note else ""
    steps = []
    for step in tell_order(entry.order, called):
        kept = "".join(f'<span class="kept">{escape(detail)}</span>' for detail in step.details)
        steps.append(f"<li>{escape(step.text)}{kept}</li>")
    return (
        f'<section class="movement">\n<h2>{escape(tell_movement(entry, called))}</h2>\n{note}'
        f"<ol>\n" + "\n".join(steps) + "\n</ol>\n</section>"
    )
