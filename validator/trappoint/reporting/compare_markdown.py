"""Comparisons as Markdown, as most forges show it."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.reporting.compare_words import headline, sections, verdict
from trappoint.reporting.table_markdown import escape

if TYPE_CHECKING:
    from trappoint.comparing.model import Comparison
    from trappoint.core.terminal import RenderOptions


def render(comparison: Comparison, look: RenderOptions) -> str:
    """Return the page: the verdict, and a list for each section."""
    first, *others = verdict(comparison)
    parts = [f"# {escape(headline(comparison))}", f"**{escape(first)}**", *map(escape, others)]
    for section in sections(comparison):
        lines = []
        for row in section.rows:
            if len(row.sentences) == 1:
                lines.append(f"- **{escape(row.lead)}**: {escape(row.sentences[0])}")
            else:
                lines.append(f"- **{escape(row.lead)}**")
                lines += [f"  - {escape(sentence)}" for sentence in row.sentences]
        parts += [f"## {escape(section.title)}", "\n".join(lines)]
    parts.append(f"*{CAUTION}*")
    return "\n\n".join(parts) + "\n"
