"""The dimensions of a plan as text: grids as wide as their cells."""

from __future__ import annotations

from typing import TYPE_CHECKING

from trappoint.core.terminal import width_of
from trappoint.reporting.dimensions_words import caution_of, introduction, parts_of

if TYPE_CHECKING:
    from trappoint.core.terminal import RenderOptions
    from trappoint.dimensions.table import Dimensions
    from trappoint.reporting.dimensions_words import PagePart


def render(table: Dimensions, title: str, look: RenderOptions) -> str:
    """Return the dimensions as text. Grids may be wider than ``look``."""
    heading = look.wrap(f"What fits in {title}")
    lines = [*heading, "=" * max(map(width_of, heading)), ""]
    for paragraph in introduction(table):
        lines += look.wrap(paragraph)
    for part in parts_of(table):
        lines += ["", part.heading, "-" * len(part.heading), *look.wrap(part.remark), ""]
        lines += _grid(part, look)
    lines += ["", *look.wrap(caution_of(table))]
    return "\n".join(lines) + "\n"


def _grid(part: PagePart, look: RenderOptions) -> list[str]:
    rows = [[look.clean(cell) for cell in row] for row in (part.columns, *part.rows)]
    widths = [max(map(width_of, column)) for column in zip(*rows, strict=True)]
    lines = []
    for row in rows:
        cells = (
            cell + " " * (wide - width_of(cell)) for cell, wide in zip(row, widths, strict=True)
        )
        lines.append(("  " + "  ".join(cells)).rstrip())
    return lines
