"""What fits where, for documents: Markdown with tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.findings import CAUTION
from trappoint.reporting.dimensions_words import parts_of, tell_scale
from trappoint.reporting.table_markdown import escape

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.dimensions.table import Dimensions


def render(table: Dimensions, title: str, look: RenderOptions) -> str:
    """Return the table as a page."""
    parts = [f"# What fits in {escape(title)}", escape(tell_scale(table))]
    for part in parts_of(table):
        rows = [part.columns, tuple("---" for _ in part.columns), *part.rows]
        lines = [
            f"| {' | '.join(row if number == 1 else map(escape, row))} |"
            for number, row in enumerate(rows)
        ]
        parts += [f"## {part.heading}", escape(part.remark), "\n".join(lines)]
    return "\n\n".join([*parts, f"*{CAUTION}*"]) + "\n"
