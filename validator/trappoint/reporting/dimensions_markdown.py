"""The dimensions of a plan as Markdown with tables."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.reporting.dimensions_words import caution_of, introduction, parts_of
from trappoint.reporting.table_markdown import escape

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.dimensions.table import Dimensions


def render(table: Dimensions, title: str, look: RenderOptions) -> str:
    """Return the dimensions as a page."""
    parts = [f"# What fits in {escape(title)}", *map(escape, introduction(table))]
    for part in parts_of(table):
        rows = [part.columns, tuple("---" for _ in part.columns), *part.rows]
        lines = [
            f"| {' | '.join(row if number == 1 else map(escape, row))} |"
            for number, row in enumerate(rows)
        ]
        parts += [f"## {part.heading}", escape(part.remark), "\n".join(lines)]
    return "\n\n".join([*parts, f"*{caution_of(table)}*"]) + "\n"
